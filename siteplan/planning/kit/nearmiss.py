"""Pairs that miss the reserve by a hair beside the one that was picked.

A margin is shown to a tenth of a decibel: a smaller pair may read as if it met the reserve.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, telling
from siteplan.planning.kit.catalogue import Candidates
from siteplan.planning.kit.fit import Pair, level_at
from siteplan.planning.link.ends import Dish, Level, Links
from siteplan.planning.link.outage import excess_db, margin_db
from siteplan.planning.link.ways import Inbound, Outbound, dish_at, inbound, outbound
from siteplan.planning.step import Told

#: A pair that misses the reserve by less is told [dB].
HAIR_DB = 0.1


@dataclass(frozen=True)
class NearMisses:
    """The next smaller pairs that miss the reserve by less than a hair, arrays (n,).

    ``by_dish_db`` is what the next smaller antenna ``dish_m`` lacks with the largest BUC,
    ``by_buc_db`` what the antenna picked, ``own_m``, lacks with the next smaller BUC ``buc_w``;
    NaN where the pair misses by more, or there is none.
    """

    by_dish_db: FloatArray
    dish_m: FloatArray
    by_buc_db: FloatArray
    own_m: FloatArray
    buc_w: FloatArray


def near_misses(
    link: Links, tries: Candidates, pair: Pair, p_pct: FloatArray, *, picked: BoolArray
) -> NearMisses:
    """Return the pairs that miss the reserve by less than ``HAIR_DB``.

    Parameters
    ----------
    link : Links
        Of n sites.
    tries : Candidates
        Dishes and BUCs, smallest first.
    pair : pair of (n,) arrays
        Index of the antenna and the BUC picked.
    p_pct : (n,) array
        Outages allowed [%].
    picked : (n,) array of bool
        Where kit was picked.
    """
    antenna, buc = pair
    n, last = len(link), len(tries.dbw) - 1
    by_dish, dish_m, by_buc, own_m, buc_w = (np.full(n, np.nan) for _ in range(5))
    for a, dish in enumerate(tries.dishes):
        above = np.flatnonzero(picked & (antenna == a + 1))
        by_dish[above] = _lacks_db(link, (dish, tries.dbw[last]), above, p_pct)
        dish_m[above] = level_at(dish.diameter_m, above)
        for b in range(last):
            here = np.flatnonzero(picked & (antenna == a) & (buc == b + 1))
            by_buc[here] = _lacks_db(link, (dish, tries.dbw[b]), here, p_pct)
            own_m[here] = level_at(dish.diameter_m, here)
            buc_w[here] = level_at(tries.watts[b], here)
    return NearMisses(by_dish, dish_m, by_buc, own_m, buc_w)


def _lacks_db(
    link: Links, pair: tuple[Dish, Level], index: IntArray, p_pct: FloatArray
) -> FloatArray:
    """Return what a pair lacks of the reserve (k,) [dB], NaN where that is more than a hair."""
    level = link.network.rules.reserve_db - HAIR_DB
    near = index[excess_db(_out(link, pair, index), level, p_pct[index]) >= 0]
    near = near[excess_db(_back(link, pair, near), level, p_pct[near]) >= 0]
    margins = (margin_db(way(link, pair, near), p_pct[near]) for way in (_out, _back))
    found = np.full(len(link), np.nan)
    found[near] = level + HAIR_DB - np.minimum(*margins)
    return found[index]


def _out(link: Links, pair: tuple[Dish, Level], index: IntArray) -> Outbound:
    return outbound(link.take(index), dish_at(pair[0], index))


def _back(link: Links, pair: tuple[Dish, Level], index: IntArray) -> Inbound:
    return inbound(link.take(index), dish_at(pair[0], index), level_at(pair[1], index))


def told(x: NearMisses) -> Iterator[Told]:
    """Yield what the next smaller pairs lack."""
    numbers = {
        "dish_m": x.dish_m, "own_m": x.own_m, "buc_w": x.buc_w,
        "by_dish_db": telling(x.by_dish_db), "by_buc_db": telling(x.by_buc_db),
    }  # fmt: skip
    yield Told("near_miss.antenna", ~np.isnan(x.by_dish_db), numbers)
    yield Told("near_miss.buc", ~np.isnan(x.by_buc_db), numbers)
