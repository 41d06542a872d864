"""Availability targets on the basis of the network file: an average year, or its worst month."""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.network.general import WORST_MONTH_TARGET_PCT
from siteplan.physics.propagation.variability import (
    WORST_MONTH_RANGE_PCT,
    YEAR_OF_MONTH,
    annual_pct,
    worst_month_pct,
)

#: The basis of the network file that asks for the worst month.
WORST_MONTH: Final = "worst_month"


@frozen(eq=False)
class AnnualTarget(Arrays):
    """What the plan used (n,) [%]: only where the targets are those of the worst month."""

    annual_target_pct: Column


def by_month(network: Network) -> bool:
    """Return whether targets are percentages of the worst month."""
    return network.network.availability_basis == WORST_MONTH


def annual_target_pct(network: Network, target_pct: FloatArray) -> FloatArray:
    """Return the share of an average year that targets ask for.

    Parameters
    ----------
    network : Network
        Whose basis the targets are on.
    target_pct : (n,) array
        In the words of whoever gave them; of a worst month outside of
        `siteplan.network.general.WORST_MONTH_TARGET_PCT` the end of that range is used. [%]

    Returns
    -------
    (n,) array
        The targets themselves on the basis of a year, else by ITU-R P.841-4. [%]
    """
    if not by_month(network):
        return target_pct
    low, high = WORST_MONTH_TARGET_PCT
    return 100 - annual_pct(100 - np.clip(target_pct, low, high))


def outside(network: Network, target_pct: FloatArray) -> BoolArray:
    """Return where a target (n,) [%] of the worst month has no year that the methods hold for."""
    low, high = WORST_MONTH_TARGET_PCT
    if not by_month(network):
        return np.zeros(len(target_pct), dtype=bool)
    return (target_pct < low) | (target_pct > high)


def in_basis_pct(network: Network, outage_pct: FloatArray) -> FloatArray:
    """Return outages of an average year (n,) [%] on the basis of the targets.

    Those of a worst month are NaN outside the range of ITU-R P.841-4.
    """
    return worst_month_pct(outage_pct) if by_month(network) else outage_pct


def from_basis_pct(network: Network, outage_pct: FloatArray) -> FloatArray:
    """Return outages on the basis of the targets (n,) [%] as those of an average year."""
    return annual_pct(outage_pct) if by_month(network) else outage_pct


def month_law(network: Network) -> tuple[float, ...]:
    """Return how a worst month's outage becomes a year's: factor, power, least and most [%].

    Empty where targets are those of a year.
    """
    low, high = (100 - pct for pct in reversed(WORST_MONTH_TARGET_PCT))
    least, most = WORST_MONTH_RANGE_PCT
    return (*YEAR_OF_MONTH, max(low, least), min(high, most)) if by_month(network) else ()
