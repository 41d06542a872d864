"""Attenuation of clouds on slant paths, by the edition of the maps at hand.

ITU-R P.840-8 with the maps of P.840-7 (unchanged); P.840-9 with its own maps, which come with a
coefficient of their own.
"""

from __future__ import annotations

import math

import numpy as np

from siteplan.arrays import FloatArray


def cloud_coefficient(frequency_ghz: float, t_k: float = 273.15) -> float:
    """Return the cloud liquid water specific attenuation coefficient.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz], up to 200.
    t_k : float
        Temperature of the liquid [K]; 273.15 for attenuation statistics.

    Returns
    -------
    float
        Coefficient [(dB/km)/(g/m3)], ITU-R P.840-8 eq. 2 to 11.
    """
    f, theta = frequency_ghz, 300.0 / t_k
    e0 = 77.66 + 103.3 * (theta - 1)
    e1, e2 = 0.0671 * e0, 3.52
    principal = 20.20 - 146 * (theta - 1) + 316.0 * (theta - 1) ** 2
    secondary = 39.8 * principal
    real = (e0 - e1) / (1 + (f / principal) ** 2) + (e1 - e2) / (1 + (f / secondary) ** 2) + e2
    imaginary = f * (e0 - e1) / (principal * (1 + (f / principal) ** 2)) + f * (e1 - e2) / (
        secondary * (1 + (f / secondary) ** 2)
    )
    eta = (2 + real) / imaginary
    return 0.819 * f / (imaginary * (1 + eta**2))


def column_coefficient(frequency_ghz: float) -> float:
    """Return the coefficient that belongs to the maps of ITU-R P.840-9.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz], 1 to 200.

    Returns
    -------
    float
        Coefficient [dB/(kg/m2)] of the column of cloud liquid water, ITU-R P.840-9 eq. 12.
    """
    f = frequency_ghz
    shape = (
        0.1522 * math.exp(-((f + 23.9589) ** 2) / 3299.1)
        + 11.51 * math.exp(-((f - 219.2096) ** 2) / 2759500)
        - 10.4912
    )
    return cloud_coefficient(f, 273.75) * shape


def cloud_db(
    frequency_ghz: float,
    elevation_deg: FloatArray,
    cloud_kg_m2: FloatArray,
    *,
    current: bool = False,
) -> FloatArray:
    """Return the attenuation of clouds.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz].
    elevation_deg : (n,) array
        Elevation [deg], 5 to 90.
    cloud_kg_m2 : (n,) array
        Columnar liquid water [kg/m2] at the percentage wanted: reduced, of P.840-7's maps, or
        integrated, of P.840-9's.
    current : bool
        Whether it is P.840-9's, with its coefficient.

    Returns
    -------
    (n,) array
        Attenuation [dB], ITU-R P.840-8 eq. 12, or P.840-9 with eq. 12 for the coefficient.

    Examples
    --------
    Straight up the path is half as long as at 30 degrees.

    >>> cloud_db(14.25, np.array([30.0, 90.0]), np.array([0.5, 0.5])).round(3).tolist()
    [0.186, 0.093]
    """
    of_edition = column_coefficient if current else cloud_coefficient
    return of_edition(frequency_ghz) * cloud_kg_m2 / np.sin(np.deg2rad(elevation_deg))
