"""Outages put together and cut by months, against sets of minutes."""

from __future__ import annotations

import datetime as dt
import itertools
from zoneinfo import ZoneInfo

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.planning.operations.events import Events, by_month, calendar, measure, merged

OUTAGES = st.lists(
    st.tuples(st.integers(0, 3), st.integers(0, 60), st.integers(0, 20)), min_size=0, max_size=25
)


def arrays(rows: list[tuple[int, int, int]]) -> Events:
    group, begin, length = (np.array(column, dtype=np.int64) for column in zip(*rows, strict=True))
    return Events(group, begin, begin + length)


@given(rows=OUTAGES, order=st.randoms(use_true_random=False))
@settings(max_examples=300, deadline=None)
def test_merging_does_not_hang_on_the_order(
    rows: list[tuple[int, int, int]], order: object
) -> None:
    if not rows:
        return
    mixed = list(rows)
    order.shuffle(mixed)  # type: ignore[attr-defined]
    first, second = merged(*arrays(rows)), merged(*arrays(mixed))
    for one, other in zip(first, second, strict=True):
        assert one.tolist() == other.tolist()


@given(rows=OUTAGES)
@settings(max_examples=300, deadline=None)
def test_merged_outages_cover_the_same_time_once(rows: list[tuple[int, int, int]]) -> None:
    if not rows:
        return
    found = merged(*arrays(rows))
    for group in range(4):
        own = {t for g, b, n in rows if g == group for t in range(b, b + n)}
        here = [(b, e) for g, b, e in zip(*(c.tolist() for c in found), strict=True) if g == group]
        assert sum(e - b for b, e in here) == len(own)
        assert {t for b, e in here for t in range(b, e)} == own
        # None of them meet: what touches is one.
        assert all(e < b for (_, e), (b, _) in itertools.pairwise(here))


@given(rows=OUTAGES, since=st.integers(-5, 70), length=st.integers(0, 40))
@settings(max_examples=200, deadline=None)
def test_a_measure_counts_what_lasted(
    rows: list[tuple[int, int, int]], since: int, length: int
) -> None:
    if not rows:
        return
    group = np.zeros(len(rows), dtype=np.int64)
    _, begin, end = arrays(rows)
    lasted = measure(merged(group, begin, end))
    own = {t for _, b, n in rows for t in range(b, b + n)}
    span = np.array([since]), np.array([since + length])
    assert lasted.between(*span)[0] == len(own & set(range(since, since + length)))


def test_nothing_lasted_where_nothing_was() -> None:
    none = np.empty(0, dtype=np.int64)
    assert measure(Events(none, none, none)).between(np.zeros(2), np.ones(2)).tolist() == [0, 0]


def second(year: int, month: int, day: int, zone: str) -> int:
    return int(dt.datetime(year, month, day, tzinfo=ZoneInfo(zone)).timestamp())


def test_months_begin_at_midnight_of_each_zone() -> None:
    """With the clocks put forward in between, and a leap day."""
    zones = np.array(["Europe/Berlin", "", "America/New_York"], dtype=object)
    since, until = second(2024, 2, 10, "UTC"), second(2024, 4, 5, "UTC")
    months = calendar(zones, since, until)
    assert months.names == ("2024-02", "2024-03", "2024-04")
    named = [zone or "UTC" for zone in zones]
    for k, zone in enumerate(named):
        edges = [second(2024, m, 1, zone) for m in (2, 3, 4, 5)]
        assert months.edges[months.zone[k]].tolist() == edges
    logged = months.logged_min[months.zone[1]]
    assert logged.tolist() == [20 * 1440, 31 * 1440, 4 * 1440]  # the 29th counts
    # Berlin's March has an hour less.
    assert months.logged_min[months.zone[0]][1] == 31 * 1440 - 60


def test_the_log_reaches_into_the_months_of_every_zone() -> None:
    zones = np.array(["Pacific/Auckland", "America/New_York"], dtype=object)
    moment = second(2026, 1, 1, "UTC")
    months = calendar(zones, moment - 3600, moment + 3600)
    assert months.names == ("2025-12", "2026-01")


@given(
    begins=st.lists(st.integers(0, 150 * 1440), min_size=1, max_size=12),
    length=st.integers(0, 70 * 1440),
)
@settings(max_examples=100, deadline=None)
def test_parts_sum_to_the_whole_and_lie_in_their_months(begins: list[int], length: int) -> None:
    zones = np.array(["America/New_York"], dtype=object)
    base = second(2025, 10, 15, "UTC")
    begin = base + 60 * np.array(sorted(begins))
    of = Events(np.zeros(len(begin), dtype=np.int64), begin, begin + 60 * length)
    months = calendar(zones, int(begin.min()), int(of.end.max()) + 60)
    parts = by_month(of, of.group, months)
    whole = np.bincount(parts.event, parts.end - parts.begin, len(begin))
    assert whole.tolist() == (of.end - of.begin).tolist()
    edges = months.edges[0]
    assert (parts.begin >= edges[parts.month]).all()
    assert (parts.end <= edges[parts.month + 1]).all()
    assert (np.diff(parts.event) >= 0).all()


def test_what_ends_at_midnight_is_of_the_month_before() -> None:
    zones = np.array([""], dtype=object)
    edge = second(2026, 2, 1, "UTC")
    of = Events(np.zeros(1, dtype=np.int64), np.array([edge - 600]), np.array([edge]))
    parts = by_month(of, of.group, calendar(zones, edge - 86_400, edge + 86_400))
    assert parts.month.tolist() == [0]
