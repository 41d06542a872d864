"""Each figure read back by its label from KML, GPX, kit list and sun calendar.

As from sheet and card: see ``test_read_back``.
"""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest

from siteplan.outputs.lists.kit import write_kit
from siteplan.outputs.lists.sun import write_sun_calendars, write_sun_table
from siteplan.outputs.lists.tracks import write_gpx, write_kml
from siteplan.planning.report.verdict import answered
from siteplan.results import Plan
from tests.outputs.read_back import readers
from tests.outputs.read_back.figures import Table, missed, said, text
from tests.outputs.read_back.lists import GPX, KIT, KML, NO_CABLE, OF_TOTALS, SUN, entries
from tests.outputs.read_back.readers import Boxes
from tests.outputs.read_back.sheet import BLOCKED, CAVEAT, STOPPED, stands
from tests.outputs.read_back.unlike import SITES, TEXTS, boxes, network, unlike_plan


@pytest.fixture(scope="module")
def plan() -> Plan:
    return unlike_plan()


# --- KML and GPX ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tracks(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Boxes]]:
    folder = tmp_path_factory.mktemp("tracks")
    write_kml(plan, folder / "sites.kml")
    write_gpx(plan, folder / "sites.gpx")
    return {
        "kml": readers.kml_boxes(folder / "sites.kml"),
        "gpx": readers.gpx_boxes(folder / "sites.gpx"),
    }


@pytest.mark.parametrize("key", boxes(KML))
def test_the_kml(plan: Plan, tracks: dict[str, list[Boxes]], key: tuple[str, str]) -> None:
    assert [mark[key] for mark in tracks["kml"]] == [said(plan, KML[key], i) for i in SITES]


@pytest.mark.parametrize("key", boxes(GPX))
def test_the_gpx(plan: Plan, tracks: dict[str, list[Boxes]], key: tuple[str, str]) -> None:
    assert [point[key] for point in tracks["gpx"]] == [said(plan, GPX[key], i) for i in SITES]


@pytest.mark.parametrize(("kind", "table"), [("kml", KML), ("gpx", GPX)])
def test_tracks_have_no_label_that_the_table_does_not_name(
    plan: Plan, tracks: dict[str, list[Boxes]], kind: str, table: Table
) -> None:
    heads = ("MISSES THE TARGET", "STOP", "ANTENNA STANDS ALREADY", "BUC STANDS ALREADY")
    over = {("description", word) for word in heads}
    assert [set(found) - over for found in tracks[kind]] == [set(table)] * 3
    for i in SITES:
        told = {word: tracks[kind][i].get(("description", word), "") for word in heads}
        assert told.pop("MISSES THE TARGET") == missed(plan, i)
        assert told.pop("STOP") == (f"DO NOT BUILD YET: {STOPPED}" if i == BLOCKED else "")
        assert [f"{word}{text}" for word, text in told.items() if text] == (
            [stands(plan, i)] if stands(plan, i) else []
        )


# --- the kit list ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def kit(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Boxes], Boxes]:
    path = tmp_path_factory.mktemp("kit") / "kit.csv"
    # Costs are read back in tests/outputs/lists/test_kit_costs.py.
    write_kit(answered(dataclasses.replace(plan, network=network())), path)
    sites, totals = readers.kit_boxes(path)
    return [sites[name] for name in TEXTS["site_id"]], totals


@pytest.mark.parametrize("key", boxes(KIT))
def test_the_kit_list(plan: Plan, kit: tuple[list[Boxes], Boxes], key: tuple[str, str]) -> None:
    assert [site.get(key, "") for site in kit[0]] == [said(plan, KIT[key], i) for i in SITES]


def test_the_kit_list_has_no_part_that_the_table_does_not_name(
    kit: tuple[list[Boxes], Boxes],
) -> None:
    found = {key for site in kit[0] for key in site}
    assert {key for key in found if key[1] not in OF_TOTALS} == set(KIT)
    assert all(site[key] == "" for site in kit[0] for key in site if key[1] in OF_TOTALS)


def test_the_totals_of_the_kit_list(plan: Plan, kit: tuple[list[Boxes], Boxes]) -> None:
    """What is to be ordered of each kind, with a fifth more, rounded up to whole pieces."""
    order: dict[str, tuple[int, str, str]] = {
        "antenna 2.40 m": (1, "pieces", ""),
        "antenna 1.80 m": (1, "pieces", ""),
        "BUC 4.0 W": (1, "pieces", ""),
        "BUC 8.0 W": (1, "pieces", ""),
        "LNB ": (3, "pieces", ""),
        "modem ": (3, "pieces", ""),
        "mount wall": (1, "pieces", ""),
        "mount non_penetrating": (1, "pieces", ""),
    }
    for i in SITES:
        kind = text(plan, "cable_class", i) or "open"
        core = text(plan, "cable_core", i) if text(plan, "cable_class", i) else NO_CABLE
        order[f"cable {kind}"] = math.ceil(plan.columns["ifl_length_m"][i]), "m", f"; {core}"
    ballast = math.ceil(plan.columns["ballast_kg"][2])
    open_ = "to be surveyed: order these once their questions are answered"
    order["mount non_penetrating"] = 1, "pieces", f"; 1 of 1 pieces {open_}"
    weight = f"{ballast} of {ballast} kg"
    order["ballast non_penetrating"] = ballast, "kg", f"; {CAVEAT}; {weight} {open_}"
    provisional = {"mount wall": "0", "mount non_penetrating": "1"}
    provisional["ballast non_penetrating"] = str(ballast)
    expected: Boxes = {}
    for part, (count, unit, note) in order.items():
        spares = math.ceil(count * 20 / 100)
        cells = {
            **{"site_id": "", "name": "", "group": "", "kind": part.partition(" ")[2]},
            **{"quantity": str(count), "unit": unit, "spares": str(spares)},
            "provisional": provisional.get(part, ""),
            **{"to_order": str(count + spares), "note": f"spares 20 %{note}"},
        }
        expected |= {(part, heading): cell for heading, cell in cells.items()}
    assert kit[1] == expected


# --- sun transits ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def sun_table(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, str]]:
    path = tmp_path_factory.mktemp("sun") / "sun.csv"
    write_sun_table(plan, path)
    return readers.sun_rows(path)


@pytest.fixture(scope="module")
def calendars(
    plan: Plan, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, list[dict[str, str]]]:
    folder = tmp_path_factory.mktemp("calendars")
    write_sun_calendars(plan, folder)
    return {path.stem: readers.calendar_entries(path) for path in sorted(folder.iterdir())}


@pytest.mark.parametrize("heading", SUN)
def test_the_table_of_the_sun(plan: Plan, sun_table: list[dict[str, str]], heading: str) -> None:
    found = [row[heading] for row in sun_table if row["where"] != "hub"]
    assert found == [said(plan, SUN[heading], k) for k in range(len(plan.tables["sun_site"]))]


def test_the_hubs_rows_of_the_sun(plan: Plan, sun_table: list[dict[str, str]]) -> None:
    """They come first, without a site; every heading is one that the table names."""
    assert set(sun_table[0]) == set(SUN)
    for row, hub in zip(sun_table, plan.facts.hub_sun, strict=False):
        told = {heading: cell for heading, cell in row.items() if cell}
        moments = {f"{name}_utc": f"{hub[name]}Z" for name in ("start", "peak", "end")}
        # The network gives no zone: told in UTC, and that it is.
        moments |= {f"{name}_local": f"{hub[name]}+00:00" for name in ("start", "peak", "end")}
        depth = f"{hub['depth_db']:.1f}"
        assert told == {"where": "hub", **moments, "timezone": "UTC", "depth_db": depth}


@pytest.mark.parametrize(
    "name", ["DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "TRANSP"]
)
def test_the_calendars(plan: Plan, calendars: dict[str, list[dict[str, str]]], name: str) -> None:
    for group, found in calendars.items():
        assert [e[name] for e in found] == [e[name] for e in entries(plan, group)]


def test_the_calendars_bear_their_groups_names(plan: Plan, tmp_path: Path) -> None:
    write_sun_calendars(plan, tmp_path)
    for group in TEXTS["group"]:
        name = readers.calendar_name(tmp_path / f"{group}.ics")
        assert name == f"Sun transits: {group}"


def test_calendars_have_no_property_that_the_table_does_not_name(
    plan: Plan, calendars: dict[str, list[dict[str, str]]]
) -> None:
    assert set(calendars) == set(plan.columns["group"])
    for group, found in calendars.items():
        expected = entries(plan, group)
        assert all(set(e) == {*expected[0], "UID"} for e in found)
        assert len({e["UID"] for e in found}) == len(found)
    assert "north, 1 site" in calendars["north"][-1]["SUMMARY"]
    assert "south, 2 sites" in calendars["south"][len(plan.facts.hub_sun)]["SUMMARY"]
