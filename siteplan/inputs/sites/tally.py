"""How many cells of each column are filled, over all chunks of a file, and an example of each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray
from siteplan.inputs.bytewise.held import held
from siteplan.inputs.files.cells import cell_text, is_numeric
from siteplan.inputs.files.rawtable import Table

#: More of a cell than this is no example.
_EXAMPLE_LENGTH = 60


@dataclass
class Tally:
    """The counts so far: rows in all, and by heading the filled cells and the first of them."""

    rows: int = 0
    filled: dict[str, int] = field(default_factory=dict)
    example: dict[str, str] = field(default_factory=dict)

    def add(self, table: Table) -> None:
        """Count the cells of one more chunk."""
        self.rows += len(table)
        for heading, values in table.columns.items():
            full = filled_cells(values)
            self.filled[heading] = self.filled.get(heading, 0) + int(full.sum())
            if heading not in self.example and full.any():
                example = cell_text(values[int(full.argmax())]).strip()
                self.example[heading] = example[:_EXAMPLE_LENGTH]


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
