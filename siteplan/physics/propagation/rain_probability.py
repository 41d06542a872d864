"""Probability of rain in an average year: ITU-R P.837-7 annex 1, steps 2 to 7.

Monthly rainfall is P.837-7's, monthly mean temperature P.1510-1's.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.propagation.maps import bilinear, grid

#: Days of each month of an average year (P.837-7 table 1).
_DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
#: It rains at most so much of a month [%] (P.837-7 step 6).
_MOST_PCT = 70.0


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
