"""One kit everywhere: which pairs of the catalogue fit each site, and what margin each would give.

Every pair is judged as if it stood at every site already, by the functions that judge the plan's
own: a plan with that pair as the sites' installed kit gives the same margins.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from siteplan.answers import Kind
from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.network import Network
from siteplan.planning.kit.catalogue import Catalogue, Installed, candidates, catalogue
from siteplan.planning.kit.fewest import PATTERN_BITS, fewest_kinds
from siteplan.planning.kit.fit import fitting, inbound_asked, outbound_asked
from siteplan.planning.link.ends import Links
from siteplan.planning.step import Columns
from siteplan.prices import kind_prices

#: Name of the table of margins in ``Plan.tables``: (n, k) [dB], a column for each of
#: ``Facts.pairs``.
MARGINS = "pair_margin_db"
#: So many pairs travel in a map at most.
MOST_PAIRS = 30


def kinds_of(kinds: Catalogue) -> list[Kind]:
    """Return the catalogue's pairs, by antenna and then by BUC, smallest first."""
    return [(d, w) for d in kinds.diameter_m.tolist() for w in kinds.buc_w.tolist()]


def fits(link: Links, kinds: Catalogue, p_pct: FloatArray, at: IntArray) -> BoolArray:
    """Return which pairs meet both directions with the reserve (k, pairs), at the sites ``at``.

    Parameters
    ----------
    link : Links
        Of n sites.
    kinds : Catalogue
        The pairs are in the order of `kinds_of`.
    p_pct : (n,) array
        Outages allowed [%].
    at : (k,) array
        Sites asked about, rising.
    """
    nothing = np.full(len(link), np.nan)
    tries = candidates(kinds, Installed(nothing, nothing, nothing, nothing))
    return fitting(link, tries, p_pct, at)


def counted(fitting: BoolArray) -> Counter[str]:
    """Return how many sites have each distinct pattern of ``fitting`` (k, pairs).

    A pattern is the pairs as bits, the first pair first, in hexadecimal.
    """
    packed = np.packbits(fitting, axis=1, bitorder=PATTERN_BITS)
    if not len(packed):
        return Counter()
    rows, sites = np.unique(packed, axis=0, return_counts=True)
    return Counter({row.tobytes().hex(): int(n) for row, n in zip(rows, sites, strict=True)})


def of_fits(counts: Mapping[str, int], network: Network) -> dict[str, Any]:
    """Return the facts that follow from how many sites have each pattern of fitting pairs."""
    kinds = kinds_of(catalogue(network))
    found = fewest_kinds(counts, kinds, kind_prices(network, kinds))
    return {"fits": tuple(sorted(counts.items())), "fewest": found}


def margins_db(
    link: Links, kinds: Catalogue, pairs: Sequence[Kind], p_pct: FloatArray
) -> FloatArray:
    """Return the margin of n sites with each of some pairs of the catalogue (n, k) [dB]."""
    dishes = dict(zip(kinds.diameter_m.tolist(), kinds.dishes, strict=True))
    powers = dict(zip(kinds.buc_w.tolist(), kinds.buc_dbw.tolist(), strict=True))
    used, everyone = list(dict.fromkeys(d for d, _ in pairs)), np.arange(len(link))
    each = [dishes[d] for d in used]
    out = outbound_asked(link, each, [everyone] * len(each), p_pct)
    pairs_of = [(dishes[d], powers[w], everyone) for d, w in pairs]
    back = inbound_asked(link, pairs_of, p_pct)
    known = dict(zip(used, out, strict=True))
    found = np.empty((len(link), len(pairs)))
    for k, (d, _) in enumerate(pairs):
        found[:, k] = np.minimum(known[d], back[k])
    return found


def travelling(kinds: Catalogue, pieces: Sequence[Columns]) -> tuple[Kind, ...]:
    """Return the pairs whose margins travel with a plan, in the catalogue's order.

    All of a catalogue of up to ``MOST_PAIRS``. Of a larger one those in use, the most used first,
    then the ones next above each: the next larger antenna, and the next larger BUC.

    Parameters
    ----------
    kinds : Catalogue
        What could be picked.
    pieces : sequence of dict
        Result fields of the plan, piece by piece.
    """
    every = kinds_of(kinds)
    if len(every) <= MOST_PAIRS:
        return tuple(every)
    used: Counter[Kind] = Counter()
    for columns in pieces:
        tried = zip(
            columns["tried_antenna_m"].tolist(), columns["tried_buc_w"].tolist(), strict=True
        )
        used.update(tried)
    place, bucs = {kind: k for k, kind in enumerate(every)}, len(kinds.buc_w)
    own = [place[kind] for kind, _ in used.most_common() if kind in place]
    above = [k for at in own for k in _next_above(at, bucs, len(every))]
    chosen = list(dict.fromkeys([*own, *above, len(every) - 1]))[:MOST_PAIRS]
    return tuple(every[k] for k in sorted(chosen))


def _next_above(at: int, bucs: int, pairs: int) -> list[int]:
    """Return the places of the pair with the next larger BUC, and of that with the next antenna."""
    larger_buc = [at + 1] if (at + 1) % bucs else []
    return larger_buc + ([at + bucs] if at + bucs < pairs else [])
