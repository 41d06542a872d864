"""The sheet of sites of a project's workbook, and what is said of the book as a whole."""

from __future__ import annotations

from pathlib import Path

from siteplan.errors import ProjectError
from siteplan.inputs.workbook.book import Sheet, others, own_sheets, read_sheets, sheet_names
from siteplan.inputs.workbook.network import gathered
from siteplan.model import Note
from siteplan.network.reference import SITES_SHEET


def sheets_of_sites(path: Path) -> tuple[list[Sheet], tuple[Note, ...]]:
    """Return the sheet called Sites, else those that may be it, and what is said of the book.

    Raises
    ------
    ProjectError
        The file is no workbook, or no sheet is left that may hold sites.
    """
    own, other = own_sheets(path), others(path)
    named = own.get(SITES_SHEET)
    wanted = [named] if named else other
    if not wanted:
        raise ProjectError(
            "there is no sheet of sites.", where=path.name, fix=f"Call it {SITES_SHEET}."
        )
    found = list(read_sheets(path, lambda name: name in wanted).values())
    return found, (*_passed_over(other if named else ()), *_merged(found), *gathered(path).mended)


def _passed_over(names: list[str] | tuple[()]) -> list[Note]:
    """Return the note on sheets that are not read: one of them may be ours, written wrong."""
    if not names:
        return []
    told, ours = ", ".join(names), ", ".join(sheet_names())
    return [Note.of("note.input_mended.sheets_left", names=told, ours=ours)]


def _merged(sheets: list[Sheet]) -> list[Note]:
    return [
        Note.of("note.input_mended.merged", sheet=sheet.name, ranges=", ".join(sheet.merged))
        for sheet in sheets
        if sheet.merged
    ]
