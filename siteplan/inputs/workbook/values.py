"""One cell of the sheets of keys as the value that network.toml would have in its place."""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib
from collections.abc import Callable
from typing import Any, NamedTuple

from siteplan.inputs.files.cells import cell_text
from siteplan.network.reference import KeyRow, limits_of

#: What a spreadsheet shows for a formula that failed (ECMA-376 part 1, section 18.17.3).
ERRORS = frozenset(
    ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA")
)
_POINT = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?\d+,\d+")
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?")


class Read(NamedTuple):
    """A cell's value, and whether it was text that stands for a number."""

    value: Any
    mended: bool = False


def is_blank(cell: Any) -> bool:
    """Whether a cell gives nothing, so that the key keeps its default."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def value_of(row: KeyRow, cell: Any) -> Read:
    """Return what a cell that is not blank gives for a key.

    Parameters
    ----------
    row : KeyRow
        The key.
    cell : object
        Text, number, date or switch as the workbook has it.

    Returns
    -------
    Read
        What cannot be read stays as it is: the check of the network then tells it.
    """
    if isinstance(cell, str):
        cell = _unquoted(cell.strip())
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        cell = cell.date()
    return _READERS.get(row.kind, _listed)(row, cell)


def _unquoted(text: str) -> str:
    """Return a text without the quotes that network.toml would have: "" is the empty text."""
    quoted = len(text) > 1 and text[0] == text[-1] == '"'
    return text[1:-1] if quoted else text


def _number(row: KeyRow, cell: Any) -> Read:
    if not isinstance(cell, str):
        return Read(cell)
    number = number_in(cell, *limits_of(row.table, row.key))
    return Read(cell) if number is None else Read(number, mended=True)


def number_in(text: str, low: float, high: float) -> float | None:
    """Return the number that a text is, a decimal comma too, where it has one reading in range.

    >>> number_in("13,5", -180, 360), number_in("1,234", 0, 2000), number_in("about 3", 0, 9)
    (13.5, None, None)
    """
    if _POINT.fullmatch(text):
        return float(text)
    readings = []
    if _COMMA.fullmatch(text):
        readings.append(float(text.replace(",", ".")))
    if _GROUPED.fullmatch(text):
        readings.append(float(text.replace(",", "")))
    inside = [number for number in readings if low <= number <= high]
    return inside[0] if len(inside) == 1 else None


def _text(row: KeyRow, cell: Any) -> Read:
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return Read(cell_text(cell))
    return Read(cell)


def _switch(row: KeyRow, cell: Any) -> Read:
    words = {"true": True, "false": False}
    return Read(words.get(cell.lower(), cell) if isinstance(cell, str) else cell)


def _date(row: KeyRow, cell: Any) -> Read:
    # A number is no date here: elsewhere it might be taken for seconds.
    return Read(cell if isinstance(cell, dt.date) else cell_text(cell))


def _numbers(row: KeyRow, cell: Any) -> Read:
    if not isinstance(cell, str):
        return Read([cell])
    parts = parts_of(cell)
    numbers = [number_in(part, float("-inf"), float("inf")) for part in parts]
    # A single 13,19 may be one number or two.
    unclear = None in numbers or (len(parts) == 1 and _COMMA.fullmatch(parts[0]) is not None)
    return Read(cell if unclear else numbers)


def parts_of(text: str) -> list[str]:
    """Return the entries of a list in a cell, parted by semicolons, else by commas or spaces.

    Commas that may be decimal ones part nothing.

    >>> parts_of("0; 1,5; 3"), parts_of("[0, 1, 3]"), parts_of("1,5, 3")
    (['0', '1,5', '3'], ['0', '1', '3'], ['1,5, 3'])
    """
    bare = text.strip().removeprefix("[").removesuffix("]")
    close, apart = re.findall(r",(?=\S)", bare), re.findall(r",(?=\s)", bare)
    if ";" in bare:
        found = bare.split(";")
    elif close and (apart or len(close) == 1):
        found = [bare]
    else:
        found = re.split(r"[,\s]+", bare)
    return [_unquoted(part.strip()) for part in found if part.strip()]


def _segments(row: KeyRow, cell: Any) -> Read:
    """Return lists of numbers: parted by bars or lines, or in brackets as a file has them.

    >>> from siteplan.network.reference import key_rows
    >>> row = key_rows("masks")[-1]
    >>> _segments(row, "1.5; 7; 15; 25 | 7; 9,2; -6; 0").value
    [[1.5, 7.0, 15.0, 25.0], [7.0, 9.2, -6.0, 0.0]]
    >>> _segments(row, "[[1.5, 7, 15, 25]]").value
    [[1.5, 7.0, 15.0, 25.0]]
    """
    if not isinstance(cell, str):
        return Read(cell)
    text = cell.strip()
    if text.startswith("[[") and text.endswith("]]"):
        text = re.sub(r"\]\s*[,;]\s*\[", "|", text[2:-2])
    parts = [part for part in re.split(r"[|\n]", text) if part.strip()]
    lists = [[number_in(n, -math.inf, math.inf) for n in parts_of(part)] for part in parts]
    return Read(cell if any(None in numbers for numbers in lists) else lists)


def _keys(row: KeyRow, cell: Any) -> Read:
    """Return keys of another table, written as network.toml has them, braces or not.

    >>> from siteplan.network.reference import key_rows
    >>> row = next(row for row in key_rows("beams") if row.key == "hub")
    >>> _keys(row, "lat = 40.4, lon = -3.7").value
    {'lat': 40.4, 'lon': -3.7}
    """
    if not isinstance(cell, str):
        return Read(cell)
    bare = cell.strip().removeprefix("{").removesuffix("}")
    try:
        return Read(tomllib.loads(f"keys = {{{bare}}}")["keys"])
    except tomllib.TOMLDecodeError:
        return Read(cell)


def _listed(row: KeyRow, cell: Any) -> Read:
    """Return a list of texts, parted by semicolons; in brackets, as a file has it, by commas."""
    text = (cell if isinstance(cell, str) else cell_text(cell)).strip()
    bracketed = text.startswith("[") and text.endswith("]")
    bare = text[1:-1] if bracketed else text
    parts = bare.split("," if bracketed and ";" not in bare else ";")
    return Read([_unquoted(part.strip()) for part in parts if part.strip()])


_READERS: dict[str, Callable[[KeyRow, Any], Read]] = {
    "number": _number,
    "numbers": _numbers,
    "segments": _segments,
    "text": _text,
    "switch": _switch,
    "keys": _keys,
    "date": _date,
}
