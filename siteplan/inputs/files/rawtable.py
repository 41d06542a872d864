"""A table as it came out of a file, before anything in it is checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, IntArray
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import as_texts, is_numeric, without_controls
from siteplan.inputs.headings import unlike_headings
from siteplan.model import Note, Reject


@frozen
class Table:
    """Rows of a file, or one chunk of them; one array a column, rows along axis 0.

    Columns are arrays of text, or the original values where the file has types. ``row`` counts
    as a spreadsheet shows the rows, the heading being row 1. ``lat`` and ``lon`` hold the
    positions of a file with geometry, else None. ``rejects`` are rows that reading already
    had to refuse; ``notes`` belong to rows by position. Blank rows are left out. ``written`` is
    what the file calls a column that was renamed, as another one has the same heading;
    ``remarks`` is what is said of the file once. Of a project's workbook ``sheet`` is the sheet
    that it stands on, ``letters`` the columns' letters by heading, ``heading_row`` their row.
    """

    columns: Mapping[str, NDArray[Any]]
    row: IntArray
    source: str
    lat: NDArray[Any] | None = None
    lon: NDArray[Any] | None = None
    rejects: tuple[Reject, ...] = ()
    notes: Mapping[int, tuple[Note, ...]] | None = None
    written: Mapping[str, str] = field(default_factory=dict)
    remarks: tuple[Note, ...] = ()
    sheet: str = ""
    letters: Mapping[str, str] = field(default_factory=dict)
    heading_row: int = 0

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.row)

    def take(self, index: IntArray) -> Table:
        """Return the rows at ``index`` (k,), with the rejects of the whole table."""
        notes = self.notes or {}
        return Table(
            columns={name: values[index] for name, values in self.columns.items()},
            row=self.row[index],
            source=self.source,
            lat=None if self.lat is None else self.lat[index],
            lon=None if self.lon is None else self.lon[index],
            rejects=self.rejects,
            notes={k: notes[i] for k, i in enumerate(index.tolist()) if i in notes},
            written=self.written,
            remarks=self.remarks,
            sheet=self.sheet,
            letters=self.letters,
            heading_row=self.heading_row,
        )

    @property
    def heading_cells(self) -> dict[str, str]:
        """How a project's workbook calls the cells of headings: Sites!C1; {} for other files."""
        if not self.sheet or not self.heading_row:
            return {}
        return {h: f"{self.sheet}!{letter}{self.heading_row}" for h, letter in self.letters.items()}

    def cell(self, heading: str, at: int) -> str:
        """Return how a workbook calls a cell of row ``at``: Sites!C12; '' for other files."""
        if not self.sheet:
            return ""
        row = int(self.row[at])
        letter = self.letters.get(heading, "")
        return f"{self.sheet}!{letter}{row}" if letter else f"{self.sheet}, row {row}"


def text_table(
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    numbers: Sequence[int],
    *,
    source: str,
    surplus_fix: str = "",
    written: Mapping[str, str] | None = None,
) -> Table:
    """Return rows of texts as a table.

    Parameters
    ----------
    headings : sequence of str
        One a column, no two alike.
    rows : sequence of sequences of str
        Short rows are filled with ''. Rows with texts beyond the headings become rejects.
    numbers : sequence of int
        The row numbers that belong to ``rows``.
    source : str
    surplus_fix : str, optional
        What to do about a row that is too long.
    written : mapping, optional
        What the file calls columns that were renamed.
    """
    width = len(headings)
    rejects: list[Reject] = []
    kept, kept_numbers = list(rows), list(numbers)
    if any(len(row) != width for row in rows):
        kept, kept_numbers = [], []
        for row, number in zip(rows, numbers, strict=True):
            if any(cell.strip() for cell in row[width:]):
                rejects.append(_too_long(row, number, width, surplus_fix))
                continue
            kept.append([*row[:width], *[""] * (width - len(row))])
            kept_numbers.append(number)
    columns = _columns(headings, kept)
    at = np.array(kept_numbers, dtype=np.int64)
    table = Table(columns, at, source, rejects=tuple(rejects), written=written or {})
    return without_blank_rows(table)


def _too_long(row: Sequence[str], number: int, width: int, fix: str) -> Reject:
    reason = f"the row has {len(row)} cells, the heading {width}"
    return Reject(number, "", "", " | ".join(row)[:200], reason, fix)


def _columns(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> dict[str, NDArray[Any]]:
    """Turn rows into named columns."""
    columns: dict[str, NDArray[Any]] = {}
    cells = list(zip(*rows, strict=True)) if rows else [()] * len(headings)
    for index, heading in enumerate(headings):
        values = np.empty(len(rows), dtype=object)
        values[:] = cells[index]
        columns[heading or f"column_{index + 1}"] = values
    return columns


def tidy_heading(text: str) -> str:
    """Return a heading on one line, without control characters and spaces at its ends."""
    texts = np.array([text.replace("\ufeff", "").strip()], dtype=object)
    return str(without_controls(texts, one_line=True)[0][0])


def clean_headings(cells: Sequence[str]) -> tuple[list[str], dict[str, str]]:
    """Return the headings of a table, no two alike, and what the file calls those renamed.

    A column without a heading is called ``column_3``, by its place.
    """
    headings = [tidy_heading(cell) for cell in cells]
    named = [heading or f"column_{i + 1}" for i, heading in enumerate(headings)]
    return unlike_headings(named)


def without_blank_rows(table: Table) -> Table:
    """Return the table without the rows in which every cell is blank."""
    if not len(table):
        return table
    blank = np.ones(len(table), dtype=bool)
    for values in (table.lat, *table.columns.values()):
        if values is not None and blank.any():
            at = np.flatnonzero(blank)
            blank[at] = _blank_cells(values[at])
    return table.take(np.flatnonzero(~blank)) if blank.any() else table


def _blank_cells(values: NDArray[Any]) -> BoolArray:
    if is_numeric(values):
        return np.isnan(values) if values.dtype.kind == "f" else np.zeros(len(values), dtype=bool)
    return np.array([not text.strip() for text in as_texts(values)], dtype=bool)
