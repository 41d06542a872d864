"""An output folder that is replaced as a whole: a killed run leaves the last good one."""

from __future__ import annotations

import os
import shutil
import signal
import threading
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
        _sweep(folder, ours)
        new.mkdir()
    except OSError as error:
        raise _cannot(folder, error) from None
    try:
        yield new
        with undisturbed():
            _swap(new, folder, ours)
    except OSError as error:
        raise _cannot(folder, error) from None
    finally:
        with undisturbed():
            shutil.rmtree(new, ignore_errors=True)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Hold Ctrl-C and SIGTERM back until the block is done; what came in between comes then.

    Only the main thread hears of signals: in another the block is just run.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []
    before = {
        number: signal.signal(number, lambda number, _frame: held.append(number))
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if held:
            signal.raise_signal(held[0])


def _cannot(folder: Path, error: OSError) -> OutputError:
    return OutputError(
        f"cannot write the outputs: {error.strerror or error}.",
        where=str(folder),
        fix="Check the disk and the permissions, or choose another folder with --output.",
    )


def _sweep(folder: Path, ours: frozenset[str]) -> None:
    """Remove what killed runs left behind, and put back a good folder that was being replaced."""
    for old in folder.parent.glob(f"{_OLD}{folder.name}-*"):
        if folder.exists():
            _carry_over(old, folder, ours)
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
    try:
        new.rename(folder)
    except OSError:
        old.rename(folder)
        raise
    _carry_over(old, folder, ours)
    shutil.rmtree(old)


def _carry_over(old: Path, folder: Path, ours: frozenset[str]) -> None:
    """Move the user's own files from the folder that was replaced into the one in its place."""
    for item in old.iterdir():
        if item.name not in ours and not (folder / item.name).exists():
            item.rename(folder / item.name)
