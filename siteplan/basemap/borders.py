"""Which countries of the basemap lie near points, and how far off: a note, no decision.

A country is as near as its outline: a border on land where two countries share one, else its coast.
Islands that the basemap has not are not seen, and it is good to some 2 km.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteplan.basemap.places import GOOD_TO_KM, country_at
from siteplan.basemap.rings import outline_boxes, outlines, read

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: How far off a country is still told of [km].
NEAR_KM = 100.0
#: Outlines are taken as points so far apart at most [km]: at a border that is off by half of it.
_SPACING_KM = 1.0
#: A point at sea by the basemap belongs to the country whose coast lies so near [km].
_OFFSHORE_KM = GOOD_TO_KM + 1
_EARTH_KM = 6371.0088
#: Points that are held against the boxes of all rings at once.
_AT_ONCE = 256
#: Up to so many points are held against an outline one by one.
_FEW = 1000
_KM_A_DEG = 111.2
#: What the sphere may be wrong by against the ellipsoid, on the safe side: distances are those of
#: the ellipsoid in the end.
_WIDER = 1.01


class Near(NamedTuple):
    """A country near a point: its name on the basemap, and how far off its outline is [km]."""

    name: str
    km: float


def countries_near(lat: ArrayLike, lon: ArrayLike, km: float = NEAR_KM) -> list[tuple[Near, ...]]:
    """Return for points (n,) the countries but their own within a distance, the nearest first.

    Parameters
    ----------
    lat, lon : (n,) array
        Degrees, WGS 84; any whole turns of longitude.
    km : float
        How far off a country may be. [km]

    Returns
    -------
    list of n tuples
        Distances along the ellipsoid.
    """
    north, east = np.asarray(lat, dtype=float), np.asarray(lon, dtype=float)
    found: list[list[tuple[float, int]]] = [[] for _ in north]
    maybe = _maybe(north, east, km)
    for number in np.flatnonzero(maybe.any(axis=1)).tolist():
        rows = np.flatnonzero(maybe[number])
        far = _distances_km(number, north[rows], east[rows], km)
        for k in np.flatnonzero(far <= km).tolist():
            found[rows[k]].append((float(far[k]), number))
    own = country_at(north, east)
    return [_but_own(sorted(each), int(home)) for each, home in zip(found, own, strict=True)]


def _but_own(near: list[tuple[float, int]], home: int) -> tuple[Near, ...]:
    """Return the countries near a point but its own: the one it lies in, or just off."""
    if home < 0 and near and near[0][0] <= _OFFSHORE_KM:
        home = near[0][1]
    return tuple(Near(names()[number], far) for far, number in near if number != home)


@cache
def names() -> tuple[str, ...]:
    """Return the names of the basemap's countries, by number."""
    return tuple(read("countries.json")["names"])


def _maybe(lat: FloatArray, lon: FloatArray, km: float) -> NDArray[np.bool_]:
    """Return which countries may lie so near to points, (countries, n), by the boxes of rings."""
    near = np.zeros((len(names()), len(lat)), dtype=bool)
    for k in range(0, len(lat), _AT_ONCE):
        some = slice(k, k + _AT_ONCE)
        near[:, some] = _boxed(lat[some], lon[some], km)
    return near


def _boxed(lat: FloatArray, lon: FloatArray, km: float) -> NDArray[np.bool_]:
    west, south, east, north = outline_boxes().T[:, :, None]
    reach = km * _WIDER / _KM_A_DEG
    aside = reach / np.maximum(np.cos(np.radians(np.minimum(np.abs(lat) + reach, 90.0))), 1e-3)
    inside = (lat >= south - reach) & (lat <= north + reach)
    inside &= (lon - west + aside) % 360 <= east - west + 2 * aside
    near: NDArray[np.bool_] = np.logical_or.reduceat(inside, _first_rings()[:-1])
    return near


def _first_rings() -> IntArray:
    """Return the first ring of each country, and the end of the last's."""
    return np.searchsorted(outlines().country, np.arange(len(names()) + 1))


def _lines(number: int) -> list[FloatArray]:
    """Return the rings of a country, (n, 2) longitude and latitude [deg]."""
    points, starts, _ = outlines()
    first, end = _first_rings()[number : number + 2].tolist()
    return [points[i:j] for i, j in pairwise(starts[first : end + 1].tolist())]


def _distances_km(number: int, lat: FloatArray, lon: FloatArray, km: float) -> FloatArray:
    """Return how far the outline of a country is from points (k,) [km]; infinite beyond ``km``."""
    outline = _outline(number)
    reach = km * _WIDER / _EARTH_KM  # a chord is shorter than its arc
    chord, at = _nearest(number, _on_sphere(lat, lon), reach)
    found = np.full(len(lat), np.inf)
    hit = np.isfinite(chord)
    there = outline[at[hit]]
    _, _, metres = _geod().inv(lon[hit], lat[hit], there[:, 0], there[:, 1])
    found[hit] = np.asarray(metres) / 1000
    return found


@cache
def _geod() -> Any:
    from pyproj import Geod

    return Geod(ellps="WGS84")


def _nearest(number: int, points: FloatArray, reach: float) -> tuple[FloatArray, IntArray]:
    """Return the chord from points (k, 3) to the nearest of an outline's, and which that is.

    Infinite beyond ``reach``. A tree serves many points; for few its making, and scipy's import,
    take longer than all else.
    """
    if len(points) > _FEW:
        chord, at = _tree(number).query(points)
        return np.where(chord <= reach, chord, np.inf), at
    chord, at = np.full(len(points), np.inf), np.zeros(len(points), dtype=np.int64)
    outline = _placed(number)
    for k, point in enumerate(points):
        band = np.flatnonzero(np.abs(outline[2] - point[2]) <= reach)
        if band.size:
            squares = ((outline[:, band] - point[:, None]) ** 2).sum(axis=0)
            nearest = int(np.argmin(squares))
            chord[k], at[k] = np.sqrt(squares[nearest]), band[nearest]
    return np.where(chord <= reach, chord, np.inf), at


@cache
def _outline(number: int) -> FloatArray:
    """Return the outline of a country as points (m, 2), longitude and latitude [deg]."""
    return np.vstack([_dense(line) for line in _lines(number)])


@cache
def _placed(number: int) -> FloatArray:
    """Return the points of an outline (3, m) on the unit sphere."""
    points = _outline(number)
    return np.ascontiguousarray(_on_sphere(points[:, 1], points[:, 0]).T)


@cache
def _tree(number: int) -> cKDTree:
    """Return the points of an outline, to be asked for the nearest."""
    from scipy.spatial import cKDTree

    return cKDTree(_placed(number).T)


def _dense(line: FloatArray) -> FloatArray:
    """Return a line with points between, no two farther apart than the spacing."""
    step = np.diff(line, axis=0)
    across = step[:, 0] * np.cos(np.radians(line[:-1, 1]))
    count = np.maximum(np.ceil(np.hypot(across, step[:, 1]) * _KM_A_DEG / _SPACING_KM), 1)
    each = np.repeat(np.arange(len(step)), count.astype(np.int64))
    first = np.cumsum(count) - count
    share = (np.arange(len(each)) - first[each]) / count[each]
    return np.asarray(line[each] + step[each] * share[:, None])


def _on_sphere(lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return points (n, 3) on the unit sphere."""
    north, east = np.radians(lat), np.radians(lon)
    flat = np.cos(north)
    return np.column_stack([flat * np.cos(east), flat * np.sin(east), np.sin(north)])
