"""A workbook written sheet by sheet, row by row, in the memory of a few rows; the same each time.

No text is ever live: what begins like a formula is written as text and marked as one. openpyxl
writes; it is imported here alone, so that a plan without a workbook goes without it.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from siteplan.outputs.escaping import for_workbook, is_formula
from siteplan.outputs.shown import fixed

#: The moment that a workbook says it was made: the earliest that a zip archive can hold.
_MADE = dt.datetime(1980, 1, 1)
_MOMENT = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*(</dcterms:)")
#: Number formats (ECMA-376 part 1, section 18.8.30): text, and any number.
TEXT, GENERAL, DATE = "@", "General", "yyyy-mm-dd"
#: Fills by name, as ``RRGGBB``: they part in grey too, and what they say stands in words.
FILLS: Mapping[str, str] = {
    "head": "1F3A4D",
    "give": "FFF9DB",
    "fixed": "EEF1F4",
    "bad": "E8A08A",
    "tight": "F6D79B",
    "fair": "DCEBD0",
    "good": "EAF4EE",
    "best": "FFFFFF",
    "none": "C4C9CE",
}


@dataclass(frozen=True)
class Column:
    """One column of a sheet: heading, width in letters, number format, whether text wraps.

    ``fill`` colours every cell of it; ``note`` is shown where a cell of it is chosen, ``words``
    are what it may hold, ``limits`` the numbers.
    """

    heading: str
    width: float = 14
    form: str = GENERAL
    wrap: bool = False
    fill: str = ""
    note: str = ""
    words: tuple[str, ...] = ()
    limits: tuple[float, float] | None = None


@dataclass(frozen=True)
class Styled:
    """A value with a look of its own: a fill by name, bold, or another number format."""

    value: Any
    fill: str = ""
    bold: bool = False
    form: str = ""
    wrap: bool | None = None


@dataclass
class Page:
    """One sheet: its columns and rows; ``frozen`` is how many columns stay in view.

    ``heads`` False leaves the line of headings out; ``checks`` are cells or ranges whose values
    are checked as a column's are.
    """

    title: str
    columns: Sequence[Column]
    rows: Iterable[Sequence[Any]]
    frozen: int = 0
    heads: bool = True
    filters: bool = True
    checks: Sequence[tuple[str, Column]] = ()
    landscape: bool = True
    last_row: int = field(default=1, init=False)


def letters(column: int) -> str:
    """Return a column's letters, columns counted from 1.

    >>> letters(1), letters(28)
    ('A', 'AB')
    """
    from openpyxl.utils import get_column_letter

    return str(get_column_letter(column))


def decimal_form(decimals: int | None) -> str:
    """Return the number format of so many decimals, that of texts for None.

    >>> decimal_form(2), decimal_form(0), decimal_form(None)
    ('0.00', '0', '@')
    """
    return TEXT if decimals is None else fixed(0.0, decimals)


def write_book(path: Path, pages: Iterable[Page], *, title: str = "") -> None:
    """Write a workbook; the same pages give the same bytes.

    Parameters
    ----------
    path : Path
        The file; one that is there is replaced.
    pages : iterable of Page
        Its sheets, each written before the next is asked for.
    title : str
        What its properties call it.
    """
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    book.properties.creator, book.properties.title = "siteplan", for_workbook(title)
    for page in pages:
        _Writer(book, page).write()
    made = io.BytesIO()
    book.save(made)
    _undated(made, path)


def _undated(made: io.BytesIO, path: Path) -> None:
    """Write a workbook's parts again, without the moment at which they were made."""
    with (
        zipfile.ZipFile(made) as source,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as target,
    ):
        for name in sorted(source.namelist(), key=lambda n: (n != "[Content_Types].xml", n)):
            data = source.read(name)
            if name == "docProps/core.xml":
                stamp = _MADE.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
                data = _MOMENT.sub(rb"\g<1>" + stamp + rb"\g<2>", data)
            part = zipfile.ZipInfo(name, date_time=_MADE.timetuple()[:6])
            part.compress_type, part.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
            target.writestr(part, data)


class _Writer:
    """Writes one page into a workbook; cells of one look are one object, written anew each row."""

    def __init__(self, book: Any, page: Page) -> None:
        self.sheet = book.create_sheet(page.title)
        self.page = page
        self._cells: dict[tuple[Any, ...], Any] = {}

    def write(self) -> None:
        """Write headings, rows, and what the sheet does with them."""
        page, sheet = self.page, self.sheet
        for at, column in enumerate(page.columns, 1):
            dimension = sheet.column_dimensions[letters(at)]
            dimension.width = column.width
            if column.form == TEXT:
                dimension.number_format = TEXT
        if page.heads or page.frozen:
            corner = letters(page.frozen + 1)
            sheet.freeze_panes = f"{corner}{2 if page.heads else 1}"
        self._lay_out()
        if page.heads:
            plain, head = Column("", form=TEXT), enumerate(page.columns, 1)
            looks = [(at, Styled(c.heading, "head", bold=True, wrap=True)) for at, c in head]
            sheet.append([self._cell(look, plain, at) for at, look in looks])
        count = int(page.heads)
        for row in page.rows:
            count += 1
            cells = zip(row, page.columns, strict=False)
            sheet.append([self._cell(v, column, at) for at, (v, column) in enumerate(cells, 1)])
        page.last_row = count
        last = f"{letters(len(page.columns))}{max(count, 1)}"
        if page.heads and page.filters:
            sheet.auto_filter.ref = f"A1:{last}"
        self._check()

    def _lay_out(self) -> None:
        """Let the sheet print across one page's width, its headings on each page."""
        sheet = self.sheet
        sheet.page_setup.orientation = "landscape" if self.page.landscape else "portrait"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr = _fit_to_page()
        if self.page.heads:
            sheet.print_title_rows = "1:1"

    def _cell(self, value: Any, column: Column, at: int) -> Any:
        """Return the cell of a value, None for nothing in a column without a fill."""
        look = value if isinstance(value, Styled) else None
        value = look.value if look else value
        fill = (look.fill if look else "") or column.fill
        if value is None and not fill:
            return None
        text = isinstance(value, str)
        live = text and is_formula(value)
        form = (look.form if look else "") or (TEXT if text else column.form)
        wrap = column.wrap if look is None or look.wrap is None else look.wrap
        key = (at, form, fill, look is not None and look.bold, wrap, live)
        cell = self._cells.get(key)
        if cell is None:
            cell = self._cells[key] = self._made(*key[1:])
        if text:
            # Whatever it looks like: a formula, an error, a number. The setter would look at each.
            cell._value, cell.data_type = for_workbook(value), "s"
        elif isinstance(value, int | float) and not isinstance(value, bool):
            cell._value, cell.data_type = value, "n"
        else:
            cell.value = value
        return cell

    def _made(self, form: str, fill: str, bold: bool, wrap: bool, live: bool) -> Any:
        """Return a new cell of a look."""
        from openpyxl.cell import WriteOnlyCell
        from openpyxl.styles import Alignment, Font, PatternFill

        cell = WriteOnlyCell(self.sheet)
        cell.number_format = form
        cell.alignment = Alignment(vertical="top", wrap_text=wrap)
        white = fill == "head"
        if bold or white:
            cell.font = Font(bold=True, color="FFFFFF" if white else "000000")
        if fill:
            cell.fill = PatternFill("solid", fgColor=FILLS[fill])
        if live:
            cell.quotePrefix = True
        return cell

    def _check(self) -> None:
        """Have the spreadsheet list what a cell may hold, and say what it means."""
        for where, column in self.page.checks:
            self.sheet.data_validations.append(_validation(where, column))


def _fit_to_page() -> Any:
    from openpyxl.worksheet.properties import PageSetupProperties

    return PageSetupProperties(fitToPage=True)


def _validation(where: str, column: Column) -> Any:
    """Return what a spreadsheet checks in a range; it warns, and the plan's own check decides."""
    import math

    from openpyxl.worksheet.datavalidation import DataValidation

    asked: dict[str, Any] = {"allow_blank": True, "errorStyle": "warning"}
    low, high = column.limits or (-math.inf, math.inf)
    if column.words:
        listed = ",".join(column.words)
        asked |= {"type": "list", "formula1": f'"{listed}"'}
    elif math.isfinite(low) and math.isfinite(high):
        asked |= {"type": "decimal", "operator": "between", "formula1": low, "formula2": high}
    found = DataValidation(sqref=where, **asked)
    if column.note:
        found.promptTitle, found.prompt = column.heading[:32], column.note[:255]
        found.showInputMessage = True
    found.showErrorMessage = bool(column.words or column.limits)
    return found
