"""What would change the kit of a site: which figure, by how much of a step, and to which pair.

For each item the smallest pair that fits is sought anew, by the function that picks (`fit`), where
a site has anything to choose. The least part of a step that changes the pair is sought by halves
among eighths of it: a change is taken to stay as the step grows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, FloatArray, IntArray, TextArray, TextColumn, take
from siteplan.messages import english
from siteplan.planning.certainty.items import Item, Stand, items_of
from siteplan.planning.kit import fit
from siteplan.planning.kit.catalogue import Candidates, Installed, candidates, chosen
from siteplan.planning.kit.pick import Sizing
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
    """What sites (n,) may choose from: the stock, what stands there, and where kit is given."""

    stock: Callable[[Installed], Candidates]
    stands: Installed
    may_pick: BoolArray

    def take(self, index: IntArray) -> Choice:
        """Return the choice of the sites at ``index`` (k,)."""
        return Choice(self.stock, take(self.stands, index), self.may_pick[index])


class Pairs(NamedTuple):
    """The pair given to sites (n,): diameter [m] and power [W], NaN where none is."""

    antenna_m: FloatArray
    buc_w: FloatArray

    def differ(self, other: Pairs) -> BoolArray:
        """Return where two pairs are not the same (n,)."""
        alike = (
            (a == b) | (np.isnan(a) & np.isnan(b)) for a, b in zip(self, other, strict=True)
        )
        return ~np.logical_and(*alike)

    def take(self, index: IntArray) -> Pairs:
        """Return the pairs of the sites at ``index`` (k,)."""
        return Pairs(self.antenna_m[index], self.buc_w[index])


def sensitivity(of: Sizing, stand: Stand, stands: Installed, may_pick: BoolArray) -> Sensitivity:
    """Return what would change the kit of sites.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    stand : Stand
        As they are planned.
    stands : Installed
        What they have already: a pair that stands does not change.
    may_pick : (n,) array of bool
        Where kit is given at all.
    """
    items, n = items_of(stand.link.network), len(stand.link)
    open_ = np.flatnonzero(
        may_pick & ~(stands.has_dish & stands.has_buc) & ~np.isnan(of.margin_db)
    )
    kinds = stand.shared.kinds
    choice = Choice(lambda there: candidates(kinds, there), stands, may_pick).take(open_)
    now = Pairs(of.kit.antenna_m, of.kit.buc_w)
    asked = _Asked(stand.take(open_), choice, now.take(open_))
    eighths = np.zeros((n, len(items)), dtype=np.int8)
    antenna, buc = (np.repeat(size[:, None], len(items), axis=1) for size in now)
    for k, item in enumerate(items if open_.size else ()):
        new, least = asked.under(item)
        antenna[open_, k], buc[open_, k] = new
        eighths[open_, k] = least
    return Sensitivity(_most(eighths, items), antenna, buc, eighths)


class _Asked(NamedTuple):
    """Sites (n,) that may choose, and the pairs that they have now."""

    stand: Stand
    choice: Choice
    now: Pairs

    def take(self, index: IntArray) -> _Asked:
        return _Asked(self.stand.take(index), self.choice.take(index), self.now.take(index))

    def under(self, item: Item) -> tuple[Pairs, IntArray]:
        """Return the pairs under an item's whole step, and the least eighths that change them."""
        new = pairs(item.at(self.stand), self.choice)
        changed = np.flatnonzero(new.differ(self.now))
        least = np.zeros(len(self.stand.link), dtype=np.int8)
        if changed.size:
            least[changed] = self.take(changed)._least(item)
        return new, least

    def _least(self, item: Item) -> IntArray:
        """Return the least eighths (n,) of a step that change pairs which the whole step does."""
        low = np.zeros(len(self.stand.link), dtype=np.intp)
        high = np.full(len(low), EIGHTHS)
        if item.unit == "class":
            return high
        while np.any(high - low > 1):
            middle = (low + high) // 2
            for part in np.unique(middle).tolist():
                rows = np.flatnonzero(middle == part)
                some = self.take(rows)
                new = pairs(item.at(some.stand, part / EIGHTHS), some.choice)
                differs = new.differ(some.now)
                high[rows[differs]], low[rows[~differs]] = part, part
        return high


def pairs(stand: Stand, choice: Choice) -> Pairs:
    """Return the pair that each site (n,) gets as it stands: the plan's pick."""
    tries, stands = choice.stock(choice.stands), choice.stands
    tries = tries._replace(dishes=[stand.dish(dish) for dish in tries.dishes])
    settled = stands.has_dish & stands.has_buc
    flat, found = fit.smallest_fit(stand.link, tries, stand.p_pct, settled=settled)
    antenna, buc = flat // len(tries.dbw), flat % len(tries.dbw)
    given = found & choice.may_pick & ~np.isnan(stand.link.site.downlink_loss_db)
    sizes = [dish.diameter_m for dish in tries.dishes]
    return Pairs(
        np.where(given | stands.has_dish, chosen(sizes, antenna), np.nan),
        np.where(given | stands.has_buc, chosen(tries.watts, buc), np.nan),
    )


def _most(eighths: IntArray, items: tuple[Item, ...]) -> TextArray:
    """Return the item of which the least part of its step changes the pair (n,), the first of ties.

    Empty where no whole step changes it.
    """
    names = np.array([*(told(item) for item in items), ""], dtype=object)
    part = np.where(eighths > 0, eighths, EIGHTHS + 1)
    none = np.full((len(part), 1), EIGHTHS)  # behind all: less than what no step changes
    return names[np.argmin(np.hstack([part, none + 0.5]), axis=1)]


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
