"""A run that is killed before each of its file operations, and what must be there afterwards.

Python tells of every operation on a file before it does it (`sys.addaudithook`), whoever asks for
it. A child process counts those below a folder and ends at the one it is told, as a kill does: no
handler runs, nothing is tidied.
"""

from __future__ import annotations

import errno
import os
import sys
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from siteplan.errors import OutputError

#: Events that change nothing: a kill before them is one before the next.
_READING = frozenset({"os.listdir", "os.scandir", "os.getxattr", "os.listxattr", "os.fwalk"})
#: The child's exit codes: killed where told; came to its end; failed; told that it cannot be done;
#: came to its end although an operation was refused.
KILLED, ENDED, FAILED, REFUSED, SURVIVED = 90, 91, 92, 93, 94


def in_child(
    action: Callable[[], object],
    *,
    below: Path,
    before: int | None,
    refused: int = 0,
    for_good: bool = False,
) -> int:
    """Carry an action out in a process of its own; return its exit code.

    Parameters
    ----------
    action : callable
        What to do.
    below : Path
        Operations on files in this folder count.
    before : int or None
        End before the operation of this number, from 0 on; None for none.
    refused : int
        The number of an error: instead, that operation fails with it.
    for_good : bool
        Whether all later ones fail too.
    """
    with warnings.catch_warnings():  # a fork beside threads: the child needs none of them
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:
        try:
            met = arm(below, before, refused, for_good=for_good)
            action()
        except OutputError:
            os._exit(REFUSED)
        except BaseException as error:
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
            os._exit(FAILED)
        os._exit(SURVIVED if met else ENDED)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def arm(below: Path, before: int | None, refused: int, *, for_good: bool) -> list[int]:
    """End this process before an operation, or refuse that; return a list, empty until then.

    Parameters
    ----------
    below, before, refused, for_good
        As of `in_child`.
    """
    place, seen = os.fsencode(below), 0
    met: list[int] = []

    def hook(event: str, given: tuple[Any, ...]) -> None:
        nonlocal seen
        if not event.startswith(("os.", "open", "shutil.", "fcntl.")) or event in _READING:
            return
        if event == "open" and not given[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            return
        if not event.startswith("fcntl.") and not any(_lies_in(place, path) for path in given):
            return
        seen += 1
        if refused and before is not None and (seen - 1 == before or (for_good and seen > before)):
            met.append(before)
            raise OSError(refused, os.strerror(refused), str(given[0]))
        if seen - 1 == before:
            os._exit(KILLED)

    sys.addaudithook(hook)
    return met


def _lies_in(place: bytes, path: object) -> bool:
    """Return whether a path lies below the folder; one told from an open folder on counts too."""
    if not isinstance(path, str | bytes | os.PathLike):
        return False
    return os.fsencode(path).startswith(place) or not Path(os.fsdecode(path)).is_absolute()


def every_kill(action: Callable[[], object], *, below: Path) -> Iterator[int]:
    """Yield after each kill of an action, from the first operation to the last; then let it end.

    Whoever takes the numbers puts the folder back to how it was before the next.
    """
    for number in range(10_000):
        code = in_child(action, below=below, before=number)
        assert code in (KILLED, ENDED), f"it failed, with {code}"
        yield number
        if code == ENDED:
            return
    raise AssertionError("it never came to its end")


def every_refusal(action: Callable[[], object], *, below: Path, for_good: bool) -> Iterator[int]:
    """Yield the exit code of an action of which each operation in turn fails, or all from it on.

    Whoever takes the codes puts the folder back to how it was before the next.
    """
    for number in range(10_000):
        code = in_child(action, below=below, before=number, refused=errno.ENOSPC, for_good=for_good)
        assert code in (REFUSED, SURVIVED, ENDED), f"it failed, with {code}"
        yield code
        if code == ENDED:
            return
    raise AssertionError("it never came to its end")
