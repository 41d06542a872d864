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
from collections.abc import Iterator
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import (
    Arrays,
    BoolArray,
    FloatArray,
    IntArray,
    TextArray,
    TextColumn,
    at_sites,
    take,
)
from siteplan.frozen import frozen
from siteplan.messages import english
from siteplan.planning.certainty.items import Item, Stand
from siteplan.planning.certainty.together import Together, together
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
from siteplan.planning.link.ways import dish_at, inbound, outbound
from siteplan.planning.step import Columns

#: A step is parted into so many.
EIGHTHS: Final = 8
#: So many rows are asked about in one go, where few are left to ask about.
_AT_ONCE: Final = 1_000
#: Plans of more sites go without the tables, but where they are asked for.
TABLES_UP_TO: Final = 5_000
#: Names of the tables of ``Plan.tables``, (n, k) with a column for each of `items_of` the network:
#: the pair under the whole step, the least part of it that changes the pair [1/8] (0: none), and
#: the changes of margin [dB] and of the required diameter [m].
TABLES: Final = (
    *("sensitivity_antenna_m", "sensitivity_buc_w", "sensitivity_eighths"),
    *("sensitivity_margin_db", "sensitivity_required_m"),
)


#: Behind an item's code: sites that lose, or gain, a pair under its step.
LOST, GAINED = ":lost", ":gained"


@frozen(eq=False)
class Sensitivity(Arrays):
    """What changes the kit of sites (n,): the figure of which the least part of its step does.

    ``eighths`` (n, k) is the least part of each item's step that changes the pair [1/8], 0 where
    the whole step does not; ``antenna_m`` and ``buc_w`` (n, k) are the pair under the whole step.
    """

    most_sensitive: TextColumn
    antenna_m: FloatArray
    buc_w: FloatArray
    eighths: IntArray

    def counts(self, items: tuple[Item, ...], given: BoolArray) -> Counter[str]:
        """Return how many sites change their pair under each item's whole step, by its code.

        Behind the code with `LOST` those that get none then, with `GAINED` those that have none as
        planned: ``given`` (n,) tells who has.
        """
        changed = self.eighths > 0
        none, had = np.isnan(self.antenna_m) | np.isnan(self.buc_w), given[:, None]
        kinds = {"": changed, LOST: changed & none & had, GAINED: changed & ~none & ~had}
        return Counter(
            {
                item.code + kind: n
                for kind, where in kinds.items()
                for item, n in zip(items, where.sum(axis=0).tolist(), strict=True)
            }
        )


class Choice(NamedTuple):
    """What sites (n,) may choose from, and where kit is given to them at all.

    ``worth`` is what pairs cost, where the cheapest is picked.
    """

    kinds: Catalogue
    stands: Installed
    may_pick: BoolArray
    worth: Worth | None = None

    def take(self, index: IntArray) -> Choice:
        """Return the choice of the sites at ``index`` (k,)."""
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


def sensitivity(of: Sizing, stand: Stand, steps: Steps, choice: Choice) -> Sensitivity:
    """Return what would change the kit of sites.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    stand : Stand
        As they are planned.
    steps : Steps
        The items, and how the sites stand under the whole step of each.
    choice : Choice
        What they may choose from: a pair that stands does not change.
    """
    settled = choice.stands.has_dish & choice.stands.has_buc
    open_ = np.flatnonzero(choice.may_pick & ~settled & ~np.isnan(of.margin_db))
    now = Picked(of.place, of.kit.antenna_m, of.kit.buc_w)
    shape = len(stand.link), len(steps.items)
    flat, eighths = (np.zeros(shape, dtype=np.intp) for _ in range(2))
    antenna, buc = (np.repeat(size[:, None], shape[1], axis=1) for size in now[1:])
    for some, k, site in steps.at(open_):
        new = picked(some, choice.take(site), now.flat[site])
        flat[site, k], antenna[site, k], buc[site, k] = new
        eighths[site, k] = np.where(new.differ(now.take(site)), EIGHTHS, 0)
    parted = np.array([item.unit != "class" for item in steps.items])
    site, k = np.nonzero((eighths > 0) & parted)
    asked = Asked(stand, choice, now, steps.items, site, k, flat[site, k])
    eighths[site, k] = asked.least() if choice.worth is None else asked.first()
    return Sensitivity(_most(eighths, steps.items), antenna, buc, eighths)


class Steps(NamedTuple):
    """Items, and how sites (n,) stand under the whole step of each."""

    items: tuple[Item, ...]
    stands: list[Stand]

    def at(self, sites: IntArray) -> Iterator[Together]:
        """Yield how sites stand under every step, many at once."""
        everyone = np.arange(len(self.stands[0].link)) if self.stands else sites
        return together(self.stands, [sites] * len(self.stands), everyone)


def steps_of(stand: Stand, items: tuple[Item, ...]) -> Steps:
    """Return how sites stand under the whole step of each item."""
    return Steps(items, [item.at(stand) for item in items])


class Asked(NamedTuple):
    """Changes of pairs (r,) by whole steps: of which the least part is sought.

    ``stand``, ``choice`` and ``now``, the pairs that they have, are of all sites; ``site`` and
    ``item`` are those of each change, ``new`` the place of the pair that it leads to.
    """

    stand: Stand
    choice: Choice
    now: Picked
    items: tuple[Item, ...]
    site: IntArray
    item: IntArray
    new: IntArray

    def at(self, part: IntArray, rows: IntArray) -> Iterator[Together]:
        """Yield how the sites of ``rows`` (k,) stand under eighths ``part`` (r,), many at once."""
        key = self.item[rows] * (EIGHTHS + 1) + part[rows]
        each = np.unique(key).tolist()
        stands = [self.items[k // (EIGHTHS + 1)].at(self.stand, k % (EIGHTHS + 1) / EIGHTHS)
                  for k in each]  # fmt: skip
        return together(stands, [rows[key == k] for k in each], self.site)

    def least(self) -> IntArray:
        """Return the least eighths (r,) of steps that change the smallest pairs."""
        low, rows = np.zeros(len(self.new), dtype=np.intp), np.arange(len(self.new))
        high = np.full(len(rows), EIGHTHS)
        while np.any(high - low > 1):
            middle = (low + high) // 2
            for some, _, here in self.at(middle, rows):
                changes = self._changes(some, here)
                for bound, those in ((high, here[changes]), (low, here[~changes])):
                    bound[those] = middle[those]
        return high

    def first(self) -> IntArray:
        """Return the first eighths (r,) of steps that change the cheapest pairs."""
        found, rows = np.full(len(self.new), EIGHTHS), np.arange(len(self.new))
        for part in range(1, EIGHTHS):
            for some, _, here in self.at(np.full(len(found), part), rows):
                now, choice = self.now.take(self.site[here]), self.choice.take(self.site[here])
                moved = picked(some, choice, now.flat, self.new[here]).differ(now)
                found[here[moved]] = part
            rows = rows[found[rows] == EIGHTHS]
        return found

    def _changes(self, stand: Stand, rows: IntArray) -> BoolArray:
        """Return where the pairs of some rows (k,) change as their sites stand by a part.

        Where the whole step leads to a larger pair, that of now must fail; else one from it up to
        the pair of now must fit.
        """
        site, new = self.site[rows], self.new[rows]
        now, tries = self.now.flat[site], self.choice.take(site).tries(stand)
        larger = new > now
        found, place = np.zeros(len(rows), dtype=bool), np.where(larger, now, new)
        past = np.maximum(now, place + 1)  # behind the last place that is tried
        left = np.arange(len(rows))
        while left.size:
            # Many rows go on where none fits yet; of few the next places are tried in one go.
            ahead = np.arange(max(1, _AT_ONCE // left.size))
            tried = place[left][:, None] + ahead
            k, which = np.nonzero(tried < past[left][:, None])
            fitting = np.zeros(tried.shape, dtype=bool)
            some = stand.take(left) if len(ahead) == 1 else stand.repeated(left[k])
            flat = np.minimum(tried[k, which], tries.pairs - 1)
            fitting[k, which] = _fits(some, tries, flat, left[k])
            fits = fitting.any(axis=1)
            found[left] = np.where(larger[left], ~fits, fits)
            place[left] += len(ahead)
            left = left[~fits & (place[left] < past[left])]
        return found


def _fits(stand: Stand, tries: Candidates, flat: IntArray, rows: IntArray) -> BoolArray:
    """Return where pairs fit the sites ``rows`` (k,), which stand as told (k,).

    ``flat`` (k,) are the places of the pairs among those tried.
    """
    bucs, dishes = len(tries.dbw), [dish_at(dish, rows) for dish in tries.dishes]
    dish = chosen_dish(dishes, flat // bucs)
    link, reserve = stand.link, fit.enough_db(stand.link)
    good = within_beam(link.network, dish, link.pointing_more_deg) | at_sites(tries.stands, rows)
    good &= excess_db(outbound(link, dish), reserve, stand.p_pct) >= 0
    left = np.flatnonzero(good)
    if left.size:
        power = chosen([at_sites(dbw, rows) for dbw in tries.dbw], flat % bucs)
        way = inbound(link.take(left), dish_at(dish, left), power[left])
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


def tables(of: Sizing, found: Sensitivity, steps: Steps) -> Columns:
    """Return the tables of n sites: the pairs, and what each whole step does to the kit as it is.

    The change of the margin, and that of the diameter that would just do with its BUC.
    """
    margin, required = (np.full(found.antenna_m.shape, np.nan) for _ in range(2))
    for some, k, site in steps.at(np.arange(len(margin))):
        kit = take(of.kit, site)
        dish = some.dish(kit.dish)
        own = fit.pair_margin_db(some.link, dish, kit.buc_dbw, some.p_pct)
        other = replace(kit, pattern=np.asarray(dish.pattern))
        asked = fit.required_antenna_m(some.link, other, own, some.p_pct)
        margin[site, k] = own - of.margin_db[site]
        required[site, k] = asked - of.required_antenna_m[site]
    values = found.antenna_m, found.buc_w, found.eighths, margin, required
    return dict(zip(TABLES, values, strict=True))
