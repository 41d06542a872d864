"""What is told of each column over all chunks of a file: filled cells, an example, spellings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray
from siteplan.inputs.bytewise.held import held
from siteplan.inputs.files.cells import (
    as_texts,
    cell_text,
    is_numeric,
    plain_numbers,
    strip_texts,
)
from siteplan.inputs.files.rawtable import Table
from siteplan.model import Note

#: More of a cell than this is no example.
_EXAMPLE_LENGTH = 60
#: One comma between digits, and no grouping of thousands.
_COMMA = re.compile(r"(?![+-]?[1-9]\d{0,2},\d{3}\D*$)[^,]*\d,\d+[^,\d]*")


@cache
def _with_unit(units: tuple[str, ...]) -> re.Pattern[str]:
    """Return what a number with one of some units looks like."""
    return re.compile(rf"(?i)[+-]?\d*[.,]?\d+\s*(?:{'|'.join(map(re.escape, units))})\.?")


@dataclass
class Tally:
    """The counts so far: rows in all, and by heading the filled cells and the first of them.

    ``numbers`` are the columns that may be read as numbers, each with the units of ours that its
    cells may carry; ``commas`` and ``units`` the first cell of each with a decimal comma, and
    with such a unit.
    """

    rows: int = 0
    numbers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    filled: dict[str, int] = field(default_factory=dict)
    example: dict[str, str] = field(default_factory=dict)
    commas: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)

    def add(self, table: Table) -> None:
        """Count the cells of one more chunk."""
        self.rows += len(table)
        for heading, values in table.columns.items():
            full = filled_cells(values)
            self.filled[heading] = self.filled.get(heading, 0) + int(full.sum())
            if heading not in self.example and full.any():
                example = cell_text(values[int(full.argmax())]).strip()
                self.example[heading] = example[:_EXAMPLE_LENGTH]
            if heading in self.numbers:
                self._add_spellings(heading, values)

    def _add_spellings(self, heading: str, values: NDArray[Any]) -> None:
        """Keep the first cell with a decimal comma, and the first with a unit of ours."""
        patterns = [(self.commas, _COMMA)]
        if units := self.numbers[heading]:
            patterns.append((self.units, _with_unit(units)))
        wanted = [(found, pattern) for found, pattern in patterns if heading not in found]
        if not wanted or is_numeric(values):
            return
        texts = strip_texts(as_texts(values))
        # A longer cell is no number, and would keep a pattern busy.
        others = texts[~plain_numbers(texts)[1]].tolist()
        short = [text for text in others if 0 < len(text) <= _EXAMPLE_LENGTH]
        for found, pattern in wanted:
            first = next((text for text in short if pattern.fullmatch(text)), None)
            if first is not None:
                found[heading] = first

    def spellings(self, headings: Mapping[str, str]) -> list[Note]:
        """Return what is said once of columns that are read as numbers.

        Parameters
        ----------
        headings : mapping of str to str
            The columns that are read, and what the file calls each.
        """
        told = (
            ("note.input_mended.decimal_commas", self.commas),
            ("note.input_mended.own_units", self.units),
        )
        return [
            Note.of(key, heading=written.strip(), text=cells[heading])
            for heading, written in headings.items()
            for key, cells in told
            if heading in cells
        ]


def filled_cells(values: NDArray[Any]) -> BoolArray:
    """Return where a column (n,) holds anything but blanks."""
    if known := held(values):
        return known.filled
    if is_numeric(values):
        return ~np.isnan(values) if values.dtype.kind == "f" else np.ones(len(values), dtype=bool)
    if values.dtype.kind != "O":
        return np.ones(len(values), dtype=bool)
    return np.array([_filled(value) for value in values.tolist()], dtype=bool)


def _filled(value: Any) -> bool:
    if value.__class__ is str:
        return bool(value) and not value.isspace()
    # Only nothing at all differs from itself: NaN and NaT.
    return value is not None and bool(value == value)  # noqa: PLR0124
