"""Where the map opens: the smallest frame around the sites, across the antimeridian if need be.

A site whose coordinates are in doubt does not stretch the frame: far from the others, it is left
out. One place alone gets a frame wide enough to show a coast or a border.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray
from siteplan.results import Frame

#: Web Mercator's square ends here [degree].
MERCATOR_LIMIT_DEG = 85.0511
#: A frame is at least this wide and high [degree].
_LEAST_DEG = 1.0
_WORLD = (-60.0, -180.0, 75.0, 180.0)
#: Sites that lie together within this are one place [degree].
_ONE_PLACE_DEG = 0.02
#: From one place to the edge of its frame [degree], at least and at most, and as a multiple of the
#: way to the nearest coast or border.
_ALONE_DEG, _MOST_ALONE_DEG, _BEYOND = 4.0, 40.0, 1.3
#: A site in doubt is far from the frame of the others beyond this share of it, at least so much.
_FAR_SHARE, _LEAST_FAR_DEG = 0.5, 1.0


def first_view(
    lat: NDArray[np.float64], lon: NDArray[np.float64], doubted: BoolArray
) -> tuple[Frame, BoolArray]:
    """Return the frame that the map opens on, and which sites are far from it.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Latitude and longitude [deg], NaN where not known.
    doubted : (n,) array of bool
        Where the coordinates are to be checked.

    Returns
    -------
    Frame
        South, west, north, east [deg].
    (n,) array of bool
        Where a doubted site lies far from the others, and so outside.
    """
    far = far_off(lat, lon, doubted)
    frame = extent(lat[~far], lon[~far])
    south, west, north, east = frame
    known = np.isfinite(lat) & np.isfinite(lon)
    alone = max(north - south, east - west) <= _LEAST_DEG and known[~far].any()
    if alone and _spread(lat[known & ~far], lon[known & ~far]) <= _ONE_PLACE_DEG:
        frame = _around((south + north) / 2, (west + east) / 2)
    return frame, far


def far_off(lat: NDArray[np.float64], lon: NDArray[np.float64], doubted: BoolArray) -> BoolArray:
    """Return which of the doubted sites (n,) lie far from those that are not in doubt.

    None where all are in doubt.
    """
    sure = ~doubted & np.isfinite(lat) & np.isfinite(lon)
    if not sure.any() or not doubted.any():
        return np.zeros(len(lat), dtype=bool)
    south, west, north, east = extent(lat[sure], lon[sure])
    reach = max(_FAR_SHARE * max(north - south, east - west), _LEAST_FAR_DEG)
    sideways = np.abs(np.mod(lon - (west + east) / 2 + 180, 360) - 180) - (east - west) / 2
    upwards = np.maximum(south - lat, lat - north)
    return np.asarray(doubted & ((sideways > reach) | (upwards > reach)), dtype=bool)


def extent(lat: NDArray[np.float64], lon: NDArray[np.float64]) -> Frame:
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


def _spread(lat: NDArray[np.float64], lon: NDArray[np.float64]) -> float:
    """Return how far sites lie from one another, north or east [degree]."""
    west, east = _narrowest(lon)
    return max(float(np.ptp(lat)), east - west)


def _around(lat: float, lon: float) -> Frame:
    """Return a frame around one place that some coast or border runs through."""
    from siteplan.basemap.rings import arcs

    lines = np.vstack(arcs())
    east = np.abs(np.mod(lines[:, 0] - lon + 180, 360) - 180)
    nearest = float(np.min(np.maximum(east, np.abs(lines[:, 1] - lat))))
    half = float(np.clip(_BEYOND * nearest, _ALONE_DEG, _MOST_ALONE_DEG))
    limit = MERCATOR_LIMIT_DEG
    return max(lat - half, -limit), lon - half, min(lat + half, limit), lon + half
