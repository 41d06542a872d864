"""The errors that siteplan raises on purpose.

Every message says what is wrong, where, and how to mend it. The command line prints the
message alone and ends with the error's ``exit_code``; anything else that escapes is a defect
of the program (exit code 3).
"""

from __future__ import annotations

from siteplan.words import printable

#: Exit codes of every command. Interrupted: 128 and the number of the signal, as shells have it.
ALL_PLANNED, SOME_REJECTED, UNUSABLE, INTERNAL = 0, 1, 2, 3
INTERRUPTED, TERMINATED = 128 + 2, 128 + 15


class SiteplanError(Exception):
    """Base of all errors that a user can mend.

    Parameters
    ----------
    what : str
        What is wrong, in a sentence without the place.
    where : str, optional
        File, row, table or key, as the user would look for it.
    fix : str, optional
        What to do about it.

    Texts of files and libraries may stand in any of these: control characters are shown as codes.
    """

    exit_code = UNUSABLE

    def __init__(self, what: str, *, where: str = "", fix: str = "") -> None:
        self.what, self.where, self.fix = map(printable, (what, where, fix))
        super().__init__(str(self))

    def __str__(self) -> str:
        """Return ``where: what. fix`` in one line."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head} {self.fix}".strip()


class ProjectError(SiteplanError):
    """A project folder is missing, empty or ambiguous."""


class SitesError(SiteplanError):
    """A sites table cannot be read at all (a bad row is a reject, not an error)."""


class NetworkError(SiteplanError):
    """network.toml cannot be read, or a key in it is unknown or out of range."""


class MapsError(SiteplanError):
    """Maps of the user's own cannot be used: missing, of another shape, no numbers."""


class OutputError(SiteplanError):
    """Results cannot be written, or a field is not in the dictionary of fields."""


class ClusterError(SiteplanError):
    """Workers or a cluster cannot be had: a wrong number or address, no answer, or no dask."""
