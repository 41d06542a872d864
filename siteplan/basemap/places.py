"""In which country of the basemap points lie, or at sea: for millions of them, without polygons.

Every country is cut along lines of one latitude, half a mile apart; a point is looked up among
the cuts of its line. What is told is as good as the basemap: to about 2 km.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteplan.basemap.rings import decoded, read, ring_line

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: At sea by the basemap, and on an island that is in no country of the list.
SEA, NO_COUNTRY = -1, -2
#: How far the basemap may be from the truth [km].
GOOD_TO_KM = 2.0
#: Lines of one latitude a degree.
_LINES = 128
#: Keys of the lines lie so far apart: more than any longitude is wide [deg].
_APART = 2000.0
#: A small island counts so much wider than it is [km]: none is known better than that.
_ISLET_MARGIN_KM = 5.0
#: Within this of a small island there are likely others, that no map of this scale has [km].
_NEAR_KM = 40.0
#: An island of a smaller radius is drawn too coarsely to tell its coast.
_ISLET_KM = 30.0
_KM_A_DEG = 111.2
#: Unit of the numbers in the list of small islands [deg].
_STEP_DEG = 0.01


class _Cuts(NamedTuple):
    """Where lines of one latitude run through countries: start, end and country of each cut.

    Starts and ends are longitudes [deg] plus the line's key, in order.
    """

    start: FloatArray
    end: FloatArray
    country: IntArray


def country_at(lat: ArrayLike, lon: ArrayLike) -> IntArray:
    """Return the number of the country at points.

    Parameters
    ----------
    lat, lon : array (...)
        Degrees; any whole turns of longitude.

    Returns
    -------
    array (...) of int
        `SEA`, or `NO_COUNTRY`. Islands that the basemap has not are told from a list of them.
    """
    key = _key(lat, lon)
    found = _looked_up(key, _mainland())
    sea = found == SEA
    if sea.any():
        found[sea] = _looked_up(key[sea], _islets(_ISLET_MARGIN_KM))
    return found


def _key(lat: ArrayLike, lon: ArrayLike) -> FloatArray:
    """Return the longitudes of points [deg] in -180 to 180, plus the keys of their lines."""
    east = (np.asarray(lon, dtype=float) + 180) % 360 - 180
    key: FloatArray = np.floor((np.asarray(lat, dtype=float) + 90) * _LINES) * _APART + east
    return key


def countries_around(lat: ArrayLike, lon: ArrayLike, km: float = GOOD_TO_KM + 1) -> IntArray:
    """Return the countries (n, 9) at points (n,) [deg] and at eight places around each, ``km`` off.

    What holds at all of them holds for sure, as far as the basemap is good.
    """
    north, east = np.asarray(lat, dtype=float)[:, None], np.asarray(lon, dtype=float)[:, None]
    turn = np.radians(np.arange(8) * 45.0)
    up = np.concatenate([[0.0], np.cos(turn)]) * km / _KM_A_DEG
    aside = np.concatenate([[0.0], np.sin(turn)]) * km / _KM_A_DEG
    narrow = np.maximum(np.cos(np.radians(north)), 0.01)
    return country_at(np.clip(north + up, -90, 90), east + aside / narrow)


def _looked_up(key: FloatArray, cuts: _Cuts) -> IntArray:
    at = np.searchsorted(cuts.start, key, side="right") - 1
    inside = (at >= 0) & (key < cuts.end[at])
    return np.where(inside, cuts.country[at], SEA)


@cache
def _mainland() -> _Cuts:
    """Return the cuts of all countries of the basemap."""
    pieces = [
        _country_cuts([ring_line(ring) for ring in rings], number)
        for number, rings in enumerate(read("countries.json")["countries"])
        if rings
    ]
    return _in_order(pieces)


def _country_cuts(rings: list[FloatArray], number: int) -> _Cuts:
    """Return the cuts of one country: every second stretch between crossings lies in it."""
    line, lon = (np.concatenate(parts) for parts in zip(*map(_crossings, rings), strict=True))
    order = np.lexsort((lon, line))
    line, lon = line[order], lon[order]
    key = line * _APART
    return _Cuts(
        key[0::2] + lon[0::2], key[1::2] + lon[1::2], np.full(len(line) // 2, number, np.int64)
    )


def _crossings(ring: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return line and longitude [deg] of each place where a closed ring crosses a line."""
    lon, lat = ring[:, 0], (ring[:, 1] + 90) * _LINES - 0.5
    low, high = np.minimum(lat[:-1], lat[1:]), np.maximum(lat[:-1], lat[1:])
    first = np.ceil(low)
    count = np.maximum(np.ceil(high) - first, 0).astype(np.int64)
    edge, line = _counted(first, count)
    along = (line - lat[edge]) / (lat[edge + 1] - lat[edge])
    return line, lon[edge] + along * (lon[edge + 1] - lon[edge])


def near_small_islands(lat: ArrayLike, lon: ArrayLike) -> NDArray[np.bool_]:
    """Return whether points (n,) [deg] lie where small islands are: the basemap is coarse there."""
    return np.not_equal(_looked_up(_key(lat, lon), _islets(_NEAR_KM)), SEA)


@cache
def _islets(margin_km: float) -> _Cuts:
    """Return the cuts of all small islands, each a circle with a margin.

    Those that the basemap has are too coarse on it, those that it has not are told by a list.
    """
    raw = read("countries.json")
    # Differences run through all pairs of numbers, as in the arcs.
    listed = np.cumsum(decoded(raw["islets"]).reshape(-1, 2), axis=0).reshape(-1, 4)
    circles = [(x * _STEP_DEG, y * _STEP_DEG, r * _STEP_DEG, k) for x, y, r, k in listed.tolist()]
    for number, rings in enumerate(raw["countries"]):
        around = (_circle(ring_line(ring)) for ring in rings)
        circles += [(x, y, r, number) for x, y, r in around if r * _KM_A_DEG < _ISLET_KM]
    return _in_order([_circle_cuts(np.array(circles), margin_km)])


def _circle(ring: FloatArray) -> tuple[float, float, float]:
    """Return longitude, latitude and radius of a circle around a ring. [deg of latitude]"""
    low, high = ring.min(axis=0), ring.max(axis=0)
    lon, lat = ((low + high) / 2).tolist()
    radius = np.hypot((high[0] - low[0]) * np.cos(np.radians(lat)), high[1] - low[1]) / 2
    return lon, lat, float(radius)


def _circle_cuts(circles: FloatArray, margin_km: float) -> _Cuts:
    """Return the cuts of circles (n, 4), widened: longitude, latitude, radius [deg], country."""
    lon, lat, radius, country = circles.T
    radius = radius + margin_km / _KM_A_DEG
    first = np.ceil((lat - radius + 90) * _LINES - 0.5)
    last = np.floor((lat + radius + 90) * _LINES - 0.5)
    each, line = _counted(first, (last - first + 1).astype(np.int64))
    up = (line + 0.5) / _LINES - 90 - lat[each]
    half = np.sqrt(np.maximum(radius[each] ** 2 - up**2, 0)) / np.cos(np.radians(lat[each]))
    middle = line * _APART + lon[each]
    number = np.where(country < 0, NO_COUNTRY, country).astype(np.int64)
    return _Cuts(middle - half, middle + half, number[each])


def _counted(first: FloatArray, count: IntArray) -> tuple[IntArray, FloatArray]:
    """Return, of counts (n,) that begin at ``first``, each number and which count it is of."""
    each = np.repeat(np.arange(len(count)), count)
    ahead = np.repeat(np.cumsum(count) - count, count)
    return each, first[each] + np.arange(len(each)) - ahead


def _in_order(pieces: list[_Cuts]) -> _Cuts:
    """Return cuts in order, those that run past 180 degrees on the other side too."""
    start, end, country = (np.concatenate(parts) for parts in zip(*pieces, strict=True))
    turns = [_Cuts(start + turn, end + turn, country) for turn in (-360.0, 0.0, 360.0)]
    line = np.floor((start + _APART / 2) / _APART) * _APART
    kept = [_reaching(turned, line) for turned in turns]
    start, end, country = (np.concatenate(parts) for parts in zip(*kept, strict=True))
    order = np.argsort(start, kind="stable")
    # A cut that lies in a longer one does not hide the rest of it.
    return _Cuts(start[order], np.maximum.accumulate(end[order]), country[order])


def _reaching(cuts: _Cuts, line: FloatArray) -> _Cuts:
    """Return the cuts that reach into longitudes of -180 to 180; ``line`` (n,) are their keys."""
    inside = (cuts.end > line - 180) & (cuts.start < line + 180)
    return _Cuts(cuts.start[inside], cuts.end[inside], cuts.country[inside])
