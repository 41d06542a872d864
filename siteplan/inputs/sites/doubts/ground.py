"""Where the points of a file lie: in which country of the basemap, and how near to others."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.basemap.places import SEA, countries_around, country_at
from siteplan.basemap.rings import land_points
from siteplan.frozen import frozen
from siteplan.inputs.sites.doubts.points import Points

_EARTH_KM = 6371.0
#: Around a point it is looked at these distances [km]: the basemap is good to 2, but land won
#: from the sea since it was drawn, and its lines half a mile apart, ask for more.
_AROUND_KM = (2.0, 4.0)
#: Of so many points at one place none is looked past.
_MOST_TOGETHER = 8
#: Up to so many points each is held against all: quicker than importing a tree.
_FEW = 1000
#: Distances from land that are told [km], the nearest step first.
_STEPS_KM = (4, 6, 10, 15, 20, 30, 50, 75, 100, 150, 200, 300, 500, 750, 1000, 1500, 2000, 3000)
#: Up to here circles are close enough; beyond, distances are told to so much [km].
_CIRCLES_TO_KM, _TOLD_TO_KM = 100, 50
#: Points of the coast that are looked at at once: all would take megabytes.
_COAST_AT_ONCE = 4096


@frozen
class Ground:
    """The points of a file on the basemap; ``here`` (n,) is the country at each of them.

    ``countries`` and ``regions`` are the points of each label of the user's columns.
    """

    lat: FloatArray
    lon: FloatArray
    here: IntArray
    countries: list[IntArray]
    regions: list[IntArray]

    @classmethod
    def of(cls, points: Points) -> Ground:
        """Return where the points lie."""
        return cls(
            points.lat,
            points.lon,
            country_at(points.lat, points.lon),
            group_members(points.country),
            group_members(points.region),
        )

    def __len__(self) -> int:
        """Return the number of points."""
        return len(self.lat)

    def around(self, at: IntArray) -> IntArray:
        """Return the countries (k, 18) at some points and at places around them."""
        lat, lon = self.lat[at], self.lon[at]
        return np.hstack([countries_around(lat, lon, km) for km in _AROUND_KM])

    @cached_property
    def countries_met(self) -> IntArray:
        """The countries in which points lie (k,)."""
        return np.flatnonzero(np.bincount(self.here[self.here >= 0]))

    @cached_property
    def _placed(self) -> FloatArray:
        return on_sphere(self.lat, self.lon)

    @cached_property
    def _tree(self) -> Any:
        """All points, to be asked for the nearest."""
        from scipy.spatial import cKDTree

        return cKDTree(self._placed, balanced_tree=False, compact_nodes=False)

    def _chords(self, lat: FloatArray, lon: FloatArray, count: int) -> FloatArray:
        """Return the chords (k, count) from places (k,) to the nearest points, no order told."""
        places = on_sphere(lat, lon)
        if len(self) > _FEW:
            return np.reshape(self._tree.query(places, k=count)[0], (len(lat), count))
        squares = sum(np.subtract.outer(places[:, j], self._placed[:, j]) ** 2 for j in range(3))
        return np.asarray(np.sqrt(np.partition(squares, count - 1, axis=1)[:, :count]))

    def nearest_km(self, lat: FloatArray, lon: FloatArray) -> FloatArray:
        """Return how far the nearest point is from places (k,) [deg]; NaN is nowhere. [km]"""
        known = np.isfinite(lat) & np.isfinite(lon)
        far = np.full(len(lat), np.inf)
        if known.any():
            far[known] = kilometres(self._chords(lat[known], lon[known], 1)[:, 0])
        return far

    def nearest_other_km(self, at: IntArray) -> FloatArray:
        """Return how far the nearest point elsewhere is from some of the points (k,). [km]"""
        if not len(at):
            return np.zeros(0)
        count = min(_MOST_TOGETHER, len(self.lat))
        chords = self._chords(self.lat[at], self.lon[at], count)
        elsewhere = np.where(chords > 1e-9, chords, np.inf).min(axis=1)
        # So many at one place are no stray ones.
        crowd = np.isinf(elsewhere) & (count == _MOST_TOGETHER)
        return kilometres(np.where(crowd, 0.0, elsewhere))


def on_sphere(lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return points (n,) [deg] as (n, 3) on the unit sphere."""
    up, turn = np.radians(lat), np.radians(lon)
    return np.stack([np.cos(up) * np.cos(turn), np.cos(up) * np.sin(turn), np.sin(up)], axis=1)


def kilometres(chords: FloatArray) -> FloatArray:
    """Return lengths of chords of the unit sphere along the ground. [km]"""
    along = 2 * _EARTH_KM * np.arcsin(np.minimum(chords / 2, 1))
    return np.where(np.isinf(chords), np.inf, along)


def at_sea(around: IntArray) -> BoolArray:
    """Return which points are at sea for sure (n,), by what is around them (n, k)."""
    return np.asarray((around == SEA).all(axis=1))


def km_from_land(lat: FloatArray, lon: FloatArray) -> IntArray:
    """Return about how far points at sea (n,) [deg] are from land, at most. [km]

    Near it by what lies on circles about each; farther out a coast may slip through these, and the
    nearest point of one is taken.
    """
    far = np.full(len(lat), _STEPS_KM[-1])
    left = np.arange(len(lat))
    for km in _STEPS_KM:
        dry = (countries_around(lat[left], lon[left], float(km)) != SEA).any(axis=1)
        far[left[dry]] = km
        left = left[~dry]
    out = np.flatnonzero(far > _CIRCLES_TO_KM)
    far[out] = np.minimum(far[out], _km_from_coast(lat[out], lon[out]))
    return far


def _km_from_coast(lat: FloatArray, lon: FloatArray) -> IntArray:
    """Return how far places (k,) [deg] are from the nearest point of a coast, to 50 km. [km]"""
    if not len(lat):
        return np.zeros(0, dtype=np.int64)
    places, coast, near = on_sphere(lat, lon), land_points(), np.full(len(lat), -1.0)
    for begin in range(0, len(coast), _COAST_AT_ONCE):
        some = on_sphere(*coast[begin : begin + _COAST_AT_ONCE].T[::-1])
        near = np.maximum(near, [(some @ place).max() for place in places])
    chords = np.sqrt(np.maximum(2 - 2 * near, 0))
    return np.ceil(kilometres(chords) / _TOLD_TO_KM).astype(np.int64) * _TOLD_TO_KM


def group_members(labels: TextArray | None) -> list[IntArray]:
    """Return the points of each label, positions in order; None and blank labels name no group."""
    if labels is None:
        return []
    from pandas import factorize

    # Few labels are many points': each is looked at once.
    first, words = factorize(labels)
    merged, plain = factorize(np.array([w.strip().casefold() for w in words], dtype=object))
    codes = merged[first]
    order = np.argsort(codes, kind="stable")
    bounds = np.searchsorted(codes[order], np.arange(len(plain) + 1)).tolist()
    members = [order[low:high] for low, high in pairwise(bounds)]
    return [found for found, word in zip(members, plain, strict=True) if word]
