"""What sites say of their hub, counted: parts of a plan add up to the same as the whole.

The hub's shares of their outage and their inbound margins with each hub antenna are counted by
value, rounded as they are told, so that medians of parts are those of the whole.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.hub.saturated import hub_limits_outbound, saturated
from siteplan.planning.link.hub.sizes import Size
from siteplan.planning.link.outage import Shares, margin_db
from siteplan.planning.link.ways import dish_at, inbound

#: Decimals that shares [%] and margins [dB] are counted by.
SHARE_DECIMALS, MARGIN_DECIMALS = 4, 2
#: What is counted beside the hub antennas' margins, by the head of its keys.
OUTBOUND, INBOUND, LIMITED, SATURATED, OWN = "outbound", "inbound", "limited", "saturated", "own"


def heard(of: Sizing, split: Shares, p_pct: FloatArray, sizes: Sequence[Size]) -> Counter[str]:
    """Return what the sites with kit say of their hub, counted by ``WHAT VALUE``.

    Parameters
    ----------
    of, split : Sizing, Shares
        Of n sites.
    p_pct : (n,) array
        Outages that their targets allow [%].
    sizes : sequence of Size
        Hub antennas to compare.
    """
    rows = np.flatnonzero(of.given["kit"] & ~np.isnan(of.margin_db))
    found: Counter[str] = Counter()
    for what, values in (
        (OUTBOUND, split.outbound_hub_outage_pct),
        (INBOUND, split.inbound_hub_outage_pct),
    ):
        found.update(_by_value(what, values[rows], SHARE_DECIMALS))
    for what, where in (
        (LIMITED, hub_limits_outbound(split)),
        (SATURATED, saturated(of.ways[0].link.hub, split)),
    ):
        found[what] += int(where[rows].sum())
    if sizes and rows.size:
        found.update(_by_value(OWN, of.inbound_margin_db[rows], MARGIN_DECIMALS))
        link = of.ways[1].link.take(rows)
        for size in sizes:
            other = replace(link, network=size.network, hub=size.hub)
            way = inbound(other, dish_at(of.kit.dish, rows), of.kit.buc_dbw[rows])
            margins = margin_db(way, p_pct[rows])
            found.update(_by_value(size.key, margins, MARGIN_DECIMALS))
    return found


def of_pass(number: int, counts: Mapping[str, int]) -> dict[str, int]:
    """Return counts marked with the pass of the beams whose sites were counted."""
    return {f"{number}:{what}": n for what, n in counts.items()}


def only_of(number: int, counts: Mapping[str, int]) -> dict[str, int]:
    """Return the counts of one pass, without its mark."""
    head = f"{number}:"
    return {what.removeprefix(head): n for what, n in counts.items() if what.startswith(head)}


def _by_value(what: str, values: FloatArray, decimals: int) -> dict[str, int]:
    """Return how many sites have each value, rounded; blanks are left out."""
    rounded = np.round(values[~np.isnan(values)], decimals) + 0.0  # no negative zero
    each, counts = np.unique(rounded, return_counts=True)
    pairs = zip(each.tolist(), counts.tolist(), strict=True)
    return {f"{what} {value:.{decimals}f}": n for value, n in pairs}


def values_of(counts: Mapping[str, int], what: str) -> FloatArray:
    """Return the values that were counted of something, each as often as it was, rising."""
    head = f"{what} "
    pairs = [(float(k[len(head) :]), n) for k, n in counts.items() if k.startswith(head)]
    values, times = (np.array([p[k] for p in pairs]) for k in range(2))
    return np.sort(np.repeat(values, times.astype(np.intp)))
