"""What is told: of files that cannot be written, what is in the way; of what was kept, where."""

from __future__ import annotations

import errno
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from siteplan.errors import OutputError

_LOG = logging.getLogger("siteplan")
_ELSEWHERE = "or choose another folder with --output."
_FULL = f"Make room on the disk, {_ELSEWHERE}"
_BARRED = f"See who owns it, its permissions and what holds it open, {_ELSEWHERE}"
_OPEN = f"Close what uses it, {_ELSEWHERE}"
_IN_THE_WAY = f"Move it away, {_ELSEWHERE}"
#: What to do, by the system's number.
_FIXES = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EACCES: _BARRED,
    errno.EPERM: _BARRED,
    errno.EBUSY: _OPEN,
    errno.ETXTBSY: _OPEN,
    errno.ENOTDIR: _IN_THE_WAY,
    errno.EEXIST: _IN_THE_WAY,
    errno.ENOTEMPTY: _IN_THE_WAY,
    errno.EROFS: "The disk is read-only: choose another folder with --output.",
    errno.EXDEV: "It stands on another disk: move it out of the output folder, and run again.",
    errno.ELOOP: "The link leads to itself: remove it, or choose another folder with --output.",
}
_ANY = f"Check the disk and the permissions, {_ELSEWHERE}"


def cannot(folder: Path, error: OSError) -> OutputError:
    """Return the error of an output that cannot be written, with what is in the way."""
    reason = error.strerror or str(error)
    at = [str(name) for name in (error.filename, error.filename2) if name is not None]
    named = f": {' -> '.join(at)}" if at else ""
    fix = _FIXES.get(error.errno or 0, _ANY)
    return OutputError(f"cannot write the outputs: {reason}{named}.", where=str(folder), fix=fix)


@contextmanager
def told(folder: Path) -> Iterator[None]:
    """Turn what the system refuses into an `OutputError` that names it."""
    try:
        yield
    except BrokenPipeError:  # nobody reads what is printed: that is no fault of the folder's
        raise
    except OSError as error:
        raise cannot(folder, error) from None


def tell(folder: Path, sentence: str) -> None:
    """Tell what was done to files in an output that nobody asked for in so many words."""
    _LOG.warning("%s: %s", folder, sentence)


def few(names: list[str]) -> str:
    """Return names for a sentence, the first five of them."""
    more = len(names) - 5
    return ", ".join(names[:5]) + (f" and {more} more" if more > 0 else "")
