"""An output folder that is replaced as a whole: a killed run leaves the last good one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from siteplan.errors import OutputError

#: Names of folders in the making, and of the last good one while it is being replaced.
_NEW, _OLD = ".siteplan-new-", ".siteplan-old-"


@contextmanager
def staged(folder: Path, ours: frozenset[str]) -> Iterator[Path]:
    """Yield an empty folder to write into; it takes the place of ``folder`` at the end.

    Parameters
    ----------
    folder : Path
        Where the outputs shall stand.
    ours : frozenset of str
        Names that the outputs use. What else lies in ``folder`` is the user's, and is kept.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    new = folder.parent / f"{_NEW}{folder.name}-{os.getpid()}"
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        new.mkdir()
    except OSError as error:
        raise _cannot(folder, error) from None
    try:
        yield new
        _swap(new, folder, ours)
    except OSError as error:
        raise _cannot(folder, error) from None
    finally:
        shutil.rmtree(new, ignore_errors=True)


def _cannot(folder: Path, error: OSError) -> OutputError:
    return OutputError(
        f"cannot write the outputs: {error.strerror or error}.",
        where=str(folder),
        fix="Check the disk and the permissions, or choose another folder with --output.",
    )


def _sweep(folder: Path) -> None:
    """Remove what killed runs left behind, and put back a good folder that was being replaced."""
    for old in folder.parent.glob(f"{_OLD}{folder.name}-*"):
        if folder.exists():
            shutil.rmtree(old)
        else:
            old.rename(folder)
    for new in folder.parent.glob(f"{_NEW}{folder.name}-*"):
        if not _alive(new.name.rpartition("-")[2]):
            shutil.rmtree(new)


def _alive(pid: str) -> bool:
    """Return whether a process of this number runs (another run on the same folder)."""
    if not pid.isdigit():
        return False
    try:
        os.kill(int(pid), 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def _swap(new: Path, folder: Path, ours: frozenset[str]) -> None:
    """Put ``new`` in the place of ``folder``, with the user's own files carried over."""
    if not folder.exists():
        new.rename(folder)
        return
    old = folder.parent / f"{_OLD}{folder.name}-{os.getpid()}"
    folder.rename(old)
    new.rename(folder)
    for item in old.iterdir():
        if item.name not in ours:
            item.rename(folder / item.name)
    shutil.rmtree(old)
