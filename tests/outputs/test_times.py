"""Moments as texts: zones, clocks, and the forms that standards have."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.times import (
    ahead_min,
    clock,
    clock_span,
    day_words,
    hours_after,
    iso,
    local,
    local_spans,
    local_texts,
    since,
    stamp,
    to_minute,
    utc_texts,
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
    start = np.array([MOMENT, MOMENT])
    assert local_spans(start, start + np.timedelta64(9, "s"), ["", "America/Lima"]) == [
        "23:04:31 to 23:04:40 UTC",
        "18:04:31 to 18:04:40 America/Lima",
    ]


def test_many_moments_are_told_as_each_alone() -> None:
    """Against the standard library, a moment at a time: within the hours of changed clocks too."""
    names = ["", "Europe/Oslo", "Pacific/Chatham", "Not/A_Zone", "Australia/Lord_Howe"]
    changes = np.array(
        ["2026-03-29T00:30", "2026-10-25T00:30", "2026-04-04T13:00"], "datetime64[s]"
    )
    steps = np.arange(0, 7200, 449).astype("timedelta64[s]")
    moments = (changes[:, None, None] + steps[:, None] + np.zeros(5, "timedelta64[s]")).ravel()
    zones = names * (len(moments) // len(names))
    told = local_texts(moments, ahead_min(moments, zones))
    assert told == [iso(local(m, name)) for m, name in zip(moments, zones, strict=True)]
    assert {text[-6:] for text in told} >= {"+00:00", "+01:00", "+02:00", "+12:45", "+11:00"}


def test_forms_of_the_standards() -> None:
    assert utc_texts(np.array([MOMENT])) == ["2026-03-06T23:04:31Z"]
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
