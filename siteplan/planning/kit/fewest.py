"""The fewest kinds: the set of one, two or three pairs that serves most sites.

A site counts by its pattern alone: which pairs of the catalogue fit it. So parts of a plan hand
on the counts of their patterns, and the choice is made once, from the sum.

Among sets that serve as many, that of the least total area of the reflectors is chosen, or of the
least cost where every antenna and BUC has a price. Each site takes the smallest kind of the set
that serves it: the first in the order of the catalogue, which goes by antenna and then by BUC.
Every set is tried (the counts of sites by the kind that they take follow from those that one, two
or three pairs fit together), unless too many pairs are left once those are dropped that another
one makes needless.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from siteplan.answers import Kind, KindSet
from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen

#: Kinds in a set at most.
MOST_KINDS: Final = 3
#: With more pairs left than this the set is found greedily, and says so.
MOST_EXACT: Final = 60
#: Which bit of a byte of a pattern is the first pair's.
PATTERN_BITS: Final = "big"
#: Totals that differ by less are equal: parts of a square metre, or of the unit of prices.
_EQUAL = 1e-6

#: A set: places of its pairs, rising, and the sites that take each.
Taken = tuple[tuple[int, ...], tuple[int, ...]]


@frozen
class Demand:
    """What sites ask for: patterns (m, pairs), the sites of each (m,), what a pair costs (pairs,).

    ``weight`` is what is to be small in all: area [m2] or cost.
    """

    fits: BoolArray
    sites: IntArray
    weight: FloatArray

    def taken(self, pairs: Sequence[int]) -> tuple[int, ...]:
        """Return how many sites take each of some pairs (rising), each site the first that fits."""
        left, counts = self.sites, []
        for pair in pairs:
            here = self.fits[:, pair]
            counts.append(int(left[here].sum()))
            left = np.where(here, 0, left)
        return tuple(counts)

    def total(self, of: Taken) -> float:
        """Return the total area or cost of a set."""
        return float(sum(n * self.weight[pair] for pair, n in zip(*of, strict=True)))

    def better(self, new: Taken, old: Taken) -> bool:
        """Return whether a set serves more sites than another, or as many with a smaller total."""
        more = sum(new[1]) - sum(old[1])
        return more > 0 or (more == 0 and self.total(new) < self.total(old) - _EQUAL)


def fewest_kinds(
    counts: Mapping[str, int], kinds: Sequence[Kind], prices: Sequence[float]
) -> tuple[KindSet, ...]:
    """Return the sets of up to one, two and three kinds that serve most sites.

    Parameters
    ----------
    counts : mapping of str to int
        Sites by pattern: which pairs fit, as bits in hexadecimal.
    kinds : sequence of pairs
        The catalogue's pairs in its order: diameter [m], power [W].
    prices : sequence of float
        What each pair costs, NaN where a price is missing.

    Returns
    -------
    tuple of KindSet
        For k = 1, 2, 3. Empty where no site is to be equipped, or no pair serves any.
    """
    of = _demand(counts, kinds, prices)
    if not of.fits.any():
        return ()
    left = undominated(of)
    exact = len(left) <= MOST_EXACT
    best: Taken = ((), ())
    found = []
    for k in range(1, MOST_KINDS + 1):
        best = _exact(of, left, k, best) if exact else _greedy(of, left, best)
        found.append(_told(k, best, kinds, prices, of, exact=exact or k == 1))
    return tuple(found)


def _demand(counts: Mapping[str, int], kinds: Sequence[Kind], prices: Sequence[float]) -> Demand:
    """Return what sites ask for; pairs weigh their price where all have one, else their area."""
    packed = np.array([list(bytes.fromhex(pattern)) for pattern in counts], dtype=np.uint8)
    rows = packed.reshape(len(counts), -(-len(kinds) // 8))
    fits = np.unpackbits(rows, axis=1, count=len(kinds), bitorder=PATTERN_BITS).astype(bool)
    priced = not any(math.isnan(price) for price in prices)
    weight = prices if priced else [_area_m2(kind) for kind in kinds]
    return Demand(
        fits, np.array(list(counts.values()), dtype=np.intp), np.array(weight, dtype=float)
    )


def _area_m2(kind: Kind) -> float:
    return math.pi * kind[0] ** 2 / 4


def undominated(of: Demand) -> list[int]:
    """Return the pairs that may be in the best set, rising.

    A pair is needless where an earlier one fits wherever it does and costs no more than any that
    follows: put in its place the set serves as many, no site pays more, and it comes first.
    """
    ends = np.minimum.accumulate(of.weight[::-1])[::-1]
    cheap = [of.weight[i] <= ends[i] + _EQUAL for i in range(len(of.weight))]
    left: list[int] = []
    for j in np.flatnonzero(of.fits.any(axis=0)).tolist():
        here = of.fits[:, j]
        if not any(cheap[i] and of.fits[here, i].all() for i in left):
            left.append(j)
    return left


def _exact(of: Demand, left: list[int], k: int, fewer: Taken) -> Taken:
    """Return the best set of ``k`` pairs of those ``left``, or ``fewer`` where none is better."""
    if k > len(left):
        return fewer
    found = fewer
    for counts, places in _sets(of.fits[:, left].astype(float), of.sites.astype(float), k):
        weights = of.weight[np.array(left)[places]]
        served, total = counts.sum(axis=0), (counts * weights).sum(axis=0)
        most = np.flatnonzero(served == served.max())
        first = most[np.flatnonzero(total[most] <= total[most].min() + _EQUAL)[0]]
        pairs = tuple(left[p] for p in places[:, first].tolist())
        new = pairs, of.taken(pairs)
        if not found[0] or of.better(new, found):
            found = new
    return found


def _sets(fits: FloatArray, sites: FloatArray, k: int) -> Iterator[tuple[FloatArray, IntArray]]:
    """Yield all sets of k pairs, in order: sites that take each (k, sets), and the pairs (k, sets).

    Whole numbers as floats, exact far beyond any number of sites.
    """
    of_two = (fits * sites[:, None]).T @ fits
    alone, n = np.diagonal(of_two), len(of_two)
    if k == 1:
        yield alone[None, :], np.arange(n)[None, :]
        return
    for i in range(n - k + 1):
        if k == 2:
            j = np.arange(i + 1, n)
            one = np.full(len(j), alone[i])
            yield np.stack([one, alone[j] - of_two[i, j]]), np.stack([np.full(len(j), i), j])
            continue
        here = fits[:, i] > 0
        of_three = (fits[here] * sites[here, None]).T @ fits[here]
        j, m = (x + i + 1 for x in np.triu_indices(n - i - 1, 1))
        last = alone[m] - of_two[i, m] - of_two[j, m] + of_three[j, m]
        one = np.full(len(j), alone[i])
        yield np.stack([one, alone[j] - of_two[i, j], last]), np.stack([np.full(len(j), i), j, m])


def _greedy(of: Demand, left: list[int], fewer: Taken) -> Taken:
    """Return ``fewer`` with the pair that helps most, or as it is where none does."""
    found = fewer
    for pair in left:
        pairs = tuple(sorted({*fewer[0], pair}))
        new = pairs, of.taken(pairs)
        if not found[0] or of.better(new, found):
            found = new
    return found


def _told(
    k: int, best: Taken, kinds: Sequence[Kind], prices: Sequence[float], of: Demand, *, exact: bool
) -> KindSet:
    """Return a set as it is told."""
    pairs, sites = best
    area = sum(n * _area_m2(kinds[p]) for p, n in zip(pairs, sites, strict=True))
    cost = sum(n * prices[p] for p, n in zip(pairs, sites, strict=True))
    return KindSet(
        k=k,
        kinds=tuple(kinds[p] for p in pairs),
        sites=sites,
        served=sum(sites),
        judged=int(of.sites.sum()),
        area_m2=area,
        cost=cost,
        exact=exact,
    )
