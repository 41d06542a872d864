"""Which sites share the weather of one: its nearest others."""

from __future__ import annotations

from typing import Final

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
    if len(site_id) < 2:
        return tuple(() for _ in site_id)
    from scipy.spatial import cKDTree

    phi, lam = np.radians(lat), np.radians(lon)
    points = np.column_stack([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)])
    chord = 2 * np.sin(NEAR_KM / _EARTH_KM / 2)
    # One more than are named, for the site itself.
    most = min(NAMED + 1, len(site_id))
    away, which = cKDTree(points).query(points, k=most, distance_upper_bound=chord)
    ids = [str(name) for name in site_id.tolist()]
    return tuple(
        tuple(ids[j] for d, j in sorted(zip(*pair, strict=True)) if j != k and d <= chord)[:NAMED]
        for k, pair in enumerate(zip(away.tolist(), which.tolist(), strict=True))
    )
