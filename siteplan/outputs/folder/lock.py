"""One run at a time: a lock of the operating system's, which ends with its process."""

from __future__ import annotations

import os
import platform
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from siteplan.errors import OutputError

if sys.platform == "win32":
    import msvcrt

    _BEHIND = 1 << 30  # a locked byte cannot be read: it lies far behind the text

    def _take(file: int, *, shared: bool) -> None:
        os.lseek(file, _BEHIND, os.SEEK_SET)
        try:
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(*error.args) from None

else:
    import fcntl

    def _take(file: int, *, shared: bool) -> None:
        fcntl.flock(file, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)


#: Another run that only looks holds the lock for a moment: so often it is tried again [s].
_TRIES, _PAUSE_S = 5, 0.02


@contextmanager
def held(path: Path, folder: Path) -> Iterator[None]:
    """Hold the lock of an output while the block runs.

    Parameters
    ----------
    path : Path
        The file that is locked. It is made where it is not there, and never removed: a run that
        waits at a file that is gone would hold nothing. Its text is for messages only.
    folder : Path
        The output, for messages.

    Raises
    ------
    OutputError
        If another run holds it.
    OSError
        If the file cannot be made, or the disk knows no locks.
    """
    file = _opened(path)
    try:
        _try(file, path, folder)
        _sign(file)
        yield
    finally:
        os.close(file)


def check_free(path: Path, folder: Path) -> None:
    """Raise where another run holds the lock of a file that is there.

    Raises
    ------
    OutputError
        With who holds it, and since when.
    """
    try:
        file = os.open(path, os.O_RDONLY)
    except (FileNotFoundError, NotADirectoryError, PermissionError):
        return
    try:
        _try(file, path, folder, shared=True)
    finally:
        os.close(file)


def _opened(path: Path) -> int:
    """Return the file open; another user's may be locked where it cannot be written."""
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except PermissionError:
        if not path.is_file():
            raise
        return os.open(path, os.O_RDONLY)


def _try(file: int, path: Path, folder: Path, *, shared: bool = False) -> None:
    for left in reversed(range(_TRIES)):
        try:
            _take(file, shared=shared)
        except BlockingIOError:
            if left:
                time.sleep(_PAUSE_S)
                continue
            raise _busy(path, folder) from None
        except OSError as error:
            raise OSError(error.errno, f"{error.strerror} (locking)", str(path)) from None
        return


def _busy(path: Path, folder: Path) -> OutputError:
    try:
        who = path.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        who = ""
    return OutputError(
        f"another run of siteplan is writing there ({who or 'it does not say which'}).",
        where=str(folder),
        fix="Let it end, or choose another folder with --output.",
    )


def _sign(file: int) -> None:
    """Write who holds the lock, as far as the file can be written."""
    text = f"process {os.getpid()} on {platform.node() or 'this machine'}, since {time.ctime()}\n"
    try:
        os.ftruncate(file, 0)
        os.lseek(file, 0, os.SEEK_SET)
        os.write(file, text.encode("utf-8"))
    except OSError:  # a full disk, or another user's file: the lock holds all the same
        return
