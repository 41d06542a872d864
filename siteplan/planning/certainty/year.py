"""What the outage of an average year means for its worst month, and for a single year."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.propagation.variability import (
    SINGLE_YEAR_RANGE_PCT,
    exceeding_pct,
    worst_month_pct,
)
from siteplan.planning.link.availability import Availability
from siteplan.planning.step import Told

#: Outages this close to the method's least are that [%].
_HAIR_PCT = 1e-9


@frozen(eq=False)
class Years(Arrays):
    """How the worst month and single years differ from the average one (n,) [%].

    ``outage_pct`` is what an average year loses in the limiting direction, ``target_pct`` what the
    target allows of it; ``low`` is where more than half of it is lost. ``least`` is where the
    outage of both directions is the method's least or under it.
    """

    worst_month_availability_pct: Column
    year_risk_pct: Column
    outage_pct: FloatArray
    target_pct: FloatArray
    low: BoolArray
    least: BoolArray

    @property
    def raised(self) -> BoolArray:
        """Where the chance counts an outage larger than the one achieved (n,)."""
        return (self.outage_pct < SINGLE_YEAR_RANGE_PCT[0]) & ~self.too_strict

    @property
    def too_strict(self) -> BoolArray:
        """Where outage and target lie under what single years are known for (n,)."""
        least = SINGLE_YEAR_RANGE_PCT[0]
        return (self.outage_pct < least) & (self.target_pct < least)


def years(
    of: Availability, target_pct: FloatArray, inbound_limits: BoolArray, climate_ratio: float
) -> Years:
    """Return the availability of the worst month, and the chance that a year misses the target.

    Parameters
    ----------
    of : Availability
        What the kit achieves in an average year.
    target_pct : (n,) array
        Availability of an average year that is asked for [%].
    inbound_limits : (n,) array of bool
        Where the inbound direction is the limiting one.
    climate_ratio : float
        r_c of ITU-R P.678-3.

    Returns
    -------
    Years
        The worst month's availability rests on the smaller of the two directions', NaN outside the
        range of ITU-R P.841-4. The chance is that of the limiting direction: NaN over the range of
        P.678-3; an outage under it counts as its lower end, and where the target lies under that
        too there is no answer.
    """
    achieved = of.availability_achieved_pct
    lost = 100 - np.where(inbound_limits, of.inbound_availability_pct, of.outbound_availability_pct)
    allowed = 100 - target_pct
    found = Years(
        worst_month_availability_pct=100 - worst_month_pct(100 - achieved),
        year_risk_pct=exceeding_pct(lost, allowed, climate_ratio),
        outage_pct=lost,
        target_pct=allowed,
        low=of.low,
        least=100 - achieved <= P_RANGE_PCT[0] + _HAIR_PCT,
    )
    found.year_risk_pct[found.too_strict] = np.nan
    return found


def told(of: Years) -> Iterator[Told]:
    """Yield what is blank or rests on an end of a range, and why."""
    known = ~np.isnan(of.outage_pct)
    blank = np.isnan(of.worst_month_availability_pct)
    yield Told("year.month_beyond", blank & (known | of.low))
    yield Told("year.month_least", of.least)
    yield Told("year.risk_beyond", (of.outage_pct > SINGLE_YEAR_RANGE_PCT[1]) | (~known & of.low))
    yield Told("year.risk_raised", of.raised)
    yield Told("year.risk_too_strict", of.too_strict)
