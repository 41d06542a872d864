"""A second earth station that takes over in rain: ITU-R P.618-14 section 2.2.4.2, its gain.

The Recommendation's empirical form for the gain between pairs of stations. It is stated for 10 to
30 GHz, and for up to 20 km (from memory): distances beyond count as that. Where the gain grows
faster than the rain, what is left would fall while it rains harder: it is held at its greatest.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Frequencies [GHz] for which the gain is stated.
FREQUENCY_RANGE_GHZ: Final = (10.0, 30.0)
#: Distance [km] beyond which it grows no more here; the method's range, from memory.
MOST_KM: Final = 20.0
#: Steps of rain attenuation, from none to the greatest, at which what is left is looked at.
_STEPS: Final = 2000


class Baseline(NamedTuple):
    """Where a second station stands as seen from the first.

    ``distance_km`` away; ``psi_deg`` (0 to 90) is the angle between that line and the azimuth of
    the satellite.
    """

    distance_km: float
    psi_deg: float


def baseline_angle_deg(bearing_deg: ArrayLike, azimuth_deg: ArrayLike) -> FloatArray:
    """Return the angle between a line on the ground and the satellite's azimuth.

    Parameters
    ----------
    bearing_deg, azimuth_deg : array_like
        Bearing of the line, either way along it, and azimuth. [deg] They broadcast together.

    Returns
    -------
    ndarray
        0 to 90. [deg]

    Examples
    --------
    >>> baseline_angle_deg([0.0, 100.0, 350.0], 170.0).tolist()
    [10.0, 70.0, 0.0]
    """
    away = np.mod(np.asarray(bearing_deg, dtype=float) - azimuth_deg, 180.0)
    return np.minimum(away, 180.0 - away)


def gain_db(
    rain_db: ArrayLike, frequency_ghz: float, elevation_deg: ArrayLike, baseline: Baseline
) -> FloatArray:
    """Return what a second station gains, between the rain at one and that at the better of two.

    Parameters
    ----------
    rain_db : array_like
        Attenuation by rain at the first station alone. [dB]
    frequency_ghz : float
        10 to 30. [GHz]
    elevation_deg : array_like
        Elevation of the path. [deg] It broadcasts with the rain.
    baseline : Baseline
        Where the second station stands.

    Returns
    -------
    ndarray
        Gain. [dB]

    Raises
    ------
    ValueError
        If the frequency lies outside ``FREQUENCY_RANGE_GHZ``.

    References
    ----------
    ITU-R P.618-14, section 2.2.4.2.

    Examples
    --------
    >>> round(float(gain_db(5.0, 14.25, 40.0, Baseline(10.0, 90.0))), 3)
    2.846
    """
    low, high = FREQUENCY_RANGE_GHZ
    if not low <= frequency_ghz <= high:
        raise ValueError(f"the gain of diversity holds from {low:g} to {high:g} GHz")
    rain = np.asarray(rain_db, dtype=float)
    distance = min(baseline.distance_km, MOST_KM)
    a = 0.78 * rain - 1.94 * (1 - np.exp(-0.11 * rain))
    b = 0.59 * (1 - np.exp(-0.1 * rain))
    of_distance = a * (1 - np.exp(-b * distance))
    of_frequency = np.exp(-0.025 * frequency_ghz)
    of_elevation = 1 + 0.006 * np.asarray(elevation_deg, dtype=float)
    return np.asarray(of_distance * of_frequency * of_elevation * (1 + 0.002 * baseline.psi_deg))


def rain_left_db(
    rain_db: FloatArray, frequency_ghz: float, elevation_deg: float, baseline: Baseline
) -> FloatArray:
    """Return what is left of the rain of one path with a second station.

    Parameters
    ----------
    rain_db : (k,) array
        Attenuation by rain at the first station alone. [dB]
    frequency_ghz, elevation_deg, baseline
        As for `gain_db`; the elevation is a number.

    Returns
    -------
    (k,) array
        Rain less the gain, not under 0, and never less than lighter rain leaves; the rain as it
        is where the distance is 0. [dB]

    Raises
    ------
    ValueError
        If the frequency lies outside ``FREQUENCY_RANGE_GHZ``.
    """
    if baseline.distance_km == 0:
        return rain_db
    looked_at = np.concatenate([rain_db, np.linspace(0.0, float(np.max(rain_db)), _STEPS)])
    rising = np.argsort(looked_at, kind="stable")
    lighter = looked_at[rising]
    left = lighter - gain_db(lighter, frequency_ghz, elevation_deg, baseline)
    held = np.empty_like(looked_at)
    held[rising] = np.maximum.accumulate(np.maximum(left, 0.0))
    return held[: len(rain_db)]
