"""Availability achieved: the outage at which a direction's margin reaches zero."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.physics.arrays import find_roots, take
from siteplan.planning.links import Links, Weather, inbound_margin_db, outbound_margin_db, weather
from siteplan.planning.sizing import Kit

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

#: The outages [%] between which the margin is inverted.
OUTAGE_RANGE_PCT = (0.001, 50.0)
#: Attenuation is monotone in p above this percentage; below, reversals are seen.
MONOTONE_ABOVE_PCT = 0.006
#: Points of the search below that percentage, from its large-p side.
_SCAN_POINTS = 16


class Achieved(NamedTuple):
    """Availability achieved (n,) [%]; ``capped`` beyond 99.999 %, ``low`` (NaN) below 50 %."""

    availability_pct: FloatArray
    capped: BoolArray
    low: BoolArray


Margin = Callable[[Links, Kit, Weather], FloatArray]


def outbound_achieved(link: Links, kit: Kit) -> Achieved:
    """Return the outbound availability achieved with each site's kit."""
    return _achieved(link, kit, lambda part, k, at: outbound_margin_db(part, k.dish, at))


def inbound_achieved(link: Links, kit: Kit) -> Achieved:
    """Return the inbound availability achieved with each site's kit."""
    return _achieved(link, kit, lambda part, k, at: inbound_margin_db(part, k.dish, k.buc_dbw, at))


def _achieved(link: Links, kit: Kit, margin: Margin) -> Achieved:
    """Return the availability at which a direction's margin reaches zero.

    The root is the one reached from large outages: the total attenuation is not monotone
    below some 0.006 %, so the range below is searched point by point from its upper end.
    """

    def margin_at(log_p: FloatArray, index: IntArray) -> FloatArray:
        part = link.take(index)
        return margin(part, take(kit, index), weather(part, np.exp(log_p)))

    n = len(link)
    low, high = _brackets(margin_at, n, _monotone_above_pct(link))
    outage = np.exp(find_roots(margin_at, low, high, tolerance=1e-9))
    worst, best = OUTAGE_RANGE_PCT[1], OUTAGE_RANGE_PCT[0]
    everyone = np.arange(n)
    seen = ~np.isnan(link.site.free_space_db)
    too_low = seen & (margin_at(np.full(n, np.log(worst)), everyone) < 0)
    capped = seen & np.isneginf(low)
    outage = np.where(capped, best, np.where(too_low, np.nan, outage))
    return Achieved(100 - outage, capped, too_low)


def _monotone_above_pct(link: Links) -> float:
    """Return the outage above which both ends' shares are in the monotone range."""
    share = link.network.rules.hub_outage_share
    counted = link.hub.up is not None and share > 0
    smaller = min(share, 1 - share) if counted else 1 - share
    return min(MONOTONE_ABOVE_PCT / smaller, 1.0)


def _brackets(
    margin_at: Callable[[FloatArray, IntArray], FloatArray], n: int, safe_pct: float
) -> tuple[FloatArray, FloatArray]:
    """Return brackets in ln p around the root reached from the large-p side.

    Where the margin holds down to the smallest outage the lower end is minus infinity.
    """
    high = np.full(n, np.log(OUTAGE_RANGE_PCT[1]))
    low = np.full(n, np.log(safe_pct))
    open_ = np.flatnonzero(margin_at(low, np.arange(n)) >= 0)
    steps = np.linspace(np.log(safe_pct), np.log(OUTAGE_RANGE_PCT[0]), _SCAN_POINTS + 1)
    for upper, lower in itertools.pairwise(steps):
        if not open_.size:
            break
        high[open_], low[open_] = upper, lower
        open_ = open_[margin_at(np.full(open_.size, lower), open_) >= 0]
    low[open_] = -np.inf
    return low, high
