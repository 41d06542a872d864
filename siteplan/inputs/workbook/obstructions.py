"""The sheet of obstructions of a project's workbook, as the table that obstructions.csv is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from siteplan.errors import SitesError
from siteplan.inputs.files.cells import cell_text
from siteplan.inputs.files.rawtable import Table, clean_headings, text_table
from siteplan.inputs.headings import check_headings
from siteplan.inputs.workbook.book import Sheet, letter, own_sheet
from siteplan.network.reference import OBSTRUCTIONS_SHEET


def has_obstructions(path: Path) -> bool:
    """Whether a workbook has a sheet of obstructions with a row below its headings.

    Raises
    ------
    ProjectError
        The file is no workbook.
    """
    sheet = own_sheet(path, OBSTRUCTIONS_SHEET)
    return sheet is not None and len(_filled(sheet)) > 1


def obstructions_table(path: Path) -> Table:
    """Return the sheet of obstructions, its first filled line being the headings.

    Raises
    ------
    SitesError
        There is no such sheet, it has no row, or two columns have one heading.
    """
    sheet = own_sheet(path, OBSTRUCTIONS_SHEET)
    filled = _filled(sheet) if sheet else []
    if sheet is None or not filled:
        raise SitesError(
            "the sheet is empty.",
            where=f"{path.name}, {OBSTRUCTIONS_SHEET}",
            fix="Start it with site_id, azimuth_deg, elevation_deg.",
        )
    texts = [[cell_text(value) for value in row] for row in sheet.rows]
    head, width = filled[0], max(map(len, texts))
    source = f"{path.name}, {sheet.name}"
    headings, written = clean_headings(texts[head] + [""] * (width - len(texts[head])))
    body, first = texts[head + 1 :], head + 2
    table = text_table(
        headings, body, range(first, first + len(body)), source=source, written=written
    )
    check_headings([written.get(heading, heading) for heading in table.columns], source)
    letters = {heading: letter(at) for at, heading in enumerate(table.columns)}
    return replace(table, sheet=sheet.name, letters=letters)


def _filled(sheet: Sheet) -> list[int]:
    """Return which rows of a sheet hold anything."""
    return [at for at, row in enumerate(sheet.rows) if any(cell_text(v).strip() for v in row)]
