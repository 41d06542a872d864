"""Attenuation of clouds on slant paths: ITU-R P.840-8 with the maps of P.840-7 (unchanged)."""

from __future__ import annotations

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


def cloud_db(
    frequency_ghz: float, elevation_deg: FloatArray, cloud_kg_m2: FloatArray
) -> FloatArray:
    """Return the attenuation of clouds.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz].
    elevation_deg : (n,) array
        Elevation [deg], 5 to 90.
    cloud_kg_m2 : (n,) array
        Reduced columnar liquid water [kg/m2] at the percentage wanted.

    Returns
    -------
    (n,) array
        Attenuation [dB], ITU-R P.840-8 eq. 12.

    Examples
    --------
    Straight up the path is half as long as at 30 degrees.

    >>> cloud_db(14.25, np.array([30.0, 90.0]), np.array([0.5, 0.5])).round(3).tolist()
    [0.186, 0.093]
    """
    return cloud_coefficient(frequency_ghz) * cloud_kg_m2 / np.sin(np.deg2rad(elevation_deg))
