"""What the maps say of a site: altitude, rain, temperature, pressure, vapour, cloud.

Sources: ITU-R P.1511-2 (topography), P.837-7 (rain rate), P.839-4 (rain height), P.1510-1
(temperature), P.835-6 (pressure), P.836-6 (water vapour), P.840-7 maps (cloud liquid, the same
maps as P.840-8) or those of P.840-9, P.453-13 (wet refractivity).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from siteplan.arrays import FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.mapped.cloud_maps import OLDER, CloudMaps
from siteplan.physics.propagation.mapped.map_cache import stored
from siteplan.physics.propagation.mapped.maps import (
    PERCENT_LEVELS,
    Cell,
    Grid,
    bicubic,
    bilinear,
    blend,
    cell,
    corners,
    grid,
)

#: Gas and cloud are frozen at this percentage below it (ITU-R P.618-14 section 2.5).
FROZEN_P_PCT = 5.0
#: Levels that enclose every percentage above the frozen one, up to the method's 50 %.
_UPPER_LEVELS = tuple(p for p in PERCENT_LEVELS if FROZEN_P_PCT <= p <= 50)


@frozen
class Climate:
    """Climate of sites, one array (n,) a quantity; moisture at 5 % of an average year.

    ``clouds`` are the maps that cloud was read from, and is read from at other percentages.
    """

    lat: FloatArray
    lon: FloatArray
    altitude_km: FloatArray
    rain_rate_mm_h: FloatArray
    rain_height_km: FloatArray
    temperature_k: FloatArray
    pressure_hpa: FloatArray
    wet_refractivity: FloatArray
    moisture: Moisture
    clouds: CloudMaps


@frozen
class Moisture:
    """Vapour and cloud of sites (n,) at one percentage of an average year.

    Vapour content [kg/m2], surface vapour density [g/m3], cloud liquid water [kg/m2].
    """

    vapour_kg_m2: FloatArray
    density_g_m3: FloatArray
    cloud_kg_m2: FloatArray


@lru_cache(maxsize=1)
def _topography() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return P.1511-2's heights [m], south to north, and the axes that locate a cell.

    The map's step is 1/12 degree exactly; the axes that come with it are rounded to 8 decimals,
    which would move the height by some millimetres off ITU-R's own examples.
    """
    # The heights are whole metres: half the width holds them exactly.
    values = stored("topography", "1511/v2_topo", lambda m: np.flipud(m).astype(np.float32))
    rows, cols = values.shape
    lat = (np.arange(rows) - 1081.5) / 12
    lon = (np.arange(cols) - 2161.5) / 12
    return values, lat[1:-1], lon[1:-1]


def _axis_cell(axis: FloatArray, x: FloatArray) -> tuple[np.ndarray, FloatArray]:
    """Return the first of the four nodes about ``x`` and the fraction beyond the second."""
    step = (axis[-1] - axis[0]) / (len(axis) - 1)
    first = np.clip(np.searchsorted(axis, x, "right") - 1, 0, len(axis) - 2)
    return first, (x - axis[first]) / step


def topographic_altitude_m(lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return the height of the ground above mean sea level.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Latitude and longitude [deg].

    Returns
    -------
    (n,) array
        Height [m], ITU-R P.1511-2 (1/12 degree, bicubic).

    Examples
    --------
    ITU-R's own examples for P.1511-2: 51.25, 209.38 and 2539.86 m.

    >>> lat, lon = np.array([3.133, 28.717, 9.05]), np.array([101.7, 77.3, 38.7])
    >>> topographic_altitude_m(lat, lon).round(2).tolist()
    [51.25, 209.38, 2539.86]
    """
    values, lat_axis, lon_axis = _topography()
    row, row_fraction = _axis_cell(lat_axis, lat)
    col, col_fraction = _axis_cell(lon_axis, np.mod(lon + 180.0, 360.0) - 180.0)
    return bicubic(values, Cell(row, col, row_fraction, col_fraction))


@lru_cache(maxsize=1)
def _vapour_node_altitude_km() -> FloatArray:
    """Return the height [km] of each node of P.836-6's vapour maps."""
    return stored("vapour-nodes", "836/v6_topo_0dot5", _node_altitude_km)


def _node_altitude_km(topography_km: FloatArray) -> FloatArray:
    """Return P.836-6's topography [km] (0.5 degree, from 90.5 N and 0.5 W) at the map's nodes."""
    lat = 90 - 1.125 * np.arange(161)
    lon = 1.125 * np.arange(321) % 360.0
    lat2, lon2 = (a.ravel() for a in np.meshgrid(lat, lon, indexing="ij"))
    rows, cols = topography_km.shape
    row, row_fraction = _axis_cell(0.5 * np.arange(1, rows - 1) - 90.5, -lat2)  # rows run south
    col, col_fraction = _axis_cell(0.5 * np.arange(1, cols - 1) - 0.5, lon2)
    at = Cell(row, col, row_fraction, col_fraction)
    return bicubic(topography_km, at).reshape(len(lat), len(lon))


def _vapour(at: Cell, altitude_km: FloatArray, p_pct: float) -> tuple[FloatArray, FloatArray]:
    """Return vapour content and surface density scaled to the sites' height, P.836-6 annex 1."""
    scale = corners(grid("vapour_scale", p_pct).values, at)
    node = corners(_vapour_node_altitude_km(), at)
    factor = tuple(np.exp((h - altitude_km) / s) for h, s in zip(node, scale, strict=True))

    def scaled(quantity: str) -> FloatArray:
        value = corners(grid(quantity, p_pct).values, at)
        a, b, c, d = (v * k for v, k in zip(value, factor, strict=True))
        return blend((a, b, c, d), at)

    return scaled("vapour_content"), scaled("vapour_density")


def moisture_at_level(
    lat: FloatArray,
    lon: FloatArray,
    altitude_km: FloatArray,
    p_pct: float,
    clouds: CloudMaps = OLDER,
) -> Moisture:
    """Return vapour and cloud at one published percentage level.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Latitude and longitude [deg].
    altitude_km : (n,) array
        Height of the sites [km].
    p_pct : float
        Percentage of an average year [%], one of ``maps.PERCENT_LEVELS``; with P.840-9's clouds
        one of ``cloud_files.LEVELS_PCT``.
    clouds : CloudMaps
        The cloud maps to use.

    Returns
    -------
    Moisture
        ITU-R P.836-6 and the cloud maps.
    """
    of_vapour, of_cloud = grid("vapour_content", p_pct), clouds.grid(p_pct)
    at = cell(of_vapour, lat, lon)
    vapour, density = _vapour(at, altitude_km, p_pct)
    at = at if _same_nodes(of_vapour, of_cloud) else cell(of_cloud, lat, lon)
    return Moisture(vapour, density, blend(corners(of_cloud.values, at), at))


def _same_nodes(a: Grid, b: Grid) -> bool:
    """Return whether two maps have the same nodes, so that a cell of one is a cell of the other."""
    ours, theirs = (
        (g.values.shape, g.first_lat, g.lat_step, g.first_lon, g.lon_step) for g in (a, b)
    )
    return ours == theirs


@frozen
class UpperMoisture:
    """Vapour and cloud of sites (n,) at every published level from 5 to 50 %, three arrays a level.

    The rows of each array (3, n): vapour content, surface density, cloud liquid, as in
    ``Moisture``. Looked up once, it serves any percentage above the frozen one.
    """

    levels: FloatArray

    def take(self, index: IntArray) -> UpperMoisture:
        """Return the moisture of the sites at ``index`` (k,)."""
        return UpperMoisture(self.levels[:, :, index])

    def at(self, p_pct: FloatArray) -> Moisture:
        """Return vapour and cloud at percentages (n,) [%], clipped to 5 to 50 %.

        Levels are interpolated in the logarithm of the percentage (P.836-6, P.840-7, P.840-9).
        """
        marks = np.array(_UPPER_LEVELS)
        p = np.clip(p_pct, marks[0], marks[-1])
        lower = np.clip(np.searchsorted(marks, p, "right") - 1, 0, len(marks) - 2)
        weight = np.log(p / marks[lower]) / np.log(marks[lower + 1] / marks[lower])
        rows = np.arange(len(p))
        below, above = self.levels[lower, :, rows].T, self.levels[lower + 1, :, rows].T
        return Moisture(*((1 - weight) * below + weight * above))


def upper_moisture(
    lat: FloatArray, lon: FloatArray, altitude_km: FloatArray, clouds: CloudMaps = OLDER
) -> UpperMoisture:
    """Return vapour and cloud of sites (n,) at every published level from 5 to 50 %."""
    found = [moisture_at_level(lat, lon, altitude_km, p, clouds) for p in _UPPER_LEVELS]
    return UpperMoisture(
        np.stack([np.stack((m.vapour_kg_m2, m.density_g_m3, m.cloud_kg_m2)) for m in found])
    )


def moisture_above_frozen(
    lat: FloatArray,
    lon: FloatArray,
    altitude_km: FloatArray,
    p_pct: FloatArray,
    clouds: CloudMaps = OLDER,
) -> Moisture:
    """Return vapour and cloud at any percentage from 5 to 50 %, site by site."""
    return upper_moisture(lat, lon, altitude_km, clouds).at(p_pct)


def standard_pressure_hpa(altitude_km: FloatArray) -> FloatArray:
    """Return the pressure [hPa] at heights (n,) [km], ITU-R P.835-6 annex 1 eq. 3a (to 11 km).

    Examples
    --------
    The standard atmosphere at sea level and at 5 km.

    >>> standard_pressure_hpa(np.array([0.0, 5.0])).round(1).tolist()
    [1013.2, 540.5]
    """
    geopotential_km = 6356.766 * altitude_km / (6356.766 + altitude_km)
    return np.asarray(1013.25 * (288.15 / (288.15 - 6.5 * geopotential_km)) ** (-34.1632 / 6.5))


def site_climate(
    lat: FloatArray, lon: FloatArray, altitude_km: FloatArray, clouds: CloudMaps = OLDER
) -> Climate:
    """Return the climate of sites from the ITU-R maps.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Latitude and longitude [deg].
    altitude_km : (n,) array
        Height above mean sea level [km].
    clouds : CloudMaps
        The cloud maps to use.

    Returns
    -------
    Climate
        Sources in the module's heading; rain height is the isotherm plus 0.36 km (P.839-4).

    Examples
    --------
    ITU-R's own examples: 33.936 mm/h of rain at 41.9 N 12.49 E, and rain heights (P.839-4) of
    3.047 and 4.958 km.

    >>> climate = site_climate(np.array([41.9, 3.133]), np.array([12.49, 101.7]), np.zeros(2))
    >>> climate.rain_rate_mm_h.round(2).tolist(), climate.rain_height_km.round(2).tolist()
    ([33.94, 99.15], [3.05, 4.96])
    """
    return Climate(
        lat=lat,
        lon=lon,
        altitude_km=altitude_km,
        rain_rate_mm_h=bilinear(grid("rain_rate"), lat, lon),
        rain_height_km=bilinear(grid("isotherm"), lat, lon) + 0.36,
        temperature_k=bilinear(grid("temperature"), lat, lon),
        pressure_hpa=standard_pressure_hpa(altitude_km),
        wet_refractivity=bilinear(grid("wet_refractivity", 50), lat, lon),
        moisture=moisture_at_level(lat, lon, altitude_km, FROZEN_P_PCT, clouds),
        clouds=clouds,
    )
