"""What ``siteplan check`` does: tell what of a project was understood, rejected or doubted."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from siteplan.errors import OutputError
from siteplan.frozen import frozen
from siteplan.jobs.check import notes as noted
from siteplan.jobs.opened import Opened, open_project
from siteplan.model import ColumnRead, NoteKind, NoteLine, Reject, RejectKind


@frozen
class Checked:
    """A project as it was read.

    ``lines`` are all notes: of the file first, then of its rows.
    """

    opened: Opened
    lines: tuple[NoteLine, ...]

    @property
    def notes(self) -> tuple[tuple[str, str], ...]:
        """Pairs of site and what was mended or doubted there."""
        return tuple((line.site_id, line.note.sentence) for line in self.lines if line.row)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is said of the file or of a column, each once."""
        return tuple(line.note.sentence for line in self.lines if not line.row)

    @cached_property
    def kinds(self) -> tuple[NoteKind, ...]:
        """The notes folded: each kind once, the worst first."""
        return noted.folded(self.lines)

    @property
    def by_severity(self) -> tuple[NoteLine, ...]:
        """All notes, the worst first."""
        return tuple(noted.by_severity(self.lines))

    @property
    def columns(self) -> tuple[ColumnRead, ...]:
        """How each column of the table was understood."""
        return self.opened.site_list.columns

    @property
    def rejects(self) -> tuple[Reject, ...]:
        """Rows that cannot be used, of the sites and of the obstructions."""
        return self.opened.rejects

    @cached_property
    def reject_kinds(self) -> tuple[RejectKind, ...]:
        """The rejects folded: each reason once."""
        return noted.folded_rejects(self.rejects)

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
    found = opened.site_list
    return Checked(opened, (*noted.of_file(found), *noted.of_rows(found)))


def write_notes(checked: Checked, path: str | Path) -> Path:
    """Write every note of a project, the worst first, as CSV; return where.

    A file that is there is replaced only where it is one of these.

    Raises
    ------
    OutputError
        If there is another file, or it cannot be written.
    """
    from siteplan.outputs.tables import notes as table

    target = Path(path)
    try:
        if target.exists() and not table.is_notes(target):
            raise OutputError(
                "there is something of this name, and it is no file of notes.",
                where=str(target),
                fix="Give another name.",
            )
        table.write_notes(checked.by_severity, target)
    except OSError as error:
        raise OutputError(
            f"the notes cannot be written: {error.strerror or error}.",
            where=str(target),
            fix="Check the folder and the permissions, or give another name.",
        ) from None
    return target
