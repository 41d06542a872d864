"""Eastings and northings: which columns, and the reference system that makes them places."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.inputs.layout import refusals
from siteplan.inputs.layout.candidates import Candidate
from siteplan.inputs.layout.evidence import Evidence
from siteplan.inputs.layout.facts import Facts
from siteplan.inputs.layout.grids import BAND_S_NORTHINGS_M, to_degrees, utm_code, zone_of
from siteplan.inputs.layout.placings import Grid, Place
from siteplan.model import Note

#: Eastings of UTM and of most other grids of zones, and northings. [m]
_EASTINGS_M, _NORTHINGS_M = (1e5, 1e6), (1e3, 1e7)
#: Positions may lie outside of the area that a reference system is made for by this much. [deg]
_AREA_MARGIN_DEG = 3.0


def by_named_grid(evidence: Evidence, crs: str) -> Place | None:
    """Take eastings and northings in the system that network.toml names."""
    if not crs:
        return None
    for x, y in _pairs(evidence):
        facts = evidence.of(x.heading), evidence.of(y.heading)
        if not all(f.metres for f in facts):
            continue
        first, second = _ordered(x, y, evidence, crs)
        if not _in_area(evidence.of(first.heading), evidence.of(second.heading), crs):
            raise refusals.outside_area(first, second, crs, evidence.source)
        return _grid(first, second, crs)
    return None


def _grid(x: Candidate, y: Candidate, crs: str) -> Place:
    told = Note.of("note.input_mended.grid_read", x=x.written, y=y.written, crs=crs)
    return Place(Grid(x.heading, y.heading, crs), (told,))


def _pairs(evidence: Evidence) -> Iterator[tuple[Candidate, Candidate]]:
    """Yield columns that may be easting and northing, those of one kind first."""
    for east, north in (("easting", "northing"), ("x", "y"), ("lon", "lat")):
        of = evidence.candidates.whole if east == "lon" else evidence.candidates.of
        for x in of(east):
            for y in of(north):
                yield x, y


def _ordered(
    x: Candidate, y: Candidate, evidence: Evidence, crs: str
) -> tuple[Candidate, Candidate]:
    """Return easting and northing: as the headings say, but x and y as the values say.

    Some grids call their northing X, and programs that draw maps still write X for the easting:
    where the values would do either way, nothing tells.
    """
    facts = evidence.of(x.heading), evidence.of(y.heading)
    swapped = x.meaning.key == "x" and _in_area(*facts[::-1], crs)
    if not swapped:
        return x, y
    if not _in_area(*facts, crs):
        return y, x
    if _calls_north_x(crs):
        raise refusals.which_axis(x, y, crs, evidence.source)
    return x, y


def _calls_north_x(crs: str) -> bool:
    """Whether a reference system itself calls its northing X."""
    import pyproj

    axes = pyproj.CRS.from_user_input(crs).axis_info
    return any(axis.abbrev.lower() == "x" and axis.direction == "north" for axis in axes)


def _in_area(x: Facts, y: Facts, crs: str) -> bool:
    """Whether the corners of all values lie in the area of a reference system."""
    import pyproj

    area = pyproj.CRS.from_user_input(crs).area_of_use
    lat, lon = to_degrees(
        np.array([x.low, x.high, x.low, x.high]), np.array([y.low, y.high, y.high, y.low]), crs
    )
    if not np.isfinite(lat).any():
        return False
    if area is None:
        return True
    pad = _AREA_MARGIN_DEG
    east = np.remainder(lon - area.west + pad, 360) <= np.remainder(area.east - area.west, 360) + (
        2 * pad
    )
    inside = (lat >= area.south - pad) & (lat <= area.north + pad)
    return bool((inside & (east | (area.east - area.west >= 359))).any())


def by_grid(evidence: Evidence, crs: str) -> Place | None:
    """Take eastings and northings whose system stands in the headings or in a column of zones.

    Others are refused in one message.
    """
    found = [pair for pair in _pairs(evidence) if _holds_metres(evidence, *pair)]
    for x, y in found:
        if named := x.meaning.grid or y.meaning.grid:
            return _by_heading(evidence, x, y, named)
    for x, y in found:
        if evidence.candidates.of("zone"):
            return _by_zone(evidence, x, y)
        facts = evidence.of(x.heading), evidence.of(y.heading)
        raise refusals.metres(x, y, facts, None, evidence.source)
    return None


def _holds_metres(evidence: Evidence, x: Candidate, y: Candidate) -> bool:
    facts = evidence.of(x.heading), evidence.of(y.heading)
    return all(f.metres for f in facts) and (x.meaning.key != "lon" or _utm(*facts))


def _utm(x: Facts, y: Facts) -> bool:
    """Whether columns called longitude and latitude hold what only metres of a grid can be."""
    low, high = _EASTINGS_M
    near = low <= x.low and x.high <= high
    return near and _NORTHINGS_M[0] <= y.low and y.high <= _NORTHINGS_M[1]


def _by_heading(evidence: Evidence, x: Candidate, y: Candidate, named: str) -> Place:
    if named.startswith("EPSG"):
        return _grid(x, y, named)
    facts = evidence.of(x.heading), evidence.of(y.heading)
    south = _meaning_of_s({named}, facts[1])
    zone = zone_of(named)
    if zone is None or not zone[1] or not south:
        raise refusals.metres(x, y, facts, zone, evidence.source)
    number, letter = zone
    southern = south == "half" if letter == "S" else letter < "N"
    return _grid(x, y, utm_code(number, southern=southern))


def _by_zone(evidence: Evidence, x: Candidate, y: Candidate) -> Place:
    column = evidence.candidates.of("zone")[0]
    facts = evidence.of(x.heading), evidence.of(y.heading)
    zones = {text: zone_of(text) for text in evidence.zones if text}
    known = [zone for zone in zones.values() if zone]
    south = _meaning_of_s({f"{n}{letter}" for n, letter in known}, facts[1])
    if not known or not south or not all(letter for _, letter in known):
        one = known[0] if len({number for number, _ in known}) == 1 else None
        raise refusals.metres(x, y, facts, one, evidence.source, zones=column.written)
    told = Note.of("note.input_mended.zones_read", x=x.written, y=y.written, zone=column.written)
    return Place(Grid(x.heading, y.heading, zone=column.heading, south=south), (told,))


def _meaning_of_s(zones: set[str], northing: Facts) -> str:
    """Return what S means in a zone: ``half``, ``band``, or '' where it may be either."""
    letters = {zone[-1] for zone in zones if zone[-1:].isalpha()}
    if "S" not in letters:
        return "half"
    low, high = BAND_S_NORTHINGS_M
    if letters - {"N", "S"}:
        return "band"
    if "N" in letters or northing.low < low or northing.high > high:
        return "half"
    return ""
