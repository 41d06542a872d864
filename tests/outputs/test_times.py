"""Moments as texts: zones, clocks, and the forms that standards have."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from siteplan.outputs.times import (
    clock,
    clock_span,
    day_words,
    full_hour,
    iso,
    local,
    stamp,
    utc,
    utc_minute,
    utc_span,
    zone,
    zone_words,
)

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


def test_a_full_hour_may_fall_on_another_day() -> None:
    hour = full_hour("2026-03-06", 23, "Asia/Kathmandu")
    assert hour is not None
    assert iso(hour) == "2026-03-07T04:45:00+05:45"


def test_spans_name_their_zone() -> None:
    early, late = dt.time(11, 58, 3), dt.time(12, 9)
    assert clock_span(early, late, "Africa/Lagos") == "11:58 to 12:09 Africa/Lagos"
    assert clock_span(early, late, "") == "11:58 to 12:09 UTC"
    assert utc_span(MOMENT, MOMENT + np.timedelta64(9, "s")) == "23:04:31 to 23:04:40 UTC"


def test_forms_of_the_standards() -> None:
    assert utc(MOMENT) == "2026-03-06T23:04:31Z"
    assert stamp(MOMENT) == "20260306T230431Z"
    assert iso(None) == ""


def test_a_moment_to_the_minute() -> None:
    assert utc_minute("2026-03-03T12:04:31") == "2026-03-03 12:04 UTC"
    assert utc_minute("") == ""
