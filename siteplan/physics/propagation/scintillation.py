"""Tropospheric scintillation on slant paths: ITU-R P.618-14 section 2.4.1.

The wet refractivity is P.453-13's, from ``climate``.
Holds above about 5 degrees of elevation, for 0.01 to 50 % of time and from 4 to 20 GHz. Above, the
frequency is held at 20 GHz, in the standard deviation and in the antenna averaging alike, as in
ITU-R's own examples at 29 GHz.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.mapped.maps import Level

#: Highest frequency [GHz] for which P.618-14 section 2.4.1 was tried; held there above it.
HIGHEST_GHZ = 20.0
#: Height of the turbulent layer [m] (P.618-14 eq. 44).
_LAYER_M = 1000.0


@frozen
class Scintillation:
    """What scintillation needs of n sites, before antenna and percentage are known.

    ``frequency_ghz`` is the path's, at most ``HIGHEST_GHZ``. ``sigma_db`` is the standard deviation
    for a point antenna [dB]; ``path_m`` the effective turbulent path [m].
    """

    frequency_ghz: float
    sigma_db: FloatArray
    path_m: FloatArray


def scintillation(
    frequency_ghz: float, elevation_deg: FloatArray, wet_refractivity: FloatArray
) -> Scintillation:
    """Return the antenna-free part of scintillation.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz], 4 or more; above ``HIGHEST_GHZ`` it is held there.
    elevation_deg, wet_refractivity : (n,) arrays
        Elevation [deg] and median wet term of refractivity [N-units] (ITU-R P.453-13).

    Returns
    -------
    Scintillation
        ITU-R P.618-14 eq. 43, 44 and the point-antenna form of eq. 47.
    """
    held_ghz = min(frequency_ghz, HIGHEST_GHZ)
    sin_el = np.sin(np.deg2rad(elevation_deg))
    reference = 3.6e-3 + 1e-4 * wet_refractivity
    path = 2 * _LAYER_M / (np.sqrt(sin_el**2 + 2.35e-4) + sin_el)
    return Scintillation(held_ghz, reference * held_ghz ** (7 / 12) / sin_el**1.2, path)


def antenna_averaging(s: Scintillation, diameter_m: Level, efficiency: Level) -> FloatArray:
    """Return the antenna averaging factor (n,), ITU-R P.618-14 eq. 45 and 46.

    Parameters
    ----------
    s : Scintillation
        Of n sites.
    diameter_m, efficiency : float or array
        Physical diameter [m] and aperture efficiency of the antenna; arrays broadcast.
    """
    x = 1.22 * efficiency * diameter_m**2 * s.frequency_ghz / s.path_m
    inside = 3.86 * (x**2 + 1) ** (11 / 12) * np.sin(11 / 6 * np.arctan2(1, x)) - 7.08 * x ** (
        5 / 6
    )
    return np.where(x >= 7.0, 0.0, np.sqrt(np.maximum(inside, 0.0)))


def fade_factor(p_pct: FloatArray) -> FloatArray:
    """Return the time percentage factor a(p), ITU-R P.618-14 eq. 48, for p [%].

    Examples
    --------
    At 1 % the logarithm is zero and the last term is left.

    >>> fade_factor(np.array([1.0, 0.01])).round(3).tolist()
    [3.0, 7.196]
    """
    x = np.log10(p_pct)
    return np.asarray(((-0.061 * x + 0.072) * x - 1.71) * x + 3.0)


def scintillation_db(
    s: Scintillation, p_pct: FloatArray, diameter_m: Level, efficiency: Level
) -> FloatArray:
    """Return the scintillation fade exceeded for percentages of time.

    Parameters
    ----------
    s : Scintillation
        Of n sites.
    p_pct : (n,) or (1,) array
        Percentage of time [%], 0.01 to 50.
    diameter_m, efficiency : float or array
        Physical diameter [m] and aperture efficiency of the antenna; arrays broadcast.

    Returns
    -------
    (n,) array
        Fade depth [dB], ITU-R P.618-14 eq. 49.

    Examples
    --------
    ITU-R's own examples at 9.05 N, 38.7 E, 14.25 GHz, 1 m: 0.485 dB for 1 %, 1.164 dB for 0.01 %.

    >>> s = scintillation(14.25, np.array([20.1433580862612]), np.array([61.73157333]))
    >>> [round(float(scintillation_db(s, np.array([p]), 1.0, 0.65)[0]), 2) for p in (1.0, 0.01)]
    [0.49, 1.16]
    """
    sigma = s.sigma_db * antenna_averaging(s, diameter_m, efficiency)
    return fade_factor(p_pct) * sigma
