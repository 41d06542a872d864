"""Which antenna and which BUC: the smallest that do, and how near the others come.

Decisions compare margins rounded to 1e-6 dB, so that they cannot hang on the last bits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, TextColumn
from siteplan.fields import catalogue_margin_name
from siteplan.physics.roots import find_roots
from siteplan.planning.kit.catalogue import Catalogue, Installed, nearest
from siteplan.planning.kit.classes import margin_class
from siteplan.planning.link.budget import inbound_margins_db, outbound_margin_db, pair_margin_db
from siteplan.planning.link.ends import Dish, Kit, Level, Links
from siteplan.planning.link.weather import Weather
from siteplan.planning.step import Columns, Raised, flag

#: Diameters [m] between which the antenna that would just do is sought.
REQUIRED_RANGE_M = (0.1, 30.0)

#: A reflector leaning back more than this from the vertical holds water [deg]; common practice.
NEAR_VERTICAL_TILT_DEG = 70.0

#: Where the kit of a site comes from.
PICKED, INSTALLED, PART_INSTALLED, NONE = "picked", "installed", "part_installed", "none"


@dataclass(frozen=True, eq=False)
class Sizing(Arrays):
    """Kit and margins (n,), and the margin with each antenna of the catalogue (n, a) [dB].

    ``kit`` is what the margins are computed with, ``diameter_m`` (a,) the catalogue's antennas.
    """

    outbound_margin_db: Column
    inbound_margin_db: Column
    margin_db: Column
    margin_class: TextColumn
    limiting_direction: TextColumn
    antenna_m: Column
    buc_w: Column
    kit_source: TextColumn
    required_antenna_m: Column
    next_antenna_m: Column
    next_antenna_margin_db: Column
    catalogue_margin_db: FloatArray
    diameter_m: FloatArray
    kit: Kit

    @property
    def given(self) -> dict[str, BoolArray]:
        """Where an antenna, a BUC and both are given to the site (n,), installed ones too."""
        dish, buc = ~np.isnan(self.kit.antenna_m), ~np.isnan(self.kit.buc_w)
        return {"dish": dish, "buc": buc, "kit": dish & buc}

    @property
    def missing(self) -> BoolArray:
        """Where an antenna or a BUC is missing (n,)."""
        return ~self.given["kit"]

    @property
    def inbound_limits(self) -> BoolArray:
        """Where the inbound margin is the smaller one (n,)."""
        return np.round(self.inbound_margin_db, 6) < np.round(self.outbound_margin_db, 6)

    def columns(self) -> Columns:
        """Return the result fields by name, the catalogue's margins among them."""
        margins = zip(self.diameter_m.tolist(), self.catalogue_margin_db.T, strict=True)
        return super().columns() | {catalogue_margin_name(d): m for d, m in margins}


def size(
    link: Links, kinds: Catalogue, installed: Installed, at: Weather, may_pick: BoolArray
) -> Sizing:
    """Return the kit of each site and its margins.

    Parameters
    ----------
    link : Links
        Of n sites.
    kinds : Catalogue
        What may be picked.
    installed : Installed
        What sites have already: judged, not picked anew.
    at : Weather
        At the sites' availability targets.
    may_pick : (n,) array of bool
        False where no kit is given whatever the margin (too low an elevation).

    Returns
    -------
    Sizing
        The smallest antenna, then the smallest BUC, that meets both directions with the
        reserve.
    """
    dishes, powers_w, powers_dbw = _candidates(kinds, installed)
    outbound = np.stack([outbound_margin_db(link, d, at) for d in dishes], axis=1)
    inbound = np.stack(
        [np.stack(inbound_margins_db(link, d, powers_dbw, at), axis=1) for d in dishes],
        axis=1,
    )
    worse = np.minimum(outbound[:, :, None], inbound)
    fits = np.round(worse, 6) >= link.network.rules.reserve_db
    antenna, buc, found = _first_fit(fits)
    kit = _kit(kinds, installed, (antenna, buc), found & may_pick, (dishes, powers_w, powers_dbw))
    rows = np.arange(len(link))
    upgrade = _upgrade(kinds, kit)
    if installed.nothing:  # the grid above holds the catalogue's own antennas
        margins = np.minimum(outbound, inbound[rows, :, buc])
    else:
        margins = _catalogue_margins(link, kinds, kit, at)
    out, back = outbound[rows, antenna], inbound[rows, antenna, buc]
    margin = np.minimum(out, back)
    limits = np.where(np.round(back, 6) < np.round(out, 6), "inbound", "outbound")
    return Sizing(
        outbound_margin_db=out,
        inbound_margin_db=back,
        margin_db=margin,
        margin_class=margin_class(margin, link.network.rules.margin_classes_db),
        limiting_direction=np.where(np.isnan(margin), "", limits).astype(object),
        antenna_m=kit.antenna_m,
        buc_w=kit.buc_w,
        kit_source=kit.source,
        required_antenna_m=required_antenna_m(link, kit, at),
        next_antenna_m=np.append(kinds.diameter_m, np.nan)[upgrade],
        next_antenna_margin_db=_with_none(margins)[rows, upgrade],
        catalogue_margin_db=margins,
        diameter_m=kinds.diameter_m,
        kit=kit,
    )


def _with_none(margins: FloatArray) -> FloatArray:
    """Return margins (n, a) with a column of NaN behind them."""
    return np.append(margins, np.full((len(margins), 1), np.nan), axis=1)


def _candidates(
    kinds: Catalogue, installed: Installed
) -> tuple[list[Dish], list[Level], list[Level]]:
    """Return the dishes and BUCs to try: installed kit of a site stands in each place.

    Where nothing is installed the catalogue's numbers do for all sites.
    """
    if installed.nothing:
        return (
            [Dish(d, e) for d, e in zip(kinds.diameter_m, kinds.efficiency, strict=True)],
            list(kinds.buc_w),
            list(kinds.buc_dbw),
        )
    n = len(installed.antenna_m)
    near_dish = nearest(kinds.diameter_m, installed.antenna_m)
    near_buc = nearest(kinds.buc_w, installed.buc_w)
    has_dish, has_buc = ~np.isnan(installed.antenna_m), ~np.isnan(installed.buc_w)
    dishes = [
        Dish(
            np.where(has_dish, installed.antenna_m, d),
            np.where(has_dish, kinds.efficiency[near_dish], e),
        )
        for d, e in zip(kinds.diameter_m, kinds.efficiency, strict=True)
    ]
    watts: list[Level] = [np.where(has_buc, installed.buc_w, np.full(n, w)) for w in kinds.buc_w]
    dbw: list[Level] = [
        np.where(
            has_buc, 10 * np.log10(w) - kinds.buc_backoff_db[near_buc], 10 * np.log10(w) - backoff
        )
        for w, backoff in zip(watts, kinds.buc_backoff_db, strict=True)
    ]
    return dishes, watts, dbw


def _first_fit(fits: BoolArray) -> tuple[IntArray, IntArray, BoolArray]:
    """Return antenna and BUC index of the first pair that fits (else the largest), and whether."""
    n, _, bucs = fits.shape
    flat = fits.reshape(n, -1)
    found = np.asarray(flat.any(axis=1))
    index = np.where(found, flat.argmax(axis=1), flat.shape[1] - 1)
    return index // bucs, index % bucs, found


def _kit(
    kinds: Catalogue,
    installed: Installed,
    pair: tuple[IntArray, IntArray],
    given: BoolArray,
    candidates: tuple[list[Dish], list[Level], list[Level]],
) -> Kit:
    """Return the kit from the index of each site's pair and whether it is given to the site."""
    dishes, watts, dbw = candidates
    antenna, buc = pair
    dish_m = _chosen([d.diameter_m for d in dishes], antenna)
    efficiency = _chosen([d.efficiency for d in dishes], antenna)
    has_dish, has_buc = ~np.isnan(installed.antenna_m), ~np.isnan(installed.buc_w)
    source = np.where(
        has_dish & has_buc,
        INSTALLED,
        np.where(has_dish | has_buc, PART_INSTALLED, np.where(given, PICKED, NONE)),
    )
    tried_w = _chosen(watts, buc)
    return Kit(
        antenna_m=np.where(given | has_dish, dish_m, np.nan),
        buc_w=np.where(given | has_buc, tried_w, np.nan),
        source=source.astype(object),
        dish_m=dish_m,
        efficiency=efficiency,
        offset_deg=np.where(
            has_dish,
            kinds.offset_deg[nearest(kinds.diameter_m, dish_m)],
            kinds.offset_deg[antenna],
        ),
        tried_w=tried_w,
        buc_dbw=_chosen(dbw, buc),
    )


def _chosen(candidates: Sequence[Level], index: IntArray) -> FloatArray:
    """Return each site's candidate (n,), from numbers or arrays (n,)."""
    each = [np.broadcast_to(c, index.shape) for c in candidates]
    return np.stack(each, axis=1)[np.arange(len(index)), index]


def _upgrade(kinds: Catalogue, kit: Kit) -> IntArray:
    """Return the index of the next larger antenna of the catalogue (its length if none)."""
    return np.searchsorted(kinds.diameter_m, kit.dish_m + 1e-9, side="right")


def _catalogue_margins(link: Links, kinds: Catalogue, kit: Kit, at: Weather) -> FloatArray:
    """Return the margin with each antenna of the catalogue and the BUC of the kit (n, a)."""
    columns = [
        pair_margin_db(link, Dish(d, e), kit.buc_dbw, at)
        for d, e in zip(kinds.diameter_m, kinds.efficiency, strict=True)
    ]
    return np.stack(columns, axis=1)


def required_antenna_m(link: Links, kit: Kit, at: Weather) -> FloatArray:
    """Return the diameter (n,) [m] that would just meet both directions with the reserve.

    The BUC is that of the kit and the efficiency that of its dish. NaN where no diameter in
    ``REQUIRED_RANGE_M`` does, and below the horizon.
    """
    reserve = link.network.rules.reserve_db

    def excess(log_m: FloatArray, index: IntArray) -> FloatArray:
        dish = Dish(np.exp(log_m), kit.efficiency[index])
        part = link.take(index)
        margin = pair_margin_db(part, dish, kit.buc_dbw[index], at.take(index))
        return np.asarray(margin - reserve)

    low, high = (np.full(len(link), np.log(x)) for x in REQUIRED_RANGE_M)
    return np.asarray(np.exp(find_roots(excess, low, high, tolerance=1e-7)))


def raised(of: Sizing, share_excess_db: FloatArray, elevation_deg: FloatArray, reserve_db: float
           ) -> Iterator[Raised]:  # fmt: skip
    """Yield the flags that kit and margins decide.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    share_excess_db : (n,) array
        By how much the inbound carrier exceeds its share of the transponder's power [dB].
    elevation_deg : (n,) array
        Of the satellite [deg].
    reserve_db : float
        What must be left over [dB].
    """
    given, exact = ~of.missing, of.margin_db
    margin, tilt = np.round(exact, 6), elevation_deg - of.kit.offset_deg
    yield flag("margin_negative", given & (margin < 0), margin_db=exact)
    short = given & (margin >= 0) & (margin < reserve_db)
    yield flag("margin_short", short, margin_db=exact, reserve_db=reserve_db)
    yield flag("power_share", given & (share_excess_db > 0), share_excess_db=share_excess_db)
    yield flag("near_vertical", tilt >= NEAR_VERTICAL_TILT_DEG, reflector_tilt_deg=tilt)
