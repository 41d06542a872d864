"""The fewest kinds against a plain search through every set."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest

from siteplan.planning.kit.everywhere import counted
from siteplan.planning.kit.fewest import MOST_EXACT, _demand, fewest_kinds, undominated

SIZES, POWERS = (0.75, 1.2, 1.8, 2.4), (1.0, 2.0, 3.0)
KINDS = list(itertools.product(SIZES, POWERS))
NO_PRICES = [math.nan] * len(KINDS)

Kinds = list[tuple[float, float]]


def plain(patterns: np.ndarray, sites: list[int], kinds: Kinds, weight: list[float], k: int
          ) -> tuple[int, float, int, tuple[int, ...], tuple[int, ...]]:  # fmt: skip
    """The best set by trying all of them, each site taking the first pair of the set that fits."""
    found = []
    for size in range(1, k + 1):
        for pairs in itertools.combinations(range(len(kinds)), size):
            taken = dict.fromkeys(pairs, 0)
            for row, count in zip(patterns, sites, strict=True):
                first = next((p for p in pairs if row[p]), None)
                if first is not None:
                    taken[first] += count
            total = round(sum(n * weight[p] for p, n in taken.items()), 6)
            found.append((-sum(taken.values()), total, size, pairs, tuple(taken.values())))
    return min(found)


def coded(patterns: np.ndarray, sites: list[int]) -> Counter[str]:
    total: Counter[str] = Counter()
    for row, count in zip(patterns, sites, strict=True):
        for pattern, _ in counted(row[None, :]).items():
            total[pattern] += count
    return total


def drawn(rng: np.random.Generator, rows: int, pairs: int) -> tuple[np.ndarray, list[int]]:
    """Patterns as a catalogue gives them, where a larger pair mostly fits too, and odd ones."""
    share = rng.uniform(0.1, 0.9)
    patterns = rng.uniform(size=(rows, pairs)) < share
    sorted_ = rng.uniform(size=rows) < 0.5
    patterns[sorted_] = np.sort(patterns[sorted_], axis=1)
    return patterns, rng.integers(1, 40, rows).tolist()


def areas(kinds: Kinds) -> list[float]:
    return [math.pi * d**2 / 4 for d, _ in kinds]


def same(patterns: np.ndarray, sites: list[int], kinds: Kinds, prices: list[float]) -> None:
    weight = areas(kinds) if any(map(math.isnan, prices)) else prices
    found = fewest_kinds(coded(patterns, sites), kinds, prices)
    assert [one.k for one in found] == [1, 2, 3]
    for one in found:
        least, _, _, pairs, taken = plain(patterns, sites, kinds, weight, one.k)
        assert one.served == -least == sum(one.sites)
        assert one.judged == sum(sites)
        assert one.kinds == tuple(kinds[p] for p in pairs)
        assert one.sites == taken
        assert one.exact
        area = sum(n * areas(kinds)[p] for p, n in zip(pairs, taken, strict=True))
        assert one.area_m2 == pytest.approx(area, rel=1e-12)
        cost = sum(n * prices[p] for p, n in zip(pairs, taken, strict=True))
        assert one.cost == pytest.approx(cost, rel=1e-12, nan_ok=True)


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("priced", [False, True], ids=["by area", "by cost"])
def test_the_set_is_the_best_of_all(seed: int, priced: bool) -> None:
    """Over 200 random patterns for either way to weigh, a handful at a time."""
    rng = np.random.default_rng(seed)
    kinds = KINDS[: rng.integers(1, len(KINDS) + 1)]
    patterns, sites = drawn(rng, int(rng.integers(3, 9)), len(kinds))
    if not patterns.any():
        patterns[0, -1] = True
    # Prices that rise with size, and some that do not.
    rising = [round(300 * d + 90 * w + rng.integers(-250, 250), 2) for d, w in kinds]
    same(patterns, sites, kinds, rising if priced else [math.nan] * len(kinds))


def test_two_hundred_patterns_at_once() -> None:
    patterns, sites = drawn(np.random.default_rng(77), 200, len(KINDS))
    same(patterns, sites, KINDS, NO_PRICES)


def test_parts_of_a_plan_add_up() -> None:
    patterns, sites = drawn(np.random.default_rng(3), 30, len(KINDS))
    halves = coded(patterns[:11], sites[:11]) + coded(patterns[11:], sites[11:])
    whole = fewest_kinds(coded(patterns, sites), KINDS, NO_PRICES)
    assert repr(fewest_kinds(halves, KINDS, NO_PRICES)) == repr(whole)


def test_a_kind_without_a_price_leaves_the_area_to_decide() -> None:
    counts = coded(np.ones((1, 3), dtype=bool), [4])
    kinds = [(1.2, 3.0), (1.8, 1.0), (2.4, 1.0)]
    priced = fewest_kinds(counts, kinds, [900.0, 800.0, 850.0])
    assert {(s.kinds, s.cost) for s in priced} == {(((1.8, 1.0),), 3200.0)}
    unknown = fewest_kinds(counts, kinds, [900.0, 800.0, math.nan])
    assert {(s.kinds, s.cost) for s in unknown} == {(((1.2, 3.0),), 3600.0)}
    (first, *_) = fewest_kinds(counts, kinds, [math.nan, 800.0, 850.0])
    assert first.kinds == ((1.2, 3.0),)
    assert math.isnan(first.cost)


def test_where_no_pair_serves_any_site_nothing_is_said() -> None:
    none = np.zeros((2, len(KINDS)), dtype=bool)
    assert fewest_kinds(coded(none, [3, 4]), KINDS, NO_PRICES) == ()
    assert fewest_kinds({}, KINDS, NO_PRICES) == ()


def test_a_pair_is_needless_where_a_smaller_one_fits_wherever_it_does() -> None:
    fits = np.array([[0, 1, 1, 1], [0, 0, 0, 1], [1, 0, 0, 1]], dtype=bool)
    kinds = [(1.2, 1.0), (1.2, 2.0), (1.8, 1.0), (1.8, 2.0)]
    of = _demand(coded(fits, [5, 6, 7]), kinds, [math.nan] * 4)
    assert undominated(of) == [0, 1, 3]
    # Costing more than what follows, it may yet be worth leaving out of a set.
    of = _demand(coded(fits, [5, 6, 7]), kinds, [1.0, 9.0, 2.0, 3.0])
    assert undominated(of) == [0, 1, 2, 3]


def test_of_too_many_pairs_the_set_is_found_step_by_step_and_says_so() -> None:
    pairs = MOST_EXACT + 5
    kinds = [(1.0 + k / 100, 1.0) for k in range(pairs)]
    fits = np.eye(pairs, dtype=bool)
    sites = [1 + (7 * k) % 50 for k in range(pairs)]
    found = fewest_kinds(coded(fits, sites), kinds, [math.nan] * pairs)
    assert [one.exact for one in found] == [True, False, False]
    most = sorted(sites, reverse=True)
    assert [one.served for one in found] == [sum(most[:k]) for k in (1, 2, 3)]
    few = MOST_EXACT
    exact = fewest_kinds(coded(fits[:few, :few], sites[:few]), kinds[:few], [math.nan] * few)
    assert all(one.exact for one in exact)
