"""Reading .xlsx workbooks with full precision."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from siteplan.errors import SitesError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.cells import cell_text
from siteplan.inputs.files.rawtable import Table, clean_headings, text_table, without_blank_rows
from siteplan.inputs.files.textfiles import HEADING_LINES
from siteplan.inputs.headings import joined_headings, looks_like_heading, names_a_position
from siteplan.inputs.workbook.book import is_project, letter, titles
from siteplan.model import Note


def read_workbook(path: Path) -> Table:
    """Read the sheet of a workbook that has a latitude and a longitude.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Table
        Columns of text; numbers with their shortest exact digits, times as h:mm:ss.

    Raises
    ------
    SitesError
        No workbook, no such sheet, or more than one.
    """
    name, rows, at, remarks = _placed(path)
    lines = joined_headings(rows[at : at + 2])
    width = max(len(row) for row in rows[at:])
    lines[0] += [""] * (width - len(lines[0]))
    headings, written = clean_headings(lines[0])
    at += len(rows[at : at + 2]) - len(lines)
    body = rows[at + 1 :]
    numbers = range(at + 2, at + 2 + len(body))
    source = f"{path.name}, {name}" if remarks is not None else path.name
    table = text_table(headings, body, numbers, source=source, written=written)
    if remarks is None:
        return table
    columns = {heading: letter(at) for at, heading in enumerate(table.columns)}
    return replace(table, sheet=name, letters=columns, heading_row=at + 1, remarks=remarks)


def read_sheet(path: Path, says: Callable[[list[str]], bool], columns: str) -> Table:
    """Read the one visible sheet that has certain headings, in whichever of its first rows.

    Parameters
    ----------
    path : Path
    says : callable
        Whether a row of texts is that of the headings.
    columns : str
        Headings to name where no sheet has them.

    Returns
    -------
    Table
        As `read_workbook`, without rows and unnamed columns in which nothing stands.

    Raises
    ------
    SitesError
        No workbook, no such sheet, or more than one.
    """
    sheets = {name: _texts(rows) for name, rows in _visible_sheets(path)}
    found = {
        name: at
        for name, rows in sheets.items()
        if (at := next((i for i, r in enumerate(rows[:HEADING_LINES]) if says(r)), None))
        is not None
    }
    if len(found) != 1:
        names = ", ".join(f"'{name}'" for name in found)
        raise SitesError(
            f"several sheets have these headings: {names}." if found else
            f"no sheet has the headings {columns}.",
            where=path.name,
            fix="Keep or show one of them; hidden sheets are not read." if found else
            "Give one of its sheets these headings in a row above the values.",
        )  # fmt: skip
    ((name, at),) = found.items()
    rows = sheets[name][at:]
    width = max(len(row) for row in rows)
    filled = [[*row, *[""] * (width - len(row))] for row in rows]
    kept = [k for k in range(width) if any(row[k].strip() for row in filled)]
    heads, *body = ([row[k] for k in kept] for row in filled)
    headings, written = clean_headings(heads)
    numbers = range(at + 2, at + 2 + len(body))
    table = text_table(headings, body, numbers, source=path.name, written=written)
    return without_blank_rows(table)


def sheet_of_sites(path: Path) -> tuple[str, int, list[str]]:
    """Return the sheet that `read_workbook` reads: its name, and row and cells of its headings.

    Raises
    ------
    SitesError
        As `read_workbook`.
    """
    name, rows, at, _ = _placed(path)
    return name, at + 1, rows[at]


def _placed(path: Path) -> tuple[str, list[list[str]], int, tuple[Note, ...] | None]:
    """Return the sheet of sites: its name, its cells as texts, which line has the headings.

    Of a workbook that is a whole project the fourth holds what is said of it, else it is None.
    """
    remarks = None
    if is_project(titles(path, "workbook")):
        from siteplan.inputs.workbook.sites import sheets_of_sites

        found_there, remarks = sheets_of_sites(path)
        read = [(sheet.name, sheet.rows) for sheet in found_there]
    else:
        read = _visible_sheets(path)
    sheets = {name: _texts(rows) for name, rows in read}
    sheets = {name: rows for name, rows in sheets.items() if any(map(any, rows))}
    if not sheets:
        raise SitesError("the workbook is empty.", where=path.name, fix="Fill in a sheet of sites.")
    found = {name: at for name, rows in sheets.items() if (at := _heading_at(rows)) is not None}
    if len(found) > 1:
        names = ", ".join(f"'{name}'" for name in found)
        raise SitesError(
            f"several sheets look like tables of sites: {names}.",
            where=path.name,
            fix="Keep or show one of them; hidden sheets are not read."
            if remarks is None
            else "Call the one that is meant Sites.",
        )
    name = next(iter(found or sheets))
    rows = sheets[name]
    first = found.get(name, next(i for i, row in enumerate(rows) if any(row)))
    return name, rows, first, remarks


def _visible_sheets(path: Path) -> list[tuple[str, Sequence[Sequence[Any]]]]:
    import warnings

    import openpyxl

    with told_plainly("workbook", path), path.open("rb") as file, warnings.catch_warnings():
        # Styles and validations that it does not know are of no concern here.
        warnings.simplefilter("ignore", UserWarning)
        book = openpyxl.load_workbook(file, read_only=True, data_only=True)
        try:
            return [
                (sheet.title, list(sheet.iter_rows(values_only=True)))
                for sheet in book.worksheets
                if sheet.sheet_state == "visible"
            ]
        finally:
            book.close()


def _texts(rows: Sequence[Sequence[Any]]) -> list[list[str]]:
    return [[cell_text(value) for value in row] for row in rows]


def _heading_at(rows: list[list[str]]) -> int | None:
    """Return which row names a latitude and a longitude, else a position in another way."""
    for says in (looks_like_heading, names_a_position):
        found = next((i for i, row in enumerate(rows[:HEADING_LINES]) if says(row)), None)
        if found is not None:
            return found
    return None
