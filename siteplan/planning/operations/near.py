"""Which sites share the weather of one: its nearest others."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from siteplan.arrays import FloatArray, TextArray

#: Sites within this distance see much the same month of rain [km]; common practice, no source.
NEAR_KM: Final = 50.0
#: So many of them are named, the nearest first.
NAMED: Final = 5
_EARTH_KM: Final = 6371.0


def nearest_ids(
    site_id: TextArray, lat: FloatArray, lon: FloatArray
) -> tuple[tuple[str, ...], ...]:
    """Return the ids of the nearest others of n sites, as `Nearest` has them."""
    return Nearest(site_id, lat, lon).of(0, len(site_id))


class Nearest:
    """The nearest others of n sites: up to `NAMED` within `NEAR_KM`.

    Parameters
    ----------
    site_id : (n,) array of str
    lat, lon : (n,) arrays
        [deg], any turn.
    """

    def __init__(self, site_id: TextArray, lat: FloatArray, lon: FloatArray) -> None:
        phi, lam = np.radians(lat), np.radians(lon)
        self._ids = [str(name) for name in site_id.tolist()]
        self._points = np.column_stack(
            [np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)]
        )
        self._tree: Any = None

    def of(self, first: int, count: int) -> tuple[tuple[str, ...], ...]:
        """Return the ids, the nearest first, of ``count`` sites from ``first`` on.

        Of two as near the one that stands first.
        """
        if len(self._ids) < 2:
            return ((),) * count
        from scipy.spatial import cKDTree

        if self._tree is None:
            self._tree = cKDTree(self._points)
        chord = 2 * np.sin(NEAR_KM / _EARTH_KM / 2)
        # One more than are named, for the site itself.
        most = min(NAMED + 1, len(self._ids))
        some = self._points[first : first + count]
        away, which = self._tree.query(some, k=most, distance_upper_bound=chord)
        pairs = zip(away.tolist(), which.tolist(), strict=True)
        return tuple(self._names(k, pair, chord) for k, pair in enumerate(pairs, first))

    def _names(self, k: int, pair: tuple[list[float], list[int]], chord: float) -> tuple[str, ...]:
        near = sorted(zip(*pair, strict=True))
        return tuple(self._ids[j] for d, j in near if j != k and d <= chord)[:NAMED]
