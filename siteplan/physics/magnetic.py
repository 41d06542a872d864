"""Magnetic declination and the strength of the field that turns a compass needle.

The World Magnetic Model, evaluated by the package of the agency that issues it. Height above
mean sea level may stand in for height above the ellipsoid: 100 m move the declination by less
than 0.005 degree wherever a compass works.
"""

from __future__ import annotations

import datetime as dt
import warnings
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    import wmm

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

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

#: Sites evaluated at once; 1000 ran in two thirds of the time of 16,000 (they stay in cache).
_PIECE: Final = 1000

#: How the package's warnings about the zones begin; `compass_reliable` reports the zones instead.
_ZONE_WARNING: Final = r"(Warning|Caution): \(lat, lon, alt"


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
    """Return ``date`` (its first moment) as a year with its fraction gone by."""
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


def compass_reliable(horizontal_nt: ArrayLike) -> NDArray[np.bool_]:
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
    """
    return np.asarray(np.asarray(horizontal_nt, dtype=float) >= CAUTION_NT)


def _fill(field: FloatArray, place: FloatArray, index: IntArray, year: float) -> None:
    """Write declination and intensity of the places at ``index`` into ``field`` (2, n)."""
    from wmm import wmm_calc

    model = wmm_calc()
    model.setup_time(dyear=year)
    for start in range(0, len(index), _PIECE):
        piece = index[start : start + _PIECE]
        north, east = _components(model, place[:, piece])
        field[0, piece] = np.degrees(np.arctan2(east, north))
        field[1, piece] = np.hypot(north, east)


def _components(model: wmm.wmm_calc, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the north and east components [nT] at places (latitude, longitude, km)."""
    model.setup_env(*place)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=_ZONE_WARNING, category=UserWarning)
        north, east, _ = model.forward_base()
    return north, east
