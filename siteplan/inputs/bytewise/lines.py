"""Lines of a CSV file that can be read in one go: a record a line, as many cells in each.

Whatever is not so (ragged rows, blank lines, line ends in a cell, quotes within a cell) is left to
the reader that goes record by record; both give the same cells.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import IO, Any

import numpy as np

_BLOCK = 1 << 20
_LINE_FEED, _RETURN = ord("\n"), ord("\r")
_MARK = b"\xef\xbb\xbf"
#: Longer lines are left to the other reader, which knows the longest cell.
_LONGEST_LINE = 1_000_000
#: More bytes than this are not read in one go.
_MOST_BYTES = 1 << 30


def read_lines(file: IO[bytes], lines: int | None) -> bytes:
    """Return so many lines from where a file stands, all that are left for None.

    They are fewer at the end of the file; the file is left standing anywhere.
    """
    if lines is None:
        return file.read()
    parts, left = [], lines
    while block := file.read(_BLOCK):
        count = block.count(b"\n")
        if count >= left:
            ends = np.flatnonzero(np.frombuffer(block, dtype=np.uint8) == _LINE_FEED)
            parts.append(block[: int(ends[left - 1]) + 1])
            break
        left -= count
        parts.append(block)
    return b"".join(parts)


def regular_columns(data: bytes, delimiter: str, width: int) -> list[Any] | None:
    """Return lines as columns of text, None where the lines are not regular.

    Parameters
    ----------
    data : bytes
        Whole lines in UTF-8.
    delimiter : str
        One ASCII character.
    width : int
        How many cells each line must have.

    Returns
    -------
    list of pyarrow.StringArray (n,), or None
    """
    import pyarrow as pa
    from pyarrow import csv

    if width < 2 or not _is_regular(data, delimiter):
        return None
    names = [str(i) for i in range(width)]
    try:
        table = csv.read_csv(
            pa.BufferReader(data),
            csv.ReadOptions(use_threads=False, block_size=len(data) + 1, column_names=names),
            csv.ParseOptions(delimiter=delimiter, ignore_empty_lines=False),
            csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
            ),
        )
    except pa.ArrowInvalid:
        return None
    columns = [column.combine_chunks() for column in table.columns]
    return columns if all(isinstance(column, pa.Array) for column in columns) else None


def _is_regular(data: bytes, delimiter: str) -> bool:
    """Whether each line is one record, and each quote belongs to a quoted cell."""
    if not 0 < len(data) < _MOST_BYTES or b"\0" in data or data.startswith(_MARK):
        return False
    if data[:1] in (b"\n", b"\r"):
        return False
    if b"\r" in data and data.count(b"\r") != data.count(b"\r\n"):
        return False
    text = np.frombuffer(data, dtype=np.uint8)
    ends = np.flatnonzero(text == _LINE_FEED)
    behind = text[ends[ends < len(data) - 1] + 1]
    if ((behind == _LINE_FEED) | (behind == _RETURN)).any():
        return False
    if np.diff(ends, prepend=-1, append=len(data)).max() > _LONGEST_LINE:
        return False
    return b'"' not in data or b'"' not in _quoted(delimiter).sub(b"", data)


@lru_cache(maxsize=8)
def _quoted(delimiter: str) -> re.Pattern[bytes]:
    """Return what finds a quoted cell, from its delimiter or line end to the next."""
    edge = re.escape(delimiter).encode() + rb"\r\n"
    # A quote at the very beginning has no byte before it.
    return re.compile(rb'"(?<![^' + edge + rb']")(?:[^"\r\n]|"")*+"(?=[' + edge + rb"]|\Z)")
