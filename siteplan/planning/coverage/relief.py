"""Heights of an area for shading, in even steps of the map's projection."""

from __future__ import annotations

import math

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.propagation.climate import topographic_altitude_m
from siteplan.results import Grid

#: Nodes across the longer side of the relief's height model; P.1511's own step is 1/12 deg.
_RELIEF_NODES, _RELIEF_STEP_DEG = 640, 1 / 24
#: Maps in Mercator end near this latitude [deg].
_RELIEF_LIMIT_DEG = 85.0


def relief_heights(grid: Grid) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Return a height model of a grid's frame for shading; None beyond 85 degrees of latitude.

    Returns
    -------
    height_m : (r, c) array
        Heights [m], ITU-R P.1511-2, north to south and west to east.
    lat, lon : (r,), (c,) arrays
        Places [deg]; latitudes in even steps of Web Mercator, which the map is drawn in.
    """
    south, west, north, east = grid.frame
    if south >= _RELIEF_LIMIT_DEG or north <= -_RELIEF_LIMIT_DEG:
        return None
    low, high = (
        _mercator(min(max(v, -_RELIEF_LIMIT_DEG), _RELIEF_LIMIT_DEG)) for v in (south, north)
    )
    wide = math.radians(east - west)
    step = max(max(wide, high - low) / _RELIEF_NODES, math.radians(_RELIEF_STEP_DEG))
    rows, cols = (max(int(side / step), 2) for side in (high - low, wide))
    # Each value stands for a pixel and lies in its middle.
    down = high - (np.arange(rows) + 0.5) * (high - low) / rows
    lat = np.degrees(np.arctan(np.sinh(down)))
    lon = west + (np.arange(cols) + 0.5) * (east - west) / cols
    lat2, lon2 = np.meshgrid(lat, lon, indexing="ij")
    height = topographic_altitude_m(lat2.ravel(), lon2.ravel()).reshape(rows, cols)
    return height, lat, lon


def _mercator(lat_deg: float) -> float:
    return math.asinh(math.tan(math.radians(lat_deg)))
