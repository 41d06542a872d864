"""Which antenna and which BUC: the smallest that do, and how near the others come.

Decisions compare margins rounded to 1e-6 dB, so that they cannot hang on the last bits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.network import Network
from siteplan.physics.roots import find_roots
from siteplan.planning.link.budget import (
    Dish,
    Level,
    Links,
    Weather,
    inbound_margin_db,
    inbound_margins_db,
    outbound_margin_db,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

#: Diameters [m] between which the antenna that would just do is sought.
REQUIRED_RANGE_M = (0.1, 30.0)

#: Where the kit of a site comes from.
PICKED, INSTALLED, PART_INSTALLED, NONE = "picked", "installed", "part_installed", "none"


@dataclass(frozen=True)
class Catalogue:
    """The network's antennas (a,) and BUCs (b,), smallest first."""

    diameter_m: FloatArray
    efficiency: FloatArray
    offset_deg: FloatArray
    buc_w: FloatArray
    buc_backoff_db: FloatArray

    @property
    def buc_dbw(self) -> FloatArray:
        """Power of each BUC after its back-off [dBW]."""
        return np.asarray(10 * np.log10(self.buc_w) - self.buc_backoff_db)


@dataclass(frozen=True)
class Installed:
    """Kit that sites have already (n,): NaN where there is none."""

    antenna_m: FloatArray
    buc_w: FloatArray


@dataclass(frozen=True)
class Kit:
    """The kit that each site is judged with (n,).

    ``antenna_m`` and ``buc_w`` are NaN where nothing was picked; ``dish_m``, ``efficiency``,
    ``offset_deg``, ``tried_w`` and ``buc_dbw`` are what the margins are computed with: the kit,
    or the largest pair of the catalogue where there is none.
    """

    antenna_m: FloatArray
    buc_w: FloatArray
    source: NDArray[np.object_]
    dish_m: FloatArray
    efficiency: FloatArray
    offset_deg: FloatArray
    tried_w: FloatArray
    buc_dbw: FloatArray

    @property
    def dish(self) -> Dish:
        """The dish of each site, for the budget."""
        return Dish(self.dish_m, self.efficiency)


@dataclass(frozen=True)
class Sizing:
    """Kit and margins (n,) [dB], and the margin with each antenna of the catalogue (n, a)."""

    kit: Kit
    outbound_margin_db: FloatArray
    inbound_margin_db: FloatArray
    catalogue_margin_db: FloatArray
    required_antenna_m: FloatArray
    next_antenna_m: FloatArray
    next_margin_db: FloatArray


def catalogue(network: Network) -> Catalogue:
    """Return the network's antennas and BUCs, smallest first."""
    antennas = sorted(network.antennas, key=lambda a: a.diameter_m)
    bucs = sorted(network.bucs, key=lambda b: b.rated_w)
    return Catalogue(
        np.array([a.diameter_m for a in antennas]),
        np.array([a.efficiency for a in antennas]),
        np.array([a.offset_angle_deg for a in antennas]),
        np.array([b.rated_w for b in bucs]),
        np.array([b.backoff_db for b in bucs]),
    )


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
    if _nothing_installed(installed):  # the grid above holds the catalogue's own antennas
        margins = np.minimum(outbound, inbound[rows, :, buc])
    else:
        margins = _catalogue_margins(link, kinds, kit, at)
    return Sizing(
        kit,
        outbound[rows, antenna],
        inbound[rows, antenna, buc],
        margins,
        required_antenna_m(link, kit, at),
        np.append(kinds.diameter_m, np.nan)[upgrade],
        np.append(margins, np.full((len(link), 1), np.nan), axis=1)[rows, upgrade],
    )


def _candidates(
    kinds: Catalogue, installed: Installed
) -> tuple[list[Dish], list[Level], list[Level]]:
    """Return the dishes and BUCs to try: installed kit of a site stands in each place.

    Where nothing is installed the catalogue's numbers do for all sites.
    """
    if _nothing_installed(installed):
        return (
            [Dish(d, e) for d, e in zip(kinds.diameter_m, kinds.efficiency, strict=True)],
            list(kinds.buc_w),
            list(kinds.buc_dbw),
        )
    n = len(installed.antenna_m)
    near_dish = _nearest(kinds.diameter_m, installed.antenna_m)
    near_buc = _nearest(kinds.buc_w, installed.buc_w)
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


def _nothing_installed(installed: Installed) -> bool:
    """Return whether no site has kit already."""
    return bool(np.isnan(installed.antenna_m).all() and np.isnan(installed.buc_w).all())


def _nearest(sizes: FloatArray, wanted: FloatArray) -> IntArray:
    """Return the index of the catalogue size nearest each wanted one (0 where NaN)."""
    gap = np.abs(sizes[None, :] - wanted[:, None])
    return np.asarray(np.argmin(np.where(np.isnan(gap), 0.0, gap), axis=1))


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
            kinds.offset_deg[_nearest(kinds.diameter_m, dish_m)],
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


def pair_margin_db(link: Links, dish: Dish, buc_dbw: FloatArray, at: Weather) -> FloatArray:
    """Return the smaller of the two directions' margins (n,) [dB]."""
    return np.minimum(
        outbound_margin_db(link, dish, at), inbound_margin_db(link, dish, buc_dbw, at)
    )


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
