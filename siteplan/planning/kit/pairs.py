"""With which pair a change is told at a site without kit: the one that a plan would pick then.

A change is tried with the pair that comes nearest, which is most often the largest. Where it serves
with a smaller one too, naming the large one would have people buy it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, take
from siteplan.network import Network
from siteplan.planning.kit.catalogue import candidates, chosen, chosen_dish
from siteplan.planning.kit.fit import pair_margin_db, smallest_fit
from siteplan.planning.kit.needy import (
    LEAST_GAIN_DB,
    Case,
    Found,
    changed,
    under,
)
from siteplan.planning.link.ends import Dish, Links
from siteplan.planning.link.outage import excess_db
from siteplan.planning.link.ways import dish_at, inbound, outbound
from siteplan.planning.targets import from_basis_pct

#: Changes that name a BUC of their own, or a whole pair.
_OWN = ("buc", "kit")
#: Half of the last decimal that decisions look at [dB].
_ROUNDING_DB = 5e-7


def with_pairs(x: Case, found: Iterable[Found], missing: BoolArray) -> Iterator[Found]:
    """Yield changes with the pairs that are told: at sites ``missing`` (k,) kit the smallest.

    A setting that serves has the smallest pair that does, as the plan picks. Any other change keeps
    its antenna, with the smallest BUC that holds target and reserve, else the smallest that holds
    the target, else as it was tried. A BUC that stands is kept, and no change falls under what it
    must buy to be told.
    """
    for f in found:
        open_ = missing[f.at] & ~x.stands.has_buc[f.at]
        picks = f.dish is None
        if picks:
            open_ = missing[f.at] & ~(x.stands.has_buc & x.stands.has_dish)[f.at]
        open_ &= f.margin_db - x.margin_db[f.at] >= LEAST_GAIN_DB
        if f.code in _OWN or not open_.any():
            yield f
        else:
            yield _smaller(x, f, np.flatnonzero(open_), picks=picks)


def _smaller(x: Case, f: Found, here: IntArray, *, picks: bool) -> Found:
    """Return a change with smaller pairs where they do, of its places ``here`` (i,)."""
    at = f.at[here]
    link = under(x.link.take(at), _network(x, f))
    p_pct = _p_pct(x, f)[here]
    margin, antenna, buc = f.margin_db.copy(), f.antenna_m.copy(), f.buc_w.copy()
    left = np.arange(len(at))
    if picks:
        left = _picked(x, link, p_pct, (here, at), (margin, antenna, buc))
    left = left[~x.stands.has_buc[at[left]]]
    dish = x.dish(at[left]) if f.dish is None else dish_at(f.dish, here[left])
    known = x.margin_db[at[left]] + LEAST_GAIN_DB
    place = _least_buc(x, link.take(left), dish, p_pct[left], known)
    some = np.flatnonzero(place < len(x.kinds.buc_w))
    if some.size:
        which, rows = place[some], here[left[some]]
        power = x.kinds.buc_dbw[which]
        own = link.take(left[some])
        margin[rows] = pair_margin_db(own, dish_at(dish, some), power, p_pct[left[some]])
        buc[rows] = x.kinds.buc_w[which]
    return replace(f, margin_db=margin, antenna_m=antenna, buc_w=buc)


def _picked(
    x: Case,
    link: Links,
    p_pct: FloatArray,
    sites: tuple[IntArray, IntArray],
    told: tuple[FloatArray, FloatArray, FloatArray],
) -> IntArray:
    """Write margin, antenna and BUC of the pairs that would be picked; return the others (i,).

    ``sites`` are the places among the change's (i,), and those among the case's.
    """
    here, at = sites
    tries = candidates(x.kinds, take(x.stands, at))
    flat, fits = smallest_fit(link, tries, p_pct, settled=np.zeros(len(at), dtype=bool))
    antenna, buc = flat // len(tries.dbw), flat % len(tries.dbw)
    dish, power = chosen_dish(tries.dishes, antenna), chosen(tries.dbw, buc)
    margin = np.full(len(at), -np.inf)
    good = np.flatnonzero(fits)
    if good.size:
        own = link.take(good)
        margin[good] = pair_margin_db(own, dish_at(dish, good), power[good], p_pct[good])
    gains = fits & (margin - x.margin_db[at] >= LEAST_GAIN_DB)
    rows = here[gains]
    told[0][rows] = margin[gains]
    told[1][rows] = np.asarray(dish.diameter_m)[gains]
    told[2][rows] = chosen(tries.watts, buc)[gains]
    return np.flatnonzero(~gains)


def _least_buc(
    x: Case, link: Links, dish: Dish, p_pct: FloatArray, known_db: FloatArray
) -> IntArray:
    """Return the place of the smallest BUC (k,) that holds the reserve, else the target.

    Past the last where none does. ``known_db`` (k,) is what a margin must reach in any case.
    """
    bucs, reserve = x.kinds.buc_dbw.tolist(), x.network.rules.reserve_db
    found: IntArray = np.full(len(p_pct), len(bucs), dtype=np.intp)
    if not len(p_pct):
        return found
    for level in dict.fromkeys((reserve, 0.0)):
        goal = np.maximum(level - _ROUNDING_DB, known_db)
        open_ = np.flatnonzero(found == len(bucs))
        out = outbound(link.take(open_), dish_at(dish, open_))
        open_ = open_[excess_db(out, goal[open_], p_pct[open_]) >= 0]
        for b, power in enumerate(bucs):
            if not open_.size:
                break
            way = inbound(link.take(open_), dish_at(dish, open_), power)
            holds = excess_db(way, goal[open_], p_pct[open_]) >= 0
            found[open_[holds]] = b
            open_ = open_[~holds]
    return found


def _network(x: Case, f: Found) -> Network:
    """Return the network under a change."""
    network = x.network
    for table, key, value in f.sets:
        if table != "sites":
            network = changed(network, table, **{key: value})
    return network


def _p_pct(x: Case, f: Found) -> FloatArray:
    """Return the outages that the targets allow under a change (j,) [%]."""
    for table, key, value in f.sets:
        if (table, key) == ("sites", "availability_pct"):
            return from_basis_pct(x.network, 100 - np.asarray(value))
    return x.p_pct[f.at]
