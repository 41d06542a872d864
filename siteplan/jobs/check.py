"""What ``siteplan check`` does: read a project and tell what was rejected, mended or doubted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from siteplan.jobs.opened import Opened, open_project
from siteplan.model import Reject


@dataclass(frozen=True)
class Checked:
    """A project as it was read; ``notes`` are pairs of site and what was mended or doubted."""

    opened: Opened
    notes: tuple[tuple[str, str], ...]

    @property
    def rejects(self) -> tuple[Reject, ...]:
        """Rows that cannot be used, of the sites and of the obstructions."""
        return self.opened.rejects

    @property
    def count(self) -> str:
        """Rows read, good, rejected and with notes, in a line."""
        found = self.opened.site_list
        return (
            f"{self.opened.project.name}: {found.rows_read} rows read, {len(found.sites)} good,"
            f" {len(found.rejects)} rejected, {len(found.sites.notes)} with notes"
        )

    def refuse(self) -> None:
        """Raise where nothing can be planned.

        Raises
        ------
        SiteplanError
            As planning it would.
        """
        self.opened.check()


def check_project(folder: str | Path) -> Checked:
    """Read and check a project; write nothing.

    What can be told of a project is returned even where it cannot be planned: `Checked.refuse`
    raises then.

    Raises
    ------
    SiteplanError
        If a file is missing or cannot be used.

    Examples
    --------
    >>> check_project("sample_sites/fjord_substations").count
    'fjord_substations: 60 rows read, 60 good, 0 rejected, 0 with notes'
    """
    opened = open_project(folder)
    sites = opened.site_list.sites
    notes = tuple((str(sites.site_id[i]), n.sentence) for i in sorted(sites.notes)
                  for n in sites.notes[i])  # fmt: skip
    return Checked(opened, notes)
