"""Visiting order: every site once, groups apart, rounds small, ways short."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from siteplan.planning.rounds import ROUND_SITES, _tree, _walk, rounds, way_km


def test_every_site_once_by_group_in_rounds_that_a_file_holds() -> None:
    rng = np.random.default_rng(2)
    n = 1500
    group = np.array(["b", "a", ""], dtype=object)[rng.integers(0, 3, n)]
    group[:700] = "b"
    lat, lon = rng.uniform(-60, 60, n), rng.uniform(-180, 180, n)
    found = rounds(group, lat, lon)
    assert sorted(np.concatenate([r.sites for r in found]).tolist()) == list(range(n))
    assert all(len(r.sites) <= ROUND_SITES for r in found)
    assert all((group[r.sites] == r.group).all() for r in found)
    assert [r.group for r in found] == sorted(r.group for r in found)
    for name in ("", "a", "b"):
        own = [r for r in found if r.group == name]
        assert [r.part for r in own] == list(range(1, len(own) + 1))
        assert len(own) == -(-int((group == name).sum()) // ROUND_SITES)


@pytest.mark.parametrize("seed", range(8))
def test_small_ways_are_close_to_the_best_of_all(seed: int) -> None:
    """Against every order of seven sites: within 12 % of the shortest open way."""
    rng = np.random.default_rng(seed)
    lat, lon = rng.uniform(0, 3, 7), rng.uniform(10, 13, 7)
    (found,) = rounds(np.full(7, "", dtype=object), lat, lon)
    best = min(way_km(np.array(order), lat, lon) for order in itertools.permutations(range(7)))
    assert way_km(found.sites, lat, lon) <= 1.12 * best


def test_a_large_round_beats_the_order_of_the_table_by_far() -> None:
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(0, 3, 300), rng.uniform(10, 13, 300)
    (found,) = rounds(np.full(300, "", dtype=object), lat, lon)
    # A random order's leg is about half the square's side; a good way's about 0.7 of the
    # spacing (Beardwood, Halton and Hammersley, 1959): 0.7124 sqrt(n A) in all.
    side_km = 3 * 111.2
    expected = 0.7124 * np.sqrt(300) * side_km
    assert way_km(found.sites, lat, lon) < 1.2 * expected
    assert way_km(np.arange(300), lat, lon) > 5 * expected


@pytest.mark.parametrize("seed", range(4))
def test_a_round_begins_at_the_end_nearer_to_the_last_one_s_end(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = 5 * ROUND_SITES
    lat, lon = rng.uniform(-4, 4, n), rng.uniform(176, 184, n)
    found = [r.sites for r in rounds(np.full(n, "", dtype=object), lat, lon)]
    assert len(found) == 5
    for last, sites in itertools.pairwise(found):
        forth, back = (way_km(np.array([last[-1], sites[k]]), lat, lon) for k in (0, -1))
        assert forth <= back


def test_no_edge_at_the_antimeridian_and_sites_at_one_point() -> None:
    lat, lon = np.zeros(6), np.array([179.0, -179.0, 179.5, -179.5, 180.0, 180.0])
    (found,) = rounds(np.full(6, "", dtype=object), lat, lon)
    assert way_km(found.sites, lat, lon) == pytest.approx(2 * 111.2, rel=0.01)


@pytest.mark.parametrize("n", [0, 1, 2, 3])
def test_few_sites(n: int) -> None:
    found = rounds(np.full(n, "g", dtype=object), np.zeros(n), np.arange(float(n)))
    assert sum(len(r.sites) for r in found) == n


@pytest.mark.parametrize("seed", range(6))
def test_the_spanning_tree_is_as_short_as_scipy_s(seed: int) -> None:
    from scipy.sparse.csgraph import minimum_spanning_tree

    rng = np.random.default_rng(seed)
    points = rng.uniform(-1, 1, (40, 3)).round(1 if seed % 2 else 9)
    apart = np.linalg.norm(points[:, None] - points[None, :], axis=2)
    near = _tree(apart)
    edges = {(min(i, j), max(i, j)) for i, others in enumerate(near) for j in others}
    assert len(edges) == 39
    assert sorted(_walk(near, 7).tolist()) == list(range(40))
    shortest = minimum_spanning_tree(apart + 1e-12).sum()
    assert sum(apart[edge] for edge in edges) == pytest.approx(shortest, abs=1e-9)
