"""The sun on the sheet: hours, the dish's azimuth, seasons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from siteplan.outputs.console import show_site
from siteplan.outputs.sheets import sun
from siteplan.outputs.sheets.context import context
from siteplan.outputs.times import local
from siteplan.results import Plan
from tests.outputs.pack import with_pack
from tests.outputs.sun_plans import sun_plan


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


# Clocks are changed on 29 March 2026 (Berlin), 5 April (Santiago), 8 March (New York), 6 September
# (Santiago) and 7 April 2030 (Chatham): 2026a of the time zone database.
@pytest.mark.parametrize(
    ("place", "satellite", "zone", "date", "days"),
    [
        ((-44.0, -176.5), 175.0, "Pacific/Chatham", "2030-02-01", ("6 Apr 2030", "7 Apr 2030")),
        ((-33.4, -70.6), -61.0, "America/Santiago", "2026-02-01", ("4 Apr 2026", "5 Apr 2026")),
        ((-20.0, 15.0), 19.0, "Europe/Berlin", "2026-02-01", ("28 Mar 2026", "29 Mar 2026")),
        ((33.0, -79.0), -61.0, "America/New_York", "2026-02-01", ("7 Mar 2026", "8 Mar 2026")),
        ((-41.5, -72.9), -61.0, "America/Santiago", "2026-08-01", ("5 Sep 2026", "6 Sep 2026")),
    ],
)
def test_a_season_across_a_change_of_clocks_is_told_in_two(
    place: tuple[float, float], satellite: float, zone: str, date: str, days: tuple[str, str]
) -> None:
    plan = sun_plan(place, satellite_deg=satellite, date=date, network_zone=zone)
    before, after, *_ = sun.seasons(plan, 0, zone)
    assert before[0].split(" to ")[-1] == days[0]
    assert after[0].split(" to ")[0] == days[1]
    told = [_minutes(text) for _, text in (before, after)]
    # One window moves by the hour of the clocks; neither is wider than transit and drift.
    assert all(0 < last - first < 20 for first, last in told)
    assert abs(told[0][0] - told[1][0]) == pytest.approx(60, abs=10)
    rows = len(plan.tables["sun_site"])
    for k in range(rows // 2):
        start = local(plan.tables["sun_start"][k], zone)
        assert start is not None
        inside = [a <= 60 * start.hour + start.minute <= b for a, b in told]
        assert sum(inside) == 1


def _minutes(span: str) -> tuple[int, int]:
    """Return the minutes of the day of a span such as ``11:58 to 12:09 UTC``."""
    first, last = ((int(t[:2]), int(t[3:5])) for t in span.split(" ")[:3:2])
    return 60 * first[0] + first[1], 60 * last[0] + last[1]


@pytest.mark.parametrize("lon", [-178.5, 179.9])
def test_a_season_around_midnight_utc_is_some_minutes_wide(lon: float) -> None:
    plan = sun_plan((-13.0, lon), satellite_deg=lon)
    spans = [_minutes(span) for _, span in sun.seasons(plan, 0, "")]
    assert all(0 < (late - early) % 1440 < 20 for early, late in spans)
    for moment in plan.tables["sun_start"]:
        start = local(moment, "")
        assert start is not None
        minute = 60 * start.hour + start.minute
        assert any((minute - early) % 1440 <= (late - early) % 1440 for early, late in spans)


def test_a_transit_on_its_own_has_one_day() -> None:
    plan = sun_plan((-17.0, 178.0), satellite_deg=178)
    one = replace(plan, tables={k: v[:1] for k, v in plan.tables.items() if v.ndim == 1})
    ((days, _),) = sun.seasons(one, 0, "Pacific/Fiji")
    assert " to " not in days


def test_the_networks_zone_reaches_the_sheets_compass_by_sun_and_the_console(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """At 45 N 20 E the sun is up from some 5 to 19 by the clocks of Belgrade in June."""
    zone = "Europe/Belgrade"
    plan = sun_plan((45.0, 20.0), satellite_deg=19, date="2026-06-21", network_zone=zone)
    found = context(plan, 0)
    assert found["sun_day"] == "on 2026-06-21, Europe/Belgrade, the network's"
    hours = sun.hours(plan, 0, zone)
    assert (hours[0][0], hours[-1][0]) == ("05:00", "20:00")
    # At 13 the sun has not reached the south: noon is at 12:42 plus two minutes.
    at_13 = next(azimuth for time, azimuth, _ in hours if time == "13:00")
    assert 185 < at_13 < 200
    spans = [text for _, text in found["sun"] if zone in text]
    assert len(spans) == 3  # two seasons, and the deepest transit
    assert not any("UTC" in text for _, text in found["sun"])
    show_site(plan)
    assert "Europe/Belgrade, the network's" in capsys.readouterr().out


def test_without_a_zone_the_sheet_says_utc() -> None:
    plan = sun_plan((45.0, 20.0), satellite_deg=19, date="2026-06-21")
    assert context(plan, 0)["sun_day"] == "on 2026-06-21, UTC: no time zone was given"
