"""What fits: the smallest pair that does, the nearest miss, and the diameter that just would.

A pair fits where the outage that it leaves at the reserve is no more than the target allows; one
function decides that, so that pick, margin and required diameter cannot disagree. Decisions
compare margins rounded to 1e-6 dB, so that they cannot hang on the last bits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, Narrowing, at_once, of_each
from siteplan.physics.roots import Ending, find_roots_near
from siteplan.planning.kit.catalogue import Candidates, Catalogue, chosen, chosen_dish
from siteplan.planning.link.ends import Dish, Kit, Level, Links
from siteplan.planning.link.mispointing import largest_under_m, within_beam
from siteplan.planning.link.outage import excess_db, margin_db
from siteplan.planning.link.spectrum.lobes import without_files
from siteplan.planning.link.ways import Inbound, Outbound, Way, dish_at, inbound, outbound

#: Diameters [m] between which the required antenna is sought.
REQUIRED_RANGE_M = (0.1, 30.0)
#: What a dish gains for each unit of the logarithm of its diameter [dB]: its area.
_DB_PER_LN_M = 20 / np.log(10)
#: Taken off the margin of a dish that is not picked, so that it comes nearest last [dB].
_BARRED_DB = 1e6
#: Half of the last decimal that decisions look at [dB].
_ROUNDING_DB = 5e-7
#: So many pairs are tried at all sites in one go; of more, each where no smaller one fits.
_AT_ONCE = 2000
#: What is asked of a way at outages allowed (n,) [%].
Ask = Callable[[Way, FloatArray], FloatArray]
#: Pair of a site: index of the antenna and of the BUC in the catalogue, arrays (n,).
Pair = tuple[IntArray, IntArray]
#: Index of an antenna or of a BUC in the catalogue: a number, or one a site (k,).
Index = IntArray | int


class Cost(Protocol):
    """What pairs cost at some sites (k,), which are told by their indices ``rows``.

    Antenna ``a`` and BUC ``b`` are indices in the catalogue: numbers, or one a site.
    """

    def out_mhz(self, out: Outbound, rows: IntArray) -> FloatArray:
        """Return the megahertz (k,) that sites take outbound with their dishes."""

    def least(
        self, a: int, b: int | None, out_mhz: FloatArray | None, rows: IntArray
    ) -> FloatArray:
        """Return what a pair costs at least (k,), before its inbound is known.

        None: with any BUC, whatever its outbound.
        """

    def cost(
        self, a: Index, b: Index, out_mhz: FloatArray, back: Inbound, rows: IntArray
    ) -> FloatArray:
        """Return what a pair costs (k,)."""


def first_fit(
    link: Links,
    tries: Candidates,
    p_pct: FloatArray,
    *,
    settled: BoolArray,
    cost: Cost | None = None,
) -> tuple[Pair, BoolArray]:
    """Return the smallest pair of each site that fits, or the cheapest, and where one does.

    Parameters
    ----------
    link : Links
        Of n sites.
    tries : Candidates
        Dishes and BUCs, smallest first.
    p_pct : (n,) array
        Outages allowed [%].
    settled : (n,) array of bool
        Where kit stands already, so that there is nothing to choose.
    cost : Cost, optional
        What pairs cost: of those that fit the cheapest is taken, not the smallest.

    Returns
    -------
    pair of (n,) arrays, (n,) array of bool
        Where nothing fits: the pair that comes nearest.
    """
    bucs, unseen = len(tries.dbw), np.isnan(link.site.downlink_loss_db)
    if cost is None:
        flat, found = smallest_fit(link, tries, p_pct, settled=settled)
    else:
        flat, found = cheapest_fit(link, tries, p_pct, settled=settled, cost=cost)
    lost = np.flatnonzero(~found)
    if lost.size:
        flat[lost] = _nearest_miss(link.take(lost), tries, lost, p_pct[lost])
    return (flat // bucs, flat % bucs), found & ~unseen


def smallest_fit(
    link: Links, tries: Candidates, p_pct: FloatArray, *, settled: BoolArray
) -> tuple[IntArray, BoolArray]:
    """Return the place of each site's smallest pair that fits (n,), and where there is one.

    Pairs count by dish, then by BUC; where none fits it is the last. Sites that do not see the
    satellite, or are ``settled``, count as found. Arguments as of `first_fit`.
    """
    bucs, unseen = len(tries.dbw), np.isnan(link.site.downlink_loss_db)
    found = settled | unseen
    flat = np.where(settled, 0, len(tries.dishes) * bucs - 1)
    left = np.flatnonzero(~found)
    if left.size * tries.pairs <= _AT_ONCE:
        fits = fitting(link, tries, p_pct, left)
        some = fits.any(axis=1)
        found[left[some]], flat[left[some]] = True, np.argmax(fits[some], axis=1)
        return flat, found
    reserve = enough_db(link)
    for a, dish in enumerate(tries.dishes):
        open_ = np.flatnonzero(~found & _may_point(link, tries, dish))
        part = link.take(open_)
        good = excess_db(outbound(part, dish_at(dish, open_)), reserve, p_pct[open_]) >= 0
        open_ = open_[good]
        for b, power in enumerate(tries.dbw):
            if not open_.size:
                break
            way = inbound(link.take(open_), dish_at(dish, open_), level_at(power, open_))
            good = excess_db(way, reserve, p_pct[open_]) >= 0
            found[open_[good]], flat[open_[good]] = True, a * bucs + b
            open_ = open_[~good]
    return flat, found


def fitting(link: Links, tries: Candidates, p_pct: FloatArray, at: IntArray) -> BoolArray:
    """Return which pairs fit the sites ``at`` (k,), rising: (k, pairs), by dish and then by BUC.

    Arguments are else as of `first_fit`.
    """
    reserve, bucs = enough_db(link), len(tries.dbw)

    def excess(way: Way, p_pct: FloatArray) -> FloatArray:
        return excess_db(way, reserve, p_pct)

    may = [np.broadcast_to(_may_point(link, tries, dish), len(link)) for dish in tries.dishes]
    pointed = [at[where[at]] for where in may]
    out = outbound_asked(link, tries.dishes, pointed, p_pct, excess)
    held = [rows[over >= 0] for rows, over in zip(pointed, out, strict=True)]
    pairs = [
        (dish, power, rows)
        for dish, rows in zip(tries.dishes, held, strict=True)
        for power in tries.dbw
    ]
    found = np.zeros((len(link), len(pairs)), dtype=bool)
    for k, over in enumerate(inbound_asked(link, pairs, p_pct, excess)):
        rows = held[k // bucs]
        found[rows[over >= 0], k] = True
    return found[at]


def cheapest_fit(
    link: Links,
    tries: Candidates,
    p_pct: FloatArray,
    *,
    settled: BoolArray,
    cost: Cost,
    first: Sequence[IntArray] = (),
) -> tuple[IntArray, BoolArray]:
    """Return the place of each site's pair of least cost that fits (n,), and where there is one.

    Of pairs that cost the same the smallest antenna is taken, then the smallest BUC. All else is as
    of `smallest_fit`. ``first`` are places (n,) of pairs to begin with, past the last for none:
    they change nothing but that what is dearer than one of them that fits need not be tried.
    """
    last, unseen = len(tries.dishes) * len(tries.dbw) - 1, np.isnan(link.site.downlink_loss_db)
    closed = settled | unseen
    best = _Cheapest(link, tries, p_pct, cost)
    for flat in first:
        best.begin(flat, np.flatnonzero(~closed & (flat <= last)))
    for a in range(len(tries.dishes)):
        best.with_dish(a, np.flatnonzero(~closed))
    found = best.flat <= last
    return np.where(found, best.flat, np.where(settled, 0, last)), closed | found


class _Cheapest:
    """The cheapest pairs (n,) among those tried so far: their place ``flat``, their cost."""

    def __init__(self, link: Links, tries: Candidates, p_pct: FloatArray, cost: Cost) -> None:
        self._link, self._tries, self._p_pct, self._cost = link, tries, p_pct, cost
        self.flat = np.full(len(p_pct), len(tries.dishes) * len(tries.dbw))
        self._least = np.full(len(p_pct), np.inf)

    def begin(self, flat: IntArray, rows: IntArray) -> None:
        """Try pairs of their own, by their places (n,), at the sites ``rows`` (k,)."""
        bucs = len(self._tries.dbw)
        flat = np.minimum(flat, len(self._tries.dishes) * bucs - 1)
        dish = chosen_dish(self._tries.dishes, flat // bucs)
        out, mhz, rows = self._holding(dish, self._pointed(dish, rows))
        power, place = chosen(self._tries.dbw, flat % bucs), flat[rows]
        self._try((place // bucs, place % bucs), power, (out, mhz), rows)

    def with_dish(self, a: int, rows: IntArray) -> None:
        """Try a dish with all BUCs at the sites ``rows`` (k,): what may cost less, or the same."""
        dish = self._tries.dishes[a]
        rows = self._pointed(dish, rows[self._near(a, None, None, rows)])
        out, mhz, rows = self._holding(dish, rows, a)
        for b, power in enumerate(self._tries.dbw):
            near = self._near(a, b, mhz, rows)
            if near.size:
                self._try((a, b), power, (out.take(near), mhz[near]), rows[near])

    def _near(self, a: int, b: int | None, mhz: FloatArray | None, rows: IntArray) -> IntArray:
        """Return the places among ``rows`` (k,) where a pair may cost less, or the same."""
        return np.flatnonzero(self._cost.least(a, b, mhz, rows) <= self._least[rows])

    def _pointed(self, dish: Dish, rows: IntArray) -> IntArray:
        """Return those of the sites ``rows`` (k,) whose dish keeps the satellite in its beam."""
        may = np.broadcast_to(_may_point(self._link, self._tries, dish), self.flat.shape)
        return rows[may[rows]]

    def _holding(
        self, dish: Dish, rows: IntArray, a: int | None = None
    ) -> tuple[Outbound, FloatArray, IntArray]:
        """Return outbound and its megahertz for those of the sites ``rows`` (k,) that it serves.

        With a dish ``a`` of the catalogue only for those where that may cost less, or the same.
        """
        out = outbound(self._link.take(rows), dish_at(dish, rows))
        mhz = self._cost.out_mhz(out, rows)
        if a is not None:
            near = self._near(a, None, mhz, rows)
            out, mhz, rows = out.take(near), mhz[near], rows[near]
        held = np.flatnonzero(excess_db(out, enough_db(self._link), self._p_pct[rows]) >= 0)
        return out.take(held), mhz[held], rows[held]

    def _try(
        self,
        pair: tuple[Index, Index],
        power: Level,
        known: tuple[Outbound, FloatArray],
        rows: IntArray,
    ) -> None:
        """Take a pair at the sites ``rows`` (k,) where it fits and costs less, or the same.

        ``known`` is outbound with its megahertz; of the same cost the first is taken.
        """
        out, mhz = known
        back = inbound(out.link, out.dish, level_at(power, rows))
        fits = np.flatnonzero(excess_db(back, enough_db(self._link), self._p_pct[rows]) >= 0)
        back, rows, mhz = back.take(fits), rows[fits], mhz[fits]
        a, b = (x[fits] if isinstance(x, np.ndarray) else x for x in pair)
        cost = self._cost.cost(a, b, mhz, back, rows)
        place = np.broadcast_to(a * len(self._tries.dbw) + b, rows.shape)
        before = self._least[rows]
        less = (cost < before) | ((cost == before) & (place < self.flat[rows]))
        self._least[rows[less]], self.flat[rows[less]] = cost[less], place[less]


def enough_db(link: Links) -> float:
    """Return the margin [dB] that decisions ask for: the reserve, to the decimal they look at."""
    return link.network.rules.reserve_db - _ROUNDING_DB


def _may_point(link: Links, tries: Candidates, dish: Dish) -> BoolArray:
    """Return where a dish keeps the satellite in its beam, or stands already: numbers or (n,)."""
    return within_beam(link.network, dish, link.pointing_more_deg) | tries.stands


def _nearest_miss(link: Links, tries: Candidates, index: IntArray, p_pct: FloatArray) -> IntArray:
    """Return the pair (k,) with the best margin at each site, the largest of equal ones."""
    everyone, bucs = np.arange(len(index)), len(tries.dbw)
    dishes = [dish_at(whole, index) for whole in tries.dishes]
    out = outbound_asked(link, dishes, [everyone] * len(dishes), p_pct)
    pairs = [(d, level_at(power, index), everyone) for d in dishes for power in tries.dbw]
    back = inbound_asked(link, pairs, p_pct)
    barred = [np.where(within_beam(link.network, dish), 0.0, _BARRED_DB) for dish in dishes]
    margins = [np.minimum(out[k // bucs], b) - barred[k // bucs] for k, b in enumerate(back)]
    best = np.argmax(np.round(np.stack(margins[::-1], axis=1), 6), axis=1)
    return np.asarray(len(margins) - 1 - best)


def level_at(level: Level, index: IntArray) -> Level:
    """Return the levels of the sites at ``index`` (k,); a number serves all."""
    return level[index] if isinstance(level, np.ndarray) else level


def catalogue_margins_db(
    link: Links,
    kinds: Catalogue,
    kit: Kit,
    known_db: tuple[FloatArray, FloatArray],
    p_pct: FloatArray,
) -> FloatArray:
    """Return the margin with each antenna of the catalogue and the BUC of the kit (n, a) [dB].

    ``known_db`` are the margins of the kit itself, outbound and inbound.
    """
    columns = np.repeat(np.minimum(*known_db)[:, None], len(kinds.dishes), axis=1)
    others = [
        np.flatnonzero(np.any([m != its for m, its in zip(kit.dish, dish, strict=True)], axis=0))
        for dish in kinds.dishes
    ]
    pairs = [(d, kit.buc_dbw, rows) for d, rows in zip(kinds.dishes, others, strict=True)]
    out = outbound_asked(link, kinds.dishes, others, p_pct)
    back = inbound_asked(link, pairs, p_pct)
    for a, rows in enumerate(others):
        columns[rows, a] = np.minimum(out[a], back[a])
    return columns


def outbound_asked(
    link: Links,
    dishes: Sequence[Dish],
    sites: Sequence[IntArray],
    p_pct: FloatArray,
    ask: Ask = margin_db,
) -> list[FloatArray]:
    """Return the outbound margins (k,) [dB] with each dish at some sites, many at once.

    Parameters
    ----------
    link : Links
        Of n sites.
    dishes : sequence of Dish
        Numbers, or one a site (n,).
    sites : sequence of (k,) arrays
        The sites asked about with each of them, rising.
    p_pct : (n,) array
        Outages allowed [%].
    ask : callable, optional
        What else than the margin is asked for, of the ways and their outages (k,).
    """

    def way(part: Links, some: list[int], which: IntArray, site: IntArray) -> Way:
        return outbound(part, _dish_of([dishes[k] for k in some], which, site))

    return _asked(link, sites, p_pct, ask, way)


def inbound_asked(
    link: Links,
    pairs: Sequence[tuple[Dish, Level, IntArray]],
    p_pct: FloatArray,
    ask: Ask = margin_db,
) -> list[FloatArray]:
    """Return the inbound margins (k,) [dB] with each pair at some sites, many at once.

    ``pairs`` are a dish, a BUC's power [dBW], and the sites (k,), as of `outbound_asked`.
    """

    def way(part: Links, some: list[int], which: IntArray, site: IntArray) -> Way:
        dish = _dish_of([pairs[k][0] for k in some], which, site)
        return inbound(part, dish, of_each([pairs[k][1] for k in some], which, site))

    return _asked(link, [rows for _, _, rows in pairs], p_pct, ask, way)


def _asked(
    link: Links,
    sites: Sequence[IntArray],
    p_pct: FloatArray,
    ask: Ask,
    way: Callable[[Links, list[int], IntArray, IntArray], Way],
) -> list[FloatArray]:
    """Return what is asked of some sites of each group (k,), many groups at once.

    ``way`` is made of links, some of the groups, which of them each row (r,) is of, and its site.
    """
    found: list[FloatArray] = [np.empty(0)] * len(sites)
    those = Narrowing(link)
    for some in at_once([len(rows) for rows in sites]):
        site = np.concatenate([sites[k] for k in some])
        which = np.repeat(np.arange(len(some)), [len(sites[k]) for k in some])
        part = those.at(site) if len(some) == 1 else link.repeated(site)
        answers = ask(way(part, some, which, site), p_pct[site])
        within = slice(some[0], some[-1] + 1)
        found[within] = np.split(answers, np.cumsum([len(of) for of in sites[within]])[:-1])
    return found


def _dish_of(dishes: Sequence[Dish], which: IntArray, site: IntArray) -> Dish:
    """Return the dish of each row, by its group and its site."""
    return Dish(*(of_each(part, which, site) for part in zip(*dishes, strict=True)))


def pair_margin_db(link: Links, dish: Dish, buc_dbw: Level, p_pct: FloatArray) -> FloatArray:
    """Return the smaller of the two directions' margins (n,) [dB] at outages (n,) [%]."""
    out = margin_db(outbound(link, dish), p_pct)
    return np.minimum(out, margin_db(inbound(link, dish, buc_dbw), p_pct))


def required_antenna_m(
    link: Links, kit: Kit, margin_db: FloatArray, p_pct: FloatArray
) -> FloatArray:
    """Return the diameter (n,) [m] that would just meet both directions with the reserve.

    The BUC is that of the kit, efficiency and side lobes are those of its dish (S.580-6's in
    place of a measured pattern). The least of ``REQUIRED_RANGE_M`` where that does; NaN where none
    in the range does, and below the horizon. An error of pointing that is given ends the range
    where it reaches the edge of the half-power beam: beyond, a margin no longer rises.

    Parameters
    ----------
    link, kit : Links, Kit
        Of n sites.
    margin_db : (n,) array
        Of the kit [dB]: where the search begins.
    p_pct : (n,) array
        Outages allowed [%].
    """
    those = Narrowing(link)

    def exceeds(ln_m: FloatArray, index: IntArray) -> FloatArray:
        return _reserve_excess_db(those.at(index), np.exp(ln_m), kit, index, p_pct[index])

    least_m, most_m = REQUIRED_RANGE_M
    within_m = largest_under_m(link.network, link.pointing_more_deg)
    low, high = np.log(least_m), np.log(np.clip(within_m, least_m, most_m))
    over = np.where(np.isnan(margin_db), 0.0, margin_db - enough_db(link))
    start = np.clip(np.log(kit.dish_m) - over / _DB_PER_LN_M, low, high)
    first = exceeds(start, np.arange(len(link)))
    step = np.abs(first) / _DB_PER_LN_M + 1e-6
    found = np.exp(find_roots_near(exceeds, (start, first), step, (low, high), ending=Ending(1e-7)))
    unknown = np.flatnonzero(np.isnan(found))
    if unknown.size:
        least = np.full(unknown.size, REQUIRED_RANGE_M[0])
        excess = _reserve_excess_db(link.take(unknown), least, kit, unknown, p_pct[unknown])
        found[unknown] = np.where(excess >= 0, least, np.nan)
    return np.asarray(found)


def _reserve_excess_db(
    link: Links, diameter_m: FloatArray, kit: Kit, index: IntArray, p_pct: FloatArray
) -> FloatArray:
    """Return how far a diameter exceeds the reserve (k,), by a measure of the same sign [dB]."""
    # A measured pattern is that of its own size: other diameters have S.580's.
    pattern = without_files(kit.pattern[index])
    dish = Dish(diameter_m, kit.efficiency[index], pattern, kit.xpi_db[index])
    reserve = enough_db(link)
    out = excess_db(outbound(link, dish), reserve, p_pct)
    back = excess_db(inbound(link, dish, kit.buc_dbw[index]), reserve, p_pct)
    return np.minimum(out, back)
