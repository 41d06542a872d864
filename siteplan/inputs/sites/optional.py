"""The optional columns of a sites table: numbers with limits, and the words for structures.

A value that cannot be used is left out with a note, and the site is planned as if the cell were
blank. What is no number at all rejects the row where it may have meant a figure that the plan rests
on: altitude, availability and installed kit.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import field, replace
from functools import cache, partial
from importlib import resources
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.fields import COLUMNS
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import (
    UNKNOWN_WORDS,
    Fault,
    Findings,
    as_texts,
    is_numeric,
    number_gaps,
    plain_numbers,
    strip_texts,
)
from siteplan.inputs.sites.numbers import Unusable, compass_direction, number_with_unit
from siteplan.model import STRUCTURES, Note

#: The note of a number that was taken for 'unknown'.
PLACEHOLDER_NOTE = "note.input_mended.placeholder"

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
_DISTANCES = {"km": 1.0, "m": 0.001, "mi": 1.609344, "miles": 1.609344}
_ANGLES = {"°": 1.0, "deg": 1.0, "degrees": 1.0}


@frozen
class NumberRule:
    """What a numeric column may hold.

    ``stand_ins`` are placeholders that lie within the limits and are absurd all the same;
    ``severe`` rejects the row where the cell cannot be read, ``strict`` where the value lies
    outside the limits; ``units`` are units that a cell may carry, with their factors; ``heading``
    is what a file calls the column.
    """

    key: str
    low: float
    high: float
    unit: str
    severe: bool = False
    strict: bool = False
    stand_ins: tuple[float, ...] = ()
    units: Mapping[str, float] = field(default_factory=dict)
    heading: str = ""

    @property
    def called(self) -> dict[str, str]:
        """The column in a note's words: our key, and the file's heading where that is another."""
        return {"column": self.key} | ({"heading": self.heading} if self.heading else {})

    @property
    def limits(self) -> str:
        """The allowed range in words."""
        return f"{self.low:.12g} to {self.high:.12g} {self.unit}".strip()


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
            severe=column.refuses in ("row", "unread"),
            strict=column.refuses == "row",
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
        "km": _DISTANCES,
        "deg": _ANGLES,
        "%": {"%": 1.0, "pct": 1.0, "percent": 1.0},
        "W": {"w": 1.0, "watt": 1.0},
        "dB": {"db": 1.0},
        "kbit/s": {"kbit/s": 1.0, "kbps": 1.0, "kb/s": 1.0, "mbit/s": 1000.0, "mbps": 1000.0},
        "": {"": 1.0},
    },
    stand_ins={"cable_m": (999.0,), "wind_m_s": (0.0, 99.0), "fixed_buc_w": (999.0,)},
)


def read_numbers(
    values: NDArray[Any],
    rule: NumberRule,
    found: Findings,
    *,
    factor: float = 1.0,
    comma: bool = False,
    heading: str = "",
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
    heading : str
        What the file calls the column, for the notes; else it is called by the rule's key.

    Returns
    -------
    array (n,)
        In the rule's unit; NaN for unknown.
    """
    rule = replace(rule, heading="" if heading == rule.key else heading)
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
        error = _outside(float(numbers[at]), rule)
        _refuse(at, _shown(cells, at), error, rule, found, severe=rule.strict)
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
        text = _shown(cells, at)
        found.note(at, Note.of(PLACEHOLDER_NOTE, text=text, **rule.called))
    numbers[stand_in] = np.nan


def _read_doubtful(
    text: str, at: int, rule: NumberRule, found: Findings, *, factor: float, comma: bool
) -> float:
    """Read one cell that is no plain number; NaN where it cannot be used."""
    try:
        if rule.key == "wall_facing_deg" and (facing := compass_direction(text)) is not None:
            told = Note.of("note.input_mended.compass", text=text, facing=facing, **rule.called)
            found.note(at, told)
            return facing
        number, note = number_with_unit(text, rule.units, factor=factor, comma=comma)
    except Unusable as error:
        _refuse(at, text, error, rule, found, severe=rule.severe)
        return np.nan
    if note:
        found.note(at, note(text=text, **rule.called))
    return number


def _refuse(
    at: int, text: str, error: Unusable, rule: NumberRule, found: Findings, *, severe: bool
) -> None:
    """Reject the row, or leave the value out with a note."""
    if severe:
        fix = f"Give {rule.limits}, or leave the cell empty."
        name = rule.heading or rule.key
        found.fault(at, Fault(rule.key, text, f"{name} '{text}' {error}", fix))
        return
    found.note(at, error.note(text=text, limits=rule.limits, **rule.called))


def _outside(number: float, rule: NumberRule) -> Unusable:
    """Return why a number outside the limits cannot be used, with what was likely meant."""
    told = partial(Note.of, "note.input_mended.out_of_range")
    if rule.key == "availability_pct" and 0 < number <= 1:
        likely = partial(Note.of, "note.input_mended.out_of_range_share", likely=100 * number)
        return Unusable(f"is no percentage of 50 or more: {100 * number:.10g} %?", likely)
    if rule.key == "availability_pct" and number == 100:
        most = partial(Note.of, "note.input_mended.out_of_range_most")
        return Unusable("cannot be met; 99.999 is the most", most)
    if rule.key == "altitude_m" and 0 < number * 0.3048 <= rule.high:
        feet = partial(Note.of, "note.input_mended.out_of_range_feet")
        return Unusable(f"is outside {rule.limits}; in feet?", feet)
    return Unusable(f"is outside {rule.limits}", told)


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
            allowed = ", ".join(STRUCTURES)
            note = Note.of("note.input_mended.structure", word=str(word)[:60], allowed=allowed)
            found.note_all(np.flatnonzero(codes == code), note)
            known[code] = ""
    return np.asarray(known[codes], dtype=object) if len(texts) else texts


def unknown_structure(texts: TextArray) -> bool:
    """Whether a (stripped) text names a structure that we have no word for."""
    return any(_structure(word) is None for word in set(texts.tolist()))


def is_structure(word: str) -> bool:
    """Whether a (stripped) text is a word for one of our structures."""
    return bool(_structure(word))


def _structure(word: str) -> str | None:
    """Return our word, '' for 'not known', None for a word that we do not have."""
    if word.lower() in UNKNOWN_WORDS or word in ("0", "-1", "999", "9999", "-9999"):
        return ""
    return structure_words().get(_same_word(word))


@cache
def structure_words() -> Mapping[str, str]:
    """Return our structures by the words of the languages, as structures.csv lists them."""
    text = resources.files("siteplan.inputs.sites").joinpath("structures.csv").read_text("utf-8")
    rows = csv.DictReader(text.splitlines())
    found = {_same_word(row["word"]): row["structure"] for row in rows}
    return MappingProxyType(found | {_same_word(ours): ours for ours in STRUCTURES})


def _same_word(word: str) -> str:
    """Return a word as it is compared: small, without accents, spaces for all that parts words."""
    # A dotless i is no accent to Unicode; as capitals they are one letter.
    text = unicodedata.normalize("NFKD", word.casefold().replace("\u0131", "i"))
    bare = "".join(c for c in text if not unicodedata.combining(c))
    return re.sub(r"[\W_]+", " ", bare).strip()


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
            note = Note.of("note.input_mended.timezone", word=str(word)[:60])
            found.note_all(np.flatnonzero(codes == code), note)
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
