"""Which sites share the weather of one: its nearest others."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.planning.rounds import unit_vectors

#: Sites within this distance see much the same month of rain [km]; common practice, no source.
NEAR_KM: Final = 50.0
#: So many of them are named, the nearest first.
NAMED: Final = 5
_EARTH_KM: Final = 6371.0
#: Up to so many sites each is held against all others.
_FEW: Final = 2000


class Nearest:
    """The nearest others of n sites: up to `NAMED` within `NEAR_KM`.

    Parameters
    ----------
    site_id : (n,) array of str
    lat, lon : (n,) arrays
        [deg], any turn.
    """

    def __init__(self, site_id: TextArray, lat: FloatArray, lon: FloatArray) -> None:
        self._ids = [str(name) for name in site_id.tolist()]
        self._points = unit_vectors(np.asarray(lat, dtype=float), np.asarray(lon, dtype=float))
        self._tree: Any = None

    def of(self, first: int, count: int) -> tuple[tuple[str, ...], ...]:
        """Return the ids, the nearest first, of ``count`` sites from ``first`` on.

        Of two as near the one that stands first.
        """
        chord = 2 * np.sin(NEAR_KM / _EARTH_KM / 2)
        some = self._points[first : first + count]
        away, which = (self._by_tree if len(self._points) > _FEW else self._by_all)(some)
        pairs = zip(away.tolist(), which.tolist(), strict=True)
        return tuple(self._names(k, pair, chord) for k, pair in enumerate(pairs, first))

    def _names(self, k: int, pair: tuple[list[float], list[int]], chord: float) -> tuple[str, ...]:
        near = zip(*pair, strict=True)
        return tuple(self._ids[j] for d, j in near if j != k and d <= chord)[:NAMED]

    def _by_all(self, some: FloatArray) -> tuple[FloatArray, IntArray]:
        """Return the chords from points (k, 3) to the nearest of all, themselves too, and which."""
        axes = zip(some.T, self._points.T, strict=True)
        squares = np.asarray(sum(np.subtract.outer(one, other) ** 2 for one, other in axes))
        which = np.argsort(squares, axis=1, kind="stable")[:, : NAMED + 1]
        return np.sqrt(np.take_along_axis(squares, which, axis=1)), which

    def _by_tree(self, some: FloatArray) -> tuple[FloatArray, IntArray]:
        """Return the same of many points: scipy's import takes longer than all pairs of few."""
        from scipy.spatial import cKDTree

        if self._tree is None:
            self._tree = cKDTree(self._points)
        # One more than are named, for the site itself; where fewer are, they lie infinitely far.
        away, which = self._tree.query(some, k=NAMED + 1)
        order = np.lexsort((which, away), axis=-1)
        return np.take_along_axis(away, order, axis=1), np.take_along_axis(which, order, axis=1)
