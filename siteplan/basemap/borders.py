"""Which countries of the basemap lie near points, and how far off: a note, no decision.

A country is as near as its outline: a border on land where two countries share one, else its coast.
Islands that the basemap has not are not seen, and it is good to some 2 km.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteplan.basemap.places import GOOD_TO_KM, country_at
from siteplan.basemap.rings import read, ring_line

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
    for number in range(len(names())):
        rows = np.flatnonzero(_maybe(number, north, east, km))
        if rows.size:
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


def _maybe(number: int, lat: FloatArray, lon: FloatArray, km: float) -> NDArray[np.bool_]:
    """Return which points (n,) may lie so near to a country, by the box of each of its rings."""
    reach = km * _WIDER / _KM_A_DEG
    aside = reach / np.maximum(np.cos(np.radians(np.minimum(np.abs(lat) + reach, 90.0))), 1e-3)
    near = np.zeros(len(lat), dtype=bool)
    for south, north, west, east in _boxes(number):
        inside = (lat >= south - reach) & (lat <= north + reach)
        near |= inside & ((lon - west + aside) % 360 <= east - west + 2 * aside)
    return near


@cache
def _boxes(number: int) -> tuple[tuple[float, float, float, float], ...]:
    """Return south, north, west and east of each ring of a country [deg]."""
    return tuple(
        (float(line[:, 1].min()), float(line[:, 1].max()), float(line[:, 0].min()),
         float(line[:, 0].max()))
        for line in _lines(number)
    )  # fmt: skip


def _lines(number: int) -> list[FloatArray]:
    """Return the rings of a country, (n, 2) longitude and latitude [deg]."""
    return [ring_line(ring) for ring in _countries()[number]]


@cache
def _countries() -> tuple[list[list[int]], ...]:
    """Return the rings of each country, as lists of arcs."""
    return tuple(read("countries.json")["countries"])


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
