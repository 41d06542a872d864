"""Pairs that miss the reserve by a hair beside the one that was picked.

A margin is shown to a tenth of a decibel: a smaller pair may read as if it met the reserve.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, at_sites, telling
from siteplan.frozen import frozen
from siteplan.planning.kit.catalogue import Candidates, chosen, chosen_dish
from siteplan.planning.kit.fit import Pair
from siteplan.planning.link.ends import Links
from siteplan.planning.link.outage import excess_db, margin_db
from siteplan.planning.link.ways import dish_at, inbound, outbound
from siteplan.planning.step import Told

#: A pair that misses the reserve by less is told [dB].
HAIR_DB = 0.1
#: Decisions compare margins to this many decimals.
_DECIMALS = 6


@frozen
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
    sizes = [dish.diameter_m for dish in tries.dishes]
    above = np.flatnonzero(picked & (antenna > 0))
    more = np.flatnonzero(picked & (buc > 0))
    # Both questions in one go: the antennas' sites stand before the BUCs'.
    index = np.concatenate([above, more])
    last = np.full(above.size, len(tries.dbw) - 1)
    pairs = np.append(antenna[above] - 1, antenna[more]), np.append(last, buc[more] - 1)
    lacks = _lacks_db(link, tries, pairs, index, p_pct[index])
    by_dish, by_buc = (np.full(len(link), np.nan) for _ in range(2))
    by_dish[above], by_buc[more] = lacks[: above.size], lacks[above.size :]
    return NearMisses(
        by_dish_db=by_dish,
        dish_m=_only(above, chosen(sizes, np.maximum(antenna - 1, 0))),
        by_buc_db=by_buc,
        own_m=_only(more, chosen(sizes, antenna)),
        buc_w=_only(more, chosen(tries.watts, np.maximum(buc - 1, 0))),
    )


def _only(index: IntArray, values: FloatArray) -> FloatArray:
    """Return values (n,) at ``index`` (k,), NaN elsewhere."""
    found = np.full(len(values), np.nan)
    found[index] = values[index]
    return found


def _lacks_db(
    link: Links, tries: Candidates, pair: Pair, index: IntArray, p_pct: FloatArray
) -> FloatArray:
    """Return what pairs (k,) at the sites ``index`` (k,) lack of the reserve [dB].

    NaN for more than a hair. A pair that lacks nothing was passed over for its cost, and is no
    miss. ``p_pct`` (k,) are the outages allowed [%].
    """
    level = link.network.rules.reserve_db - HAIR_DB
    dish = chosen_dish([dish_at(dish, index) for dish in tries.dishes], pair[0])
    power = chosen([at_sites(dbw, index) for dbw in tries.dbw], pair[1])
    out = outbound(link.repeated(index), dish)
    near = np.flatnonzero(excess_db(out, level, p_pct) >= 0)
    out = out.take(near)
    back = inbound(out.link, out.dish, power[near])
    held = np.flatnonzero(excess_db(back, level, p_pct[near]) >= 0)
    near, out, back = near[held], out.take(held), back.take(held)
    found = np.full(len(index), np.nan)
    if near.size:
        margin = np.minimum(margin_db(out, p_pct[near]), margin_db(back, p_pct[near]))
        lacks = level + HAIR_DB - margin
        found[near] = np.where(np.round(lacks, _DECIMALS) > 0, lacks, np.nan)
    return found


def told(x: NearMisses) -> Iterator[Told]:
    """Yield what the next smaller pairs lack."""
    numbers = {
        "dish_m": x.dish_m, "own_m": x.own_m, "buc_w": x.buc_w,
        "by_dish_db": telling(x.by_dish_db), "by_buc_db": telling(x.by_buc_db),
    }  # fmt: skip
    yield Told("near_miss.antenna", ~np.isnan(x.by_dish_db), numbers)
    yield Told("near_miss.buc", ~np.isnan(x.by_buc_db), numbers)
