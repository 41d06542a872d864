"""What would change the kit of a site: which figure, by how much of a step, and to which pair.

For each item the pair is sought anew, by the function that picks (`fit`), where a site has anything
to choose: the smallest that fits, or with ``[rules] pick = "cost"`` the one of least cost that
does. A step moves the margin, by which pairs fit, and what they cost: a pair's own megahertz rest
on levels in clear sky, and are counted under the step by the plan's function (`Worth.cost`). The
target and rain change what fits alone; prices, and what sites ask for, stay.

The least part of a step that changes the smallest pair is sought by halves among eighths of it: a
change is taken to stay as the step grows. The cheapest pair may change and change back, as coding
goes by steps: there each eighth is tried.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, FloatArray, IntArray, TextArray, TextColumn, take
from siteplan.messages import english
from siteplan.planning.certainty.items import Item, Stand, items_of
from siteplan.planning.cost.worth import Worth
from siteplan.planning.kit import fit
from siteplan.planning.kit.catalogue import (
    Candidates,
    Catalogue,
    Installed,
    candidates,
    chosen,
    chosen_dish,
)
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.mispointing import within_beam
from siteplan.planning.link.outage import excess_db
from siteplan.planning.link.ways import at_sites, dish_at, inbound, outbound
from siteplan.planning.step import Columns

#: A step is parted into so many.
EIGHTHS: Final = 8
#: Plans of more sites go without the tables, but where they are asked for.
TABLES_UP_TO: Final = 5_000
#: Names of the tables of ``Plan.tables``, (n, k) with a column for each of `items_of` the network:
#: the pair under the whole step, the least part of it that changes the pair [1/8] (0: none), and
#: the changes of margin [dB] and of the required diameter [m].
TABLES: Final = (
    *("sensitivity_antenna_m", "sensitivity_buc_w", "sensitivity_eighths"),
    *("sensitivity_margin_db", "sensitivity_required_m"),
)


@dataclass(frozen=True, eq=False)
class Sensitivity(Arrays):
    """What changes the kit of sites (n,): the figure of which the least part of its step does.

    ``eighths`` (n, k) is the least part of each item's step that changes the pair [1/8], 0 where
    the whole step does not; ``antenna_m`` and ``buc_w`` (n, k) are the pair under the whole step.
    """

    most_sensitive: TextColumn
    antenna_m: FloatArray
    buc_w: FloatArray
    eighths: IntArray

    def counts(self, items: tuple[Item, ...]) -> Counter[str]:
        """Return how many sites change their pair under each item's whole step."""
        found = np.count_nonzero(self.eighths, axis=0).tolist()
        return Counter({item.code: n for item, n in zip(items, found, strict=True)})


class Choice(NamedTuple):
    """What sites (n,) may choose from, and where kit is given to them at all.

    ``worth`` is what pairs cost, where the cheapest is picked.
    """

    kinds: Catalogue
    stands: Installed
    may_pick: BoolArray
    worth: Worth | None = None

    def take(self, index: IntArray) -> Choice:
        """Return the choice of the sites at ``index`` (k,), distinct and rising."""
        worth = self.worth and self.worth.take(index)
        return Choice(self.kinds, take(self.stands, index), self.may_pick[index], worth)

    def tries(self, stand: Stand) -> Candidates:
        """Return the dishes and BUCs to try, as sites stand."""
        found = candidates(self.kinds, self.stands)
        return found._replace(dishes=[stand.dish(dish) for dish in found.dishes])


class Picked(NamedTuple):
    """The pair of each site (n,): its place among those tried, one behind the last for none."""

    flat: IntArray
    antenna_m: FloatArray
    buc_w: FloatArray

    def differ(self, other: Picked) -> BoolArray:
        """Return where two pairs are not the same (n,)."""
        alike = (
            (a == b) | (np.isnan(a) & np.isnan(b))
            for a, b in ((self.antenna_m, other.antenna_m), (self.buc_w, other.buc_w))
        )
        return np.asarray(~np.logical_and(*alike))

    def take(self, index: IntArray) -> Picked:
        """Return the pairs of the sites at ``index`` (k,)."""
        return Picked(self.flat[index], self.antenna_m[index], self.buc_w[index])


def picked(stand: Stand, choice: Choice, *first: IntArray) -> Picked:
    """Return the pair that each site (n,) gets as it stands: the plan's pick.

    ``first`` are places (n,) of pairs that it may well be.
    """
    tries, stands = choice.tries(stand), choice.stands
    settled = stands.has_dish & stands.has_buc
    if choice.worth is None:
        flat, found = fit.smallest_fit(stand.link, tries, stand.p_pct, settled=settled)
    else:
        flat, found = fit.cheapest_fit(
            *(stand.link, tries, stand.p_pct), settled=settled, cost=choice.worth, first=first
        )
    return _pair(flat, found & ~np.isnan(stand.link.site.downlink_loss_db), tries, choice)


def _pair(flat: IntArray, fits: BoolArray, tries: Candidates, choice: Choice) -> Picked:
    """Return pairs by their places (n,), as they are given to sites."""
    bucs, given, stands = len(tries.dbw), fits & choice.may_pick, choice.stands
    sizes = [dish.diameter_m for dish in tries.dishes]
    return Picked(
        np.where(given, flat, len(tries.dishes) * bucs),
        np.where(given | stands.has_dish, chosen(sizes, flat // bucs), np.nan),
        np.where(given | stands.has_buc, chosen(tries.watts, flat % bucs), np.nan),
    )


def sensitivity(of: Sizing, stand: Stand, choice: Choice) -> Sensitivity:
    """Return what would change the kit of sites.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    stand : Stand
        As they are planned.
    choice : Choice
        What they may choose from: a pair that stands does not change.
    """
    items, n, stands = items_of(stand.link.network), len(stand.link), choice.stands
    settled = stands.has_dish & stands.has_buc
    open_ = np.flatnonzero(choice.may_pick & ~settled & ~np.isnan(of.margin_db))
    choice = choice.take(open_)
    asked = asked_of(stand.take(open_), choice)
    eighths = np.zeros((n, len(items)), dtype=np.intp)
    antenna, buc = (
        np.repeat(size[:, None], len(items), axis=1) for size in (of.kit.antenna_m, of.kit.buc_w)
    )
    for k, item in enumerate(items if open_.size else ()):
        new, least = asked.under(item)
        antenna[open_, k], buc[open_, k], eighths[open_, k] = new.antenna_m, new.buc_w, least
    return Sensitivity(_most(eighths, items), antenna, buc, eighths)


class Asked(NamedTuple):
    """Sites (n,) that may choose, and the pairs that they have now."""

    stand: Stand
    choice: Choice
    now: Picked

    def take(self, index: IntArray) -> Asked:
        """Return the sites at ``index`` (k,), distinct and rising."""
        return Asked(self.stand.take(index), self.choice.take(index), self.now.take(index))

    def under(self, item: Item) -> tuple[Picked, IntArray]:
        """Return the pairs under an item's whole step, and the least eighths that change them."""
        new = picked(item.at(self.stand), self.choice, self.now.flat)
        changed = np.flatnonzero(new.differ(self.now))
        least = np.zeros(len(self.stand.link), dtype=np.intp)
        if changed.size and item.unit == "class":
            least[changed] = EIGHTHS
        elif changed.size:
            least[changed] = self.take(changed).least(item, new.flat[changed])
        return new, least

    def least(self, item: Item, new: IntArray) -> IntArray:
        """Return the least eighths (n,) of a step that change the pairs.

        ``new`` (n,) are the places of the pairs that the whole step leads to.
        """
        return _least(item, self, new) if self.choice.worth is None else _first(item, self, new)

    def changes(self, stand: Stand, new: IntArray) -> BoolArray:
        """Return where the pair changes (n,) as sites stand by a part of what leads to ``new``.

        ``new`` (n,) are the places of the pairs that the whole leads to: where that is a larger
        one, the pair of now must fail; else one from it up to the pair of now must fit.
        """
        tries = self.choice.tries(stand)
        last = len(tries.dishes) * len(tries.dbw) - 1
        larger = new > self.now.flat
        found, place = np.zeros(len(new), dtype=bool), np.where(larger, self.now.flat, new)
        rows = np.arange(len(new))
        while rows.size:
            fitting = _fits(stand.take(rows), tries, np.minimum(place, last), rows)
            found[rows] = np.where(larger[rows], ~fitting, fitting)
            place[rows] += 1
            more = ~larger[rows] & ~fitting & (place[rows] < self.now.flat[rows])
            rows = rows[more]
        return found


def asked_of(stand: Stand, choice: Choice) -> Asked:
    """Return sites (n,) with the pairs that they have as they stand."""
    return Asked(stand, choice, picked(stand, choice))


def _least(item: Item, of: Asked, new: IntArray) -> IntArray:
    """Return the least eighths (n,) of a step that change pairs which the whole step does."""
    low = np.zeros(len(new), dtype=np.intp)
    high = np.full(len(new), EIGHTHS)
    while np.any(high - low > 1):
        middle = (low + high) // 2
        for part in np.unique(middle).tolist():
            rows = np.flatnonzero(middle == part)
            some = of.take(rows)
            changes = some.changes(item.at(some.stand, part / EIGHTHS), new[rows])
            high[rows[changes]], low[rows[~changes]] = part, part
    return high


def _first(item: Item, of: Asked, new: IntArray) -> IntArray:
    """Return the first eighths (n,) of a step that change pairs which the whole step does."""
    found = np.full(len(of.stand.link), EIGHTHS)
    rows = np.arange(len(found))
    for part in range(1, EIGHTHS):
        some = of.take(rows)
        likely = some.now.flat, new[rows]
        moved = picked(item.at(some.stand, part / EIGHTHS), some.choice, *likely).differ(some.now)
        found[rows[moved]] = part
        rows = rows[~moved]
        if not rows.size:
            break
    return found


def _fits(stand: Stand, tries: Candidates, flat: IntArray, rows: IntArray) -> BoolArray:
    """Return where pairs fit the sites ``rows`` (k,), which stand as told (k,).

    ``flat`` (n,) are the places of the pairs among those tried.
    """
    dish = chosen_dish(tries.dishes, flat // len(tries.dbw), rows)
    reserve, stands = fit.enough_db(stand.link), tries.stands
    good = within_beam(stand.link.network, dish) | at_sites(stands, rows)
    good &= excess_db(outbound(stand.link, dish), reserve, stand.p_pct) >= 0
    left = np.flatnonzero(good)
    if left.size:
        power = chosen(tries.dbw, flat % len(tries.dbw), rows)
        way = inbound(stand.link.take(left), dish_at(dish, left), power[left])
        good[left] = excess_db(way, reserve, stand.p_pct[left]) >= 0
    return np.asarray(good)


def _most(eighths: IntArray, items: tuple[Item, ...]) -> TextArray:
    """Return the item of which the least part of its step changes the pair (n,), the first of ties.

    Empty where no whole step changes it.
    """
    names = np.array([*(told(item) for item in items), ""], dtype=object)
    part = np.where(eighths > 0, eighths, EIGHTHS + 1)
    none = np.full((len(part), 1), EIGHTHS)  # behind all: less than what no step changes
    return np.asarray(names[np.argmin(np.hstack([part, none + 0.5]), axis=1)])


def told(item: Item) -> str:
    """Return an item's step in words, such as ``EIRP -1 dB``."""
    return english().one(f"sensitivity.{item.code}")


def tables(of: Sizing, found: Sensitivity, stand: Stand) -> Columns:
    """Return the tables of n sites: the pairs, and what each whole step does to the kit as it is.

    The change of the margin, and that of the diameter that would just do with its BUC.
    """
    items, kit = items_of(stand.link.network), of.kit
    margin, required = (np.full(found.antenna_m.shape, np.nan) for _ in range(2))
    for k, item in enumerate(items):
        new = item.at(stand)
        dish = new.dish(kit.dish)
        own = fit.pair_margin_db(new.link, dish, kit.buc_dbw, new.p_pct)
        other = replace(kit, pattern=np.asarray(dish.pattern))
        asked = fit.required_antenna_m(new.link, other, own, new.p_pct)
        margin[:, k], required[:, k] = own - of.margin_db, asked - of.required_antenna_m
    values = found.antenna_m, found.buc_w, found.eighths, margin, required
    return dict(zip(TABLES, values, strict=True))
