"""Availability achieved: what is left of the year after the outage of level zero."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.planning.link.outage import Shares, both_ends_pct, site_outage_pct
from siteplan.planning.link.ways import Way
from siteplan.planning.step import Raised, Told, flag

#: Percentage of time below which the prediction is uncertain [%] (scintillation's lower end).
SMALL_P_PCT = 0.01


class Achieved(NamedTuple):
    """Availability achieved (n,) [%]; ``capped`` beyond 99.999 %, ``low`` (NaN) below 50 %.

    ``site_outage_pct`` is how long the site's end alone misses: 0 for less than the method's
    least, infinite for more than its most.
    """

    availability_pct: FloatArray
    site_outage_pct: FloatArray
    capped: BoolArray
    low: BoolArray


def achieved(way: Way) -> Achieved:
    """Return the availability of each site in one direction, with its kit."""
    least, most = P_RANGE_PCT
    at_site = site_outage_pct(way, 0.0)
    outage = both_ends_pct(way, np.zeros(len(at_site)), at_site)
    low = outage > most
    found = np.where(low, np.nan, 100 - np.maximum(outage, least))
    return Achieved(found, at_site, outage < least, low)


@frozen(eq=False)
class Availability(Arrays):
    """Availability achieved (n,) [%], and how far the answers can be trusted.

    ``site_outage_pct`` are the outages of the site's end alone, outbound and inbound, unrounded.
    ``small_p`` is where the margins, and so the kit, rest on percentages of time for which the
    prediction is uncertain.
    """

    outbound_availability_pct: Column
    inbound_availability_pct: Column
    availability_achieved_pct: Column
    site_outage_pct: tuple[FloatArray, FloatArray]
    capped: BoolArray
    low: BoolArray
    small_p: BoolArray


def availability(
    ways: tuple[Way, Way],
    target_pct: FloatArray,
    margins_db: tuple[FloatArray, FloatArray],
    split: Shares,
) -> Availability:
    """Return what the kit achieves; at the target, the margin there decides.

    Parameters
    ----------
    ways : pair of Way
        Outbound and inbound, of n sites with their kit.
    target_pct : (n,) array
        Availability targets [%].
    margins_db : pair of (n,) arrays
        The outbound and the inbound margin at the target [dB].
    split : Shares
        How the outage of the target falls on the two ends.
    """
    found = [achieved(way) for way in ways]
    reached = [
        _agreeing(a.availability_pct, target_pct, m) for a, m in zip(found, margins_db, strict=True)
    ]
    return Availability(
        outbound_availability_pct=reached[0],
        inbound_availability_pct=reached[1],
        availability_achieved_pct=np.minimum(*reached),
        site_outage_pct=(found[0].site_outage_pct, found[1].site_outage_pct),
        capped=found[0].capped | found[1].capped,
        low=found[0].low | found[1].low,
        small_p=_small_shares(split),
    )


def _agreeing(found_pct: FloatArray, target_pct: FloatArray, margin_db: FloatArray) -> FloatArray:
    """Return availabilities on the side of the target on which the margin lies of zero.

    The two say the same; rounding may not part them.
    """
    just_under = np.nextafter(target_pct, 0)
    held = np.where(margin_db >= 0, np.maximum(found_pct, target_pct), found_pct)
    return np.where(margin_db < 0, np.minimum(held, just_under), held)


def _small_shares(split: Shares) -> BoolArray:
    """Return where an end's share of the target's outage is under ``SMALL_P_PCT`` (n,).

    A share of zero counts where its end limits: it stands for less than the method's least.
    """
    small = np.zeros(len(split.limiting_end), dtype=bool)
    for way, limits in (("outbound", ~split.inbound_limits), ("inbound", split.inbound_limits)):
        for end in ("site", "hub"):
            share = getattr(split, f"{way}_{end}_outage_pct")
            blamed = limits & (split.limiting_end == end)
            small |= ((share > 0) | blamed) & (share < SMALL_P_PCT)
    return small


def raised(of: Availability) -> Iterator[Raised]:
    """Yield the flags that tell how far the answers can be trusted."""
    yield flag("availability_capped", of.capped)
    yield flag("availability_low", of.low)
    yield Raised("small_p", Told("once.small_p", of.small_p))
