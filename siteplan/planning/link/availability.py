"""Availability achieved: the outage at which a direction's margin reaches zero."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, is_everyone, take
from siteplan.physics.propagation.attenuation import with_upper_moisture
from siteplan.physics.roots import find_roots
from siteplan.planning.link.budget import inbound_margin_db, outbound_margin_db
from siteplan.planning.link.ends import Kit, Links
from siteplan.planning.link.outage import monotone_above_pct, rain_ends_pct, shares_pct
from siteplan.planning.link.weather import Weather, weather
from siteplan.planning.step import Raised, flag

#: The outages [%] between which the margin is inverted.
OUTAGE_RANGE_PCT = (0.001, 50.0)
#: Percentage of time below which the prediction is uncertain [%] (scintillation's lower end).
SMALL_P_PCT = 0.01
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


@dataclass(frozen=True)
class _Inversion:
    """A direction's margin as a function of the outage, for the sites of ``link`` (n,)."""

    link: Links
    kit: Kit
    margin: Margin

    def take(self, index: IntArray) -> _Inversion:
        """Return the inversion of the sites at ``index`` (k,), distinct and rising."""
        if is_everyone(index, len(self.link)):
            return self
        return replace(self, link=self.link.take(index), kit=take(self.kit, index))

    def at(self, log_p: FloatArray | float) -> FloatArray:
        """Return the margin (n,) [dB] at outages whose logarithm is given."""
        p_pct = np.broadcast_to(np.exp(log_p), len(self.link))
        return self.margin(self.link, self.kit, weather(self.link, p_pct))

    def roots(self, low: FloatArray, high: FloatArray) -> FloatArray:
        """Return where the margin is zero between two logarithms (n,); NaN for no root there."""
        return find_roots(lambda x, k: self.take(k).at(x), low, high, tolerance=1e-8)


def _achieved(link: Links, kit: Kit, margin: Margin) -> Achieved:
    """Return the availability at which a direction's margin reaches zero.

    Up to 5 % of time only rain and scintillation vary with p; beyond, gas and cloud do too.
    """
    rain_ends = float(np.log(rain_ends_pct(link.network)))
    whole = _Inversion(link, kit, margin)
    at_the_end = whole.at(rain_ends)
    holding, failing = np.flatnonzero(at_the_end >= 0), np.flatnonzero(at_the_end < 0)
    log_outage = np.full(len(link), np.nan)
    if holding.size:
        log_outage[holding] = _in_rain(whole.take(holding), rain_ends)
    if failing.size:
        log_outage[failing] = _beyond_rain(whole.take(failing), rain_ends)
    capped = np.isneginf(log_outage)
    outage = np.where(capped, OUTAGE_RANGE_PCT[0], np.exp(log_outage))
    seen = ~np.isnan(link.site.free_space_db)
    return Achieved(100 - outage, capped, seen & np.isnan(log_outage))


def _in_rain(sites: _Inversion, rain_ends: float) -> FloatArray:
    """Return the logarithm of the outage (n,) of sites that hold where rain ends.

    The root is the one reached from large outages: the total attenuation is not monotone
    below some 0.006 %, so the range below is searched point by point from its upper end. Minus
    infinity where the margin holds down to the smallest outage.
    """
    n = len(sites.link)
    link = sites.link
    placed = link.hub.up is not None
    safe = float(np.log(monotone_above_pct(link.network, hub_placed=placed)))
    low, high = np.full(n, safe), np.full(n, rain_ends)
    holding = np.flatnonzero(sites.at(safe) >= 0)
    scan = np.linspace(safe, np.log(OUTAGE_RANGE_PCT[0]), _SCAN_POINTS + 1)
    for upper, lower in itertools.pairwise(scan):
        if not holding.size:
            break
        high[holding], low[holding] = upper, lower
        holding = holding[sites.take(holding).at(lower) >= 0]
    found = np.full(n, -np.inf)
    between = np.setdiff1d(np.arange(n), holding, assume_unique=True)
    if between.size:
        found[between] = sites.take(between).roots(low[between], high[between])
    return found


def _beyond_rain(sites: _Inversion, rain_ends: float) -> FloatArray:
    """Return the logarithm of the outage (n,) of sites that fail where rain ends.

    The total steps down there: a root inside the step is the step itself. NaN where the margin
    does not even hold at the largest outage.
    """
    end = sites.link.site
    end = replace(end, up=with_upper_moisture(end.up), down=with_upper_moisture(end.down))
    sites = replace(sites, link=replace(sites.link, site=end))
    dry = np.flatnonzero(sites.at(rain_ends + _HAIR) < 0)
    found = np.full(len(sites.link), rain_ends)
    if dry.size:
        low = np.full(dry.size, rain_ends + _HAIR)
        high = np.full(dry.size, np.log(OUTAGE_RANGE_PCT[1]))
        found[dry] = sites.take(dry).roots(low, high)
    return found


@dataclass(frozen=True, eq=False)
class Availability(Arrays):
    """Availability achieved (n,) [%], and how far the answers can be trusted.

    ``smallest_p_pct`` is the smallest percentage of time that any answer of a site rests on: the
    target's, and those of the availabilities achieved.
    """

    outbound_availability_pct: Column
    inbound_availability_pct: Column
    availability_achieved_pct: Column
    capped: BoolArray
    low: BoolArray
    smallest_p_pct: FloatArray


def availability(
    link: Links, kit: Kit, target_pct: FloatArray, margins_db: tuple[FloatArray, FloatArray]
) -> Availability:
    """Return what the kit achieves; a margin that holds at the target vouches for the target.

    Parameters
    ----------
    link, kit : Links, Kit
        Of n sites.
    target_pct : (n,) array
        Availability targets [%].
    margins_db : pair of (n,) arrays
        The outbound and the inbound margin at the target [dB].
    """
    ways = outbound_achieved(link, kit), inbound_achieved(link, kit)
    reached = [
        np.where(m >= 0, np.maximum(a.availability_pct, target_pct), a.availability_pct)
        for a, m in zip(ways, margins_db, strict=True)
    ]
    p_site, _ = shares_pct(link.network, 100 - target_pct)
    outages = [100 - a.availability_pct for a in ways]
    return Availability(
        outbound_availability_pct=reached[0],
        inbound_availability_pct=reached[1],
        availability_achieved_pct=np.minimum(*reached),
        capped=ways[0].capped | ways[1].capped,
        low=ways[0].low | ways[1].low,
        smallest_p_pct=np.asarray(np.fmin.reduce([p_site, *outages])),
    )


def raised(of: Availability) -> Iterator[Raised]:
    """Yield the flags that tell how far the answers can be trusted."""
    yield flag("availability_capped", of.capped)
    yield flag("availability_low", of.low)
    yield flag("small_p", of.smallest_p_pct < SMALL_P_PCT, small_p_pct=SMALL_P_PCT)
