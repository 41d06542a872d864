"""Long tables of few words as CSV: each word and each number becomes text once.

A log of years has millions of rows and far fewer distinct cells.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO, Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import IntArray, at_decimals
from siteplan.frozen import frozen
from siteplan.outputs.escaping import for_utf8, harmless_column

#: Rows that are joined at once.
_ROWS: Final = 1 << 16


@frozen(eq=False)
class Named:
    """Texts (k,), and which of them each row has (r,)."""

    texts: Sequence[str]
    which: IntArray

    def at(self, i: int) -> str:
        """Return the text of a row."""
        return self.texts[int(self.which[i])]


#: A table's columns (r,) by name: texts, numbers, or texts of a row each.
Columns = Mapping[str, NDArray[Any] | Named | list[str]]


def rounded(values: NDArray[Any], decimals: int) -> NDArray[Any]:
    """Return numbers as they are written; what has no decimals as whole numbers."""
    found = at_decimals(values, decimals)
    return found.astype(np.int64) if decimals == 0 else found


def write_columns(path: Path, columns: Columns) -> None:
    """Write columns as CSV (UTF-8, comma, decimal point), texts and headings between quotes.

    What is not known is blank, but in the first column all is known; no text is a formula to a
    spreadsheet.
    """
    import pyarrow.compute as pc

    words = [_words(values) for values in columns.values()]
    rows = len(words[0][1])
    # A line begins with its line feed, so that lines lie one behind the other as they are joined.
    words[0] = pc.binary_join_element_wise("\n", words[0][0], ""), words[0][1]
    with path.open("wb") as file:
        file.write(",".join(f'"{name}"' for name in columns).encode())
        for start in range(0, rows, _ROWS):
            cells = (texts.take(which.slice(start, _ROWS)) for texts, which in words)
            _write_lines(file, cells)
        file.write(b"\n")


def _words(values: NDArray[Any] | Named | list[str]) -> tuple[Any, Any]:
    """Return a column's distinct cells as they are written, and which of them each row has."""
    import pyarrow as pa

    if isinstance(values, Named):
        return _quoted(values.texts), pa.array(values.which)
    if isinstance(values, list):
        return _quoted(values), pa.array(np.arange(len(values)))
    found = pa.array(values, from_pandas=True).dictionary_encode()
    return found.dictionary.cast(pa.string()), found.indices


def _quoted(texts: Sequence[str]) -> Any:
    """Return texts between quotes, harmless in a spreadsheet."""
    import pyarrow as pa
    import pyarrow.compute as pc

    safe = harmless_column(pa.array([for_utf8(text) for text in texts], pa.string()))
    return pc.binary_join_element_wise('"', pc.replace_substring(safe, '"', '""'), '"', "")


def _write_lines(file: IO[bytes], cells: Iterator[Any]) -> None:
    """Write rows of cells, Arrow's texts; a null is blank."""
    import pyarrow.compute as pc

    lines = pc.binary_join_element_wise(*cells, ",", null_handling="replace")
    ends = np.frombuffer(lines.buffers()[1], dtype=np.int32)[lines.offset :][: len(lines) + 1]
    file.write(memoryview(lines.buffers()[2])[int(ends[0]) : int(ends[-1])])
