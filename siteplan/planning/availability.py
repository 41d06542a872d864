"""Availability achieved: the outage at which a direction's margin reaches zero."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.physics.arrays import find_roots, take
from siteplan.physics.climate import FROZEN_P_PCT
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
#: Step in ln p from the last outage with rain to the first without.
_HAIR = 1e-12


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
    low, high = _brackets(margin_at, n, _rain_ends_pct(link), _monotone_above_pct(link))
    log_outage = np.where(low == high, high, np.nan)
    bracketed = np.flatnonzero(np.isfinite(low) & (low < high))
    log_outage[bracketed] = find_roots(
        lambda x, k: margin_at(x, bracketed[k]), low[bracketed], high[bracketed], tolerance=1e-8
    )
    seen = ~np.isnan(link.site.free_space_db)
    capped = seen & np.isneginf(low)
    outage = np.where(capped, OUTAGE_RANGE_PCT[0], np.exp(log_outage))
    return Achieved(100 - outage, capped, seen & np.isposinf(low))


def _rain_ends_pct(link: Links) -> float:
    """Return the outage up to which both ends' shares are within rain's 5 %."""
    share = link.network.rules.hub_outage_share
    return FROZEN_P_PCT / max(share, 1 - share)


def _monotone_above_pct(link: Links) -> float:
    """Return the outage above which both ends' shares are in the monotone range."""
    share = link.network.rules.hub_outage_share
    counted = link.hub.up is not None and share > 0
    smaller = min(share, 1 - share) if counted else 1 - share
    return min(MONOTONE_ABOVE_PCT / smaller, 1.0)


def _brackets(
    margin_at: Callable[[FloatArray, IntArray], FloatArray],
    n: int,
    rain_pct: float,
    safe_pct: float,
) -> tuple[FloatArray, FloatArray]:
    """Return brackets in ln p around the root reached from the large-p side.

    The lower end is minus infinity where the margin holds down to the smallest outage, and
    plus infinity where it does not even hold at the largest. Beyond ``rain_pct`` gas and cloud
    need the maps, so only the sites that fail there are looked at.
    """
    steps = np.log([OUTAGE_RANGE_PCT[1], rain_pct, safe_pct])
    high, low = np.full(n, steps[1]), np.full(n, steps[2])
    failing = np.flatnonzero(margin_at(high, np.arange(n)) < 0)
    if failing.size:
        # The total steps down where rain ends: a root inside the step is the step itself.
        beyond = np.full(failing.size, steps[1] + _HAIR)
        dry = margin_at(beyond, failing) < 0
        low[failing[~dry]] = high[failing[~dry]] = steps[1]
        failing = failing[dry]
        high[failing], low[failing] = steps[0], steps[1] + _HAIR
        lost = margin_at(high[failing], failing) < 0
        low[failing[lost]] = np.inf
    holding = np.flatnonzero(
        (low == steps[2]) & (margin_at(np.full(n, steps[2]), np.arange(n)) >= 0)
    )
    scan = np.linspace(np.log(safe_pct), np.log(OUTAGE_RANGE_PCT[0]), _SCAN_POINTS + 1)
    for upper, lower in itertools.pairwise(scan):
        if not holding.size:
            break
        high[holding], low[holding] = upper, lower
        holding = holding[margin_at(np.full(holding.size, lower), holding) >= 0]
    low[holding] = -np.inf
    return low, high
