"""How sure the kit and the margin of sites are: what would change the one, the chance of the other.

The step of the chain that asks both, and what the outputs are told of it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from siteplan.answers.certainty import KitChange
from siteplan.arrays import Arrays, BoolArray
from siteplan.model import Sites
from siteplan.planning.certainty.chance import Chance, chance
from siteplan.planning.certainty.items import ITEMS, Stand, items_of
from siteplan.planning.certainty.sensitivity import (
    GAINED,
    LOST,
    Choice,
    Sensitivity,
    sensitivity,
    steps_of,
    tables,
    told,
)
from siteplan.planning.cost.worth import worth
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.step import Columns


class Sure(NamedTuple):
    """How sure kit and margin of sites (n,) are; ``tables`` is empty where they are not wanted.

    ``changes`` counts the sites whose pair each item's whole step changes, as `Sensitivity.counts`.
    """

    kit: Sensitivity
    margin: Chance
    tables: Columns
    changes: Counter[str]

    @property
    def steps(self) -> tuple[Arrays, ...]:
        """The steps that give result fields."""
        return (self.kit, self.margin)


def sure(sites: Sites, stand: Stand, of: Sizing, may_pick: BoolArray, *, tabled: bool) -> Sure:
    """Return how sure the kit and the margin of n sites of one pass are.

    Parameters
    ----------
    sites : Sites
        The sites.
    stand : Stand
        As they are planned.
    of : Sizing
        Their kit.
    may_pick : (n,) array of bool
        Where kit is given at all.
    tabled : bool
        Whether the tables of the file are wanted.
    """
    stand = stand.lighter()
    network, kinds = stand.link.network, stand.shared.kinds
    choice = Choice(kinds, installed(sites), may_pick, worth(sites, network, kinds))
    steps = steps_of(stand, items_of(network))
    found = sensitivity(of, stand, steps, choice)
    more = tables(of, found, steps) if tabled else {}
    counts = found.counts(steps.items, of.given["kit"])
    return Sure(found, chance(of, stand, sites), more, counts)


def in_order(changes: Iterable[Mapping[str, int]]) -> tuple[KitChange, ...]:
    """Return how many sites change their pair under each item, added up, in the table's order."""
    total: Counter[str] = Counter()
    for each in changes:
        total.update(dict(each))
    return tuple(
        KitChange(
            *(item.name, item.step, item.unit, told(item)),
            *(total[item.code + kind] for kind in ("", LOST, GAINED)),
        )
        for item in ITEMS
        if item.code in total
    )


def counted(changes: Iterable[KitChange]) -> Counter[str]:
    """Return the counts that `in_order` adds up."""
    found: Counter[str] = Counter()
    for of in changes:
        found.update({of.code: of.sites, of.code + LOST: of.lost, of.code + GAINED: of.gained})
    return found


def chance_rows(columns: Mapping[str, np.ndarray]) -> tuple[tuple[str, int], ...]:
    """Return how many sites have which chance of margin: classes in words, and sites.

    The classes are under 50 % (the margin is not there), 50 to 80, 80 to 95, and 95 % or more;
    sites without kit are in none.
    """
    found = columns["margin_confidence_pct"]
    known = found[~np.isnan(found)]
    at = np.searchsorted(CHANCE_BOUNDS_PCT, known, side="right")
    counts = np.bincount(at, minlength=len(CHANCE_BOUNDS_PCT) + 1).tolist()
    return tuple(zip(CHANCE_CLASSES, counts, strict=True))


#: Bounds of the classes of chance [%], and the classes in words.
CHANCE_BOUNDS_PCT = (50.0, 80.0, 95.0)
CHANCE_CLASSES = ("under 50 %", "50 to 80 %", "80 to 95 %", "95 % or more")
