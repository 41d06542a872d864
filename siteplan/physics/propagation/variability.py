"""From one reference of time to another: ITU-R P.841-4's worst month, ITU-R P.678-3's single year.

The distributions of rain are those of an average year. The worst month of a year sees more: P.841
tells how much (its global figures, from memory). A single year differs from the average one: P.678
gives the standard deviation of its outage, and with it the chance that it exceeds a target.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: P.841's global relation p = A p_w^B, and the worst-month percentages for which it holds [%].
YEAR_OF_MONTH: Final = (0.30, 1.15)
WORST_MONTH_RANGE_PCT: Final = (1.9e-4, 7.8)
#: Percentages of an average year for which P.678-3 gives a standard deviation [%].
SINGLE_YEAR_RANGE_PCT: Final = (0.01, 2.0)
#: Samples of a minute in a mean year of 365.25 days.
_MINUTES: Final = 525_960
#: Terms of the correlation's sum that are added one by one; the rest is an integral.
_FIRST: Final = 400
#: More chances than these are worked out by scipy, whose import takes as long as a plan of a few
#: hundred sites.
_MANY: Final = 50_000
#: Nodes in ln p of the factor of correlation: it is smooth, 20 give it to 1e-9.
_NODES: Final = 20


def annual_pct(worst_month_pct: ArrayLike) -> FloatArray:
    """Return the percentage of an average year from that of its worst month (P.841-4).

    Parameters
    ----------
    worst_month_pct : array_like
        Any shape. [%]

    Returns
    -------
    ndarray
        The same shape; NaN outside `WORST_MONTH_RANGE_PCT`. [%]

    Examples
    --------
    >>> annual_pct([0.5, 0.2]).round(4).tolist()
    [0.1352, 0.0471]
    """
    month = np.asarray(worst_month_pct, dtype=float)
    low, high = WORST_MONTH_RANGE_PCT
    known = np.where((month >= low) & (month <= high), month, np.nan)
    factor, power = YEAR_OF_MONTH
    return np.asarray(factor * known**power)


def worst_month_pct(year_pct: ArrayLike) -> FloatArray:
    """Return the percentage of the worst month from that of an average year: `annual_pct` back.

    Parameters
    ----------
    year_pct : array_like
        Any shape. [%]

    Returns
    -------
    ndarray
        The same shape; NaN where it lies outside `WORST_MONTH_RANGE_PCT`. [%]
    """
    factor, power = YEAR_OF_MONTH
    year = np.asarray(year_pct, dtype=float)
    month = (np.where(year > 0, year, np.nan) / factor) ** (1 / power)
    low, high = WORST_MONTH_RANGE_PCT
    hair = 1 + 1e-12  # so that the way back from either end is no way out
    return np.asarray(np.where((month >= low / hair) & (month <= high * hair), month, np.nan))


def correlation_factor(p_pct: ArrayLike) -> FloatArray:
    """Return how many times independent minutes the variance of a year's outage is (P.678-3).

    ``C = 1 + 2 sum exp(-0.0265 (60 i)^b)`` over the minutes i of a year, ``b = 0.286 - 0.0396 ln
    p``, p a fraction of time.

    Parameters
    ----------
    p_pct : array_like
        Of an average year, any shape. [%]

    Returns
    -------
    ndarray
        The same shape; NaN outside `SINGLE_YEAR_RANGE_PCT`.
    """
    p = np.asarray(p_pct, dtype=float)
    low, high = SINGLE_YEAR_RANGE_PCT
    known = np.where((p >= low) & (p <= high), p, np.nan)
    return np.asarray(np.exp(_fitted()(np.log(known / 100))))


@lru_cache(maxsize=1)
def _fitted() -> np.polynomial.Chebyshev:
    """Return ln C as a polynomial of ln p, through Chebyshev's nodes."""
    low, high = (math.log(p / 100) for p in SINGLE_YEAR_RANGE_PCT)
    return np.polynomial.Chebyshev.interpolate(
        np.vectorize(_log_correlation, otypes=[float]), _NODES - 1, domain=[low, high]
    )


@lru_cache(maxsize=1)
def _gauss() -> tuple[FloatArray, FloatArray]:
    """Return nodes and weights of the integral."""
    nodes, weights = np.polynomial.legendre.leggauss(80)
    return nodes, weights


def _log_correlation(log_p: float) -> float:
    """Return ln C at one p: first terms one by one, then Euler and Maclaurin's integral."""
    b = 0.286 - 0.0396 * log_p
    first = np.arange(1, _FIRST + 1)
    terms = np.exp(-0.0265 * (60.0 * first) ** b)
    nodes, weights = _gauss()
    half = math.log(_MINUTES / _FIRST) / 2
    at = _FIRST * np.exp(half * (nodes + 1))
    values = np.exp(-0.0265 * (60.0 * at) ** b)
    slope = -0.0265 * b * (60.0 * _FIRST) ** b / _FIRST * terms[-1]
    rest = float(np.sum(weights * half * at * values)) - terms[-1] / 2 - slope / 12
    return math.log(1 + 2 * (float(terms.sum()) + rest))


def yearly_deviation_pct(p_pct: ArrayLike, climate_ratio: ArrayLike) -> FloatArray:
    """Return the standard deviation of a single year's percentage (P.678-3).

    ``sigma^2 = (r_c p)^2 + p (1 - p) C / N``: the climate's own, and that of a year's minutes.

    Parameters
    ----------
    p_pct : array_like
        Of an average year. [%]
    climate_ratio : array_like
        r_c; a map of the Recommendation gives it, which is not carried here.

    Returns
    -------
    ndarray
        They broadcast together; NaN outside `SINGLE_YEAR_RANGE_PCT`. [%]
    """
    p = np.asarray(p_pct, dtype=float) / 100
    of_minutes = p * (1 - p) * correlation_factor(p_pct) / _MINUTES
    return np.asarray(100 * np.sqrt((np.asarray(climate_ratio) * p) ** 2 + of_minutes))


def exceeding_pct(p_pct: ArrayLike, target_pct: ArrayLike, climate_ratio: ArrayLike) -> FloatArray:
    """Return the chance that a single year's percentage exceeds a target (P.678-3).

    Parameters
    ----------
    p_pct : array_like
        Of an average year; what is under `SINGLE_YEAR_RANGE_PCT` counts as its lower end. [%]
    target_pct : array_like
        [%]
    climate_ratio : array_like
        r_c.

    Returns
    -------
    ndarray
        They broadcast together; 50 where both are one; NaN over the range. [%]
    """
    p = np.maximum(np.asarray(p_pct, dtype=float), SINGLE_YEAR_RANGE_PCT[0])
    away = (np.asarray(target_pct, dtype=float) - p) / yearly_deviation_pct(p, climate_ratio)
    return 100 * normal_above(away)


def normal_above(deviations: ArrayLike) -> FloatArray:
    """Return the chance that a normal variable lies over so many standard deviations.

    Examples
    --------
    >>> normal_above([0.0, 1.96]).round(4).tolist()
    [0.5, 0.025]
    """
    away = np.asarray(deviations, dtype=float)
    if away.size > _MANY:
        from scipy.special import ndtr

        return np.asarray(ndtr(-away))
    each = [0.5 * math.erfc(x / math.sqrt(2)) for x in away.ravel().tolist()]
    return np.array(each, dtype=float).reshape(away.shape)
