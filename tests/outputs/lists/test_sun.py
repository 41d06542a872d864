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
from tests.outputs.sun_plans import sun_plan


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


@pytest.mark.parametrize(
    ("lons", "satellite"), [((-178.5,), -178.5), ((179.9,), 179.9), ((-178.5, 179.9), -179.5)]
)
def test_a_calendar_has_no_entry_of_24_hours_near_180_degrees(
    lons: tuple[float, ...], satellite: float, tmp_path: Path
) -> None:
    """There the sun passes the satellite at midnight UTC: twice on one date, and on another not."""
    found = sun_plan(*((-13.0, lon) for lon in lons), satellite_deg=satellite)
    peaks = found.tables["sun_peak"][found.tables["sun_site"] == 0]
    dates = peaks.astype("datetime64[D]")
    assert write_sun_calendars(found, tmp_path / "sun") == 1
    own = [e for e in events(next((tmp_path / "sun").iterdir())) if "hub" not in e["SUMMARY"]]
    # As many entries as the sun's days, none longer than its way past all sites.
    assert len(own) == len(peaks)
    assert max(e["DTEND"].dt - e["DTSTART"].dt for e in own) < dt.timedelta(minutes=40)
    if satellite == -178.5:
        assert len(np.unique(dates)) < len(dates), "the trap: two transits on one date UTC"


def test_the_networks_zone_reaches_table_and_calendar(tmp_path: Path) -> None:
    """Of two sites one has a zone of its own, the other and the hub the network's."""
    zones = ("America/Manaus", "")
    found = sun_plan((-3.0, -60.0), (-33.4, -70.6), satellite_deg=-61, own_zones=zones,
                     network_zone="America/Santiago")  # fmt: skip
    assert found.columns["timezone"].tolist() == ["America/Manaus", "America/Santiago"]
    write_sun_table(found, tmp_path / "sun.csv")
    with (tmp_path / "sun.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    offsets = {
        (row["where"], row["timezone"]): dt.datetime.fromisoformat(row["peak_local"]).utcoffset()
        for row in rows
        if row["peak_utc"][5:7] in ("09", "10")
    }
    assert offsets == {
        ("hub", "America/Santiago"): dt.timedelta(hours=-3),
        ("site", "America/Manaus"): dt.timedelta(hours=-4),
        ("site", "America/Santiago"): dt.timedelta(hours=-3),
    }
    for row in rows:
        local, utc = (dt.datetime.fromisoformat(row[f"peak_{k}"]) for k in ("local", "utc"))
        assert local == utc
    write_sun_calendars(found, tmp_path / "sun")
    told = "".join(str(e["DESCRIPTION"]) for e in events(tmp_path / "sun" / "no_group.ics"))
    assert "America/Manaus" in told
    assert "America/Santiago" in told
    assert "UTC" not in told
    first = next(row for row in rows if row["timezone"] == "America/Manaus")
    assert f"{first['start_local'][11:19]} to {first['end_local'][11:19]} America/Manaus" in told


def test_without_any_zone_the_table_says_utc(tmp_path: Path) -> None:
    write_sun_table(sun_plan((-3.0, -60.0), satellite_deg=-61), tmp_path / "sun.csv")
    with (tmp_path / "sun.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["timezone"] for row in rows} == {"UTC"}
    assert all(row["peak_local"].removesuffix("+00:00") + "Z" == row["peak_utc"] for row in rows)
