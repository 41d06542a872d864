"""In which country of the basemap points lie, or at sea: for millions of them, without polygons.

Every country is cut along lines of one latitude, half a mile apart; a point is looked up among
the cuts of its line. A degree of latitude is cut when a point first lies in it, since the sites of
most networks lie in few. What is told is as good as the basemap: to about 2 km.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteplan.basemap.rings import decoded, outline_boxes, outlines, read

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: At sea by the basemap, and on an island that is in no country of the list.
SEA, NO_COUNTRY = -1, -2
#: How far the basemap may be from the truth [km].
GOOD_TO_KM = 2.0
#: Lines of one latitude a degree.
_LINES = 128
_DEGREES = 180
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
    north = np.asarray(lat, dtype=float)
    found = _looked_up(key, _mainland().at(north))
    sea = found == SEA
    if sea.any():
        found[sea] = _looked_up(key[sea], _islets(_ISLET_MARGIN_KM).at(north[sea]))
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
    inside = key < cuts.end[at]
    return np.where(inside, cuts.country[at], SEA)


class _Atlas:
    """The cuts of all degrees of latitude that were asked for so far.

    Parameters
    ----------
    cut : callable
        Gives the cuts along lines (k,), in order.
    """

    def __init__(self, cut: Callable[[IntArray], _Cuts]) -> None:
        self._cut = cut
        nothing = _Cuts(np.array([-np.inf]), np.array([-np.inf]), np.array([SEA]))
        # One value, so that threads see cuts and what they cover as of one moment.
        self._state = np.zeros(_DEGREES, dtype=bool), nothing

    def at(self, lat: FloatArray) -> _Cuts:
        """Return cuts that hold all lines of points [deg], at least."""
        known, cuts = self._state
        asked = np.zeros(_DEGREES, dtype=bool)
        asked[np.clip(lat[np.isfinite(lat)] + 90, 0, _DEGREES - 1).astype(np.int64)] = True
        missing = np.flatnonzero(asked & ~known)
        if len(missing):
            lines = (missing[:, None] * _LINES + np.arange(_LINES)).ravel()
            cuts = _sorted(_joined([cuts, self._cut(lines)]))
            self._state = known | asked, cuts
        return cuts


@cache
def _mainland() -> _Atlas:
    """Return the cuts of all countries of the basemap."""
    return _Atlas(_country_cuts)


class _Edges(NamedTuple):
    """The edges of all rings: from each point (n,) to the next, none from a ring's last one.

    ``lat`` counts lines; an edge crosses those from ``first`` to before ``beyond`` (n - 1,).
    """

    lon: FloatArray
    lat: FloatArray
    first: FloatArray
    beyond: FloatArray
    country: IntArray


@cache
def _edges() -> _Edges:
    points, starts, country = outlines()
    lon, lat = points[:, 0], (points[:, 1] + 90) * _LINES - 0.5
    first = np.ceil(np.minimum(lat[:-1], lat[1:]))
    beyond = np.ceil(np.maximum(lat[:-1], lat[1:]))
    beyond[starts[1:-1] - 1] = first[starts[1:-1] - 1]
    return _Edges(lon, lat, first, beyond, np.repeat(country, np.diff(starts)))


def _country_cuts(lines: IntArray) -> _Cuts:
    """Return the cuts of countries: every second stretch between crossings lies in one."""
    lon, lat, first, beyond, country = _edges()
    edge, line = _crossed(lines, first, beyond)
    along = (line - lat[edge]) / (lat[edge + 1] - lat[edge])
    at = lon[edge] + along * (lon[edge + 1] - lon[edge])
    order = np.lexsort((at, line, country[edge]))
    key = line[order] * _APART + at[order]
    return _in_order(_Cuts(key[0::2], key[1::2], country[edge][order][0::2]))


def near_small_islands(lat: ArrayLike, lon: ArrayLike) -> NDArray[np.bool_]:
    """Return whether points (n,) [deg] lie where small islands are: the basemap is coarse there."""
    cuts = _islets(_NEAR_KM).at(np.asarray(lat, dtype=float))
    return np.not_equal(_looked_up(_key(lat, lon), cuts), SEA)


@cache
def _islets(margin_km: float) -> _Atlas:
    """Return the cuts of all small islands, each a circle with a margin."""
    return _Atlas(partial(_circle_cuts, margin_km))


@cache
def _circles() -> FloatArray:
    """Return the small islands (n, 4): longitude, latitude and radius [deg], country.

    Those that the basemap has are too coarse on it, those that it has not are told by a list.
    """
    # Differences run through all pairs of numbers, as in the arcs.
    pairs = np.cumsum(decoded(read("countries.json")["islets"]).reshape(-1, 2), axis=0)
    listed = pairs.reshape(-1, 4) * np.array([_STEP_DEG, _STEP_DEG, _STEP_DEG, 1])
    boxes = outline_boxes()
    low, high = boxes[:, :2], boxes[:, 2:]
    lon, lat = ((low + high) / 2).T
    radius = np.hypot((high - low)[:, 0] * np.cos(np.radians(lat)), (high - low)[:, 1]) / 2
    small = radius * _KM_A_DEG < _ISLET_KM
    return np.concatenate([listed, np.column_stack([lon, lat, radius, outlines().country])[small]])


def _circle_cuts(margin_km: float, lines: IntArray) -> _Cuts:
    """Return the cuts of all small islands, widened."""
    lon, lat, radius, country = _circles().T
    radius = radius + margin_km / _KM_A_DEG
    first = np.ceil((lat - radius + 90) * _LINES - 0.5)
    last = np.floor((lat + radius + 90) * _LINES - 0.5)
    each, line = _crossed(lines, first, last + 1)
    up = (line + 0.5) / _LINES - 90 - lat[each]
    half = np.sqrt(np.maximum(radius[each] ** 2 - up**2, 0)) / np.cos(np.radians(lat[each]))
    middle = line * _APART + lon[each]
    number = np.where(country < 0, NO_COUNTRY, country).astype(np.int64)
    return _in_order(_Cuts(middle - half, middle + half, number[each]))


def _crossed(lines: IntArray, first: FloatArray, beyond: FloatArray) -> tuple[IntArray, IntArray]:
    """Return, of ranges (n,) of lines, each that holds one of ``lines`` (k,), and that line.

    A range goes from ``first`` to before ``beyond``; lines rise.
    """
    near = np.flatnonzero((first <= lines[-1]) & (beyond > lines[0]))  # most are elsewhere
    start = np.searchsorted(lines, first[near])
    count = np.maximum(np.searchsorted(lines, beyond[near]) - start, 0)
    behind = np.repeat(start - (np.cumsum(count) - count), count)
    return np.repeat(near, count), lines[behind + np.arange(len(behind))]


def _in_order(cuts: _Cuts) -> _Cuts:
    """Return cuts in order, those that run past 180 degrees on the other side too."""
    turns = [
        _Cuts(cuts.start + turn, cuts.end + turn, cuts.country) for turn in (-360.0, 0.0, 360.0)
    ]
    line = np.floor((cuts.start + _APART / 2) / _APART) * _APART
    return _sorted(_joined([_reaching(turned, line) for turned in turns]))


def _joined(pieces: list[_Cuts]) -> _Cuts:
    return _Cuts(*(np.concatenate(parts) for parts in zip(*pieces, strict=True)))


def _sorted(cuts: _Cuts) -> _Cuts:
    order = np.argsort(cuts.start, kind="stable")
    # A cut that lies in a longer one does not hide the rest of it.
    return _Cuts(cuts.start[order], np.maximum.accumulate(cuts.end[order]), cuts.country[order])


def _reaching(cuts: _Cuts, line: FloatArray) -> _Cuts:
    """Return the cuts that reach into longitudes of -180 to 180; ``line`` (n,) are their keys."""
    inside = (cuts.end > line - 180) & (cuts.start < line + 180)
    return _Cuts(cuts.start[inside], cuts.end[inside], cuts.country[inside])
