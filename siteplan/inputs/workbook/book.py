"""A workbook's sheets as they are: names, cells, merged ranges, formulas that have no value yet."""

from __future__ import annotations

import warnings
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from siteplan.errors import ProjectError
from siteplan.frozen import frozen
from siteplan.inputs.faults import told_plainly
from siteplan.network.reference import (
    ABOUT_SHEET,
    NETWORK_SHEET,
    OBSTRUCTIONS_SHEET,
    SITES_SHEET,
    list_sheets,
)

#: Where a workbook lists its sheets (ECMA-376 part 1, section 18.2.19), but for unusual ones.
_BOOK_PART = "xl/workbook.xml"
#: A merged range: first row and last row, first column and last column, counted from 1.
Merged = tuple[int, int, int, int]


@frozen
class Sheet:
    """One sheet: its name as it is written, and the values of its cells, row by row.

    ``merged`` names the merged ranges whose value was taken for each of their rows.
    """

    name: str
    rows: Sequence[Sequence[Any]]
    merged: tuple[str, ...] = ()

    def cell(self, row: int, column: int) -> str:
        """Return how a cell is called, row and column counted from 0."""
        return f"{self.name}!{letter(column)}{row + 1}"


def letter(column: int) -> str:
    """Return a column's letters, columns counted from 0.

    >>> letter(0), letter(27)
    ('A', 'AB')
    """
    found = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        found = chr(ord("A") + rest) + found
    return found


def sheet_names() -> tuple[str, ...]:
    """Return the names that sheets of a project's workbook have, in the order of the book."""
    return SITES_SHEET, NETWORK_SHEET, *list_sheets(), OBSTRUCTIONS_SHEET


def titles(path: Path, faults: str = "project_workbook") -> dict[str, bool]:
    """Return the names of a workbook's sheets, and whether each is shown; no cell is read.

    ``faults`` is the row of ``inputs.faults`` by which a damaged one is told.

    Raises
    ------
    SiteplanError
        The file is no workbook.
    """
    from xml.etree import ElementTree

    with told_plainly(faults, path), zipfile.ZipFile(path) as archive:
        if _BOOK_PART not in archive.namelist():
            with _opened(path) as book:
                return {sheet.title: sheet.sheet_state == "visible" for sheet in book.worksheets}
        root = ElementTree.fromstring(archive.read(_BOOK_PART))
        found = [element.attrib for element in root.iter() if element.tag.endswith("}sheet")]
        return {sheet["name"]: sheet.get("state", "visible") == "visible" for sheet in found}


def is_project(names: Mapping[str, bool]) -> bool:
    """Whether a workbook is a whole project: it has a sheet called Network."""
    return any(_plain(name) == _plain(NETWORK_SHEET) for name in names)


def read_sheets(path: Path, wanted: Callable[[str], bool]) -> dict[str, Sheet]:
    """Return the visible sheets of a workbook whose names are wanted.

    Merged cells hold their value in each of their rows. The values of formulas are those that the
    spreadsheet kept.

    Raises
    ------
    ProjectError
        The file is no workbook, or a formula on one of these sheets has no value.
    """
    with _opened(path) as book:
        sheets = {
            sheet.title: _rows(sheet)
            for sheet in book.worksheets
            if sheet.sheet_state == "visible" and wanted(sheet.title)
        }
    holds = _holds(path)
    if holds(b"<f"):
        _refuse_unvalued(path, sheets)
    merged = _merged(path) if holds(b"<mergeCell ") else {}
    return {
        name: Sheet(name, rows, _filled(rows, merged.get(name, ())))
        for name, rows in sheets.items()
    }


def own_sheets(path: Path) -> dict[str, str]:
    """Return the sheets of a project's workbook: our names, and how the book writes them.

    Raises
    ------
    ProjectError
        One of our names stands there twice, or belongs to a hidden sheet.
    """
    ours = {_plain(name): name for name in sheet_names()}
    found: dict[str, str] = {}
    for name, shown in titles(path).items():
        own = ours.get(_plain(name))
        if own is None:
            continue
        if not shown:
            raise ProjectError(
                f"the sheet {name} is hidden, and hidden sheets are not read.",
                where=path.name,
                fix="Show it, or delete it.",
            )
        if own in found:
            raise ProjectError(
                f"two sheets may be {own}: '{found[own]}' and '{name}'.",
                where=path.name,
                fix="Keep one of them, or give the other another name.",
            )
        found[own] = name
    return found


def others(path: Path) -> list[str]:
    """Return the names of the visible sheets that are none of a project's."""
    ours = {_plain(name) for name in (*sheet_names(), ABOUT_SHEET)}
    return [name for name, shown in titles(path).items() if shown and _plain(name) not in ours]


def own_sheet(path: Path, name: str) -> Sheet | None:
    """Return one of a project's sheets by our name for it; None where the book has none."""
    written = own_sheets(path).get(name)
    if written is None:
        return None
    return read_sheets(path, lambda title: title == written)[written]


def _plain(name: str) -> str:
    return name.strip().casefold()


@contextmanager
def _opened(path: Path, **how: Any) -> Iterator[Any]:
    import openpyxl

    options = {"read_only": True, "data_only": True} | how
    with (
        told_plainly("project_workbook", path),
        path.open("rb") as file,
        warnings.catch_warnings(),
    ):
        # Styles and validations that it does not know are of no concern here.
        warnings.simplefilter("ignore", UserWarning)
        book = openpyxl.load_workbook(file, **options)
        try:
            yield book
        finally:
            book.close()


def _rows(sheet: Any) -> list[list[Any]]:
    """Return the cells of a sheet; what it says of its own size may be wrong and is not asked."""
    sheet.reset_dimensions()
    return [list(row) for row in sheet.iter_rows(values_only=True)]


def _holds(path: Path) -> Callable[[bytes], bool]:
    """Return what tells whether any sheet's XML holds a tag: most books need no second look."""
    with told_plainly("project_workbook", path), zipfile.ZipFile(path) as archive:
        parts = [
            archive.read(name)
            for name in archive.namelist()
            if name.startswith("xl/worksheets/") and name.endswith(".xml")
        ]
    return lambda tag: any(tag in part for part in parts)


def _refuse_unvalued(path: Path, sheets: Mapping[str, list[list[Any]]]) -> None:
    """Refuse formulas without a value: read as blank, they would be taken for not given."""
    with _opened(path, data_only=False) as book:
        for name, rows in sheets.items():
            for at, formulas in enumerate(_rows(book[name])):
                for column, formula in enumerate(formulas):
                    starts = isinstance(formula, str) and formula.startswith("=")
                    if starts and _value(rows, at, column) is None:
                        raise ProjectError(
                            f"the formula {formula[:60]} has no value yet.",
                            where=f"{path.name}, {Sheet(name, ()).cell(at, column)}",
                            fix="Open the file in a spreadsheet program and save it, or write the"
                            " value.",
                        )


def _value(rows: Sequence[Sequence[Any]], at: int, column: int) -> Any:
    """Return a cell's value, None where the row is shorter."""
    row = rows[at] if at < len(rows) else ()
    return row[column] if column < len(row) else None


def _merged(path: Path) -> dict[str, list[Merged]]:
    """Return the merged ranges of each sheet that run down one column."""
    with _opened(path, read_only=False) as book:
        return {
            sheet.title: [
                (r.min_row, r.max_row, r.min_col, r.max_col)
                for r in sheet.merged_cells.ranges
                if r.min_col == r.max_col
            ]
            for sheet in book.worksheets
        }


def _filled(rows: list[list[Any]], ranges: Sequence[Merged]) -> tuple[str, ...]:
    """Give each row of a merged cell its value, as it reads on the screen; return the ranges."""
    told = []
    for first, last, column, _ in ranges:
        value = _value(rows, first - 1, column - 1)
        if value is None:
            continue
        told.append(f"{letter(column - 1)}{first}:{letter(column - 1)}{last}")
        for at in range(first, min(last, len(rows))):
            row = rows[at]
            row += [None] * (column - len(row))
            row[column - 1] = value
    return tuple(told)
