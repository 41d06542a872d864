"""Reading CSV files as they come: encodings, delimiters, title lines, ragged rows."""

from __future__ import annotations

import codecs
import csv
import itertools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.errors import SitesError
from siteplan.frozen import frozen
from siteplan.inputs.bytewise.held import TextBytes, hold
from siteplan.inputs.bytewise.lines import read_lines, regular_columns
from siteplan.inputs.encoding.find import BAD_BYTE, LOST, Encoding, find_encoding
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.cells import plain_cell, plain_cells
from siteplan.inputs.files.rawtable import Table, clean_headings, text_table
from siteplan.inputs.headings import (
    joined_headings,
    looks_like_heading,
    names_a_position,
)
from siteplan.inputs.headings.meaning import heading_key
from siteplan.model import Records

#: Whether the cells of a line are a heading.
Says = Callable[[list[str]], bool]
_DELIMITERS = ",;\t|"
_BLOCK = 1 << 20
#: The heading is looked for in this many lines; above it there may be a title.
HEADING_LINES = 200
_LINE_END = re.compile(r"\r\n|\r|\n")
_MAX_CELL = 10_000_000
_END = "\0end of file\0"
_SURPLUS_FIX = "Put quotes around a cell that holds the delimiter (a decimal comma?)."


@frozen
class _Layout:
    """How a CSV file is written.

    ``skip`` records stand above the first site, ``hidden`` of them are not shown as rows;
    ``spaced`` files have a space between delimiter and quote.
    """

    encoding: Encoding
    delimiter: str
    headings: list[str]
    skip: int
    hidden: int
    spaced: bool
    written: Mapping[str, str]


def csv_chunks(path: Path, rows: int | None, says: Says | None = None) -> Iterator[Table]:
    """Yield the rows of a CSV file.

    Parameters
    ----------
    path : Path
    rows : int or None
        Rows a chunk; None for the whole file at once.
    says : callable, optional
        Whether cells are a heading, where the file is no list of positions.

    Yields
    ------
    Table
        Columns of text. At least one table, even of no rows.

    Raises
    ------
    SitesError
        Empty file, duplicate headings, or a quote that is never closed.
    """
    with told_plainly("csv", path):
        layout = _layout(path, says)
    parts = _mixed_tables if _may_be_regular(layout) else _tables
    yield from parts(layout, rows, path)


def _may_be_regular(layout: _Layout) -> bool:
    encoding = layout.encoding
    utf8 = encoding.name in ("utf-8", "utf-8-sig") and encoding.errors == "strict"
    return utf8 and not layout.spaced and layout.delimiter.isascii()


def _tables(layout: _Layout, rows: int | None, path: Path) -> Iterator[Table]:
    """Yield tables that are read record by record."""
    encoding = layout.encoding
    with told_plainly("csv", path):
        file = path.open(encoding=encoding.name, errors=encoding.errors, newline="")
    number = layout.skip - layout.hidden
    first = True
    with file:
        records = _records(file, layout, path)
        for _ in range(layout.skip):
            next(records, None)  # a quote alone is a line, and no record
        while True:
            block = list(itertools.islice(records, rows))
            if not block and not first:
                return
            numbers = range(number + 1, number + 1 + len(block))
            number += len(block)
            yield _table(layout, block, numbers, path)
            first = False
            if rows is None:
                return


class _Lines:
    """The lines of a UTF-8 file from some byte on; knows how far it was read."""

    def __init__(self, path: Path, encoding: Encoding) -> None:
        self.raw = path.open("rb")
        self.text = path.open(encoding="utf-8", newline="")
        self.at = len(codecs.BOM_UTF8) if encoding.name == "utf-8-sig" else 0
        self.count = 0

    def __enter__(self) -> _Lines:
        return self

    def __exit__(self, *_: object) -> None:
        self.raw.close()
        self.text.close()

    def __iter__(self) -> Iterator[str]:
        """Yield the lines one by one."""
        self.text.seek(self.at)
        for line in self.text:
            self.at += len(line) if line.isascii() else len(line.encode())
            self.count += 1
            yield line

    def regular(self, layout: _Layout, rows: int | None) -> tuple[list[Any], int] | None:
        """Return the next lines as columns, and how many; stay before lines that do not fit."""
        self.raw.seek(self.at)
        data = read_lines(self.raw, rows)
        columns = regular_columns(data, layout.delimiter, len(layout.headings))
        if columns is None:
            return None
        lines = data.count(b"\n") + (not data.endswith(b"\n"))
        if len(columns[0]) != lines:
            return None
        self.at += len(data)
        self.count += lines
        return columns, lines


def _mixed_tables(layout: _Layout, rows: int | None, path: Path) -> Iterator[Table]:
    """Yield tables, of regular lines in one go, of others record by record."""
    number = layout.skip - layout.hidden
    with told_plainly("csv", path):
        lines = _Lines(path, layout.encoding)
    with lines:
        above = _records(lines, layout, path)
        for _ in range(layout.skip):
            next(above, None)  # a quote alone is a line, and no record
        first = True
        while True:
            found = lines.regular(layout, rows)
            if found:
                block, count = found
                yield _regular_table(layout, block, number + 1, path)
            else:
                records = _records(lines, layout, path, begun=lines.count)
                block = list(itertools.islice(records, rows))
                count = len(block)
                if not count and not first:
                    return
                yield _table(layout, block, range(number + 1, number + 1 + count), path)
            number += count
            first = False
            if rows is None:
                return


def _regular_table(layout: _Layout, columns: list[Any], first: int, path: Path) -> Table:
    """Return columns of regular lines as a table without blank rows."""
    row = np.arange(first, first + len(columns[0]), dtype=np.int64)
    blank = np.ones(len(row), dtype=bool)
    known = [TextBytes(column) for column in columns]
    for each in known:
        if blank.any():
            blank &= ~each.filled
    if blank.any():
        known = [TextBytes(column.filter(~blank)) for column in columns]
        row = row[~blank]
    texts = (plain_cells(hold(each.objects(), each)) for each in known)
    named = dict(zip(layout.headings, texts, strict=True))
    remarks = layout.encoding.remarks
    return Table(named, row, path.name, written=layout.written, remarks=remarks)


def csv_rows(path: Path) -> int:
    """Return how many lines a CSV file has, its heading with them.

    Raises
    ------
    SitesError
        Unreadable file.
    """
    with told_plainly("csv", path), path.open("rb") as file:
        return sum(block.count(b"\n") for block in iter(lambda: file.read(_BLOCK), b""))


def csv_records(path: Path) -> Records:
    """Return a CSV file record by record, as it stands.

    Raises
    ------
    SitesError
        As `csv_chunks`.
    """
    with told_plainly("csv", path):
        layout = _layout(path)
        encoding = layout.encoding
        with path.open(encoding=encoding.name, errors=encoding.errors, newline="") as file:
            rows = list(_records(file, layout, path))
    return Records(rows, layout.delimiter, layout.skip - 1, layout.skip - layout.hidden + 1)


def _table(layout: _Layout, block: list[list[str]], numbers: range, path: Path) -> Table:
    _refuse_swallowed_rows(block, numbers, layout, path)
    table = text_table(
        layout.headings,
        block,
        numbers,
        source=path.name,
        surplus_fix=_SURPLUS_FIX,
        written=layout.written,
    )
    columns = {name: hold(plain_cells(values)) for name, values in table.columns.items()}
    table = replace(table, columns=columns)
    if layout.encoding.errors == "strict":
        return replace(table, remarks=layout.encoding.remarks)
    lost = np.zeros(len(table), dtype=bool)
    for values in table.columns.values():
        if LOST in "".join(values):
            lost |= np.array([LOST in text for text in values], dtype=bool)
    return replace(table, notes={int(at): (BAD_BYTE,) for at in np.flatnonzero(lost)})


def _layout(path: Path, says: Says | None = None) -> _Layout:
    encoding = find_encoding(path)
    with path.open(encoding=encoding.name, errors=encoding.errors, newline="") as file:
        lines = list(itertools.islice(file, HEADING_LINES))
    if not any(line.strip("\r\n\ufeff ,;\t|") for line in lines):
        raise SitesError("the file is empty.", where=path.name, fix="Put site_id,lat,lon in it.")
    first = lines[0].strip("\r\n\ufeff \"'").lower()
    hidden = int(first.startswith("sep=") and len(first) <= 5)
    delimiters = first[4] if hidden and len(first) == 5 else _DELIMITERS
    known = (looks_like_heading, names_a_position) if says is None else (says,)
    delimiter, at, cells = _find_heading(lines, delimiters, hidden, path, known)
    spaced = any(f'{delimiter} "' in line for line in lines)
    below = _parsed_peacefully(lines[at + 1 : at + 2], delimiter, path)
    joined = joined_headings([cells, *below])
    headings, written = clean_headings(joined[0])
    skip = at + 1 + len([cells, *below]) - len(joined)
    return _Layout(encoding, delimiter, headings, skip, hidden, spaced, written)


def _find_heading(
    lines: list[str], delimiters: str, hidden: int, path: Path, known: Iterable[Says]
) -> tuple[str, int, list[str]]:
    """Return delimiter, index and cells of the line that is a heading, else of the first."""
    parsed = {
        delimiter: [
            [plain_cell(cell) for cell in cells]
            for _, cells in _parsed(lines, delimiter, spaced=True, path=path)
        ]
        for delimiter in delimiters
    }
    for says in known:
        for delimiter, rows in parsed.items():
            for at, cells in enumerate(rows[hidden:], hidden):
                if says(cells):
                    return delimiter, at, cells
    at = next(i for i, line in enumerate(lines) if i >= hidden and line.strip("\r\n\ufeff ,;\t|"))
    delimiter = max(delimiters, key=lines[at].count)
    _, cells = next(_parsed(lines[at : at + 1], delimiter, spaced=True, path=path))
    if len(lines) == HEADING_LINES and len(cells) == 1 and not heading_key(cells[0]):
        raise SitesError(
            f"there is no line of headings in the first {HEADING_LINES} lines.",
            where=path.name,
            fix="Delete the lines above it.",
        )
    return delimiter, at, cells


def _parsed_peacefully(lines: list[str], delimiter: str, path: Path) -> list[list[str]]:
    """Return the records of a few lines, none where they cannot be read alone."""
    try:
        return [cells for _, cells in _parsed(lines, delimiter, spaced=True, path=path)]
    except SitesError:
        return []


def _records(
    file: Iterable[str], layout: _Layout, path: Path, *, begun: int = 0
) -> Iterator[list[str]]:
    """Yield records behind ``begun`` lines; refuse a quote that is open at the end of the file."""
    # A last line of our own shows whether the text before it was closed.
    lines = itertools.chain(file, [_END])
    parsed = _parsed(lines, layout.delimiter, spaced=layout.spaced, path=path, begun=begun)
    for started, record in parsed:
        if record and _END in record[-1]:
            if record == [_END]:
                return
            raise SitesError(
                f"a quote opened in line {started} is never closed.",
                where=path.name,
                fix="Close it, or take it out.",
            )
        yield record


def _parsed(
    lines: Iterable[str], delimiter: str, *, spaced: bool, path: Path, begun: int = 0
) -> Iterator[tuple[int, list[str]]]:
    """Yield each record with the line in which it begins, ``begun`` lines being above."""
    csv.field_size_limit(_MAX_CELL)
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=spaced)
    at = {"line": begun + 1}
    with told_plainly("csv", path, at):
        for record in reader:
            yield at["line"], record
            at["line"] = begun + reader.line_num + 1


def _refuse_swallowed_rows(
    block: list[list[str]], numbers: range, layout: _Layout, path: Path
) -> None:
    """Refuse a quoted cell that holds whole rows: its closing quote was forgotten."""
    commas = len(layout.headings) - 1
    if commas < 2:
        return
    for record, number in zip(block, numbers, strict=True):
        for cell in record:
            # The first two questions are but quicker than the third.
            if ("\n" in cell or "\r" in cell) and _holds_rows(cell, layout.delimiter, commas):
                lines = len(_LINE_END.split(cell))
                raise SitesError(
                    f"a quoted cell in row {number} runs over {lines} lines and"
                    " seems to hold whole rows.",
                    where=path.name,
                    fix="Look for a quote that is not closed.",
                )


def _holds_rows(cell: str, delimiter: str, commas: int) -> bool:
    return any(line.count(delimiter) >= commas for line in _LINE_END.split(cell)[1:])
