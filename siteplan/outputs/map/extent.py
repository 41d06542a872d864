"""Where the map opens: the smallest frame around the sites, across the antimeridian if need be."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: Web Mercator's square ends here [degree].
MERCATOR_LIMIT_DEG = 85.0511
#: A frame is at least this wide and high [degree], for a single site.
_LEAST_DEG = 1.0
_WORLD = (-60.0, -180.0, 75.0, 180.0)


def extent(lat: NDArray[np.float64], lon: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Return (south, west, north, east) [degree] around sites at ``lat``, ``lon`` (n,).

    West is in [-180, 180) and east may pass 180, where the sites lie on both sides of the
    antimeridian. Without sites: most of the world.
    """
    known = np.isfinite(lat) & np.isfinite(lon)
    if not known.any():
        return _WORLD
    west, east = _padded(*_narrowest(lon[known]))
    south, north = _padded(float(lat[known].min()), float(lat[known].max()))
    limit = MERCATOR_LIMIT_DEG
    return (
        float(np.clip(south, -limit, limit - _LEAST_DEG)),
        west,
        float(np.clip(north, _LEAST_DEG - limit, limit)),
        east,
    )


def _narrowest(lon: NDArray[np.float64]) -> tuple[float, float]:
    """Return west and east of the shortest arc of longitudes that holds all of ``lon``."""
    around = np.unique(np.mod(lon + 180, 360) - 180)
    gaps = np.diff(around, append=around[0] + 360)
    widest = int(np.argmax(gaps))
    west = float(around[(widest + 1) % len(around)])
    east = float(around[widest])
    return west, east if east >= west else east + 360


def _padded(low: float, high: float) -> tuple[float, float]:
    pad = max(0.0, (_LEAST_DEG - (high - low)) / 2)
    return low - pad, high + pad
