"""The choice of sites for the map of a very large plan."""

from __future__ import annotations

import numpy as np

from siteplan.planning.report.thinning import choose

STOPS = frozenset({"no_fit"})


def flags(n: int, every: int) -> np.ndarray:
    return np.array(["heavy_rain;no_fit" if k % every == 0 else "heavy_rain" for k in range(n)],
                    dtype=object)  # fmt: skip


def test_small_plans_are_shown_whole() -> None:
    chosen = choose(flags(100, 10), STOPS, 100)
    assert chosen.rows.tolist() == list(range(100))
    assert not chosen.note


def test_every_failing_site_is_shown_while_there_is_room() -> None:
    chosen = choose(flags(10_000, 100), STOPS, 500)
    assert len(chosen.rows) == 500
    assert set(range(0, 10_000, 100)) <= set(chosen.rows.tolist())
    assert np.all(np.diff(chosen.rows) > 0)
    assert chosen.note == "500 of 10,000 sites: all 100 failing and 400 of 9,900 other"


def test_failing_sites_that_just_fill_the_map_are_all_shown() -> None:
    chosen = choose(flags(1000, 2), STOPS, 500)
    assert chosen.rows.tolist() == list(range(0, 1000, 2))
    assert chosen.note == "500 of 1,000 sites: all 500 failing and 0 of 500 other"


def test_one_failing_site_more_leaves_a_quarter_to_the_others() -> None:
    chosen = choose(flags(1002, 2), STOPS, 500)
    assert chosen.note == "500 of 1,002 sites: 375 of 501 failing and 125 of 501 other"


def test_too_many_failing_sites_are_thinned_and_it_says_so() -> None:
    chosen = choose(flags(10_000, 2), STOPS, 500)
    assert len(chosen.rows) == 500
    assert "375 of 5,000 failing and 125 of 5,000 other" in chosen.note
