"""Sun transits: the calendars parse in an independent library, the table has every transit."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable
from pathlib import Path

import icalendar
import numpy as np
import pytest

from siteplan.outputs.lists.sun import write_sun_calendars, write_sun_table
from siteplan.results import Plan
from tests.outputs.pack import with_pack


@pytest.fixture(scope="module")
def plan(make_plan: Callable[..., Plan]) -> Plan:
    lat, lon = np.array([45.0, 52.0, 5.0, -30.0, 1.0]), np.array([20.0, -20.0, 13.5, 40.0, 13.0])
    return with_pack(make_plan(lat, lon), zone="Europe/Oslo")


def events(path: Path) -> list[icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    assert calendar["VERSION"] == "2.0"
    assert not calendar.errors
    return list(calendar.walk("VEVENT"))


def test_calendars_parse_and_carry_every_day(plan: Plan, tmp_path: Path) -> None:
    assert write_sun_calendars(plan, tmp_path / "sun") == 2
    found = events(tmp_path / "sun" / "south.ics")
    own = [e for e in found if "hub" not in e["SUMMARY"]]
    assert len(found) - len(own) == len(plan.facts.hub_sun)
    members = np.flatnonzero(plan.columns["group"] == "south")
    rows = np.isin(plan.tables["sun_site"], members)
    days = np.unique(plan.tables["sun_peak"][rows].astype("datetime64[D]"))
    assert [e["DTSTART"].dt.date() for e in own] == days.tolist()
    for event in own:
        assert event["DTSTART"].dt.tzinfo is not None
        assert event["DTEND"].dt - event["DTSTART"].dt == dt.timedelta(seconds=800)
        for i in members:
            assert plan.columns["site_id"][i] in event["DESCRIPTION"]
    assert len({e["UID"] for e in found}) == len(found)
    assert "up to 7.3 dB" in own[0]["SUMMARY"]


def test_lines_are_folded_at_75_octets_and_end_in_crlf(plan: Plan, tmp_path: Path) -> None:
    write_sun_calendars(plan, tmp_path / "sun")
    for path in (tmp_path / "sun").iterdir():
        text = path.read_bytes()
        assert text.count(b"\n") == text.count(b"\r\n")
        assert all(len(line) <= 75 for line in text.split(b"\r\n"))
        assert icalendar.Calendar.from_ical(text).to_ical()


def test_hostile_names_come_back_whole(plan: Plan, tmp_path: Path) -> None:
    plan.columns["name"][0] = "a;b,c\\n d\nEND:VCALENDAR 📡 Ñandú"
    write_sun_calendars(plan, tmp_path / "sun")
    found = events(tmp_path / "sun" / f"{plan.columns['group'][0]}.ics")
    assert any("a;b,c\\n d\nEND:VCALENDAR 📡 Ñandú" in str(e["DESCRIPTION"]) for e in found)


def test_the_table_has_utc_and_the_sites_own_time(plan: Plan, tmp_path: Path) -> None:
    write_sun_table(plan, tmp_path / "sun.csv")
    with (tmp_path / "sun.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    sites = [row for row in rows if row["where"] == "site"]
    assert len(sites) == len(plan.tables["sun_site"])
    assert len(rows) - len(sites) == len(plan.facts.hub_sun)
    for row in (sites[0], sites[7]):
        utc = dt.datetime.fromisoformat(row["peak_utc"])
        assert utc == dt.datetime.fromisoformat(row["peak_local"])
    hours = [dt.datetime.fromisoformat(sites[k]["start_local"]).utcoffset() for k in (0, 7)]
    # Central European Time in February, summer time in September.
    assert hours == [dt.timedelta(hours=1), dt.timedelta(hours=2)]


def test_a_plan_without_transits_writes_a_heading_and_no_calendar(
    make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    bare = make_plan(np.array([10.0]), np.array([10.0]))
    write_sun_table(bare, tmp_path / "sun.csv")
    assert len((tmp_path / "sun.csv").read_text().splitlines()) == 1
    assert write_sun_calendars(bare, tmp_path / "sun") == 0
