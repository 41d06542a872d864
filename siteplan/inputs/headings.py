"""Which column of a table is which: headings, their synonyms and their units.

A heading is taken for one of ours only where it has one reading. ``elevation`` may be a look
angle, ``alt`` may be in feet, ``x`` and ``y`` may be a grid: those are left alone, and said so.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from siteplan.errors import SitesError
from siteplan.model import Note

#: Our columns, and other headings that can only mean the same.
SYNONYMS: dict[str, tuple[str, ...]] = {
    "site_id": (
        *("id", "siteid", "site_code", "site_no", "site_nr", "site_number", "site_key"),
        *("site_identifier", "station_id"),
    ),
    "name": ("site_name", "sitename", "station_name"),
    "lat": (
        *("latitude", "lat_deg", "latitude_deg", "lat_dd", "latitude_dd", "lat_wgs84"),
        *("latitude_wgs84", "gps_lat", "gps_latitude", "site_lat", "site_latitude"),
        *("lat_n", "latitude_n", "latitud", "breitengrad", "latitudine"),
    ),
    "lon": (
        *("longitude", "long", "lng", "lon_deg", "longitude_deg", "long_deg", "lon_dd"),
        *("long_dd", "longitude_dd", "lon_wgs84", "longitude_wgs84", "gps_lon", "gps_long"),
        *("gps_lng", "gps_longitude", "site_lon", "site_long", "site_longitude"),
        *("lon_e", "longitude_e", "longitud", "längengrad", "laengengrad", "longitudine"),
    ),
    "altitude_m": ("alt_m", "altitude_m_amsl", "altitude_amsl_m", "elevation_m", "elev_m"),
    "availability_pct": (
        *("availability", "availability_percent", "availability_target_pct"),
        *("target_availability_pct", "availability_target"),
    ),
    "structure": ("structure_type",),
    "wall_facing_deg": ("wall_facing",),
    "roof_height_m": (),
    "cable_m": ("cable_length_m", "cable_run_m"),
    "wind_m_s": ("wind_speed_m_s", "wind_ms", "wind_speed_ms"),
    "priority": (),
    "group": (),
    "timezone": ("time_zone", "tz"),
    "fixed_antenna_m": ("installed_antenna_m", "existing_antenna_m"),
    "fixed_buc_w": ("installed_buc_w", "existing_buc_w"),
    "fixed_efficiency": ("installed_efficiency",),
    "fixed_buc_backoff_db": ("installed_buc_backoff_db",),
}

#: Headings in another unit: ours, the factor to it, and the unit's name.
_OTHER_UNITS: dict[str, tuple[str, float, str]] = {
    **{
        f"{stem}_{unit}": (key, 0.3048, "feet")
        for unit in ("ft", "feet")
        for key, stems in {
            "altitude_m": ("altitude", "alt", "elevation", "elev"),
            "roof_height_m": ("roof_height",),
            "cable_m": ("cable", "cable_length", "cable_run"),
        }.items()
        for stem in stems
    },
    **{
        f"{stem}_{unit}": ("wind_m_s", factor, name)
        for stem in ("wind", "wind_speed")
        for unit, factor, name in (
            ("km_h", 1 / 3.6, "km/h"),
            ("kmh", 1 / 3.6, "km/h"),
            ("kph", 1 / 3.6, "km/h"),
            ("mph", 0.44704, "miles per hour"),
            ("kt", 1852 / 3600, "knots"),
            ("kn", 1852 / 3600, "knots"),
            ("knots", 1852 / 3600, "knots"),
        )
    },
}

_NO_UNIT = partial(Note.of, "note.input_mended.no_unit")
_NO_UNIT_OF_TWO = partial(Note.of, "note.input_mended.no_unit_of_two")
#: Headings that look like one of ours and are not taken: ours, and the note that says why.
_OPEN: dict[str, tuple[str, partial[Note]]] = {
    **dict.fromkeys(
        ("alt", "altitude", "altitude_amsl", "height_amsl"),
        ("altitude_m", partial(_NO_UNIT_OF_TWO, ours="altitude_m", other="altitude_ft")),
    ),
    **dict.fromkeys(
        ("elevation", "elev"),
        ("altitude_m", partial(Note.of, "note.input_mended.height_or_angle", ours="altitude_m")),
    ),
    "roof_height": (
        "roof_height_m",
        partial(_NO_UNIT_OF_TWO, ours="roof_height_m", other="roof_height_ft"),
    ),
    **dict.fromkeys(
        ("cable", "cable_length"),
        ("cable_m", partial(_NO_UNIT_OF_TWO, ours="cable_m", other="cable_ft")),
    ),
    **dict.fromkeys(
        ("wind", "wind_speed"),
        ("wind_m_s", partial(Note.of, "note.input_mended.no_unit_wind", ours="wind_m_s")),
    ),
    "fixed_antenna": ("fixed_antenna_m", partial(_NO_UNIT, ours="fixed_antenna_m")),
    "fixed_buc": ("fixed_buc_w", partial(_NO_UNIT, ours="fixed_buc_w")),
}

_KEY_OF = {s: key for key, names in SYNONYMS.items() for s in (key, *names)}
_UNIT_MARKS = (("%", "_pct_"), ("°", "_deg_"), ("m/s", "_m_s_"), ("km/h", "_km_h_"))
_BOTH_IN_ONE = re.compile(r"coord|gps|lat_?lon|lat_?lng|position|location|point|geo")


@dataclass(frozen=True, slots=True)
class Column:
    """Where one of our columns is: its position, its factor to our unit, and a note for it."""

    index: int
    heading: str
    factor: float = 1.0
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class Headings:
    """Our columns found in a table; ``remarks`` are notes about columns not taken."""

    columns: dict[str, Column]
    remarks: tuple[Note, ...]


def plain_heading(heading: str) -> str:
    """Return a heading in lower case, words and unit joined by underscores.

    >>> plain_heading(" Altitude (m) ")
    'altitude_m'
    """
    text = unicodedata.normalize("NFKC", heading).replace("\ufeff", "").casefold()
    for mark, word in _UNIT_MARKS:
        text = text.replace(mark, word)
    return re.sub(r"[\W_]+", "_", text).strip("_")


def key_of(heading: str) -> str:
    """Return which of our columns a heading means, '' for none."""
    return _KEY_OF.get(plain_heading(heading), "")


def looks_like_heading(cells: Sequence[str]) -> bool:
    """Whether a line of cells names a latitude and a longitude."""
    return {"lat", "lon"} <= {key_of(cell) for cell in cells}


def check_headings(headings: Sequence[str], where: str) -> None:
    """Refuse two columns of one heading.

    Raises
    ------
    SitesError
        Naming the heading.
    """
    seen: dict[str, str] = {}
    for heading in headings:
        plain = heading.strip().casefold()
        if plain in seen:
            what = f"two columns are called '{seen[plain]}'"
            if heading.strip() != seen[plain]:
                what += f" and '{heading.strip()}', the same but for capitals"
            raise SitesError(what + ".", where=where, fix="Rename or delete one of them.")
        seen[plain] = heading.strip()


def find_columns(headings: Sequence[str], where: str, *, placed: bool = False) -> Headings:
    """Find our columns among the headings of a table.

    Parameters
    ----------
    headings : sequence of str
    where : str
        The file, for messages.
    placed : bool
        The positions come from a geometry: columns of lat and lon are neither needed nor taken.

    Returns
    -------
    Headings

    Raises
    ------
    SitesError
        No latitude or longitude, or two columns for one of ours.
    """
    plains = [plain_heading(heading) for heading in headings]
    columns: dict[str, Column] = {}
    for key in SYNONYMS:
        if not (placed and key in ("lat", "lon")):
            _take_named(key, headings, plains, columns, where)
    remarks = _other_units(headings, plains, columns)
    _take_site(headings, plains, columns)
    if not placed:
        _need_position(headings, plains, columns, where)
    return Headings(columns, remarks)


def _take_named(
    key: str, headings: Sequence[str], plains: list[str], columns: dict[str, Column], where: str
) -> None:
    """Take the column that is called ``key`` or a synonym of it."""
    named = [i for i, plain in enumerate(plains) if _KEY_OF.get(plain) == key]
    exact = [i for i in named if headings[i].strip() == key]
    if exact and key not in ("lat", "lon"):
        named = exact
    if len(named) > 1:
        names = " and ".join(f"'{headings[i]}'" for i in named)
        raise SitesError(
            f"two columns may be {key}: {names}.",
            where=where,
            fix=f"Keep one, or rename the other so that it does not mean {key}.",
        )
    if named:
        note = _synonym_note(key, plains[named[0]])
        columns[key] = Column(named[0], headings[named[0]], note=note)


def _synonym_note(key: str, plain: str) -> Note | None:
    """Return the note for a heading that could, without its unit, mean something else."""
    if not plain.startswith("elev"):
        return None
    return Note.of("note.input_mended.column_read_as", heading=plain, ours=key)


def _take_site(headings: Sequence[str], plains: list[str], columns: dict[str, Column]) -> None:
    """Take a column called ``site`` as the id where there is no other."""
    if "site_id" not in columns and "site" in plains:
        index = plains.index("site")
        columns["site_id"] = Column(index, headings[index])


def _other_units(
    headings: Sequence[str], plains: list[str], columns: dict[str, Column]
) -> tuple[Note, ...]:
    """Add columns in other units; return remarks about columns that are left alone."""
    remarks = []
    for index, plain in enumerate(plains):
        if plain in _OTHER_UNITS:
            key, factor, unit = _OTHER_UNITS[plain]
            if key not in columns:
                heading = headings[index].strip()
                note = Note.of("note.input_mended.column_converted", heading=heading, unit=unit)
                columns[key] = Column(index, headings[index], factor, note)
    for index, plain in enumerate(plains):
        if plain in _OPEN and _OPEN[plain][0] not in columns:
            remarks.append(_OPEN[plain][1](heading=headings[index].strip()))
    return tuple(remarks)


def _need_position(
    headings: Sequence[str], plains: list[str], columns: dict[str, Column], where: str
) -> None:
    missing = [key for key in ("lat", "lon") if key not in columns]
    if not missing:
        return
    found = ", ".join(f"'{h.strip()}'" for h in headings[:30] if h.strip()) or "none"
    fix = _position_fix(headings, plains, missing)
    what = f"no column for {' and '.join(missing)}. Columns found: {found}."
    raise SitesError(what, where=where, fix=fix)


def _position_fix(headings: Sequence[str], plains: list[str], missing: list[str]) -> str:
    if any(re.fullmatch(r"[+-]?\d+([.,]\d+)?", h.strip()) for h in headings):
        return "The first line looks like a site: put a line of headings above it."
    if {"x", "y"} <= set(plains):
        return "If x is the longitude and y the latitude in degrees, rename them lon and lat."
    if any(_BOTH_IN_ONE.search(plain) for plain in plains) and len(missing) == 2:
        return "If one column holds both, split it into lat and lon."
    near = [(key, difflib.get_close_matches(key, plains, 1, 0.5)) for key in missing]
    long_names = {"lat": "latitude", "lon": "longitude"}
    near += [(key, difflib.get_close_matches(long_names[key], plains, 1, 0.6)) for key in missing]
    hints = {key: headings[plains.index(match[0])].strip() for key, match in near if match}
    if hints:
        return "Rename " + " and ".join(f"'{h}' to {key}" for key, h in hints.items()) + "?"
    return f"Add or rename the columns: {' and '.join(missing)}."
