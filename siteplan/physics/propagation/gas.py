"""Gaseous attenuation on slant paths: ITU-R P.676-12 annex 2, evaluated on arrays of sites.

Line data come from the tables that the ``itur`` package carries (P.676-12 tables 1 and 2);
pressure is P.835-6's, vapour P.836-6's and temperature P.1510-1's, from ``climate``.
Valid from 5 to 90 degrees of elevation and up to 350 GHz.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.propagation.mapped.map_files import data_folder

#: Reference conditions of the zenith water-vapour method (annex 2, eq. 39).
_REFERENCE_GHZ = 20.6
_REFERENCE_HPA = 845.0

#: P.676-12 annex 2 table 3: oxygen's equivalent height, (c_i, f_i).
_OXYGEN_HEIGHT = (
    (0.1597, 118.750334),
    (0.1066, 368.498246),
    (0.1325, 424.763020),
    (0.1242, 487.249273),
    (0.0938, 715.392902),
    (0.1448, 773.839490),
    (0.1374, 834.145546),
)


@lru_cache(maxsize=2)
def spectral_lines(gas: str) -> FloatArray:
    """Return the spectral lines of ``oxygen`` or ``water_vapour``: columns f0, six coefficients."""
    path = data_folder() / "676" / f"v12_lines_{gas}.txt"
    return np.loadtxt(path, delimiter=",", skiprows=1)


def _line_shape(f: float, f0: float, width: FloatArray, delta: FloatArray | float) -> FloatArray:
    """Return P.676-12 eq. 5 for one line."""
    below, above = f0 - f, f0 + f
    width2 = width**2
    return np.asarray(
        f
        / f0
        * (
            (width - delta * below) / (below**2 + width2)
            + (width - delta * above) / (above**2 + width2)
        )
    )


#: What sums oxygen's lines in place of ``oxygen_lines``: of pressure, vapour pressure and theta.
LineSum = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]


def oxygen_lines(
    lines: FloatArray,
    frequency_ghz: float,
    pressure_hpa: FloatArray,
    vapour_hpa: FloatArray,
    theta: FloatArray,
) -> FloatArray:
    """Return the sum over spectral lines of strength times shape (n,), P.676-12 eq. 2 to 7.

    ``lines`` (k, 7) are rows of table 1; ``theta`` is 300 K over the temperature.
    """
    total = np.zeros(np.broadcast(pressure_hpa, theta).shape)
    for f0, a1, a2, a3, a4, a5, a6 in lines:
        width = a3 * 1e-4 * (pressure_hpa * theta ** (0.8 - a4) + 1.1 * vapour_hpa * theta)
        width = np.sqrt(width**2 + 2.25e-6)
        delta = (a5 + a6 * theta) * 1e-4 * (pressure_hpa + vapour_hpa) * theta**0.8
        strength = a1 * 1e-7 * pressure_hpa * theta**3 * np.exp(a2 * (1 - theta))
        total += strength * _line_shape(frequency_ghz, f0, width, delta)
    return total


def oxygen_db_km(
    frequency_ghz: float,
    pressure_hpa: FloatArray,
    density_g_m3: FloatArray,
    t_k: FloatArray,
    *,
    series: LineSum | None = None,
) -> FloatArray:
    """Return the specific attenuation of oxygen and dry air.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz].
    pressure_hpa, density_g_m3, t_k : (n,) arrays
        Pressure [hPa], water-vapour density [g/m3] and temperature [K] at the surface.
    series : callable, optional
        Stands in for the sum over the lines whose width has no exponent of its own (a4 = 0),
        over the frequency; see ``siteplan.physics.propagation.gas_series``.

    Returns
    -------
    (n,) array
        Specific attenuation [dB/km], ITU-R P.676-12 annex 1 eq. 1 to 9.

    Examples
    --------
    At 60 GHz oxygen takes some 15 dB/km at sea level, at 12 GHz hardly anything.

    >>> state = np.array([1013.25]), np.array([7.5]), np.array([288.15])
    >>> [round(float(oxygen_db_km(f, *state)[0]), 2) for f in (12.0, 60.0)]
    [0.01, 14.62]
    """
    f = frequency_ghz
    theta = 300.0 / t_k
    vapour_hpa = density_g_m3 * t_k / 216.7
    lines = spectral_lines("oxygen")
    state = pressure_hpa, vapour_hpa, theta
    if series is None:
        total = oxygen_lines(lines, f, *state)
    else:
        total = f * series(*state) + oxygen_lines(lines[lines[:, 4] != 0], f, *state)
    d = 5.6e-4 * (pressure_hpa + vapour_hpa) * theta**0.8
    absorption = 6.14e-5 / (d * (1 + (f / d) ** 2))
    absorption += 1.4e-12 * pressure_hpa * theta**1.5 / (1 + 1.9e-5 * f**1.5)
    total += f * pressure_hpa * theta**2 * absorption
    return np.asarray(0.1820 * f * total)


def vapour_db_km(
    frequency_ghz: float, pressure_hpa: float, density_g_m3: FloatArray, t_k: FloatArray
) -> FloatArray:
    """Return the specific attenuation of water vapour.

    Parameters
    ----------
    frequency_ghz, pressure_hpa : float
        Frequency [GHz] and pressure [hPa].
    density_g_m3, t_k : (n,) arrays
        Water-vapour density [g/m3] and temperature [K].

    Returns
    -------
    (n,) array
        Specific attenuation [dB/km], ITU-R P.676-12 annex 1 eq. 1 to 9.

    Examples
    --------
    Dry air has none; the line at 22.235 GHz stands out.

    >>> t_k = np.full(2, 288.15)
    >>> density = np.array([0.0, 7.5])
    >>> [vapour_db_km(f, 1013.25, density, t_k).round(3).tolist() for f in (12.0, 22.235)]
    [[0.0, 0.01], [0.0, 0.179]]
    """
    theta = 300.0 / t_k
    vapour_hpa = density_g_m3 * t_k / 216.7
    strength_of_all = 0.1 * vapour_hpa * theta**3.5
    total = np.zeros(np.shape(t_k))
    for f0, b1, b2, b3, b4, b5, b6 in spectral_lines("water_vapour"):
        width = b3 * 1e-4 * (pressure_hpa * theta**b4 + b5 * vapour_hpa * theta**b6)
        width = 0.535 * width + np.sqrt(0.217 * width**2 + 2.1316e-12 * f0**2 / theta)
        strength = b1 * np.exp(b2 * (1 - theta)) * strength_of_all
        total += strength * _line_shape(frequency_ghz, f0, width, 0.0)
    return 0.1820 * frequency_ghz * total


def oxygen_height_km(
    frequency_ghz: float, pressure_hpa: FloatArray, density_g_m3: FloatArray, t_k: FloatArray
) -> FloatArray:
    """Return oxygen's equivalent height [km] (n,), ITU-R P.676-12 annex 2 eq. 30 to 34.

    Parameters are those of ``oxygen_db_km``.
    """
    f = frequency_ghz
    rp = (pressure_hpa + density_g_m3 * t_k / 216.7) / 1013.25
    t1 = (
        5.1040
        / (1 + 0.066 * rp**-2.3)
        * np.exp(-(((f - 59.7) / (2.87 + 12.4 * np.exp(-7.9 * rp))) ** 2))
    )
    rise, spread = np.exp(2.12 * rp), 0.025 * np.exp(2.2 * rp)
    t2 = np.zeros_like(rp)
    for c, fi in _OXYGEN_HEIGHT:
        t2 += c / ((f - fi) ** 2 + spread)
    t2 *= rise
    t3 = (
        0.0114
        * f
        / (1 + 0.14 * rp**-2.6)
        * (15.02 * f**2 - 1353 * f + 5.333e4)
        / (f**3 - 151.3 * f**2 + 9629 * f - 6803)
    )
    a = 0.7832 + 0.00709 * (t_k - 273.15)
    height = 6.1 * a / (1 + 0.17 * rp**-1.1) * (1 + t1 + t2 + t3)
    return np.minimum(height, 10.7 * rp**0.3) if f < 70 else np.asarray(height)


def vapour_ratio(frequency_ghz: float, vapour_kg_m2: FloatArray) -> FloatArray:
    """Return zenith vapour attenuation over content (n,) [dB m2/kg], before the height term.

    P.676-12 annex 2 eq. 39 and 40: density and temperature follow from the content [kg/m2].
    """
    density = vapour_kg_m2 / 2.38
    t_k = 14 * np.log(0.22 * vapour_kg_m2 / 2.38) + 3 + 273.15
    here = vapour_db_km(frequency_ghz, _REFERENCE_HPA, density, t_k)
    return 0.0176 * here / vapour_db_km(_REFERENCE_GHZ, _REFERENCE_HPA, density, t_k)


def zenith_vapour_db(
    frequency_ghz: float,
    vapour_kg_m2: FloatArray,
    altitude_km: FloatArray,
    *,
    ratio: FloatArray | None = None,
) -> FloatArray:
    """Return the zenith attenuation of water vapour from its total content.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz].
    vapour_kg_m2 : (n,) array
        Total columnar water vapour [kg/m2].
    altitude_km : (n,) array
        Height of the sites [km]; used from 20 GHz up.
    ratio : (n,) array, optional
        What ``vapour_ratio`` gives, where it is known already.

    Returns
    -------
    (n,) array
        Zenith attenuation [dB], ITU-R P.676-12 annex 2 eq. 39 to 41.
    """
    f = frequency_ghz
    if ratio is None:
        ratio = vapour_ratio(f, vapour_kg_m2)
    attenuation = vapour_kg_m2 * ratio
    if f < 20:
        return attenuation
    a = (
        0.2048 * np.exp(-(((f - 22.43) / 3.097) ** 2))
        + 0.2326 * np.exp(-(((f - 183.5) / 4.096) ** 2))
        + 0.2073 * np.exp(-(((f - 325) / 3.651) ** 2))
        - 0.1113
    )
    b = 8.741e4 * np.exp(-0.587 * f) + 312.2 * f**-2.38 + 0.723
    return np.asarray(attenuation * (a * np.clip(altitude_km, 0, 4) ** b + 1))
