"""Depolarization by rain: ITU-R P.618-14 section 4.1, the discrimination of cross-polarization.

Between the four percentages for which the Recommendation states the spread of the raindrops'
canting angle (0, 5, 10 and 15 degrees at 1, 0.1, 0.01 and 0.001 %), it gives no rule: here the
spread is linear in the logarithm of p. It states the term of the elevation for at most 60 degrees;
ITU-R's own examples use it to 86, and so it is here.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Frequencies [GHz] for which section 4.1 holds, scaled from 6 GHz below it.
FREQUENCY_RANGE_GHZ: Final = (4.0, 55.0)
#: Isolations between polarizations are kept within this [dB]: beyond, nothing is known or felt.
ISOLATION_RANGE_DB: Final = (0.0, 80.0)
#: Least rain attenuation [dB]: the logarithm of none would be without end.
LEAST_RAIN_DB: Final = 0.001
#: Percentages of time [%] whose terms are held outside them.
P_HELD_PCT: Final = (0.001, 1.0)
#: Below it [GHz] discrimination is scaled from it, P.618-14 section 4.3.
_SCALED_BELOW_GHZ: Final = 6.0


def rain_xpd_db(
    rain_db: ArrayLike,
    p_pct: ArrayLike,
    frequency_ghz: ArrayLike,
    elevation_deg: ArrayLike,
    tilt_deg: ArrayLike,
) -> FloatArray:
    """Return the cross-polarization discrimination not exceeded for percentages of time.

    Parameters
    ----------
    rain_db : array_like
        Attenuation of the path by rain alone, exceeded for ``p_pct``. [dB]
    p_pct : array_like
        Percentage of time [%]; the terms of ice and canting are held at 1 % above it, and at
        0.001 % below that.
    frequency_ghz : array_like
        Frequency, 4 to 55. [GHz]
    elevation_deg : array_like
        Elevation of the path. [deg]
    tilt_deg : array_like
        Tilt of the polarization from the horizontal; 45 for circular. [deg] All broadcast together.

    Returns
    -------
    ndarray
        Discrimination [dB], ice included, within ``ISOLATION_RANGE_DB``; NaN for frequencies
        outside ``FREQUENCY_RANGE_GHZ`` and where an argument is NaN.

    References
    ----------
    ITU-R P.618-14 section 4.1, steps 1 to 8; section 4.3 from 4 to 6 GHz.

    Examples
    --------
    ITU-R's own examples: 2.697 dB for 0.1 % at 14.25 GHz and 40.2 degrees, horizontal: 40.26 dB;
    11.0 dB at 85.8 degrees, vertical: 65.27 dB.

    >>> rain, elevation = [2.69676513, 11.00145492], [40.232036, 85.80459566]
    >>> rain_xpd_db(rain, 0.1, 14.25, elevation, [0, 90]).round(2).tolist()
    [40.26, 65.27]
    """
    frequency = np.asarray(frequency_ghz, dtype=float)
    log_p = np.log10(np.clip(np.asarray(p_pct, dtype=float), *P_HELD_PCT))
    held = np.maximum(frequency, _SCALED_BELOW_GHZ)
    rain = np.log10(np.maximum(np.asarray(rain_db, dtype=float), LEAST_RAIN_DB))
    xpd = _frequency_term_db(held) - _attenuation_factor(held) * rain
    xpd = xpd + _tilt_term_db(tilt_deg) + _elevation_term_db(elevation_deg)
    xpd = xpd + 0.0053 * (-5 * log_p) ** 2
    xpd = xpd * (1 - (0.3 + 0.1 * log_p) / 2)  # less the ice's part
    low, high = FREQUENCY_RANGE_GHZ
    # Where the frequency is outside, one inside stands in for its logarithm.
    scaled = 20 * np.log10(np.maximum(frequency, low) / held)
    xpd = np.clip(xpd - scaled, *ISOLATION_RANGE_DB)
    return np.asarray(np.where((frequency < low) | (frequency > high), np.nan, xpd))


def _frequency_term_db(frequency: FloatArray) -> FloatArray:
    """Return C_f [dB], P.618-14 step 1, from 6 GHz."""
    log_f = np.log10(frequency)
    middle = np.where(frequency < 36, 26 * log_f + 4.1, 35.9 * log_f - 11.3)
    return np.where(frequency < 9, 60 * log_f - 28.3, middle)


def _attenuation_factor(frequency: FloatArray) -> FloatArray:
    """Return V, by which the logarithm of the rain counts, P.618-14 step 2, from 6 GHz."""
    ranges = [frequency < 9, frequency < 20, frequency < 40]
    factors = [30.8 * frequency**-0.21, 12.8 * frequency**0.19, np.full_like(frequency, 22.6)]
    return np.select(ranges, factors, 13.0 * frequency**0.15)


def _tilt_term_db(tilt_deg: ArrayLike) -> FloatArray:
    """Return C_tau [dB], P.618-14 step 3: 0 for circular, 14.9 for horizontal or vertical."""
    turned = np.cos(np.deg2rad(4 * np.asarray(tilt_deg, dtype=float)))
    return np.asarray(-10 * np.log10(1 - 0.484 * (1 + turned)))


def _elevation_term_db(elevation_deg: ArrayLike) -> FloatArray:
    """Return C_theta [dB], P.618-14 step 4."""
    lowered = np.abs(np.cos(np.deg2rad(np.asarray(elevation_deg, dtype=float))))
    return np.asarray(-40 * np.log10(lowered))
