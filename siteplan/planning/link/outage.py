"""The outage rule: how the outage of a direction falls on its two ends, and what margin it buys.

The outage of a direction is the sum of two: that of the sites' end with the hub clear, and that
of the hub's end with the site clear (an upper bound of the union; partial fades of both at one
time are not combined). A direction's margin is the greatest level whose two outages sum to no
more than what the target allows. ``hub_outage_share`` in the network file fixes the split
instead. One function, `excess_db`, decides, sizes and inverts.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import (
    Arrays,
    BoolArray,
    Column,
    FloatArray,
    IntArray,
    Narrowing,
    TextColumn,
    at_sites,
)
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.physics.roots import Ending, find_roots, find_roots_near
from siteplan.planning.link.ends import Level
from siteplan.planning.link.fading import JUST_ABOVE_FROZEN_PCT
from siteplan.planning.link.ways import Way

#: Margins are worked out to this [dB]; decisions compare them rounded to 1e-6 dB.
TOLERANCE_DB = 1e-11
#: When the sites' share is found, in its logarithm: a margin moves by a few dB for each unit.
_SHARE_ENDING = Ending(1e-13, steep=True)
#: How much a margin gains, roughly, for each unit of the logarithm of p [dB]: a first step.
_DB_PER_LN_P = 2.0
#: Added to first steps, so that none is nothing.
_HAIR = 1e-6
#: Shares of the hub up to this may be its least one, 0.001 %, or none [%].
_FEW_PCT = 0.01
#: A first step towards the share, a little too long so that the root lies behind it.
_OVERSHOOT = 1.1


def fixed_share(way: Way) -> float | None:
    """Return the hub's share of an outage where it is fixed, 0 to 1; None where it falls freely.

    Where the hub takes nothing, the sites have it all.
    """
    return 0.0 if way.fade.silent else way.link.network.rules.hub_outage_share


def excess_db(way: Way, level_db: FloatArray | float, p_pct: FloatArray) -> FloatArray:
    """Return how far the margin lies above a level (n,) [dB], by a measure of the same sign.

    It falls by at least one decibel for each that the level rises: the margin lies between the
    level and the level plus this.

    Parameters
    ----------
    way : Way
        A direction of n sites.
    level_db : float or (n,) array
        Levels asked about [dB].
    p_pct : (n,) array
        Outages allowed [%].
    """
    level = np.broadcast_to(np.asarray(level_db, dtype=float), p_pct.shape)
    share = fixed_share(way)
    if share is not None:
        return np.asarray(_at_share_db(way, p_pct, share) - level)
    # Beyond what the hub holds alone, its rain takes all of the outage and more.
    left_pct = np.maximum(p_pct - way.hub_outage_pct(level), 0.0)
    return np.asarray(np.minimum(way.site_db(left_pct), way.hub_db(p_pct)) - level)


def _at_share_db(way: Way, p_pct: FloatArray, share: float) -> FloatArray:
    """Return the margin (n,) [dB] with a fixed split of the outage."""
    site = way.site_db(p_pct - share * p_pct)
    return np.minimum(site, way.hub_db(share * p_pct) if share > 0 else way.clear_db)


def margin_db(way: Way, p_pct: FloatArray) -> FloatArray:
    """Return the margin (n,) [dB] at outages ``p_pct`` (n,) [%]; NaN below the horizon."""
    share = fixed_share(way)
    if share is not None:
        return _at_share_db(way, p_pct, share)
    dry = p_pct > FROZEN_P_PCT
    if not dry.any():
        return _by_share_db(way, p_pct)
    found = np.empty(p_pct.shape)
    for index, solve in ((np.flatnonzero(~dry), _by_share_db), (np.flatnonzero(dry), _by_level_db)):
        if index.size:
            found[index] = solve(way.take(index), p_pct[index])
    return found


def _by_share_db(way: Way, p_pct: FloatArray) -> FloatArray:
    """Return the margin (n,) [dB] at outages up to 5 %: the sites' share is sought."""
    found = way.site_db(p_pct)
    over = _ln_over(way, found, p_pct, p_pct)
    open_ = np.flatnonzero(over > 0)
    few = open_[np.expm1(over[open_]) * p_pct[open_] < _FEW_PCT]
    if few.size:  # the hub's outage begins with a step, where a search would end slowly
        at = _where_the_hub_holds(way.take(few), p_pct[few])
        held = ~np.isnan(at)
        found[few[held]], over[few[held]] = at[held], 0.0
        open_ = np.flatnonzero(over > 0)
    if open_.size:
        found[open_] = _shared_db(way.take(open_), p_pct[open_], over[open_])
    return found


def _where_the_hub_holds(way: Way, p_pct: FloatArray) -> FloatArray:
    """Return the greatest level (n,) [dB] that the hub always holds, where it is the margin.

    NaN where the sites do not hold it, or where they hold more beside the hub's least outage.
    """
    level = way.hub_db(P_RANGE_PCT[0]) - TOLERANCE_DB
    left = np.maximum(p_pct - P_RANGE_PCT[0], 0.0)
    held = (way.site_db(p_pct) >= level) & (way.site_db(left) < level)
    return np.where(held & (way.hub_outage_pct(level) == 0), level, np.nan)


def _ln_over(way: Way, level_db: FloatArray, site_pct: FloatArray, p_pct: FloatArray) -> FloatArray:
    """Return how far a level's outage at both ends exceeds the one allowed (n,), as a logarithm.

    ``level_db`` is the margin with the sites faded at ``site_pct`` [%].
    """
    return np.log((site_pct + way.hub_outage_pct(level_db)) / p_pct)


def _shared_db(way: Way, p_pct: FloatArray, over: FloatArray) -> FloatArray:
    """Return the margin (n,) [dB] where the sites cannot have all of the outage.

    ``over`` (n,) is what `_ln_over` gives if they had. Nearly a line in the logarithm of the
    sites' share, so that few steps do.
    """

    those, last = Narrowing(way), np.full((3, len(p_pct)), np.nan)

    def exceeds(ln_p: FloatArray, index: IntArray) -> FloatArray:
        part, site_pct = those.at(index), np.exp(ln_p)
        level = part.site_db(site_pct)
        over = _ln_over(part, level, site_pct, p_pct[index])
        last[:, index] = ln_p, over, level
        return over

    least, most = np.log(P_RANGE_PCT[0]), np.log(p_pct)
    step = np.where(np.isfinite(over), _OVERSHOOT * over, 1.0)
    ln_p = find_roots_near(exceeds, (most, over), step, (least, most), ending=_SHARE_ENDING)
    met = (last[0] == ln_p) & (np.abs(last[1]) <= _SHARE_ENDING.tolerance)
    found: FloatArray = last[2] - TOLERANCE_DB  # from below, so that the split told holds it
    rest = np.flatnonzero(~met)
    if rest.size:
        found[rest] = _at_step_db(way.take(rest), p_pct[rest], ln_p[rest])
    return found


def _at_step_db(way: Way, p_pct: FloatArray, ln_p: FloatArray) -> FloatArray:
    """Return the margin (n,) [dB] where an end steps at the sites' share, ``ln_p`` [ln %].

    NaN where even the least share is too much: the hub takes all, the sites lose nothing more.
    """
    none = np.isnan(ln_p)
    site_pct = np.where(none, P_RANGE_PCT[0], np.exp(ln_p))
    hub_pct = np.where(none, p_pct, p_pct - site_pct)
    # Where a level steps (a wet dish), the share is found at the step: its far side counts.
    far = way.site_db(site_pct * (1 + _SHARE_ENDING.tolerance))
    found = np.minimum(far, way.hub_db(hub_pct))
    return found - np.where(excess_db(way, found, p_pct) < 0, TOLERANCE_DB, 0.0)


def _by_level_db(way: Way, p_pct: FloatArray) -> FloatArray:
    """Return the margin (n,) [dB] at outages above 5 %: the level is sought.

    The total steps at 5 %, where a share says little of the level.
    """
    way = way.beyond_frozen()
    most = np.minimum(way.site_db(p_pct), way.hub_db(p_pct))
    short = excess_db(way, most, p_pct)
    found = np.where(short >= -TOLERANCE_DB, most, np.nan)
    open_ = np.flatnonzero(short < -TOLERANCE_DB)
    if open_.size:
        found[open_] = _root_db(way.take(open_), p_pct[open_], most[open_], short[open_])
    return found


def _root_db(way: Way, p_pct: FloatArray, most: FloatArray, short: FloatArray) -> FloatArray:
    """Return the margin (n,) [dB] between ``most + short`` and ``most``, from below.

    Where an end's margin steps, levels a hair above the margin do not hold: the split told must.
    """
    those = Narrowing(way)
    found = find_roots(
        lambda x, k: excess_db(those.at(k), x, p_pct[k]),
        most + short,
        most,
        tolerance=TOLERANCE_DB,
        steep=True,
    )
    return found - np.where(excess_db(way, found, p_pct) < 0, TOLERANCE_DB, 0.0)


def split_pct(way: Way, level_db: FloatArray, p_pct: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the sites' and the hub's part (n,) [%] of outages ``p_pct`` (n,) at their margin.

    They sum to ``p_pct`` and give the margin back; what neither end needs goes to the sites.
    """
    share = fixed_share(way)
    unseen = np.isnan(level_db)
    if share is not None:
        hub = np.where(unseen, np.nan, share * p_pct)
    else:
        hub = np.minimum(way.hub_outage_pct(level_db), p_pct)
        hub = np.where(p_pct - hub < P_RANGE_PCT[0], p_pct, hub)
    return np.where(unseen, np.nan, p_pct - hub), hub


def hub_limits(way: Way, p_pct: FloatArray) -> BoolArray:
    """Return where the hub's end is to blame (n,): alone, it would do worse than the site's."""
    share = fixed_share(way)
    site, hub = (p_pct, p_pct) if not share else (p_pct - share * p_pct, share * p_pct)
    if way.fade.silent:
        return np.zeros(p_pct.shape, dtype=bool)
    return np.asarray(np.round(way.hub_db(hub), 6) < np.round(way.site_db(site), 6))


def site_outage_pct(way: Way, level_db: Level) -> FloatArray:
    """Return the smallest outage (n,) [%] at which the sites' end holds a level, or levels (n,).

    0 where it holds down to the smallest percentage of the method, infinite where it does not
    hold at the largest. Just above 5 % where the level lies inside the total's step there.
    """
    n = len(way.link)
    low, high = P_RANGE_PCT
    at = _Asked(way, level_db)
    found = np.full(n, np.inf)
    found[np.isnan(way.clear_db)] = np.nan
    at_five = at.everywhere(FROZEN_P_PCT)
    raining, dry = np.flatnonzero(at_five >= 0), np.flatnonzero(at_five < 0)
    if raining.size:
        found[raining] = at.take(raining).root(low, FROZEN_P_PCT, holding=0.0)
    if dry.size:
        beyond = at.take(dry).beyond_frozen()
        found[dry] = beyond.root(JUST_ABOVE_FROZEN_PCT, high, holding=JUST_ABOVE_FROZEN_PCT)
    return found


@frozen
class _Asked:
    """Whether the sites' end holds a level."""

    way: Way
    level_db: Level

    def take(self, index: IntArray) -> _Asked:
        return _Asked(self.way.take(index), at_sites(self.level_db, index))

    def beyond_frozen(self) -> _Asked:
        return _Asked(self.way.beyond_frozen(), self.level_db)

    def everywhere(self, p_pct: float) -> FloatArray:
        """Return how far the level is exceeded (n,) [dB] at one percentage."""
        return self.way.site_db(np.full(len(self.way.link), p_pct)) - self.level_db

    def root(self, low_pct: float, high_pct: float, *, holding: float) -> FloatArray:
        """Return where the level is just held (n,), ``holding`` where it is at the low end.

        Infinite where it is not even held at the high end.
        """
        found = self._between(low_pct, high_pct)
        none = np.flatnonzero(np.isnan(found))
        if none.size:
            held = self.take(none).everywhere(low_pct) >= 0
            found[none] = np.where(held, holding, np.inf)
        return found

    def _between(self, low_pct: float, high_pct: float) -> FloatArray:
        """Return where a level is just held (n,); NaN where that is at neither percentage."""
        low, high = np.log(low_pct), np.log(high_pct)
        start, those = np.full(len(self.way.link), (low + high) / 2), Narrowing(self.way)

        def exceeds(ln_p: FloatArray, index: IntArray) -> FloatArray:
            level: Level = at_sites(self.level_db, index)
            return those.at(index).site_db(np.exp(ln_p)) - level

        first = exceeds(start, np.arange(len(start)))
        step = np.abs(first) / _DB_PER_LN_P + _HAIR
        found = find_roots_near(
            exceeds, (start, first), step, (low, high), ending=Ending(1e-9, steep=False)
        )
        return np.exp(found)


def outage_pct(way: Way, level_db: Level) -> FloatArray:
    """Return the outage (n,) [%] of a level, or of levels (n,) [dB].

    Both ends', summed, or by the fixed split.
    """
    level = np.full(len(way.link), level_db)
    return both_ends_pct(way, level, site_outage_pct(way, level_db))


def both_ends_pct(way: Way, level_db: FloatArray, site_pct: FloatArray) -> FloatArray:
    """Return the outage (n,) [%] of levels (n,) [dB], given that of the sites' end (n,) [%]."""
    share = fixed_share(way)
    if share is None:
        return site_pct + way.hub_outage_pct(level_db)
    if share == 0:
        return np.where(way.clear_db < level_db, np.inf, site_pct)
    hub = way.hub_outage_pct(level_db) / share
    if share == 1:
        return np.where(site_pct == 0, hub, np.inf)
    return np.maximum(hub, site_pct / (1 - share))


@frozen(eq=False)
class Shares(Arrays):
    """How the outage of the target falls on the two ends of each direction (n,) [%]."""

    outbound_site_outage_pct: Column
    outbound_hub_outage_pct: Column
    inbound_site_outage_pct: Column
    inbound_hub_outage_pct: Column
    limiting_end: TextColumn
    hub_blamed: BoolArray
    inbound_limits: BoolArray


def shares(
    ways: tuple[Way, Way],
    margins_db: tuple[FloatArray, FloatArray],
    p_pct: FloatArray,
    *,
    inbound_limits: BoolArray,
) -> Shares:
    """Return the split of the outage in each direction, and the end that limits.

    Parameters
    ----------
    ways : pair of Way
        Outbound and inbound, of n sites.
    margins_db : pair of (n,) arrays
        The margins at the target [dB].
    p_pct : (n,) array
        The outages that the targets allow [%].
    inbound_limits : (n,) array of bool
        Where the inbound direction is the limiting one.
    """
    out, back = (split_pct(w, m, p_pct) for w, m in zip(ways, margins_db, strict=True))
    blamed = np.where(inbound_limits, hub_limits(ways[1], p_pct), hub_limits(ways[0], p_pct))
    ends = np.where(blamed, "hub", "site")
    return Shares(
        *out, *back,
        limiting_end=np.where(np.isnan(margins_db[0]), "", ends).astype(object),
        hub_blamed=blamed.astype(bool),
        inbound_limits=inbound_limits,
    )  # fmt: skip
