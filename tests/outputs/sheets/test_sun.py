"""The sun on the sheet: hours, the dish's azimuth, seasons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from siteplan.outputs.sheets import sun
from siteplan.results import Plan
from tests.outputs.pack import with_pack


@pytest.fixture
def packed(make_plan: Callable[..., Plan]) -> Plan:
    return with_pack(make_plan(np.array([10.0, 20.0]), np.array([5.0, 6.0])))


@pytest.mark.parametrize("zone", ["", "America/Lima", "Asia/Kathmandu"])
def test_hours_run_with_the_zones_clock(packed: Plan, zone: str) -> None:
    hours = sun.hours(packed, 0, zone)
    assert [time for time, _, _ in hours] == sorted(time for time, _, _ in hours)
    assert all(elevation > 0 for _, _, elevation in hours)
    minutes = {time[3:] for time, _, _ in hours}
    assert minutes == {"45" if zone == "Asia/Kathmandu" else "00"}


def test_the_time_on_the_dishs_azimuth(packed: Plan) -> None:
    assert sun.on_azimuth(packed, 0, "") == ["09:41"]
    assert sun.on_azimuth(packed, 0, "America/Lima") == ["04:41"]


def test_two_seasons_with_their_days(packed: Plan) -> None:
    assert sun.seasons(packed, 1, "") == [
        ("27 Feb 2026 to 5 Mar 2026", "11:58 to 12:11 UTC"),
        ("15 Sep 2026 to 21 Sep 2026", "11:58 to 12:11 UTC"),
    ]


def test_a_plan_without_tables_has_no_sun(packed: Plan) -> None:
    bare = replace(packed, tables={})
    assert sun.hours(bare, 0, "") == []
    assert sun.on_azimuth(bare, 0, "") == []
    assert sun.seasons(bare, 0, "") == []
