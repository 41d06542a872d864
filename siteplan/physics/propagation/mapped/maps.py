"""The ITU-R digital maps, read from the files that the ``itur`` package carries.

Interpolation follows the Recommendations
(bilinear; bicubic of P.1144 for topography) and, to rounding, what ``itur`` computes.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.mapped.map_cache import stored

#: A number, or an array that broadcasts with the others.
Level = float | FloatArray

#: Edition of each quantity's maps but the clouds', which depend on what is at hand.
EDITIONS = (
    ("rain rate", "P.837-7"),
    ("rain height", "P.839-4"),
    ("temperature", "P.1510-1"),
    ("water vapour", "P.836-6"),
    ("wet refractivity", "P.453-13"),
    ("altitude", "P.1511-2"),
)
#: Percentages of time for which P.836, P.840 and P.453 publish maps.
PERCENT_LEVELS = (0.1, 0.2, 0.3, 0.5, 1, 2, 3, 5, 10, 20, 30, 50, 60, 70, 80, 90, 95, 99)


@frozen
class Grid:
    """A map on a regular grid: ``values`` (rows, columns), its first node and its steps.

    ``first_lat`` [deg] is the latitude of row 0 and ``lat_step`` [deg] is signed; likewise
    for longitude, whose origin is -180 or 0.
    """

    values: FloatArray
    first_lat: float
    lat_step: float
    first_lon: float
    lon_step: float


class Cell(NamedTuple):
    """Grid cells of many points: row and column of the corner, and the fractions beyond it."""

    row: IntArray
    col: IntArray
    row_fraction: FloatArray
    col_fraction: FloatArray


def _level(p_pct: float) -> str:
    """Return how map files spell a percentage level: ``01`` is 0.1 %, ``5`` is 5 %."""
    return f"{p_pct:g}".replace(".", "")


@lru_cache(maxsize=64)
def grid(quantity: str, which: float | None = None) -> Grid:
    """Return the map of a quantity, loaded once.

    Parameters
    ----------
    quantity : str
        ``rain_rate`` (P.837-7, mm/h at 0.01 %), ``isotherm`` (P.839-4, km), ``temperature``
        (P.1510-1, K), ``cloud_liquid`` (P.840-7/-8, kg/m2), ``wet_refractivity`` (P.453-13,
        N-units), ``vapour_content`` (P.836-6, kg/m2), ``vapour_density`` (P.836-6, g/m3),
        ``vapour_scale`` (P.836-6, km), ``monthly_temperature`` (P.1510-1, K),
        ``monthly_rainfall`` (P.837-7, mm).
    which : float, optional
        Percentage level [%] of the quantities that depend on it, one of ``PERCENT_LEVELS``;
        the month, 1 to 12, of monthly ones.
    """
    stem, lat0, dlat, lon0, dlon = _MAPS[quantity]
    name = stem if which is None else stem.format(level=_level(which), month=f"{which:02.0f}")
    values = stored(name.replace("/", "-"), name, lambda source: source)
    return Grid(values, lat0, dlat, lon0, dlon)


#: Quantity: file, first latitude, step, first longitude, step [deg].
_MAPS = {
    "rain_rate": ("837/v7_r001", -90.0, 0.125, -180.0, 0.125),
    "isotherm": ("839/v4_esa0height", 90.0, -1.5, 0.0, 1.5),
    "temperature": ("1510/v1_t_annual", -90.0, 0.75, -180.0, 0.75),
    "cloud_liquid": ("840/v7_lred_{level}", 90.0, -1.125, 0.0, 1.125),
    "wet_refractivity": ("453/v13_nwet_annual_{level}", -90.0, 0.75, -180.0, 0.75),
    "vapour_content": ("836/v6_v_{level}", 90.0, -1.125, 0.0, 1.125),
    "vapour_density": ("836/v6_rho_{level}", 90.0, -1.125, 0.0, 1.125),
    "monthly_temperature": ("1510/v1_t_month{month}", -90.0, 0.75, -180.0, 0.75),
    "monthly_rainfall": ("837/v7_mt_month{month}", -90.125, 0.25, -180.125, 0.25),
    "vapour_scale": ("836/v6_vsch_{level}", 90.0, -1.125, 0.0, 1.125),
}


def cell(g: Grid, lat: FloatArray, lon: FloatArray) -> Cell:
    """Return the grid cells that hold the points.

    Parameters
    ----------
    g : Grid
        A map.
    lat, lon : (n,) arrays
        Latitude [deg] and longitude [deg], any turn.
    """
    rows, cols = g.values.shape
    r = (lat - g.first_lat) / g.lat_step
    c = np.mod(lon - g.first_lon, 360.0) / g.lon_step
    row = np.clip(r.astype(np.intp), 0, rows - 2)
    col = np.clip(c.astype(np.intp), 0, cols - 2)
    return Cell(row, col, r - row, c - col)


def corners(values: FloatArray, at: Cell) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the four corner values of each cell: (0,0), (1,0), (0,1), (1,1) in (row, col)."""
    flat = values.ravel()
    cols = values.shape[1]
    first = at.row * cols + at.col
    return flat[first], flat[first + cols], flat[first + 1], flat[first + cols + 1]


def blend(corner: tuple[FloatArray, FloatArray, FloatArray, FloatArray], at: Cell) -> FloatArray:
    """Return the bilinear mean of four corners (ITU-R P.1144-7 annex 1 section 1b)."""
    r, c = at.row_fraction, at.col_fraction
    top = corner[0] * (1 - r) + corner[1] * r
    side = corner[2] * (1 - r) + corner[3] * r
    return top * (1 - c) + side * c


def bilinear(g: Grid, lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return a map's values at points (n,) by bilinear interpolation.

    Examples
    --------
    In the middle of a cell, the mean of its four corners.

    >>> table = Grid(np.array([[0.0, 1.0], [2.0, 3.0]]), 10.0, -1.0, 0.0, 1.0)
    >>> bilinear(table, np.array([10.0, 9.5]), np.array([0.0, 0.5])).tolist()
    [0.0, 1.5]
    """
    at = cell(g, lat, lon)
    return blend(corners(g.values, at), at)


def _keys(d: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the bicubic weights (ITU-R P.1144-7 annex 1 section 2, a = -0.5), 0 <= d <= 1."""

    def near(x: FloatArray) -> FloatArray:
        return (1.5 * x - 2.5) * x**2 + 1

    def far(x: FloatArray) -> FloatArray:
        return ((-0.5 * x + 2.5) * x - 4) * x + 2

    return far(d + 1), near(d), near(1 - d), far(2 - d)


def bicubic(values: FloatArray, at: Cell) -> FloatArray:
    """Return the bicubic mean over four rows by four columns that start at each cell's corner.

    ``at`` points at the first of the four rows and columns; the point lies between the second
    and the third, at the fractions given.
    """
    flat = values.ravel()
    cols = values.shape[1]
    first = at.row * cols + at.col
    row_weights = _keys(at.row_fraction)
    col_weights = _keys(at.col_fraction)
    total = np.zeros(at.row.shape)
    for i, row_weight in enumerate(row_weights):
        line = first + i * cols
        mean = sum(w * flat[line + j] for j, w in enumerate(col_weights))
        total += row_weight * mean
    return total
