"""The two directions as the outage rule sees them: each end's margin at a percentage of time.

A way knows four things of every site with its kit: the margin in clear sky, with the site faded
and the hub clear, with the hub faded and the site clear, and how long the hub's rain holds the
margin under a level.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Protocol, Self, TypeVar

import numpy as np

from siteplan.arrays import FloatArray, IntArray, at_once, at_sites, is_everyone, take
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import Attenuation, averaging
from siteplan.physics.radio.carrier import inverse_sum_db
from siteplan.planning.link.budget import (
    inbound_down_es_n0_db,
    inbound_es_n0_db,
    inbound_other_es_n0_db,
    outbound_es_n0_db,
)
from siteplan.planning.link.drive import Drive, drive
from siteplan.planning.link.ends import Dish, Kit, Level, Links
from siteplan.planning.link.hubfade import HubFade, joint_outage_pct
from siteplan.planning.link.reduction import lowered
from siteplan.planning.link.spectrum.interference import outbound_ci_db, rain_leak_db

#: Levels below are held by any hub [dB]; a double overflows at some -3080 dB.
_DEEPEST_DB = -2900.0


W = TypeVar("W", bound="Way")


class Way(Protocol):
    """A direction of n sites with their kit."""

    @property
    def link(self) -> Links:
        """The links of the sites."""

    @property
    def clear_db(self) -> FloatArray:
        """Margin in clear sky (n,) [dB]."""

    @property
    def fade(self) -> HubFade:
        """What the hub's rain takes."""

    def site_db(self, p_pct: FloatArray) -> FloatArray:
        """Return the margin (n,) [dB] with the sites faded at ``p_pct`` (n,), the hub clear."""

    def hub_db(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the margin (n,) [dB] with the hub faded at ``p_pct``, the sites clear."""

    def hub_outage_pct(self, level_db: FloatArray) -> FloatArray:
        """Return the smallest outage (n,) [%] at which the hub's end holds a level (n,) [dB]."""

    def take(self, index: IntArray) -> Self:
        """Return the way of the sites at ``index`` (k,), distinct and rising."""

    def repeated(self, index: IntArray) -> Self:
        """Return the way of the sites at ``index`` (k,), in any order and any number."""

    def beyond_frozen(self) -> Self:
        """Return the same with the moisture above 5 % of time looked up once."""


@frozen
class Outbound:
    """Hub to remote; ``ci_db`` is the carrier over all interference in clear sky [dB]."""

    link: Links
    dish: Dish
    sigma_db: FloatArray
    ci_db: Level
    clear_db: FloatArray

    @property
    def fade(self) -> HubFade:
        """What the hub's rain takes from its uplink, before power control."""
        return self.link.hub.up_fade

    def sky(self, p_pct: FloatArray) -> Attenuation:
        """Return the attenuation at the sites (n,) at percentages of time (n,)."""
        return self.link.site.down.sky(p_pct, self.sigma_db)

    def site_db(self, p_pct: FloatArray) -> FloatArray:
        """Return the margin (n,) [dB] with the sites faded at ``p_pct`` (n,), the hub clear."""
        wet, sky = self.link.site.down.wet_loss_db(p_pct), self.sky(p_pct)
        ci_db = self.rained_ci_db(sky, p_pct)
        level = outbound_es_n0_db(self.link, self.dish, sky, 0.0, ci_db=ci_db, wet_db=wet)
        return level - self.link.outbound_required_db

    def rained_ci_db(self, sky: Attenuation, p_pct: FloatArray) -> Level:
        """Return the carrier over all interference under a sky, what rain depolarizes with it."""
        leak = rain_leak_db(self.link, sky.rain, p_pct)
        return self.ci_db if leak is None else inverse_sum_db(self.ci_db, leak)

    def hub_db(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the margin (n,) [dB] with the hub faded at ``p_pct``, the sites clear.

        Uplink, transponder and interference all fall by what power control leaves of the fade.
        """
        left = np.maximum(self.fade.at(p_pct) - self.link.hub.control_db, 0.0)
        return self.clear_db - left

    def hub_outage_pct(self, level_db: FloatArray) -> FloatArray:
        """Return the smallest outage (n,) [%] at which the hub's end holds a level (n,) [dB]."""
        room = self.clear_db - level_db
        outage = self.fade.outage_pct(room + self.link.hub.control_db)
        return np.where(room < 0, np.inf, outage)

    def take(self, index: IntArray) -> Outbound:
        """Return the way of the sites at ``index`` (k,), distinct and rising."""
        return self if is_everyone(index, len(self.link)) else self.repeated(index)

    def repeated(self, index: IntArray) -> Outbound:
        """Return the way of the sites at ``index`` (k,), in any order and any number."""
        return Outbound(
            self.link.repeated(index), dish_at(self.dish, index), self.sigma_db[index],
            at_sites(self.ci_db, index), self.clear_db[index],
        )  # fmt: skip

    def beyond_frozen(self) -> Outbound:
        """Return the same with the moisture above 5 % of time looked up once."""
        return replace(self, link=_soaked(self.link))


@frozen
class Inbound:
    """Remote to hub: ``others_db`` is uplink and interference, ``down_db`` the hub's downlink.

    Both are Es/N0 in clear sky (n,) [dB].
    """

    link: Links
    driven: Drive
    sigma_db: FloatArray
    others_db: FloatArray
    down_db: FloatArray
    clear_db: FloatArray

    @property
    def fade(self) -> HubFade:
        """What the hub's rain takes from its downlink, noise included."""
        return self.link.hub.down_fade

    def sky(self, p_pct: FloatArray) -> Attenuation:
        """Return the attenuation at the sites (n,) at percentages of time (n,)."""
        return self.link.site.up.sky(p_pct, self.sigma_db)

    def net_fade_db(self, p_pct: FloatArray) -> FloatArray:
        """Return what the remote's power control leaves of the sites' fade (n,) [dB]."""
        up = self.link.site.up
        fade = self.sky(p_pct).total - up.gas_db + up.wet_loss_db(p_pct)
        return np.maximum(fade - self.driven.raise_db, 0.0)

    def site_db(self, p_pct: FloatArray) -> FloatArray:
        """Return the margin (n,) [dB] with the sites faded at ``p_pct`` (n,), the hub clear."""
        net = self.net_fade_db(p_pct)
        short_of_saturation = self.driven.flux_dbw_m2 - self.link.inbound.saturating_flux_dbw_m2
        below = self.clear_db - net  # uplink, downlink and interference fall alike
        over = short_of_saturation > 0
        if not np.any(over):
            return below
        full = inbound_es_n0_db(self.link, self.driven, net) - self.link.inbound_required_db
        return np.where(over, full, below)

    def hub_db(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the margin (n,) [dB] with the hub faded at ``p_pct``, the sites clear."""
        if self.fade.silent:
            return self.clear_db
        down, leak = self.down_db - self.fade.at(p_pct), self.link.hub.depolarized
        terms: tuple[Level, ...] = (self.others_db, down)
        if leak is not None:
            terms = (*terms, leak.at(p_pct) - self.driven.under_share_db)
        level = inverse_sum_db(*terms)
        return level - self.link.inbound_required_db

    def hub_outage_pct(self, level_db: FloatArray) -> FloatArray:
        """Return the smallest outage (n,) [%] at which the hub's end holds a level (n,) [dB]."""
        if self.fade.silent:
            room = self.clear_db - level_db
            return np.where(np.isnan(room), np.nan, np.where(room < 0, np.inf, 0.0))
        asked = np.maximum(level_db, _DEEPEST_DB) + self.link.inbound_required_db
        total, other = (10 ** (-x / 10) for x in (asked, self.others_db))
        left = total - other  # noise that the downlink may add
        if (leak := self.link.hub.depolarized) is not None:
            # A carrier that stands lower over the leak is one that may have less of both.
            under = self.driven.under_share_db
            down, may = self.down_db + under, np.maximum(left, 0.0) * 10 ** (-under / 10)
            outage = joint_outage_pct(self.fade, leak, down, may)
            return np.where(left <= 0, np.inf, outage)
        need = -10 * np.log10(np.where(left > 0, left, np.nan))
        outage = self.fade.outage_pct(self.down_db - need)
        return np.where(left <= 0, np.inf, outage)

    def take(self, index: IntArray) -> Inbound:
        """Return the way of the sites at ``index`` (k,), distinct and rising."""
        return self if is_everyone(index, len(self.link)) else self.repeated(index)

    def repeated(self, index: IntArray) -> Inbound:
        """Return the way of the sites at ``index`` (k,), in any order and any number."""
        return Inbound(
            self.link.repeated(index), take(self.driven, index), self.sigma_db[index],
            self.others_db[index], self.down_db[index], self.clear_db[index],
        )  # fmt: skip

    def beyond_frozen(self) -> Inbound:
        """Return the same with the moisture above 5 % of time looked up once."""
        return replace(self, link=_soaked(self.link))


def outbound(link: Links, dish: Dish) -> Outbound:
    """Return the outbound direction of n sites with their dishes."""
    sigma = averaging(link.site.down.path, dish.diameter_m, dish.efficiency)
    ci_db = outbound_ci_db(link, dish)
    clear = outbound_es_n0_db(link, dish, link.site.down.clear, 0.0, ci_db=ci_db)
    return Outbound(link, dish, sigma, ci_db, clear - link.outbound_required_db)


def inbound(link: Links, dish: Dish, buc_dbw: Level) -> Inbound:
    """Return the inbound direction of n sites with their dishes and BUCs [dBW]."""
    driven = lowered(link, drive(link, dish, buc_dbw))
    sigma = averaging(link.site.up.path, dish.diameter_m, dish.efficiency)
    others = inbound_other_es_n0_db(link, driven)
    down = inbound_down_es_n0_db(link, driven)
    clear = inverse_sum_db(others, down) - link.inbound_required_db
    return Inbound(link, driven, sigma, others, down, clear)


def both(link: Links, kit: Kit) -> tuple[Outbound, Inbound]:
    """Return both directions of n sites with their kit."""
    return outbound(link, kit.dish), inbound(link, kit.dish, kit.buc_dbw)


def repeatedly(way: W, k: int) -> Iterator[tuple[list[int], W]]:
    """Yield the n sites of a way ``k`` times over, one time behind the other.

    Each piece tells which of the times it holds: as many at once as is worth while.
    """
    n = len(way.link)
    for some in at_once([n] * k):
        yield some, way if len(some) == 1 else way.repeated(np.tile(np.arange(n), len(some)))


def margins_at_db(way: Way, p_pct: Sequence[float]) -> FloatArray:
    """Return the margin (k, n) [dB] with the sites faded at each of some percentages, hub clear."""
    n = len(way.link)
    found = np.empty((len(p_pct), n))
    for some, part in repeatedly(way, len(p_pct)):
        found[some] = part.site_db(np.repeat(np.array(p_pct)[some], n)).reshape(len(some), n)
    return found


def dish_at(dish: Dish, index: IntArray) -> Dish:
    """Return the dishes of the sites at ``index`` (k,); a number serves all."""
    return Dish(*(at_sites(x, index) for x in dish))


def _soaked(link: Links) -> Links:
    site = link.site
    return replace(
        link, site=replace(site, up=site.up.beyond_frozen(), down=site.down.beyond_frozen())
    )
