"""One number as people type it: decimal commas, thousands marks, units, compass words.

A text is read only where it has one reading; everything else raises :class:`Unusable` with the
reason, so that a person decides.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import partial

from siteplan.inputs.files.cells import FORMULA_ERRORS
from siteplan.model import Note

_COMPASS_POINTS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)
_COMPASS = {point: 22.5 * i for i, point in enumerate(_COMPASS_POINTS)}
_COMPASS_WORDS = (("NORTH", "N"), ("SOUTH", "S"), ("EAST", "E"), ("WEST", "W"))

_WITH_UNIT = re.compile(r"(.*[\d.,])\s*([a-z%°][a-z%°/]*)\.?", re.I | re.S)
_MINUS = str.maketrans(dict.fromkeys("−–‐‑﹣－", "-") | {"\xa0": " ", "\u202f": " "})


class Unusable(ValueError):  # noqa: N818 - it reads as what it says
    """A cell with no reading, or more than one.

    The message is the reason for a reject; ``note``, once it is given the column, the text and
    the column's limits, says the same of a value that is left out.
    """

    def __init__(self, reason: str, note: partial[Note]) -> None:
        super().__init__(reason)
        self.note = note


def _not_a_number() -> Unusable:
    return Unusable("is not a number", partial(Note.of, "note.input_mended.not_a_number"))


def compass_direction(text: str) -> float | None:
    """Return the direction of a compass word [deg], None for other texts.

    >>> compass_direction("south-west")
    225.0
    """
    word = text.upper()
    for name, letter in _COMPASS_WORDS:
        word = word.replace(name, letter)
    return _COMPASS.get(re.sub(r"[^A-Z]", "", word) if re.fullmatch(r"[A-Z \-]+", word) else "")


def number_with_unit(
    text: str, units: Mapping[str, float], *, factor: float = 1.0, comma: bool = False
) -> tuple[float, partial[Note] | None]:
    """Read one number that may carry a unit.

    Parameters
    ----------
    text : str
    units : mapping of str to float
        Units that the cell may carry, in small letters, with their factors.
    factor : float
        The factor of a number without a unit.
    comma : bool
        The file writes decimal commas.

    Returns
    -------
    number : float
        Times its factor.
    note : partial of Note, or None
        What was mended, once it is given the column and the text.

    Raises
    ------
    Unusable
        With the reason, to follow the value in a sentence.
    """
    if text.lower() in FORMULA_ERRORS:
        note = partial(Note.of, "note.input_mended.broken_formula")
        raise Unusable("is a broken formula", note)
    match = _WITH_UNIT.fullmatch(text)
    if match is None:
        number, mended = parse_number(text, comma=comma)
        return number * factor, mended
    unit = match[2].lower()
    if unit not in units:
        raise _not_a_number()
    number, mended = parse_number(match[1], comma=comma)
    if units[unit] != 1:
        mended = partial(Note.of, "note.input_mended.cell_converted", unit=match[2])
    elif factor != 1:
        mended = partial(Note.of, "note.input_mended.cell_unit", unit=match[2])
    return number * units[unit], mended


def parse_number(text: str, *, comma: bool = False) -> tuple[float, partial[Note] | None]:
    """Read one number as people type it.

    Parameters
    ----------
    text : str
    comma : bool
        The file writes decimal commas.

    Returns
    -------
    number : float
    note : partial of Note, or None
        What was mended, once it is given the column and the text.

    Raises
    ------
    Unusable
        With the reason, to follow the value in a sentence.
    """
    text = text.strip().translate(_MINUS)
    if re.fullmatch(r"[+-]?(\d+|\d*\.\d+|\d+\.)([eE][+-]?\d{1,2})?", text) and not (
        comma and re.fullmatch(r"[+-]?[1-9]\d{0,2}\.\d{3}", text)
    ):
        return float(text), None
    if re.fullmatch(r"[+-]?\d*,\d+", text) and (
        comma or not re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", text)
    ):
        return float(text.replace(",", ".")), None
    if re.fullmatch(r"[+-]?\d{1,3}[.,]\d{3}", text):
        raise _two_readings(text.replace(",", "."), re.sub(r"[.,]", "", text))
    for mark, point in ((",", r"\."), (r"\.", ","), (" ", "[.,]"), ("['’]", "[.,]")):
        if re.fullmatch(rf"[+-]?\d{{1,3}}({mark}\d{{3}})+({point}\d+)?", text):
            note = partial(Note.of, "note.input_mended.thousands_marks")
            return float(re.sub(mark, "", text).replace(",", ".")), note
    raise _not_a_number()


def _two_readings(decimal: str, whole: str) -> Unusable:
    note = partial(Note.of, "note.input_mended.two_readings", decimal=decimal, whole=whole)
    return Unusable(f"has two readings, {decimal} and {whole}", note)
