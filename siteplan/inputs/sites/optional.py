"""The optional columns of a sites table: numbers with limits, and the words for structures.

A value that cannot be used is left out with a note, but for those that would change the plan
dangerously: altitude, availability and installed kit reject the row.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.fields import COLUMNS
from siteplan.inputs.files.cells import (
    FORMULA_ERRORS,
    UNKNOWN_WORDS,
    Fault,
    Findings,
    as_texts,
    is_numeric,
    number_gaps,
    plain_numbers,
    strip_texts,
)
from siteplan.model import STRUCTURES, Note

#: Numbers that people write for 'unknown'.
PLACEHOLDERS = (0.0, -1.0, 99.0, 999.0, 9999.0, 99999.0, -9.0, -99.0, -999.0, -9999.0, -99999.0)

_LENGTHS = {"m": 1.0, "metre": 1.0, "metres": 1.0, "meter": 1.0, "meters": 1.0} | dict.fromkeys(
    ("ft", "feet", "foot"), 0.3048
)
_SPEEDS = {"m/s": 1.0, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6} | {
    "mph": 0.44704,
    "kt": 1852 / 3600,
    "kn": 1852 / 3600,
    "knots": 1852 / 3600,
}
_ANGLES = {"°": 1.0, "deg": 1.0, "degrees": 1.0}
_COMPASS_POINTS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)
_COMPASS = {point: 22.5 * i for i, point in enumerate(_COMPASS_POINTS)}
_COMPASS_WORDS = (("NORTH", "N"), ("SOUTH", "S"), ("EAST", "E"), ("WEST", "W"))

_WITH_UNIT = re.compile(r"(.*[\d.,])\s*([a-z%°][a-z%°/]*)\.?", re.I | re.S)
_MINUS = str.maketrans(dict.fromkeys("−–‐‑﹣－", "-") | {"\xa0": " ", "\u202f": " "})


@dataclass(frozen=True, slots=True)
class NumberRule:
    """What a numeric column may hold.

    ``stand_ins`` are placeholders that lie within the limits and are absurd all the same;
    ``severe`` rejects the row where the value cannot be used; ``units`` are units that a cell
    may carry, with their factors.
    """

    key: str
    low: float
    high: float
    unit: str
    severe: bool = False
    stand_ins: tuple[float, ...] = ()
    units: Mapping[str, float] = field(default_factory=dict)

    @property
    def limits(self) -> str:
        """The allowed range in words."""
        return f"{self.low:g} to {self.high:g} {self.unit}".strip()


def number_rules(
    table: str,
    units: Mapping[str, Mapping[str, float]],
    *,
    stand_ins: Mapping[str, tuple[float, ...]] = MappingProxyType({}),
) -> tuple[NumberRule, ...]:
    """Return what the numeric columns of a table of the dictionary may hold, positions left out.

    Parameters
    ----------
    table : str
        A table of ``siteplan.fields.COLUMNS``.
    units : mapping
        Units that a cell may carry, with their factors, by the column's name or else its unit.
    stand_ins : mapping
        Placeholders within the limits, by the column's name.
    """
    return tuple(
        NumberRule(
            column.name,
            column.lowest,
            column.highest,
            column.unit,
            severe=column.refuses == "row",
            stand_ins=stand_ins.get(column.name, ()),
            units=units.get(column.name) or units[column.unit],
        )
        for column in COLUMNS[table].values()
        if column.kind == "number" and column.name not in ("lat", "lon")
    )


#: The numeric columns. A wind of 0 or a cable of 999 m is no design figure; 0 m and -1 m are
#: altitudes of real places and stay.
NUMBER_RULES = number_rules(
    "sites",
    {
        "m": _LENGTHS,
        "m/s": _SPEEDS,
        "deg": _ANGLES,
        "%": {"%": 1.0, "pct": 1.0, "percent": 1.0},
        "W": {"w": 1.0, "watt": 1.0},
    },
    stand_ins={"cable_m": (999.0,), "wind_m_s": (0.0, 99.0), "fixed_buc_w": (999.0,)},
)


class _Unusable(ValueError):  # noqa: N818 - it reads as what it says
    """A cell with no reading, or more than one."""


def read_numbers(
    values: NDArray[Any],
    rule: NumberRule,
    found: Findings,
    *,
    factor: float = 1.0,
    comma: bool = False,
) -> FloatArray:
    """Read an optional numeric column.

    Parameters
    ----------
    values : array (n,)
        Numbers or texts, in the unit that ``factor`` converts to the rule's.
    rule : NumberRule
    found : Findings
        Takes the notes and faults.
    factor : float
    comma : bool
        The file writes decimal commas: ``1.234`` may then be a thousand.

    Returns
    -------
    array (n,)
        In the rule's unit; NaN for unknown.
    """
    cells = values if is_numeric(values) else strip_texts(as_texts(values))
    raw, plain = plain_numbers(cells)
    if comma and not is_numeric(cells):
        plain = plain & ~_grouped(cells)
        raw = np.where(plain, raw, np.nan)
    numbers = raw * factor
    _drop_placeholders(cells, raw, numbers, rule, found)
    for at in np.flatnonzero(~plain & ~number_gaps(cells, plain)).tolist():
        numbers[at] = _read_doubtful(str(cells[at]), at, rule, found, factor=factor, comma=comma)
    outside = (numbers < rule.low) | (numbers > rule.high)
    for at in np.flatnonzero(outside).tolist():
        _refuse(at, _shown(cells, at), _range_reason(float(numbers[at]), rule), rule, found)
    numbers[outside] = np.nan
    if rule.key == "wall_facing_deg":
        numbers[numbers == 360] = 0.0
    return numbers


def _grouped(texts: TextArray) -> BoolArray:
    """Return where a text may be thousands with a point: 1.234."""
    from pandas import Series

    grouped = Series(texts, dtype=object).str.fullmatch(r"[+-]?[1-9]\d{0,2}\.\d{3}")
    return grouped.to_numpy(dtype=bool)


def _shown(cells: NDArray[Any], at: int) -> str:
    return f"{cells[at]:.10g}" if is_numeric(cells) else str(cells[at])


def _drop_placeholders(
    cells: NDArray[Any], raw: FloatArray, numbers: FloatArray, rule: NumberRule, found: Findings
) -> None:
    """Make placeholders NaN where the column could not mean them."""
    impossible = (numbers < rule.low) | (numbers > rule.high)
    stand_in = np.isin(raw, PLACEHOLDERS) & (impossible | np.isin(raw, rule.stand_ins))
    for at in np.flatnonzero(stand_in).tolist():
        sentence = f"{rule.key} {_shown(cells, at)} looks like a placeholder: taken as unknown."
        found.note(at, Note("input_mended", sentence))
    numbers[stand_in] = np.nan


def _read_doubtful(
    text: str, at: int, rule: NumberRule, found: Findings, *, factor: float, comma: bool
) -> float:
    """Read one cell that is no plain number; NaN where it cannot be used."""
    try:
        if rule.key == "wall_facing_deg" and (facing := _compass(text)) is not None:
            found.note(at, Note("input_mended", f"{rule.key} '{text}' read as {facing:g} deg."))
            return facing
        number, note, factor = _with_unit(text, rule, factor, comma)
    except _Unusable as error:
        _refuse(at, text, str(error), rule, found)
        return np.nan
    if note:
        found.note(at, Note("input_mended", f"{rule.key} '{text}': {note}."))
    return number * factor


def _refuse(at: int, text: str, reason: str, rule: NumberRule, found: Findings) -> None:
    """Reject the row, or leave the value out with a note."""
    if rule.severe:
        fix = f"Give {rule.limits}, or leave the cell empty."
        found.fault(at, Fault(rule.key, text, f"{rule.key} '{text}' {reason}", fix))
        return
    sentence = f"{rule.key} '{text}' {reason}: taken as unknown; allowed: {rule.limits}."
    found.note(at, Note("input_mended", sentence))


def _range_reason(number: float, rule: NumberRule) -> str:
    if rule.key == "availability_pct" and 0 < number <= 1:
        return f"is no percentage of 50 or more: {100 * number:.10g} %?"
    if rule.key == "availability_pct" and number == 100:
        return "cannot be met; 99.999 is the most"
    feet = "; in feet?" if rule.key == "altitude_m" and 0 < number * 0.3048 <= rule.high else ""
    return f"is outside {rule.limits}{feet}"


def _compass(text: str) -> float | None:
    """Return the direction of a compass word [deg], None for other texts."""
    word = text.upper()
    for name, letter in _COMPASS_WORDS:
        word = word.replace(name, letter)
    return _COMPASS.get(re.sub(r"[^A-Z]", "", word) if re.fullmatch(r"[A-Z \-]+", word) else "")


def _with_unit(text: str, rule: NumberRule, factor: float, comma: bool) -> tuple[float, str, float]:
    """Return number, what was mended, and the factor to the rule's unit."""
    if text.lower() in FORMULA_ERRORS:
        raise _Unusable("is a broken formula")
    match = _WITH_UNIT.fullmatch(text)
    if match is None:
        return (*parse_number(text, comma=comma), factor)
    unit = match[2].lower()
    if unit not in rule.units:
        raise _Unusable("is not a number")
    number, note = parse_number(match[1], comma=comma)
    if rule.units[unit] != 1:
        note = f"converted from {match[2]}"
    elif factor != 1:
        note = f"taken in {match[2]}, as the cell says"
    return number, note, rule.units[unit]


def parse_number(text: str, *, comma: bool = False) -> tuple[float, str]:
    """Read one number as people type it.

    Parameters
    ----------
    text : str
    comma : bool
        The file writes decimal commas.

    Returns
    -------
    number : float
    note : str
        What was mended, '' for nothing.

    Raises
    ------
    ValueError
        With the reason, to follow the value in a sentence.
    """
    text = text.strip().translate(_MINUS)
    if re.fullmatch(r"[+-]?(\d+|\d*\.\d+|\d+\.)([eE][+-]?\d{1,2})?", text) and not (
        comma and re.fullmatch(r"[+-]?[1-9]\d{0,2}\.\d{3}", text)
    ):
        return float(text), ""
    if re.fullmatch(r"[+-]?\d*,\d+", text) and (
        comma or not re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", text)
    ):
        return float(text.replace(",", ".")), ""
    if re.fullmatch(r"[+-]?\d{1,3}[.,]\d{3}", text):
        whole = re.sub(r"[.,]", "", text)
        raise _Unusable(f"has two readings, {text.replace(',', '.')} and {whole}")
    for mark, point in ((",", r"\."), (r"\.", ","), (" ", "[.,]"), ("['’]", "[.,]")):
        if re.fullmatch(rf"[+-]?\d{{1,3}}({mark}\d{{3}})+({point}\d+)?", text):
            return float(re.sub(mark, "", text).replace(",", ".")), "thousands marks left out"
    raise _Unusable("is not a number")


def read_structures(texts: TextArray, found: Findings) -> TextArray:
    """Return the structures (n,) in our words, '' where unknown.

    Parameters
    ----------
    texts : array (n,)
        Stripped texts.
    found : Findings
        Takes a note for each word that is not known.
    """
    from pandas import factorize

    codes, words = factorize(texts)
    known = np.array([_structure(str(word)) for word in words], dtype=object)
    for code, word in enumerate(words):
        if known[code] is None:
            sentence = (
                f"structure '{str(word)[:60]}' is not known and was left out;"
                f" allowed: {', '.join(STRUCTURES)}."
            )
            found.note_all(np.flatnonzero(codes == code), Note("input_mended", sentence))
            known[code] = ""
    return np.asarray(known[codes], dtype=object) if len(texts) else texts


def _structure(word: str) -> str | None:
    """Return our word, '' for 'not known', None for a word that we do not have."""
    if word.lower() in UNKNOWN_WORDS or word in ("0", "-1", "999", "9999", "-9999"):
        return ""
    plain = re.sub(r"[\s_\-]+", "_", word.casefold()).strip("_")
    return plain if plain in STRUCTURES else None


def read_timezones(texts: TextArray, found: Findings) -> TextArray:
    """Return the names of time zones (n,), '' where unknown.

    Parameters
    ----------
    texts : array (n,)
        Stripped texts.
    found : Findings
        Takes a note for each name that the time zone database has not.
    """
    from pandas import factorize

    codes, words = factorize(texts)
    known = np.array([_zone(str(word)) for word in words], dtype=object)
    for code, word in enumerate(words):
        if known[code] is None:
            sentence = (
                f"timezone '{str(word)[:60]}' is not in the time zone database and was left out;"
                " write a name such as America/Bogota."
            )
            found.note_all(np.flatnonzero(codes == code), Note("input_mended", sentence))
            known[code] = ""
    return np.asarray(known[codes], dtype=object) if len(texts) else texts


def _zone(word: str) -> str | None:
    """Return the name, '' for 'not known', None for one that the database has not."""
    if word.lower() in UNKNOWN_WORDS:
        return ""
    try:
        return ZoneInfo(word).key
    except (ValueError, OSError, LookupError):
        return None
