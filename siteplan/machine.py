"""What the machine refuses, said plainly; and the report of a defect.

A full disk, a folder that may not be read, memory that is spent: no fault of the program's, nor of
a file's. The command line asks here what an error means that nobody has told before.
"""

from __future__ import annotations

import errno
import os
import platform
import tempfile
import time
import traceback
from collections.abc import Sequence
from pathlib import Path

from siteplan.errors import SiteplanError
from siteplan.version import __version__

_FULL = "there is no space left on the disk.", "Free some, or name another folder."
_FORBIDDEN = "it may not be read or written.", "Check its permissions, or name another folder."
_NAME = "no file can have this name here.", "Name another."
_AWAY = "the disk or network drive does not answer.", "Check it, and run the command again."
_MANY = "too many files are open on this machine.", "Close other programs, or raise the limit."
#: What an operating system's error number means to the user, and what to do.
_MEANINGS = {
    **dict.fromkeys(("ENOSPC", "EDQUOT", "EFBIG"), _FULL),
    **dict.fromkeys(("EACCES", "EPERM", "EROFS"), _FORBIDDEN),
    **dict.fromkeys(("ENAMETOOLONG", "ELOOP", "EILSEQ"), _NAME),
    **dict.fromkeys(("EIO", "ESTALE", "ENODEV", "ENXIO", "EHOSTDOWN", "ETIMEDOUT"), _AWAY),
    **dict.fromkeys(("EMFILE", "ENFILE"), _MANY),
}
_OF_NUMBER = {
    getattr(errno, name): told for name, told in _MEANINGS.items() if hasattr(errno, name)
}


def refused(error: Exception) -> SiteplanError | None:
    """Return what the machine refused, as an error that a user can mend; None where it did not.

    Parameters
    ----------
    error : Exception
        Whatever ended a command.
    """
    if isinstance(error, MemoryError) or getattr(error, "errno", None) == errno.ENOMEM:
        return SiteplanError(
            "the memory of this machine is not enough.",
            fix="Close other programs, use fewer --workers, or plan the sites in several projects.",
        )
    if not isinstance(error, OSError):
        return None
    if _folder_is_gone():
        return SiteplanError(
            "the folder that the command was started in is gone.",
            fix="Change to another folder, and run it again.",
        )
    if error.errno not in _OF_NUMBER:
        return None
    what, fix = _OF_NUMBER[error.errno]
    return SiteplanError(what, where=str(error.filename or ""), fix=fix)


def _folder_is_gone() -> bool:
    try:
        Path.cwd()
    except OSError:
        return True
    return False


def report(error: BaseException, arguments: Sequence[str]) -> Path | None:
    """Write what a report of a defect needs into a file; return where, None where nothing can be.

    Parameters
    ----------
    error : BaseException
        With its traceback.
    arguments : sequence of str
        The command's; no file of the user's is copied.
    """
    lines = [
        f"siteplan {__version__}, Python {platform.python_version()}, {platform.platform()}",
        f"command: {' '.join(arguments)}",
        "",
        *traceback.format_exception(error),
    ]
    text = "\n".join(lines).encode("utf-8", "backslashreplace")
    name = f"siteplan-report-{time.strftime('%Y%m%d-%H%M%S')}-"
    for folder in _folders():
        try:
            number, path = tempfile.mkstemp(".txt", name, folder)
            with os.fdopen(number, "wb") as file:
                file.write(text)
        except OSError:
            continue
        return Path(path)
    return None


def _folders() -> list[str]:
    """Return where a report may go: the folder for passing files, else the current one."""
    found = []
    for ask in (tempfile.gettempdir, os.getcwd):
        try:
            found.append(ask())
        except OSError:
            continue
    return found
