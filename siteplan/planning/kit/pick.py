"""Which antenna and which BUC each site gets, with its margins."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, TextColumn
from siteplan.fields import catalogue_margin_name
from siteplan.frozen import frozen
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.planning.kit import fit
from siteplan.planning.kit.catalogue import (
    Candidates,
    Catalogue,
    Installed,
    Lent,
    candidates,
    chosen,
    chosen_dish,
    lent,
    nearest,
)
from siteplan.planning.kit.classes import margin_class
from siteplan.planning.kit.nearmiss import NearMisses, near_misses
from siteplan.planning.link.budget import Levels
from siteplan.planning.link.drive import SHARE_CUT
from siteplan.planning.link.ends import Kit, Links
from siteplan.planning.link.mispointing import within_beam
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.ways import Inbound, Outbound, both
from siteplan.planning.step import Columns, Raised, Told, flag

#: A reflector leaning back more than this from the vertical holds water [deg]; common practice.
NEAR_VERTICAL_TILT_DEG = 70.0

#: What the sentences on power tell.
_POWER = ("power_cut_db", "tx_power_w", "share_excess_db", "power_equivalent_mhz")
#: A carrier turned down to its share does not exceed it [dB].
_HAIR_DB = 1e-9
#: Where the kit of a site comes from.
PICKED, INSTALLED, PART_INSTALLED, NONE = "picked", "installed", "part_installed", "none"


@frozen(eq=False)
class Sizing(Arrays):
    """Kit and margins (n,), and the margin with each antenna of the catalogue (n, a) [dB].

    ``kit`` is what the margins are computed with, ``diameter_m`` (a,) the catalogue's antennas.
    ``place`` is that of the pair among those tried, one behind the last where none is given.
    """

    outbound_margin_db: Column
    inbound_margin_db: Column
    margin_db: Column
    margin_after_reserve_db: Column
    margin_class: TextColumn
    tried_antenna_m: Column
    tried_buc_w: Column
    limiting_direction: TextColumn
    antenna_m: Column
    buc_w: Column
    kit_source: TextColumn
    required_antenna_m: Column
    next_antenna_m: Column
    next_antenna_margin_db: Column
    catalogue_margin_db: FloatArray
    diameter_m: FloatArray
    near_miss: NearMisses
    lent: Lent
    kit: Kit
    ways: tuple[Outbound, Inbound]
    place: IntArray

    @property
    def given(self) -> dict[str, BoolArray]:
        """Where an antenna, a BUC and both are given to the site (n,), installed ones too."""
        dish, buc = ~np.isnan(self.kit.antenna_m), ~np.isnan(self.kit.buc_w)
        return {"dish": dish, "buc": buc, "kit": _is_pair(self.kit)}

    @property
    def missing(self) -> BoolArray:
        """Where an antenna or a BUC is missing (n,)."""
        return ~self.given["kit"]

    @property
    def coarse(self) -> BoolArray:
        """Where the error of pointing that is given rules every antenna out (n,)."""
        # The pair that comes nearest has a dish out of the beam only where every dish is.
        network = self.ways[0].link.network
        return ~self.given["dish"] & ~within_beam(network, self.kit.dish)

    @property
    def inbound_limits(self) -> BoolArray:
        """Where the inbound margin is the smaller one (n,)."""
        return np.round(self.inbound_margin_db, 6) < np.round(self.outbound_margin_db, 6)

    def columns(self) -> Columns:
        """Return the result fields by name, the catalogue's margins among them."""
        margins = zip(self.diameter_m.tolist(), self.catalogue_margin_db.T, strict=True)
        return super().columns() | {catalogue_margin_name(d): m for d, m in margins}


def size(
    link: Links,
    kinds: Catalogue,
    stands: Installed,
    p_pct: FloatArray,
    may_pick: BoolArray,
    *,
    cost: fit.Cost | None = None,
) -> Sizing:
    """Return the kit of each site and its margins.

    Parameters
    ----------
    link : Links
        Of n sites.
    kinds : Catalogue
        What may be picked.
    stands : Installed
        What sites have already: judged, not picked anew.
    p_pct : (n,) array
        Outages that the sites' availability targets allow [%].
    may_pick : (n,) array of bool
        False where no kit is given whatever the margin (too low an elevation).
    cost : Cost, optional
        What pairs cost: of those that fit the cheapest is picked, not the smallest.

    Returns
    -------
    Sizing
        The smallest antenna, then the smallest BUC, that meets both directions with the
        reserve, or the pair that does so at the least cost; where none does, the margins of
        the pair that comes nearest.
    """
    tries = candidates(kinds, stands)
    settled = stands.has_dish & stands.has_buc
    light = link if np.any(p_pct > FROZEN_P_PCT) else link.lighter()
    pair, found = fit.first_fit(light, tries, p_pct, settled=settled, cost=cost)
    kit = _kit(kinds, stands, pair, found & may_pick, tries)
    ways = both(link, kit)
    out, back = (margin_db(way, p_pct) for way in ways)
    margin, reserve = np.minimum(out, back), link.network.rules.reserve_db
    margins = fit.catalogue_margins_db(light, kinds, kit, (out, back), p_pct)
    rows, upgrade = np.arange(len(link)), _upgrade(kinds, kit)
    limits = np.where(np.round(back, 6) < np.round(out, 6), "inbound", "outbound")
    return Sizing(
        outbound_margin_db=out,
        inbound_margin_db=back,
        margin_db=margin,
        margin_after_reserve_db=margin - reserve,
        margin_class=margin_class(
            margin, link.network.rules.margin_classes_db, given=_is_pair(kit)
        ),
        limiting_direction=np.where(np.isnan(margin), "", limits).astype(object),
        tried_antenna_m=np.where(np.isnan(margin), np.nan, kit.dish_m),
        tried_buc_w=np.where(np.isnan(margin), np.nan, kit.tried_w),
        antenna_m=kit.antenna_m,
        buc_w=kit.buc_w,
        kit_source=kit.source,
        required_antenna_m=fit.required_antenna_m(light, kit, margin, p_pct),
        next_antenna_m=np.append(kinds.diameter_m, np.nan)[upgrade],
        next_antenna_margin_db=_with_none(margins)[rows, upgrade],
        catalogue_margin_db=margins,
        diameter_m=kinds.diameter_m,
        near_miss=near_misses(light, tries, pair, p_pct, picked=kit.source == PICKED),
        lent=lent(kinds, stands),
        kit=kit,
        ways=ways,
        place=np.where(found & may_pick, pair[0] * len(tries.dbw) + pair[1], tries.pairs),
    )


def _is_pair(kit: Kit) -> BoolArray:
    """Return where (n,) both an antenna and a BUC are given to the site."""
    return ~np.isnan(kit.antenna_m) & ~np.isnan(kit.buc_w)


def _with_none(margins: FloatArray) -> FloatArray:
    """Return margins (n, a) with a column of NaN behind them."""
    return np.append(margins, np.full((len(margins), 1), np.nan), axis=1)


def _kit(
    kinds: Catalogue,
    stands: Installed,
    pair: tuple[IntArray, IntArray],
    given: BoolArray,
    tries: Candidates,
) -> Kit:
    """Return the kit from the index of each site's pair and whether it is given to the site."""
    antenna, buc = pair
    dish = chosen_dish(tries.dishes, antenna)
    dish_m = np.asarray(dish.diameter_m)
    has_dish, has_buc = stands.has_dish, stands.has_buc
    source = np.where(
        has_dish & has_buc,
        INSTALLED,
        np.where(has_dish | has_buc, PART_INSTALLED, np.where(given, PICKED, NONE)),
    )
    tried_w = chosen(tries.watts, buc)
    return Kit(
        antenna_m=np.where(given | has_dish, dish_m, np.nan),
        buc_w=np.where(given | has_buc, tried_w, np.nan),
        source=source.astype(object),
        dish_m=dish_m,
        efficiency=np.asarray(dish.efficiency),
        offset_deg=np.where(
            has_dish,
            kinds.offset_deg[nearest(kinds.diameter_m, dish_m)],
            kinds.offset_deg[antenna],
        ),
        tried_w=tried_w,
        buc_dbw=chosen(tries.dbw, buc),
        pattern=np.asarray(dish.pattern),
        xpi_db=np.asarray(dish.xpi_db),
    )


def _upgrade(kinds: Catalogue, kit: Kit) -> IntArray:
    """Return the index of the next larger antenna of the catalogue (its length if none)."""
    return np.searchsorted(kinds.diameter_m, kit.dish_m + 1e-9, side="right")


def tried_told(of: Sizing) -> Told:
    """Return what heads a sentence on a pair that was tried and is not given to the site."""
    numbers = {"dish_m": of.kit.dish_m, "buc_w": of.kit.tried_w}
    return Told("report.tried", of.missing & ~np.isnan(of.margin_db), numbers)


def raised(of: Sizing, levels: Levels, elevation_deg: FloatArray) -> Iterator[Raised]:
    """Yield the flags that the kit decides; those of its margin are in ``shortfall``.

    Parameters
    ----------
    of, levels : Sizing, Levels
        Of n sites.
    elevation_deg : (n,) array
        Of the satellite [deg].
    """
    given = ~of.missing
    tilt = elevation_deg - of.kit.offset_deg
    power = {k: getattr(levels, k) for k in _POWER}
    cut, more = levels.power_cut_by == SHARE_CUT, given & (levels.share_excess_db > _HAIR_DB)
    spared = given & (levels.spared_db > _HAIR_DB)
    yield Raised("power_share", Told("flag.power_share.cut", given & cut & ~spared, power))
    yield Raised("power_share", Told("flag.power_share.spared", spared, power))
    yield Raised("power_share", Told("flag.power_share.free", more, power))
    yield Raised("kit_assumed", Told("flag.kit_assumed.antenna", of.lent.dish, vars(of.lent)))
    yield Raised("kit_assumed", Told("flag.kit_assumed.buc", of.lent.buc, vars(of.lent)))
    yield flag("near_vertical", tilt >= NEAR_VERTICAL_TILT_DEG, reflector_tilt_deg=tilt)
