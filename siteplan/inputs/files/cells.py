"""Cells as people type them: texts, blanks, plain numbers, control characters.

Whole columns go through numpy and pandas; only the cells that a fast pattern does not
understand are looked at one by one.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.frozen import frozen
from siteplan.inputs.bytewise.held import held
from siteplan.model import Note

#: A number that has one reading everywhere: no comma, no exponent, no unit.
PLAIN_NUMBER = r"[+-]?(?:[0-9]{1,15}(?:\.[0-9]*)?|\.[0-9]+)"

#: Words that say 'not known' (compared in lower case).
UNKNOWN_WORDS = frozenset(
    (
        *("", "-", "--", "---", "?", "??", "n/a", "na", "n.a.", "#n/a", "nan", "nil", "none"),
        *("null", "<na>", "nat", "unknown", "not known", "tbd", "tbc", "t.b.d.", "t.b.c."),
        "(blank)",
    )
)

_LONGEST_UNKNOWN = max(map(len, UNKNOWN_WORDS))
_UNKNOWN_FIRST = "".join(word[:1] + word[:1].upper() for word in UNKNOWN_WORDS).encode()
#: The first bytes (256,) that such a word may have; 0 is that of no text.
_MAY_BE_UNKNOWN = np.isin(np.arange(256), [0, *_UNKNOWN_FIRST, *range(0x80, 256)])

#: What a broken formula leaves in a cell.
FORMULA_ERRORS = frozenset(
    ("#ref!", "#value!", "#div/0!", "#name?", "#num!", "#null!", "#spill!", "#calc!")
)

# Neither XML 1.0 nor a spreadsheet can hold these; tab and line ends are treated apart.
_UNFIT = "\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f\\ufffe\\uffff\\ud800-\\udfff"
_CONTROL = re.compile(f"[{_UNFIT}]")
_LINE_ENDS = re.compile(r"[\t\r\n]+")
_CONTROL_OR_LINE_ENDS = re.compile(f"[{_UNFIT}\\t\\r\\n]")


#: A text as a spreadsheet guards it against becoming a number: ="007".
_TEXT_FORMULA = re.compile(r'\s*="((?:[^"]|"")*)"\s*')

#: Fewer cells than this are read without pandas, which takes longer to import.
PANDAS_FROM_CELLS = 100


@frozen
class Fault:
    """What makes a row unusable: the key, its value as read, the reason and what to do."""

    key: str
    value: str
    reason: str
    fix: str


@dataclass
class Findings:
    """What the checks found, by position in the table: faults reject a row, notes stay with it."""

    faults: dict[int, list[Fault]] = field(default_factory=dict)
    notes: dict[int, list[Note]] = field(default_factory=dict)

    def fault(self, at: int, fault: Fault) -> None:
        """Add a fault of row ``at``."""
        self.faults.setdefault(at, []).append(fault)

    def note(self, at: int, note: Note) -> None:
        """Add a note to row ``at``, once."""
        notes = self.notes.setdefault(at, [])
        if note not in notes:
            notes.append(note)

    def note_all(self, where: IntArray, note: Note) -> None:
        """Add one note to each of the rows ``where`` (k,)."""
        for at in where.tolist():
            self.note(at, note)


def cell_text(value: Any) -> str:
    """Return one cell as text: '' for nothing, the shortest exact digits for a number."""
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, bool | np.bool_):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float | np.floating):
        return _float_text(float(value))
    if isinstance(value, dt.timedelta):
        return _hours_text(value)
    text = str(value)
    if isinstance(value, dt.datetime) and text.endswith(" 00:00:00"):
        return text.partition(" ")[0]
    return "" if text in ("<NA>", "NaT") else text


def _float_text(value: float) -> str:
    if math.isnan(value):
        return ""
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)


def _hours_text(value: dt.timedelta) -> str:
    """Return hours:minutes:seconds; a spreadsheet turns 36:49:12 into a duration."""
    seconds = abs(value.total_seconds())
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(int(minutes), 60)
    sign = "-" if value.total_seconds() < 0 else ""
    return f"{sign}{hours}:{minutes:02d}:{rest:09.6f}".rstrip("0").rstrip(".")


def as_texts(values: NDArray[Any]) -> TextArray:
    """Return a column (n,) as texts (n,), '' where there is nothing."""
    if held(values):
        return values
    if values.dtype.kind in "iu":
        return values.astype(str).astype(object)
    if values.dtype.kind == "O" and len(values) >= PANDAS_FROM_CELLS:
        from pandas.api.types import infer_dtype

        if infer_dtype(values, skipna=False) == "string":
            return values
    items = values.tolist() if values.dtype.kind in "fbU" else list(values)
    out = np.empty(len(items), dtype=object)
    out[:] = [cell_text(item) for item in items]
    return out


def strip_texts(texts: TextArray) -> TextArray:
    """Return the texts without spaces at their ends."""
    if known := held(texts):
        return known.stripped(texts)
    out = np.empty(len(texts), dtype=object)
    out[:] = [text.strip() for text in texts]
    return out


def plain_cell(text: str) -> str:
    """Return the text of a cell that is a formula of one text.

    >>> plain_cell('="007"'), plain_cell('=A1')
    ('007', '=A1')
    """
    match = _TEXT_FORMULA.fullmatch(text)
    return match[1].replace('""', '"') if match else text


def plain_cells(texts: TextArray) -> TextArray:
    """Return texts (n,), formulas of one text as that text; the same array where there is none."""
    known = held(texts)
    if not (known.contains(b'="') if known else '="' in "\n".join(texts)):
        return texts
    out = np.empty(len(texts), dtype=object)
    out[:] = [plain_cell(text) for text in texts]
    return out


def is_numeric(values: NDArray[Any]) -> bool:
    """Whether a column holds numbers already (booleans are not numbers)."""
    return values.dtype.kind in "iuf"


def all_texts(values: NDArray[Any]) -> bool:
    """Whether every cell of a column is a text."""
    if held(values):
        return True
    return values.dtype.kind == "O" and all(isinstance(value, str) for value in values)


def decimal_mask(texts: TextArray) -> BoolArray:
    """Return where texts (n,) are all digits."""
    if known := held(texts):
        return known.decimal
    return np.array([text.isdecimal() for text in texts], dtype=bool)


def unknown_mask(texts: TextArray) -> BoolArray:
    """Return where the (stripped) texts say 'not known'."""
    if known := held(texts):
        # A letter of a word may be written in three bytes (the sign of the kelvin is a k).
        doubtful = _MAY_BE_UNKNOWN[known.first] & (known.sizes <= 3 * _LONGEST_UNKNOWN)
        return known.where(doubtful, lambda text: text.lower() in UNKNOWN_WORDS)
    return np.array([text.lower() in UNKNOWN_WORDS for text in texts], dtype=bool)


def plain_numbers(values: NDArray[Any]) -> tuple[FloatArray, BoolArray]:
    """Read the cells that have one plain reading.

    Parameters
    ----------
    values : array (n,)
        Numbers, or stripped texts.

    Returns
    -------
    numbers : array (n,)
        NaN where the cell is not a plain number.
    plain : array (n,) of bool
        Where it is one. Exact: each text goes through the correctly rounded conversion.
    """
    if is_numeric(values):
        numbers = values.astype(np.float64)
        plain = np.isfinite(numbers)
        return np.where(plain, numbers, np.nan), plain
    if known := held(values):
        return known.plain_numbers(PLAIN_NUMBER)
    if len(values) < PANDAS_FROM_CELLS:
        plain = np.array([re.fullmatch(PLAIN_NUMBER, text) is not None for text in values], bool)
    else:
        from pandas import Series

        plain = Series(values, dtype=object).str.fullmatch(PLAIN_NUMBER).to_numpy(dtype=bool)
    numbers = np.full(len(values), np.nan)
    numbers[plain] = values[plain].astype(np.float64)
    return numbers, plain


def number_gaps(values: NDArray[Any], plain: BoolArray) -> BoolArray:
    """Return where a column has nothing: NaN, blank or a word for 'not known'.

    ``plain`` (n,) tells which cells are plain numbers and need no look.
    """
    if is_numeric(values):
        return np.isnan(values) if values.dtype.kind == "f" else np.zeros(len(values), dtype=bool)
    gaps = ~plain
    gaps[gaps] = unknown_mask(values[gaps])
    return gaps


def without_controls(texts: TextArray, *, one_line: bool) -> tuple[TextArray, IntArray]:
    """Take control characters out of texts.

    Parameters
    ----------
    texts : array (n,)
    one_line : bool
        Turn tabs and line ends into a space (names), or leave them (free text).

    Returns
    -------
    texts : array (n,)
        The same array where nothing had to be taken out.
    changed : array (k,)
        Positions of the changed texts.
    """
    known = held(texts)
    if known and not known.may_hold_controls:
        return texts, np.empty(0, dtype=np.int64)
    pattern = _CONTROL_OR_LINE_ENDS if one_line else _CONTROL
    # One search through the joined column costs far less than one for each cell.
    if pattern.search("\x20".join(texts)) is None:
        return texts, np.empty(0, dtype=np.int64)
    changed = np.array([i for i, text in enumerate(texts) if pattern.search(text)], dtype=np.int64)
    out = texts.copy()
    for i in changed:
        text = _LINE_ENDS.sub(" ", texts[i]).strip() if one_line else texts[i]
        out[i] = _CONTROL.sub("", text)
    return out, changed
