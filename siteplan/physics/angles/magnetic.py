"""Magnetic declination and the strength of the field that turns a compass needle.

The World Magnetic Model 2025 on arrays of sites. The coefficients are read from the package of the
agency that issues it, ``wmm-calculator``, which the tests hold the values against; the package
itself takes ten times as long for a single site to import, and twice as long for many. Height
above mean sea level may stand in for height above the ellipsoid: 100 m move the declination by
less than 0.005 degree wherever a compass works.
"""

from __future__ import annotations

import datetime as dt
import importlib.util
from functools import lru_cache
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.physics.constants import WGS84_A_KM, WGS84_E2

#: The model whose coefficients are used, and the years from which and up to which it holds.
MODEL_NAME: Final = "WMM-2025"
MODEL_START_YEAR: Final = 2025.0
MODEL_END_YEAR: Final = 2030.0

#: Horizontal field [nT] below which compasses are given up (blackout zone), and below which
#: they are doubted (caution zone); MIL-PRF-89500B, the model's specification.
BLACKOUT_NT: Final = 2000.0
CAUTION_NT: Final = 6000.0

#: No bearing is given nearer to a pole than this latitude: no geostationary link is there.
_MAX_LATITUDE_DEG: Final = 89.9

#: Sites evaluated at once, so that their sums stay in the processor's cache.
_PIECE: Final = 2000

#: Reference radius of the model [km] and degree of its main field (WMM2025 report, section 1.2).
_RADIUS_KM: Final = 6371.2
_DEGREE: Final = 12


class MagneticField(NamedTuple):
    """Declination (east positive) [deg] and horizontal intensity [nT], of the sites' shape."""

    declination_deg: FloatArray
    horizontal_nt: FloatArray


def model_valid(date: dt.date) -> bool:
    """Return whether the model holds on ``date``: from 2025-01-01 to 2029-12-31.

    References
    ----------
    WMM2025 technical report: valid from 2025.0 to 2030.0.
    """
    return MODEL_START_YEAR <= decimal_year(date) < MODEL_END_YEAR


def decimal_year(date: dt.date) -> float:
    """Return ``date`` (its first moment) as a year with its fraction gone by.

    Examples
    --------
    >>> decimal_year(dt.date(2026, 1, 1)), round(decimal_year(dt.date(2026, 7, 2)), 2)
    (2026.0, 2026.5)
    """
    start = dt.date(date.year, 1, 1)
    length = dt.date(date.year, 12, 31).toordinal() - start.toordinal() + 1
    return date.year + (date.toordinal() - start.toordinal()) / length


def magnetic_field(
    lat: ArrayLike, lon: ArrayLike, altitude_m: ArrayLike, date: dt.date
) -> MagneticField:
    """Return declination and horizontal intensity of the earth's main field.

    Parameters
    ----------
    lat, lon : array_like
        Geodetic latitude and longitude, WGS 84. [deg]
    altitude_m : array_like
        Height above the ellipsoid; the three broadcast together. [m]
    date : datetime.date
        Day for which the field is wanted.

    Returns
    -------
    MagneticField
        Arrays of the broadcast shape (0-d for scalars). NaN on every site if the model does
        not hold on ``date`` (see `model_valid`), and for sites within 0.1 degree of a pole.

    Raises
    ------
    ValueError
        If a latitude lies outside -90 to 90.

    References
    ----------
    World Magnetic Model 2025, NOAA NCEI and British Geological Survey; its error is some 0.4
    degree in mid latitudes, local iron apart (WMM2025 error model).

    Examples
    --------
    Test values that NOAA publishes with WMM2025: 1.28, -0.16 and 68.78 degrees.

    >>> field = magnetic_field([80, 0, -80], [0, 120, 240], 0, dt.date(2025, 1, 1))
    >>> field.declination_deg.round(1).tolist()
    [1.3, -0.2, 68.8]
    >>> magnetic_field([80], [0], 0, dt.date(2030, 1, 1)).declination_deg.tolist()
    [nan]
    """
    lat, lon, altitude = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (lat, lon, altitude_m))
    )
    if np.any(np.abs(lat) > 90):
        raise ValueError("lat: latitudes must lie within -90 to 90 degrees")
    field = np.full((2, lat.size), np.nan)
    if model_valid(date):
        place = np.stack([lat.ravel(), np.remainder(lon.ravel() + 180, 360) - 180])
        place = np.vstack([place, altitude.ravel() / 1e3])
        can = np.isfinite(place).all(axis=0) & (np.abs(place[0]) <= _MAX_LATITUDE_DEG)
        _fill(field, place, np.flatnonzero(can), decimal_year(date))
    return MagneticField(field[0].reshape(lat.shape), field[1].reshape(lat.shape))


def compass_reliable(horizontal_nt: ArrayLike) -> BoolArray:
    """Return whether a compass can be trusted: outside the model's caution and blackout zones.

    Parameters
    ----------
    horizontal_nt : array_like
        Horizontal intensity. [nT]

    Returns
    -------
    ndarray of bool
        False below 6000 nT (`CAUTION_NT`), and where the intensity is NaN. Below 2000 nT
        (`BLACKOUT_NT`) a compass is of no use at all.

    References
    ----------
    MIL-PRF-89500B: blackout zone below 2000 nT, caution zone from 2000 to 6000 nT.

    Examples
    --------
    >>> compass_reliable([20_000, 5_000, 1_000]).tolist()
    [True, False, False]
    """
    return np.asarray(np.asarray(horizontal_nt, dtype=float) >= CAUTION_NT)


def _fill(field: FloatArray, place: FloatArray, index: IntArray, year: float) -> None:
    """Write declination and intensity of the places at ``index`` into ``field`` (2, n)."""
    model = _coefficients(year)
    for start in range(0, len(index), _PIECE):
        piece = index[start : start + _PIECE]
        north, east = _components(model, place[:, piece])
        field[0, piece] = np.degrees(np.arctan2(east, north))
        field[1, piece] = np.hypot(north, east)


@lru_cache(maxsize=4)
def _coefficients(year: float) -> FloatArray:
    """Return g and h (2, 13, 13) [nT], by degree and order, in a year (WMM2025 report eq. 9)."""
    spec = importlib.util.find_spec("wmm")
    if spec is None or not spec.submodule_search_locations:
        raise RuntimeError("the package wmm-calculator, which carries the model, is not installed")
    path = Path(next(iter(spec.submodule_search_locations))) / "coefs" / "WMM.COF"
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    epoch, name = float(head.split()[0]), head.split()[1]
    if name != MODEL_NAME:
        raise RuntimeError(f"wmm-calculator carries {name}, but {MODEL_NAME} is expected")
    model = np.zeros((2, _DEGREE + 1, _DEGREE + 1))
    for row in rows:
        cells = row.split()
        if len(cells) != 6:
            break
        n, m = int(cells[0]), int(cells[1])
        main, change = np.array(cells[2:4], dtype=float), np.array(cells[4:6], dtype=float)
        model[:, n, m] = main + (year - epoch) * change
    return model


def _components(model: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the north and east components [nT] at places (latitude, longitude, km).

    Schmidt semi-normalized spherical harmonics, WMM2025 report eq. 10 to 18: summed about the
    earth's centre and turned to the ellipsoid's vertical.
    """
    lat, lon, height = np.radians(place[0]), np.radians(place[1]), place[2]
    normal = WGS84_A_KM / np.sqrt(1 - WGS84_E2 * np.sin(lat) ** 2)
    out = (normal + height) * np.cos(lat)
    up = (normal * (1 - WGS84_E2) + height) * np.sin(lat)
    radius = np.hypot(out, up)
    cos_lat, sin_lat = out / radius, up / radius
    ratio = _RADIUS_KM / radius
    south = np.zeros((3, len(lat)))  # along the meridian, east, outwards
    cos_m, sin_m = np.ones_like(lat), np.zeros_like(lat)
    for m in range(_DEGREE + 1):
        g, h = _order_sums(model[:, :, m], m, (sin_lat, cos_lat), ratio)
        south[0] += g[0] * cos_m + h[0] * sin_m
        south[1] += m * (g[1] * sin_m - h[1] * cos_m)
        south[2] -= g[2] * cos_m + h[2] * sin_m
        cos_m, sin_m = (
            cos_m * np.cos(lon) - sin_m * np.sin(lon),
            sin_m * np.cos(lon) + cos_m * np.sin(lon),
        )
    tilt = np.arctan2(sin_lat, cos_lat) - lat
    north = south[0] * np.cos(tilt) - south[2] * np.sin(tilt)
    return north, south[1] / cos_lat


def _order_sums(
    model: FloatArray, m: int, angle: tuple[FloatArray, FloatArray], ratio: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the sums over degrees of one order, with g and with h (3, n) each.

    The rows: with the functions' derivative by colatitude, with the functions, and with the
    functions times degree plus one. ``angle`` is sine and cosine of the geocentric latitude.
    """
    sin_lat, cos_lat = angle
    g, h = np.zeros((3, len(ratio))), np.zeros((3, len(ratio)))
    value = _sectoral(m) * cos_lat**m
    slope = _sectoral(m) * m * cos_lat ** max(m - 1, 0) * sin_lat
    before, slope_before = np.zeros_like(value), np.zeros_like(value)
    power = ratio ** (m + 2)
    for n in range(m, _DEGREE + 1):
        if n > m:
            root, last = np.sqrt(n * n - m * m), np.sqrt((n - 1) ** 2 - m * m)
            value, before, slope, slope_before = (
                ((2 * n - 1) * sin_lat * value - last * before) / root,
                value,
                ((2 * n - 1) * (sin_lat * slope - cos_lat * value) - last * slope_before) / root,
                slope,
            )
            power = power * ratio
        scaled = power * value
        steep = power * slope
        for sums, weight in ((g, model[0, n]), (h, model[1, n])):
            if weight:
                sums[0] += weight * steep
                sums[1] += weight * scaled
                sums[2] += (weight * (n + 1)) * scaled
    return g, h


def _sectoral(m: int) -> float:
    """Return the factor of cos(latitude)**m in the function of degree and order m."""
    factors = [np.sqrt((2 * k - 1) / (2 * k)) for k in range(2, m + 1)]
    return float(np.prod(factors)) if factors else 1.0
