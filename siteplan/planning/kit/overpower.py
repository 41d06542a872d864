"""Sites whose kit would radiate too much off axis: how far to turn it down, or what else to have.

Margins here are those with the power that the limits leave, whether the plan cuts it or reports.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray, TextArray, no_more, telling
from siteplan.planning.kit.catalogue import Catalogue, Installed, candidates
from siteplan.planning.kit.fit import enough_db, first_fit, pair_margin_db
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.ends import Links
from siteplan.planning.link.spectrum.licence import allowed
from siteplan.planning.link.ways import dish_at


class Overpower(NamedTuple):
    """What is told of sites over a limit (k,): keys of sentences, and what fills them."""

    key: TextArray
    numbers: dict[str, FloatArray | TextArray]


def overpower(of: Sizing, kinds: Catalogue, p_pct: FloatArray, index: IntArray) -> Overpower:
    """Return what helps the sites at ``index`` (k,), rising, whose power is over a limit.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    kinds : Catalogue
        What may be picked in place of what exceeds.
    p_pct : (n,) array
        Outages that the targets allow [%].
    index : (k,) array
        The sites.
    """
    link, dish = _obeying(of.ways[1].link.take(index)), dish_at(of.kit.dish, index)
    p_pct = p_pct[index]
    margin = pair_margin_db(link, dish, of.kit.buc_dbw[index], p_pct)
    nothing = np.full(len(index), np.nan)
    tries = candidates(kinds, Installed(nothing, nothing, nothing, nothing))
    holds = margin >= enough_db(link)
    (antenna, buc), fits = first_fit(link, tries, p_pct, settled=holds)
    most, names = allowed(link, dish), _names(link)
    after = margin - link.network.rules.reserve_db
    key = np.where(holds, "turn", np.where(fits, "kit", "none")).astype(object)
    return Overpower(key, {
        "mask": names[most.mask],
        "most_w": no_more(10 ** ((most.feed_dbw + link.network.terminal.tx_loss_db) / 10)),
        "after_db": telling(after),
        "short_db": telling(-after),
        "antenna_m": kinds.diameter_m[antenna],
        "buc_w": kinds.buc_w[buc],
    })  # fmt: skip


def _obeying(link: Links) -> Links:
    """Return links whose powers the limits cut; ``link.limits`` is not None."""
    assert link.limits is not None
    return replace(link, limits=replace(link.limits, cuts=True))


def _names(link: Links) -> TextArray:
    assert link.limits is not None
    return np.array([mask.name for mask in link.limits.masks], dtype=object)
