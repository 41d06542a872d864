"""Which sites share the weather of one: its nearest others."""

from __future__ import annotations

from typing import Final

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


def nearest_ids(
    site_id: TextArray, lat: FloatArray, lon: FloatArray
) -> tuple[tuple[str, ...], ...]:
    """Return the ids of the nearest others of n sites, up to `NAMED` within `NEAR_KM`.

    Parameters
    ----------
    site_id : (n,) array of str
    lat, lon : (n,) arrays
        [deg], any turn.

    Returns
    -------
    tuple of tuples of str
        One a site, the nearest first; of two as near the one that stands first.
    """
    points = unit_vectors(np.asarray(lat, dtype=float), np.asarray(lon, dtype=float))
    away, which = (_by_tree if len(points) > _FEW else _by_all)(points)
    chord = 2 * np.sin(NEAR_KM / _EARTH_KM / 2)
    ids = [str(name) for name in site_id.tolist()]
    return tuple(
        tuple(ids[j] for d, j in zip(*pair, strict=True) if j != k and d <= chord)[:NAMED]
        for k, pair in enumerate(zip(away.tolist(), which.tolist(), strict=True))
    )


def _by_all(points: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return the chords to the nearest of points (n, 3), itself among them, and their numbers."""
    squares = sum(np.subtract.outer(axis, axis) ** 2 for axis in points.T)
    which = np.argsort(squares, axis=1, kind="stable")[:, : NAMED + 1]
    return np.sqrt(np.take_along_axis(squares, which, axis=1)), which


def _by_tree(points: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return the same for many points: scipy's import takes longer than all pairs of few."""
    from scipy.spatial import cKDTree

    away, which = cKDTree(points).query(points, k=NAMED + 1)
    order = np.lexsort((which, away), axis=-1)
    return np.take_along_axis(away, order, axis=1), np.take_along_axis(which, order, axis=1)
