"""Rain: specific attenuation (ITU-R P.838-3), slant-path statistics (P.618-14 section 2.2.1.1).

The rain rate is P.837-7's and the rain height P.839-4's, from ``climate``. How often it rains is
P.837-7's annex 1, steps 2 to 7, of its monthly rainfall and P.1510-1's monthly temperature.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.mapped.maps import bilinear, grid

#: Effective radius of the Earth [km] in P.618 eq. 2.
_EFFECTIVE_RADIUS_KM = 8500.0

#: Days of each month of an average year (P.837-7 table 1).
_DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
#: It rains at most so much of a month [%] (P.837-7 step 6).
_MOST_PCT = 70.0

#: P.838-3 tables 1 to 4: (a_j, b_j, c_j) rows, then slope and intercept.
_K_H = (
    (
        (-5.33980, -0.10008, 1.13098),
        (-0.35351, 1.26970, 0.45400),
        (-0.23789, 0.86036, 0.15354),
        (-0.94158, 0.64552, 0.16817),
    ),
    -0.18961,
    0.71147,
)
_K_V = (
    (
        (-3.80595, 0.56934, 0.81061),
        (-3.44965, -0.22911, 0.51059),
        (-0.39902, 0.73042, 0.11899),
        (0.50167, 1.07319, 0.27195),
    ),
    -0.16398,
    0.63297,
)
_ALPHA_H = (
    (
        (-0.14318, 1.82442, -0.55187),
        (0.29591, 0.77564, 0.19822),
        (0.32177, 0.63773, 0.13164),
        (-5.37610, -0.96230, 1.47828),
        (16.1721, -3.29980, 3.43990),
    ),
    0.67849,
    -1.95537,
)
_ALPHA_V = (
    (
        (-0.07771, 2.33840, -0.76284),
        (0.56727, 0.95545, 0.54039),
        (-0.20238, 1.14520, 0.26809),
        (-48.2991, 0.791669, 0.116226),
        (48.5833, 0.791459, 0.116479),
    ),
    -0.053739,
    0.83433,
)


def _fit(table: tuple[tuple[tuple[float, float, float], ...], float, float], f: float) -> float:
    """Return P.838-3 eq. 2 or 3 (the sum, before any power of ten)."""
    rows, slope, intercept = table
    x = np.log10(f)
    bumps = sum(a * np.exp(-(((x - b) / c) ** 2)) for a, b, c in rows)
    return float(bumps + slope * x + intercept)


def rain_coefficients(
    frequency_ghz: float, elevation_deg: FloatArray, tilt_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the coefficients of specific attenuation in rain.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz], 1 to 1000.
    elevation_deg, tilt_deg : (n,) arrays
        Elevation [deg] and tilt of the polarization from horizontal [deg] (45 if circular).

    Returns
    -------
    k, alpha : (n,) arrays
        Coefficients of ``k R**alpha`` [dB/km], ITU-R P.838-3 eq. 2 to 5.

    Examples
    --------
    P.838-3 table 5, 12 GHz: k 0.02386 and alpha 1.1825 horizontal, 0.02455 and 1.1216 vertical.

    >>> k, alpha = rain_coefficients(12.0, np.zeros(2), np.array([0.0, 90.0]))
    >>> k.round(5).tolist(), alpha.round(4).tolist()
    ([0.02386, 0.02455], [1.1825, 1.1216])
    """
    k_h, k_v = 10 ** _fit(_K_H, frequency_ghz), 10 ** _fit(_K_V, frequency_ghz)
    a_h, a_v = _fit(_ALPHA_H, frequency_ghz), _fit(_ALPHA_V, frequency_ghz)
    mix = np.cos(np.deg2rad(elevation_deg)) ** 2 * np.cos(np.deg2rad(2 * tilt_deg))
    k = (k_h + k_v + (k_h - k_v) * mix) / 2
    alpha = (k_h * a_h + k_v * a_v + (k_h * a_h - k_v * a_v) * mix) / (2 * k)
    return k, alpha


@frozen
class RainFade:
    """Rain attenuation as a function of p, for sites (n,).

    ``at_001_db`` is the attenuation exceeded for 0.01 % of an average year [dB]; ``sin_el`` and
    ``beta`` shape the dependence on p below 1 %.
    """

    at_001_db: FloatArray
    beta: FloatArray
    sin_el: FloatArray


def _slant_length_km(rise_km: FloatArray, sin_el: FloatArray, low: BoolArray) -> FloatArray:
    """Return the slant path below the rain height, P.618-14 eq. 1, and eq. 2 under 5 degrees."""
    high_path = rise_km / sin_el
    curved = 2 * rise_km / (np.sqrt(sin_el**2 + 2 * rise_km / _EFFECTIVE_RADIUS_KM) + sin_el)
    return np.where(low, curved, high_path)


def rain_fade(
    frequency_ghz: float,
    elevation_deg: FloatArray,
    tilt_deg: FloatArray,
    *,
    lat: FloatArray,
    altitude_km: FloatArray,
    rain_rate_mm_h: FloatArray,
    rain_height_km: FloatArray,
) -> RainFade:
    """Return the rain attenuation exceeded for 0.01 % and how it varies with p.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz], up to 55.
    elevation_deg, tilt_deg : (n,) arrays
        Elevation [deg] and tilt of the polarization from horizontal [deg].
    lat, altitude_km : (n,) arrays
        Latitude [deg] and height above sea level [km].
    rain_rate_mm_h, rain_height_km : (n,) arrays
        Rain rate exceeded for 0.01 % [mm/h] and rain height [km].

    Returns
    -------
    RainFade
        ITU-R P.618-14 section 2.2.1.1 steps 1 to 9; zero at sites above the rain.
    """
    sin_el, cos_el = np.sin(np.deg2rad(elevation_deg)), np.cos(np.deg2rad(elevation_deg))
    rise = np.maximum(rain_height_km - altitude_km, 1e-9)
    k, alpha = rain_coefficients(frequency_ghz, elevation_deg, tilt_deg)
    gamma = k * np.maximum(rain_rate_mm_h, 0) ** alpha
    ground = _slant_length_km(rise, sin_el, elevation_deg < 5) * cos_el
    horizontal = 1 / (
        1 + 0.78 * np.sqrt(ground * gamma / frequency_ghz) - 0.38 * (1 - np.exp(-2 * ground))
    )
    reach = ground * horizontal
    zeta_deg = np.rad2deg(np.arctan2(rise, reach))
    cos_safe = np.where(zeta_deg > elevation_deg, cos_el, 1.0)
    path = np.where(zeta_deg > elevation_deg, reach / cos_safe, rise / sin_el)
    chi = np.maximum(36 - np.abs(lat), 0)
    bracket = 31 * (1 - np.exp(-(elevation_deg / (1 + chi)))) * np.sqrt(path * gamma)
    vertical = 1 / (1 + np.sqrt(sin_el) * (bracket / frequency_ghz**2 - 0.45))
    wet = rain_height_km > altitude_km
    at_001 = np.where(wet | np.isnan(elevation_deg), gamma * path * vertical, 0.0)
    return RainFade(at_001, _beta(lat, elevation_deg, sin_el), sin_el)


def _beta(lat: FloatArray, elevation_deg: FloatArray, sin_el: FloatArray) -> FloatArray:
    """Return beta of P.618-14 eq. 8 for p < 1 %."""
    base = -0.005 * (np.abs(lat) - 36)
    low = base + 1.8 - 4.25 * sin_el
    return np.where(np.abs(lat) >= 36, 0.0, np.where(elevation_deg >= 25, base, low))


def rain_db(fade: RainFade, p_pct: FloatArray) -> FloatArray:
    """Return the rain attenuation exceeded for percentages of an average year.

    Parameters
    ----------
    fade : RainFade
        Of n sites.
    p_pct : (n,) or (1,) array
        Percentage of time [%], 0.001 to 5.

    Returns
    -------
    (n,) array
        Attenuation [dB], ITU-R P.618-14 eq. 8.

    Examples
    --------
    ITU-R's own examples for 51.5 N, 14.25 GHz: 0.495 dB for 1 %, 6.798 dB for 0.01 % of time.

    >>> fade = rain_fade(
    ...     14.25, np.array([31.07699124]), np.zeros(1),
    ...     lat=np.array([51.5]), altitude_km=np.array([0.031382984]),
    ...     rain_rate_mm_h=np.array([26.48052]), rain_height_km=np.array([2.4527]),
    ... )
    >>> [round(float(rain_db(fade, np.array([p]))[0]), 2) for p in (1.0, 0.01)]
    [0.5, 6.8]
    """
    p = np.asarray(p_pct, dtype=float)
    a = fade.at_001_db
    some = np.where(a > 0, a, 1.0)
    slope = np.where(p < 1, fade.beta * (1 - p) * fade.sin_el, 0.0)
    exponent = -(0.655 + 0.033 * np.log(p) - 0.045 * np.log(some) - slope)
    return np.where(a > 0, some * (p / 0.01) ** exponent, 0.0 * a)


def rain_probability_pct(lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return the percentage of an average year in which it rains, P0.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Latitude and longitude [deg].

    Returns
    -------
    (n,) array
        Probability of rain [%], ITU-R P.837-7 equations 1 to 3.

    Examples
    --------
    Hardly any rain where the Sahara is driest, much of the year where the Amazon is wettest.

    >>> rain_probability_pct(np.array([23.0, 0.5]), np.array([30.0, -67.0])).round(2).tolist()
    [0.0, 6.42]
    """
    year = np.zeros(np.broadcast(lat, lon).shape)
    for month, days in enumerate(_DAYS, start=1):
        celsius = bilinear(grid("monthly_temperature", month), lat, lon) - 273.15
        rainfall_mm = bilinear(grid("monthly_rainfall", month), lat, lon)
        year += days * _month_pct(rainfall_mm, celsius, days)
    return year / sum(_DAYS)


def _month_pct(rainfall_mm: FloatArray, celsius: FloatArray, days: float) -> FloatArray:
    """Return the percentage of a month in which it rains, P.837-7 eq. 1 and 2."""
    rate_mm_h = 0.5874 * np.exp(0.0883 * np.maximum(celsius, 0.0))
    return np.asarray(np.minimum(100 * rainfall_mm / (24 * days * rate_mm_h), _MOST_PCT))
