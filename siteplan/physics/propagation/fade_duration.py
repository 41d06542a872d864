"""How long fades last: ITU-R P.1623-1, section 2.2 of its annex 1.

Of fades below a threshold the Recommendation tells which part lasts longer than a duration, and
from the time that they take in all how many those are. Durations are short up to a boundary, with
a power law (scintillation, bursts), and long beyond it, with a log-normal distribution (rain).
The coefficients are from memory; ``itur.models.itu1623.fade_duration``, which takes one threshold
at a time, has the same ones and is what they are tested with.

Planning figures: the method is one of averages, and a threshold's fades differ from year to year.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import BoolArray, FloatArray
from siteplan.physics.propagation.variability import normal_above

#: What the method holds for: frequency [GHz], elevation [deg], shortest duration [s].
FREQUENCY_RANGE_GHZ: Final = (10.0, 50.0)
ELEVATION_RANGE_DEG: Final = (5.0, 60.0)
LEAST_DURATION_S: Final = 1.0
#: Seconds of a mean year of 365.25 days.
YEAR_S: Final = 365.25 * 86_400


class Durations(NamedTuple):
    """Parameters of the two distributions: times [s], exponent, deviation, part of short fades.

    ``mean_s`` is D0, of the part of time, ``number_s`` D2, of the number of fades, ``bound_s`` Dt.
    """

    mean_s: FloatArray
    number_s: FloatArray
    bound_s: FloatArray
    exponent: FloatArray
    sigma: FloatArray
    short: FloatArray


def fades_longer(
    duration_s: float,
    threshold_db: ArrayLike,
    elevation_deg: ArrayLike,
    frequency_ghz: ArrayLike,
    fading_s: ArrayLike,
) -> FloatArray:
    """Return how many fades last longer than a duration (steps 1 to 7, and 9).

    Parameters
    ----------
    duration_s : float
        At least `LEAST_DURATION_S`. [s]
    threshold_db : array_like
        Attenuation that they exceed; above zero. [dB]
    elevation_deg, frequency_ghz : array_like
        Of the path. [deg, GHz]
    fading_s : array_like
        Time for which the attenuation exceeds the threshold, in a year for fades a year. [s]

    Returns
    -------
    ndarray
        They broadcast together; NaN outside `FREQUENCY_RANGE_GHZ` and `ELEVATION_RANGE_DEG`, and
        where the threshold is not above zero.

    Raises
    ------
    ValueError
        If the duration is too short for the method.

    Examples
    --------
    >>> fades_longer(60, [10.0, 5.0], 38.5, 28, 0.01 / 100 * YEAR_S).round(2).tolist()
    [6.6, 5.75]
    """
    if duration_s < LEAST_DURATION_S:
        raise ValueError(f"fades of less than {LEAST_DURATION_S:g} s are not told")
    of = durations(threshold_db, elevation_deg, frequency_ghz)
    all_fades = of.short / of.exponent * (1 - of.exponent) / of.bound_s ** (1 - of.exponent)
    short = duration_s**-of.exponent
    over = _beyond(duration_s, of.number_s, of) / _beyond(of.bound_s, of.number_s, of)
    long = of.bound_s**-of.exponent * over
    longer = np.where(duration_s <= of.bound_s, short, long)
    return np.asarray(np.asarray(fading_s) * all_fades * longer)


def durations(
    threshold_db: ArrayLike, elevation_deg: ArrayLike, frequency_ghz: ArrayLike
) -> Durations:
    """Return the parameters of the distributions (steps 1 to 6); arguments as `fades_longer`."""
    a, el, f = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (threshold_db, elevation_deg, frequency_ghz))
    )
    known = (a > 0) & _within(el, ELEVATION_RANGE_DEG) & _within(f, FREQUENCY_RANGE_GHZ)
    a, el, f = (np.where(known, x, np.nan) for x in (a, el, f))
    mean = 80 * el**-0.4 * f**1.4 * a**-0.39
    sigma = 1.85 * f**-0.05 * a**-0.027
    gamma = 0.055 * f**0.65 * a**-0.003
    of_square = 0.885 * gamma - 0.814
    of_sigma = -1.05 * gamma**2 + 2.23 * gamma - 1.61
    bound = mean * np.exp(of_square * sigma**2 + of_sigma * sigma - 0.39)
    number = mean * np.exp(-(sigma**2))
    first = Durations(mean, number, bound, gamma, sigma, np.ones_like(mean))
    long = np.sqrt(mean * number) * (1 - gamma) * _beyond(bound, mean, first)
    return first._replace(short=1 / (1 + long / (bound * gamma * _beyond(bound, number, first))))


def _beyond(duration_s: FloatArray | float, mean_s: FloatArray, of: Durations) -> FloatArray:
    """Return the part of a log-normal distribution that lies beyond a duration."""
    return normal_above(np.log(duration_s / mean_s) / of.sigma)


def _within(values: FloatArray, limits: tuple[float, float]) -> BoolArray:
    return np.asarray((values >= limits[0]) & (values <= limits[1]))
