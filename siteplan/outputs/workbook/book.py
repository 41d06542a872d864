"""A workbook written sheet by sheet, row by row, in the memory of a few rows; the same each time.

No text is ever live: what begins like a formula is written as text and marked as one. openpyxl
writes the book, its styles and its checks, and is imported here alone, so that a plan without a
workbook goes without it. The rows are laid into its sheets as ``cells.py`` has them: cell by cell
openpyxl takes ten times as long, a minute for 20,000 sites.
"""

from __future__ import annotations

import io
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import IO, Any

from siteplan.frozen import frozen
from siteplan.outputs.escaping import for_workbook, is_formula
from siteplan.outputs.shown import fixed
from siteplan.outputs.workbook.cells import cell_xml

#: The moment that a workbook says it was made: the earliest that a zip archive can hold.
_MADE, _MADE_TEXT = (1980, 1, 1, 0, 0, 0), b"1980-01-01T00:00:00Z"
_MOMENT = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*(</dcterms:)")
#: Where the rows of a sheet go, and where it says which cells it has.
_ROWS = re.compile(rb"<sheetData\s*/>|<sheetData>\s*</sheetData>")
_SPAN = re.compile(rb'(?<=<dimension ref=")[^"]*')
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


@frozen
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


#: What the line of headings is written as.
_PLAIN = Column("", form=TEXT)


@frozen
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

    book = openpyxl.Workbook()
    book.remove(book.active)
    book.properties.creator, book.properties.title = "siteplan", for_workbook(title)
    with ExitStack() as held:
        rows = []
        for page in pages:
            laid = held.enter_context(tempfile.TemporaryFile())
            rows.append((laid, _Writer(book, page, laid).write()))
        made = io.BytesIO()
        book.save(made)
        _joined(made, rows, path)


def _joined(made: io.BytesIO, rows: Sequence[tuple[IO[bytes], str]], path: Path) -> None:
    """Write a workbook's parts again, rows laid in, without the moment when they were made."""
    sheets = {f"xl/worksheets/sheet{at}.xml": found for at, found in enumerate(rows, 1)}
    with (
        zipfile.ZipFile(made) as source,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as target,
    ):
        for name in sorted(source.namelist(), key=lambda n: (n != "[Content_Types].xml", n)):
            data = source.read(name)
            if name == "docProps/core.xml":
                data = _MOMENT.sub(rb"\g<1>" + _MADE_TEXT + rb"\g<2>", data)
            part = zipfile.ZipInfo(name, date_time=_MADE)
            part.compress_type, part.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
            with target.open(part, "w", force_zip64=name in sheets) as file:
                if name not in sheets:
                    file.write(data)
                    continue
                laid, span = sheets[name]
                head, tail = _ROWS.split(_SPAN.sub(span.encode(), data, count=1), maxsplit=1)
                file.write(head + b"<sheetData>")
                laid.seek(0)
                shutil.copyfileobj(laid, file)
                file.write(b"</sheetData>" + tail)


class _Writer:
    """Writes one page: its rows into a file, all else into a sheet of a workbook."""

    def __init__(self, book: Any, page: Page, laid: IO[bytes]) -> None:
        self.sheet = book.create_sheet(page.title)
        self.page, self.laid = page, laid
        self._styles: dict[tuple[Any, ...], int] = {}

    def write(self) -> str:
        """Write headings, rows, and what the sheet does with them; return its range."""
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
        count = 0
        if page.heads:
            looks = [Styled(c.heading, "head", bold=True, wrap=True) for c in page.columns]
            count = self._row(1, looks, [_PLAIN] * len(looks))
        for row in page.rows:
            count = self._row(count + 1, row, page.columns)
        span = f"A1:{letters(len(page.columns))}{max(count, 1)}"
        if page.heads and page.filters:
            sheet.auto_filter.ref = span
        for where, column in page.checks:
            sheet.data_validations.append(_validation(where, column))
        return span

    def _row(self, number: int, row: Sequence[Any], columns: Sequence[Column]) -> int:
        """Write one row and return its number."""
        cells = []
        for value, column, letter in zip(row, columns, self._letters, strict=False):
            look = value if isinstance(value, Styled) else None
            bare = value.value if look else value
            if bare is None and not column.fill and not (look and (look.fill or look.form)):
                continue
            style = self._style(bare, look, column)
            cells.append(cell_xml(f"{letter}{number}", style, bare))
        self.laid.write(f'<row r="{number}">{"".join(cells)}</row>'.encode())
        return number

    @cached_property
    def _letters(self) -> list[str]:
        return [letters(at) for at in range(1, len(self.page.columns) + 1)]

    def _lay_out(self) -> None:
        """Let the sheet print across one page's width, its headings on each page."""
        sheet = self.sheet
        sheet.page_setup.orientation = "landscape" if self.page.landscape else "portrait"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr = _fit_to_page()
        if self.page.heads:
            sheet.print_title_rows = "1:1"

    def _style(self, value: Any, look: Styled | None, column: Column) -> int:
        """Return the number of the style that a value has in a column."""
        text = isinstance(value, str)
        form = (look.form if look else "") or (TEXT if text else column.form)
        fill = (look.fill if look else "") or column.fill
        wrap = column.wrap if look is None or look.wrap is None else look.wrap
        key = (form, fill, look is not None and look.bold, wrap, text and is_formula(value))
        if key not in self._styles:
            self._styles[key] = self._made(*key)
        return self._styles[key]

    def _made(self, form: str, fill: str, bold: bool, wrap: bool, live: bool) -> int:
        """Have the workbook know a style, and return its number."""
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
        return int(cell.style_id)


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
