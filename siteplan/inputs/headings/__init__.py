"""Which column of a table is which: headings, their synonyms and their units.

A heading is taken for one of ours only where it has one reading. ``elevation`` may be a look
angle, ``alt`` may be in feet, ``x`` and ``y`` may be a grid: those are left alone, and said so.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from functools import partial

from siteplan.errors import SitesError
from siteplan.frozen import frozen
from siteplan.inputs.headings.meaning import heading_key, meaning_of
from siteplan.inputs.headings.words import readings
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
    "beam": (),
    "fixed_antenna_m": ("installed_antenna_m", "existing_antenna_m"),
    "fixed_buc_w": ("installed_buc_w", "existing_buc_w"),
    "fixed_efficiency": ("installed_efficiency",),
    "fixed_buc_backoff_db": ("installed_buc_backoff_db",),
    "outbound_kbit_s": (),
    "inbound_kbit_s": (),
    "power_availability_pct": (),
    "applications": (),
    "line_cost_month": (),
    "line_km": (),
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

#: A heading is shorter than this.
_LONGEST_HEADING = 60
_KEY_OF = {s: key for key, names in SYNONYMS.items() for s in (key, *names)}
_UNIT_MARKS = (("%", "_pct_"), ("°", "_deg_"), ("m/s", "_m_s_"), ("km/h", "_km_h_"))
#: Columns that are found by their values as well: `siteplan.inputs.layout`.
PLACED = ("lat", "lon", "site_id", "name")
#: What headings in other languages say of heights.
_ALTITUDES = {"altitude_m": "altitude_m", "altitude_ft": "altitude_ft", "altitude": "alt"}


@frozen
class Column:
    """Where one of our columns is: its position, its factor to our unit, and a note for it.

    ``exact`` is a heading of ours, in any capitals.
    """

    index: int
    heading: str
    factor: float = 1.0
    note: Note | None = None
    exact: bool = False


@frozen
class Headings:
    """Our columns found in a table, by key."""

    columns: dict[str, Column]


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
    plain = plain_heading(heading)
    if plain in _KEY_OF:
        return _KEY_OF[plain]
    found = meaning_of(heading)
    if found is None or found.key not in SYNONYMS or found.part in ("min", "sec", "hemi"):
        return ""
    return found.key


def looks_like_heading(cells: Sequence[str]) -> bool:
    """Whether a line of cells names a latitude and a longitude, whole or in parts."""
    return {"lat", "lon"} <= set(_heading_keys(cells))


def names_a_position(cells: Sequence[str]) -> bool:
    """Whether a line of cells names a position in any way, beside other columns."""
    keys = set(_heading_keys(cells))
    both = "both" in keys and len([cell for cell in cells if cell.strip()]) > 1
    return both or any(pair <= keys for pair in ({"easting", "northing"}, {"x", "y"}))


def _heading_keys(cells: Sequence[str]) -> list[str]:
    """Return what short cells mean; a long one, or a number, is no heading."""
    short = (cell for cell in cells if 0 < len(cell.strip()) <= _LONGEST_HEADING)
    return [heading_key(cell) for cell in short if not cell.strip()[:1].isdigit()]


def joined_headings(lines: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return headings of two lines joined into one, or the lines as they are.

    Two lines are joined where the second one only says degrees, minutes, seconds, sides or
    units, and the first has blank headings over some of these.
    """
    first = [list(line) for line in lines[:1]]
    if len(lines) < 2 or len(lines[1]) > len(lines[0]):
        return [list(line) for line in lines]
    below = [cell.strip() for cell in lines[1]] + [""] * (len(lines[0]) - len(lines[1]))
    over_blank = any(b and not a.strip() for a, b in zip(first[0], below, strict=True))
    if not over_blank or not all(_says_a_part(cell) for cell in below if cell):
        return [list(line) for line in lines]
    last, out = "", []
    for above, part in zip(first[0], below, strict=True):
        last = above.strip() or (last if part else "")
        out.append(f"{last} {part}".strip())
    return [out]


def _says_a_part(cell: str) -> bool:
    """Whether a cell is a word for degrees, minutes, seconds, a hemisphere, or a position."""
    said = {"deg", "min", "sec", "hemi", "lat", "lon", "north", "south", "east", "west", "metre"}
    return any(all(m & said for _, m in way) for way in readings(cell) if way)


def check_headings(headings: Sequence[str], where: str) -> None:
    """Refuse two columns of one heading, where nothing else can tell them apart.

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


def unlike_headings(headings: Sequence[str]) -> tuple[list[str], dict[str, str]]:
    """Return headings of which no two are the same but for capitals.

    Returns
    -------
    headings : list of str
        A second ``beds`` becomes ``beds_2``.
    written : dict
        What the file calls each that was renamed.
    """
    taken = {heading.strip().casefold() for heading in headings}
    seen: set[str] = set()
    out, written = [], {}
    for heading in headings:
        name, count = heading, 1
        while name.strip().casefold() in seen:
            count += 1
            other = f"{heading.strip()}_{count}"
            name = other if other.casefold() not in taken | seen else name
        seen.add(name.strip().casefold())
        if name != heading:
            written[name] = heading
        out.append(name)
    return out, written


def optional_columns(
    headings: Sequence[str], written: Mapping[str, str]
) -> dict[str, tuple[Column, ...]]:
    """Return the columns that may be ours beside position, id and name: by key, the surest first.

    A heading of ours goes before any other, and one in our unit before one in another. ``written``
    is what the file calls columns that were renamed.
    """
    found: dict[str, list[Column]] = {}
    for index, heading in enumerate(headings):
        name = written.get(heading, heading)
        plain = _altitude(name) or plain_heading(name)
        exact = name.strip().casefold() in SYNONYMS
        if (key := _KEY_OF.get(plain, "")) and key not in PLACED:
            note = _synonym_note(key, plain, name.strip())
            found.setdefault(key, []).append(Column(index, heading, note=note, exact=exact))
        elif plain in _OTHER_UNITS:
            key, factor, unit = _OTHER_UNITS[plain]
            told = Note.of("note.input_mended.column_converted", heading=name.strip(), unit=unit)
            found.setdefault(key, []).append(Column(index, heading, factor, told))
    return {
        k: tuple(sorted(v, key=lambda c: (not c.exact, c.factor != 1))) for k, v in found.items()
    }


def open_headings(headings: Sequence[str], columns: Mapping[str, Column]) -> list[Note]:
    """Return why columns that look like ours are left alone, where ours is not there."""
    remarks = []
    for heading in headings:
        plain = _altitude(heading) or plain_heading(heading)
        if plain in _OPEN and _OPEN[plain][0] not in columns:
            remarks.append(_OPEN[plain][1](heading=heading.strip()))
    return remarks


def _altitude(heading: str) -> str:
    """Return the English heading for a height above sea level in another language, '' for none."""
    plain = plain_heading(heading)
    if plain in _KEY_OF or plain in _OTHER_UNITS or plain in _OPEN:
        return ""
    return _ALTITUDES.get(heading_key(heading), "")


def _synonym_note(key: str, plain: str, written: str) -> Note | None:
    """Return the note for a heading that could, without its unit, mean something else."""
    if not plain.startswith("elev"):
        return None
    return Note.of("note.input_mended.column_read_as", heading=written, ours=key)
