"""Moments as texts: zones, clocks, and the forms that standards have."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.times import (
    clock,
    clock_span,
    day_words,
    hours_after,
    iso,
    local,
    local_span,
    since,
    stamp,
    to_minute,
    utc,
    zone,
    zone_named,
    zone_of,
    zone_words,
)
from siteplan.planning.plan import make_plan

MOMENT = np.datetime64("2026-03-06T23:04:31")


@pytest.mark.parametrize("name", ["", "Not/A_Zone", "../etc", "Mars"])
def test_an_unknown_zone_is_utc(name: str) -> None:
    assert zone(name) is dt.UTC
    assert zone_words(name) == "UTC"


def test_a_moment_in_a_zone() -> None:
    here = local(MOMENT, "America/Lima")
    assert here is not None
    assert clock(here) == "18:04"
    assert clock(here, seconds=True) == "18:04:31"
    assert iso(here) == "2026-03-06T18:04:31-05:00"
    assert day_words(here) == "6 Mar 2026"
    assert local(np.datetime64("NaT"), "America/Lima") is None


def test_an_hour_may_fall_on_another_day() -> None:
    hour = hours_after(np.datetime64("2026-03-06"), 23, "Asia/Kathmandu")
    assert hour is not None
    assert iso(hour) == "2026-03-07T04:45:00+05:45"


def test_spans_name_their_zone() -> None:
    early, late = dt.time(11, 58, 3), dt.time(12, 9)
    assert clock_span(early, late, "Africa/Lagos") == "11:58 to 12:09 Africa/Lagos"
    assert clock_span(early, late, "") == "11:58 to 12:09 UTC"
    nine = MOMENT + np.timedelta64(9, "s")
    assert local_span(MOMENT, nine, "") == "23:04:31 to 23:04:40 UTC"
    assert local_span(MOMENT, nine, "America/Lima") == "18:04:31 to 18:04:40 America/Lima"


def test_forms_of_the_standards() -> None:
    assert utc(MOMENT) == "2026-03-06T23:04:31Z"
    assert stamp(MOMENT) == "20260306T230431Z"
    assert iso(None) == ""


def test_a_moment_to_the_minute() -> None:
    assert to_minute("2026-03-03T12:04:31+00:00", "") == "2026-03-03 12:04 UTC"
    told = to_minute("2026-03-03T13:04:31+01:00", "Africa/Lagos")
    assert told == "2026-03-03 13:04 Africa/Lagos"
    assert to_minute("", "Africa/Lagos") == ""


def test_later_in_the_day_goes_around_midnight() -> None:
    late, soon = dt.datetime(2026, 3, 1, 23, 58), dt.datetime(2026, 3, 4, 0, 3)
    assert since(soon, late) == dt.timedelta(minutes=5)
    assert since(late, soon) == dt.timedelta(minutes=-5)


@pytest.mark.parametrize(
    ("own", "network", "zone", "words"),
    [
        ("Asia/Tokyo", "Europe/Oslo", "Asia/Tokyo", "Asia/Tokyo"),
        ("", "Europe/Oslo", "Europe/Oslo", "Europe/Oslo, the network's"),
        ("", "", "", "UTC: no time zone was given"),
    ],
)
def test_a_sites_zone_is_its_own_else_the_networks_else_utc_and_is_told(
    own: str, network: str, zone: str, words: str
) -> None:
    of = {"network": {"date": "2026-06-01", "timezone": network}, "satellite": {"longitude_deg": 9}}
    given = np.array([own], dtype=object)
    sites = Sites.at(np.array([50.0]), np.array([10.0]), timezone=given)
    plan = make_plan(sites, Network.model_validate(of))
    assert plan.columns["timezone"].tolist() == [zone]
    assert zone_of(plan, 0) == zone
    assert zone_named(plan, zone_of(plan, 0)) == words
