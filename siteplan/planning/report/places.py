"""Where sites are, by class: points, or cells of a grid where points would hide one another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.reported import Places

#: Up to so many sites each is a point.
POINTS_UP_TO = 2_000
#: A grid has about so many cells across its longer side.
_CELLS_ACROSS = 14
_STEPS_DEG = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
_CIRCLE_DEG = 360.0


def places(
    lat: FloatArray,
    lon: FloatArray,
    code: IntArray,
    classes: int,
    *,
    doubt: BoolArray,
    names: TextArray,
) -> Places:
    """Return sites (n,) as points, or as a grid of counts where they are too many.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Positions [deg].
    code : (n,) array of int
        The class of each site, of ``classes``.
    doubt : (n,) array of bool
        Where the place itself is in doubt: such sites are points even beside a grid of others.
    names : (n,) array of str
        What to write beside each.
    """
    counts = np.eye(classes, dtype=np.intp)[code]
    if len(lat) <= POINTS_UP_TO:
        return Places(lat, lon, counts, doubt, tuple(names.tolist()))
    sure = ~doubt
    return _grid(lat[sure], lon[sure], counts[sure]) if sure.any() else _grid(lat, lon, counts)


def _grid(lat: FloatArray, lon: FloatArray, counts: IntArray) -> Places:
    """Return the counts in cells of about equal area, rows of one height."""
    middle = middle_lon(lon)
    east = (lon - middle + 180) % _CIRCLE_DEG - 180
    height = float(np.ptp(lat))
    width = float(np.ptp(east)) * float(np.cos(np.radians(np.mean(lat))))
    step = next((s for s in _STEPS_DEG if max(height, width) / s <= _CELLS_ACROSS), _STEPS_DEG[-1])
    row = np.floor(np.minimum(lat, 90 - 1e-9) / step)
    row_lat = (row + 0.5) * step
    across = np.maximum(np.round(_CIRCLE_DEG * np.cos(np.radians(row_lat)) / step), 1)
    cell = np.floor(east / _CIRCLE_DEG * across + 0.5)
    keys, which = np.unique(np.stack([row, cell], axis=1), axis=0, return_inverse=True)
    which = which.ravel()
    first = np.zeros(len(keys), dtype=np.intp)
    first[which[::-1]] = np.arange(len(lat))[::-1]
    summed = np.zeros((len(keys), counts.shape[1]), dtype=np.intp)
    np.add.at(summed, which, counts)
    cell_lon = (middle + keys[:, 1] * _CIRCLE_DEG / across[first] + 180) % _CIRCLE_DEG - 180
    no_doubt = np.zeros(len(keys), dtype=bool)
    return Places((keys[:, 0] + 0.5) * step, cell_lon, summed, no_doubt, ("",) * len(keys), step)


def middle_lon(lon: NDArray[np.float64]) -> float:
    """Return the middle of the shortest arc of longitudes that holds all of them [deg]."""
    around = np.unique(np.mod(lon + 180, _CIRCLE_DEG) - 180)
    gaps = np.diff(around, append=around[0] + _CIRCLE_DEG)
    widest = int(np.argmax(gaps))
    west = around[(widest + 1) % len(around)]
    return float((west + (_CIRCLE_DEG - gaps[widest]) / 2 + 180) % _CIRCLE_DEG - 180)
