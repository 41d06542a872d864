"""The notes on what was read as CSV, for who mends the list: one a line, the worst first."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from siteplan.model import NoteLine
from siteplan.outputs.escaping import CsvWriter

#: Headings of notes.csv; row and site are blank for what is said of the whole file.
NOTE_COLUMNS = ("row", "site_id", "severity", "code", "note")


def write_notes(lines: Iterable[NoteLine], path: Path) -> None:
    """Write notes as CSV, in their order; the file is there even if nothing is noted."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(NOTE_COLUMNS)
        writer.writerows(
            (
                "" if line.row is None else line.row,
                line.site_id,
                line.severity,
                line.note.code,
                line.note.sentence,
            )
            for line in lines
        )


def is_notes(path: Path) -> bool:
    """Whether a file is one that `write_notes` wrote."""
    if not path.is_file():
        return False
    head = ",".join(NOTE_COLUMNS).encode()
    with path.open("rb") as file:
        return file.read(len(head)) == head
