"""Latitudes and longitudes out of what people type, whole columns at a time.

Plain decimals are converted in one go; only the other cells are parsed one by one. A value is
mended, with a note, where it has one reading; everything else is a fault with the likely
meaning.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.fields import COLUMNS, Column
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import (
    FORMULA_ERRORS,
    Fault,
    Findings,
    as_texts,
    is_numeric,
    number_gaps,
    plain_numbers,
    strip_texts,
)
from siteplan.model import Note

if TYPE_CHECKING:
    from siteplan.inputs.sites.spelling import Angle

#: Numbers that stand for 'unknown' in one cell; 0 and -1 do so only as a pair.
_PLACEHOLDERS = (999.0, 9999.0, 99999.0, -99.0, -999.0, -9999.0, -99999.0)
_PAIR_PLACEHOLDERS = (0.0, -1.0)
_UNKNOWN_FIX = "Give the true coordinates; leave no stand-in for unknown ones."
_O_REASON = "carries the letter O, which is east in German (Ost) and west in Spanish and French"
_MANY_DECIMALS = 9
_LAT, _LON = COLUMNS["sites"]["lat"], COLUMNS["sites"]["lon"]


@frozen
class Coordinates:
    """Two columns read as coordinates; sites along axis 0.

    ``lat`` and ``lon`` [deg] are NaN where ``findings`` has a fault. ``decimals`` (n, 2) counts
    the decimals of plain decimal degrees (-1: degrees and minutes; 2: two or more, or unknown).
    ``letters`` are the hemisphere letters met, and ``O=E`` or ``O=W`` for words whose language
    settles what O means; ``letter_o`` marks longitudes that carry an O,
    read as east; ``comma`` tells whether any decimal comma was met.
    """

    lat: FloatArray
    lon: FloatArray
    decimals: IntArray
    letters: frozenset[str]
    letter_o: BoolArray
    comma: bool
    findings: Findings


@dataclass
class _Column:
    """One column on its way: degrees, and what the letters of its cells say."""

    key: str
    texts: NDArray[Any]
    degrees: FloatArray
    decimals: IntArray
    angles: dict[int, Angle]
    plain: BoolArray


def parse_coordinates(lat: NDArray[Any], lon: NDArray[Any], *, letter_o: str = "") -> Coordinates:
    """Read a column of latitudes and one of longitudes.

    Parameters
    ----------
    lat, lon : array (n,)
        Texts, or numbers [deg].
    letter_o : {"", "E", "W"}
        What the letter O means in this file; '' rejects the cells that carry it.

    Returns
    -------
    Coordinates
        Latitude in [-90, 90], longitude in [-180, 180].
    """
    found = Findings()
    y, x = _read_column("lat", lat, found), _read_column("lon", lon, found)
    letters = {a.letter for column in (y, x) for a in column.angles.values()}
    letters |= {f"O={a.tongue}" for c in (y, x) for a in c.angles.values() if a.tongue}
    _settle_hemispheres(y, x, found)
    marked = np.zeros(len(y.degrees), dtype=bool)
    marked[[i for i, a in x.angles.items() if a.letter == "O"]] = True
    _settle_letter_o(x, marked, letter_o, found)
    _refuse_placeholders(y, x, found)
    _settle_ranges(y, x, found)
    bad = np.array(sorted(found.faults), dtype=np.int64)
    y.degrees[bad] = np.nan
    x.degrees[bad] = np.nan
    comma = any(a.comma for column in (y, x) for a in column.angles.values())
    decimals = np.stack([y.decimals, x.decimals], axis=1)
    known = frozenset(letters - {""})
    return Coordinates(y.degrees, x.degrees, decimals, known, marked, comma, found)


def meaning_of_letter_o(letters: frozenset[str]) -> str:
    """Return what O means beside the other letters of the file: 'E', 'W', or '' where open.

    ``O=E`` and ``O=W`` stand for words of a language that settles it.

    >>> meaning_of_letter_o(frozenset({"O", "W"}))
    'E'
    >>> meaning_of_letter_o(frozenset({"O", "W", "O=W"}))
    'W'
    """
    told = letters & {"O=E", "O=W"}
    if told:
        return next(iter(told))[-1] if len(told) == 1 else ""
    if ("E" in letters) == ("W" in letters):
        return ""
    return "W" if "E" in letters else "E"


def _read_column(key: str, values: NDArray[Any], found: Findings) -> _Column:
    cells = values if is_numeric(values) else strip_texts(as_texts(values))
    degrees, plain = plain_numbers(cells)
    column = _Column(key, cells, degrees, _count_decimals(cells, degrees, plain), {}, plain)
    gaps = number_gaps(cells, plain)
    for at in np.flatnonzero(gaps).tolist():
        text = "" if is_numeric(cells) else cells[at]
        found.fault(at, Fault(key, text, f"{key} is missing", "Fill it in."))
    for at in np.flatnonzero(~plain & ~gaps).tolist():
        _read_doubtful(column, at, found)
    return column


def _read_doubtful(column: _Column, at: int, found: Findings) -> None:
    """Read one cell that is no plain number."""
    from siteplan.inputs.sites.spelling import UnreadableAngle, parse_angle

    text = str(column.texts[at])
    if text.lower() in FORMULA_ERRORS:
        fault = Fault(column.key, text, f"{column.key} is a broken formula", "Mend the formula.")
        found.fault(at, fault)
        return
    try:
        angle = parse_angle(text)
    except UnreadableAngle as error:
        found.fault(at, Fault(column.key, text, f"{column.key} {error.reason}", error.fix))
        return
    column.angles[at] = angle
    column.degrees[at] = angle.degrees
    column.decimals[at] = min(angle.decimals, 2)
    if angle.note:
        found.note(at, angle.note(column=column.key, text=text))


def _count_decimals(cells: NDArray[Any], degrees: FloatArray, plain: BoolArray) -> IntArray:
    """Count the decimals of plain numbers, 2 standing for two or more."""
    # What is no angle anyway must not overflow.
    tenths = np.where(plain & (np.abs(degrees) < 1e6), degrees, 0.0) * 10
    few = plain & (np.abs(tenths - np.round(tenths)) < 1e-9)
    out = np.where(plain, 2, -1).astype(np.int64)
    for at in np.flatnonzero(few).tolist():
        if is_numeric(cells):
            out[at] = 0 if float(degrees[at]).is_integer() else 1
        else:
            out[at] = min(len(cells[at].partition(".")[2]), 2)
    return out


def _settle_hemispheres(y: _Column, x: _Column, found: Findings) -> None:
    """Swap what the letters show to be swapped; refuse letters that contradict."""
    for at in sorted({*y.angles, *x.angles}):
        if at in found.faults:
            continue
        on_lat = y.angles[at].letter if at in y.angles else ""
        on_lon = x.angles[at].letter if at in x.angles else ""
        if on_lat in ("E", "W", "O") and on_lon in ("N", "S"):
            _swap(y, x, at)
            found.note(at, Note.of("note.coordinate_mended.swapped", on_lat=on_lat, on_lon=on_lon))
        elif on_lat in ("E", "W", "O"):
            found.fault(at, _wrong_letter(y, at, on_lat, "a longitude"))
        elif on_lon in ("N", "S"):
            found.fault(at, _wrong_letter(x, at, on_lon, "a latitude"))


def _swap(y: _Column, x: _Column, at: int) -> None:
    y.degrees[at], x.degrees[at] = x.degrees[at], y.degrees[at]
    y.decimals[at], x.decimals[at] = x.decimals[at], y.decimals[at]
    y.angles[at], x.angles[at] = x.angles[at], y.angles[at]


def _wrong_letter(column: _Column, at: int, letter: str, meaning: str) -> Fault:
    reason = f"{column.key} carries the letter {letter} of {meaning}: lat and lon look swapped"
    return Fault(column.key, str(column.texts[at]), reason, "Check both cells of the row.")


def _settle_letter_o(x: _Column, marked: BoolArray, meaning: str, found: Findings) -> None:
    for at in np.flatnonzero(marked).tolist():
        if at in found.faults:
            continue
        text = str(x.texts[at])
        if not meaning:
            found.fault(at, Fault("lon", text, f"lon {_O_REASON}", "Write E or W."))
            continue
        if meaning == "E":
            found.note(at, Note.of("note.coordinate_mended.o_is_east", text=text))
        else:
            x.degrees[at] *= -1
            found.note(at, Note.of("note.coordinate_mended.o_is_west", text=text))


def _refuse_placeholders(y: _Column, x: _Column, found: Findings) -> None:
    zero = np.isin(y.degrees, _PAIR_PLACEHOLDERS) & np.isin(x.degrees, _PAIR_PLACEHOLDERS)
    lone_y, lone_x = np.isin(y.degrees, _PLACEHOLDERS), np.isin(x.degrees, _PLACEHOLDERS)
    # -99 and the like are good longitudes where the latitude is a real one.
    lone_x &= (np.abs(x.degrees) > 180) | lone_y
    for at in np.flatnonzero(zero | lone_y | lone_x).tolist():
        if at in found.faults:
            continue
        pair = f"{_shown(y, at)}, {_shown(x, at)}"
        key = "lat" if zero[at] or lone_y[at] else "lon"
        value = pair if zero[at] else _shown(y if key == "lat" else x, at)
        reason = f"{value} looks like a placeholder for unknown coordinates"
        found.fault(at, Fault(key, value, reason, _UNKNOWN_FIX))


def _shown(column: _Column, at: int) -> str:
    cell = column.texts[at]
    return f"{cell:.10g}" if is_numeric(column.texts) else str(cell)


def _settle_ranges(y: _Column, x: _Column, found: Findings) -> None:
    lat, lon = y.degrees, x.degrees
    out = _outside(lat, _LAT) | _outside(lon, _LON)
    for at in np.flatnonzero(out).tolist():
        if at not in found.faults:
            found.fault(at, _range_fault(y, x, at))
    east = np.flatnonzero((lon > 180) & ~out)
    for at in east.tolist():
        if at not in found.faults:
            turned = float(lon[at] - 360)
            note = Note.of("note.coordinate_mended.full_circle", text=_shown(x, at), lon=turned)
            found.note(at, note)
    # Rounded to 1e-12 degree, so that 322.9 gives -37.1 and not -37.10000000000002.
    lon[east] = np.round(lon[east] - 360, 12)


def _outside(degrees: FloatArray, known: Column) -> BoolArray:
    return np.asarray((degrees < known.lowest) | (degrees > known.highest))


def _range_fault(y: _Column, x: _Column, at: int) -> Fault:
    lat, lon = float(y.degrees[at]), float(x.degrees[at])
    bad, known = (y, _LAT) if abs(lat) > _LAT.highest else (x, _LON)
    value = _shown(bad, at)
    meaning, fix = _likely_meaning(lat, lon, value)
    reason = f"{bad.key} {value} is outside {known.span}"
    return Fault(bad.key, value, f"{reason}: {meaning}" if meaning else reason, fix)


def _likely_meaning(lat: float, lon: float, value: str) -> tuple[str, str]:
    """Return the likely meaning of a pair out of range, and what to do about it."""
    if 90 < abs(lat) <= 360 and lat >= -180 and abs(lon) <= 90:
        return "lat and lon look swapped", "Swap the two cells."
    if 1e5 <= abs(lon) <= 1e6 and 1e3 <= abs(lat) <= 1e7:
        return (
            "these look like metres of a projected grid (easting and northing)",
            "Convert them to degrees, WGS 84 (EPSG:4326).",
        )
    if re.fullmatch(r"[+-]?\d{1,3}([.,]?\d{3})+", value) and abs(lat) > 360 < abs(lon):
        return "the decimal mark looks lost", "Format the columns as text and type them again."
    if -360 <= lon < -180 and abs(lat) <= 90:
        return f"{lon + 360:.10g} if counted westward past 180", "Write -180 to 180."
    if re.fullmatch(r"[+-]?\d{3,}", value):
        return "the decimal mark looks lost", "Put the decimal mark back."
    return "", "Write decimal degrees, WGS 84."
