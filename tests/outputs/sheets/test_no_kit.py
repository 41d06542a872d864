"""What a crew, a driver and an orderer read of a site that gets no kit, and of kit that misses.

Real plans of four sites: one that is picked, one that nothing fits, one too low for kit, and one
whose installed kit misses the target.
"""

from __future__ import annotations

import csv
import dataclasses
import re
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from siteplan.fields import FIELDS
from siteplan.messages import english
from siteplan.model import Note, Sites
from siteplan.network import Network
from siteplan.outputs.lists.kit import write_kit
from siteplan.outputs.lists.returned import write_blank
from siteplan.outputs.lists.sun import write_sun_calendars, write_sun_table
from siteplan.outputs.lists.tracks import write_gpx, write_kml
from siteplan.outputs.sheets.context import context
from siteplan.outputs.sheets.files import sheet_html, write_sheets
from siteplan.outputs.sheets.heights import half_heights_mm
from siteplan.outputs.shown import SiteValues
from siteplan.outputs.standing import banner, halt, marks
from siteplan.outputs.taking import told
from siteplan.planning.plan import make_plan
from siteplan.planning.rounds import Round
from siteplan.results import Plan

FITS, NOTHING, LOW, MISSES = range(4)
BARE = (NOTHING, LOW)
NAN = float("nan")


@pytest.fixture(scope="module")
def plan() -> Plan:
    sites = Sites.at(
        np.array([-3.0, -3.1, 0.0, -3.2]),
        np.array([-60.0, -60.1, 11.0, -60.2]),
        site_id=np.array(["FITS", "NOFIT", "LOW", "MISSES"], dtype=object),
        name=np.array(["Quay", "Reach", "Cape", "Landing"], dtype=object),
        structure=np.array(["flat_roof", "flat_roof", "ground", "wall"], dtype=object),
        availability_pct=np.array([99.0, 99.99, 95.0, 99.9]),
        fixed_antenna_m=np.array([NAN, NAN, NAN, 1.2]),
        fixed_buc_w=np.array([NAN, NAN, NAN, 1.0]),
        timezone=np.array(["America/Manaus", "America/Manaus", "", "America/Manaus"], dtype=object),
    )
    network = Network.model_validate(
        {
            "network": {"date": "2026-09-01"},
            "satellite": {"longitude_deg": -61.0, "neighbours_deg": [-64.0]},
        }
    )
    return make_plan(sites, network, with_tables=True)


def words(page: str) -> str:
    return " ".join(unescape(re.sub(r"<style.*?</style>|<[^>]+>", " ", page, flags=re.S)).split())


@pytest.fixture(scope="module")
def sheets(plan: Plan) -> list[str]:
    return [words(sheet_html(plan, i)) for i in range(len(plan))]


def test_the_four_sites_are_what_they_are_called(plan: Plan) -> None:
    given = ~np.isnan(plan.columns["antenna_m"]) & ~np.isnan(plan.columns["buc_w"])
    assert given.tolist() == [True, False, False, True]
    assert plan.columns["margin_db"][FITS] >= 1
    assert plan.columns["margin_db"][MISSES] < 0
    assert plan.columns["margin_db"][NOTHING] < 1
    assert plan.columns["elevation_deg"][LOW] < 10


def test_a_site_that_nothing_fits_says_do_not_install_before_all_else(
    plan: Plan, sheets: list[str]
) -> None:
    for i in BARE:
        reason = plan.columns["no_fit_reason"][i]
        over = f"DO NOT INSTALL {reason}"
        assert over in sheets[i]
        assert sheets[i].index(over) < sheets[i].index("Azimuth from true north")
        assert "TRANSMIT OFF" not in sheets[i]
    assert "would do" in plan.columns["no_fit_reason"][NOTHING]
    assert "or a lower least elevation" in plan.columns["no_fit_reason"][LOW]
    assert not any("DO NOT INSTALL" in sheets[i] for i in (FITS, MISSES))


def test_nothing_on_such_a_sheet_could_be_installed_by(plan: Plan, sheets: list[str]) -> None:
    """No block, label or figure of peaking, mount, load, parts, cable, exposure or access test."""
    gone = (
        *("Peak and accept", "Access test", "Parts", "Cable and power", "Keep out of the beam"),
        *("Wind and ballast", "Mount", "Sun behind the satellite", "Inclinometer", "Loss for 0.1"),
        *("How far off a wall", "Offset dish", "Expected C/N", "C/N", "Not these", "Serial"),
    )
    labels = {f.label for f in FIELDS.values() if f.rests_on in ("dish", "buc", "kit")}
    for i in BARE:
        assert [text for text in gone if f" {text} " in f" {sheets[i]} "] == []
        assert labels & set(re.findall(r"<dt>(.*?)</dt>", sheet_html(plan, i))) == set()
    assert [text for text in gone[:5] if text not in sheets[FITS]] == []


BLOCKED = (
    "What stands at the satellite's bearing reaches 82.6 deg and blocks the beam: move the dish,"
    " raise it, or have the way cleared."
)


def with_flags(plan: Plan, site: int, code: str, note: str, **columns: float) -> Plan:
    """Return the plan with one flag and its sentence at a site, and other figures there."""
    new = {name: values.copy() for name, values in plan.columns.items()}
    new["flags"][site], new["flag_notes"][site] = code, f"Before it. {note} Behind it."
    for name, value in columns.items():
        new[name][site] = value
    return dataclasses.replace(plan, columns=new)


def test_what_stands_in_the_beam_stops_the_work_at_the_head_with_its_remedy(plan: Plan) -> None:
    """With its figures, as the notes have them; marked on page 2 and in the index too."""
    stopped = with_flags(plan, FITS, "blocked", BLOCKED, horizon_at_satellite_deg=82.6)
    v, page = SiteValues(stopped, FITS), words(sheet_html(stopped, FITS))
    assert page.index(f"STOP: DO NOT BUILD YET {BLOCKED}") < page.index("TRANSMIT OFF")
    assert "Stop: An obstacle" not in page
    assert "page 2: build, power, test · STOP: DO NOT BUILD YET, see page 1" in page
    assert f"Obstacles: az, el {v['azimuth_true_deg']}, 82.6°" in page
    assert marks(v) == "STOP: DO NOT BUILD YET"
    assert "STOP" not in words(sheet_html(plan, FITS))


def test_a_flag_without_a_sentence_in_the_notes_tells_what_to_do_all_the_same(plan: Plan) -> None:
    over = halt(SiteValues(with_flags(plan, FITS, "mount_engineered", ""), FITS))
    assert over is not None
    assert over.reason == (
        "Every mount is beyond a planning limit: an engineer designs it. Order the design of"
        " footing or frame from a qualified engineer before any mount is bought."
    )
    assert halt(SiteValues(with_flags(plan, NOTHING, "blocked", BLOCKED), NOTHING)) is None


def test_kit_that_stands_is_checked_and_nothing_of_it_built(plan: Plan) -> None:
    """At MISSES the whole station stands; then its dish alone."""
    whole = words(sheet_html(plan, MISSES))
    assert "STANDS ALREADY 1.20 m with 1.0 W: check, do not build." in whole
    assert "What stands, to check" in whole
    assert "page 2: check, power, test" in whole
    dish = with_flags(plan, MISSES, "", "", fixed_buc_w=NAN)
    part = words(sheet_html(dish, MISSES))
    assert "ANTENNA STANDS ALREADY 1.20 m and what holds it: check, do not build." in part
    assert "Antenna 1.20 m: stands already, plate read BUC 1.0 W Mount: as it stands" in part
    v = SiteValues(plan, MISSES)
    assert v["mount_question"]
    for page in (whole, part):
        assert "Mount: as it stands, not to be built" in page
        assert "To settle it" not in page
        assert v["mount_question"] not in page
        for name in ("pole_embedment_m", "wall_pull_n", "ballast_kg"):
            assert FIELDS[name].label not in page
    assert "To settle it" in words(
        sheet_html(with_flags(plan, MISSES, "", "", fixed_antenna_m=NAN, fixed_buc_w=NAN), MISSES)
    )


def test_where_a_small_error_of_position_turns_the_azimuth_the_front_says_by_how_much(
    plan: Plan,
) -> None:
    note = english().one("flag.azimuth_sensitive", azimuth_turn_deg_km=18.04)
    turned = with_flags(plan, FITS, "azimuth_sensitive", note)
    page = words(sheet_html(turned, FITS))
    told = "clockwise. A wrong position turns it by 18.0° per km: measure the position first"
    assert f"{SiteValues(plan, FITS)['azimuth_true_deg']} {told}" in page
    assert "A wrong position" not in words(sheet_html(with_flags(plan, FITS, "", ""), FITS))


def test_what_was_tried_stands_under_the_pair_that_it_holds_for(
    plan: Plan, sheets: list[str]
) -> None:
    for i in BARE:
        v = SiteValues(plan, i)
        head = f"Tried, not to be installed: {v['tried_antenna_m']} and {v['tried_buc_w']} Margin"
        assert f"{head} {v['margin_db']}" in sheets[i]
        assert sheets[i].count(v["margin_db"]) == 1
    assert "Tried" not in sheets[FITS]


def test_what_helps_a_new_survey_stays(plan: Plan, sheets: list[str]) -> None:
    for i in BARE:
        v = SiteValues(plan, i)
        for name in ("azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg"):
            assert v[name] in sheets[i]
        for text in ("Check the compass by the sun", "If you survey here again", "Obstacles: az",
                     "Room and ground, roof or wall for a larger antenna"):  # fmt: skip
            assert text in sheets[i]
        assert "the dish's azimuth" not in sheets[i]


def test_such_a_sheet_is_one_page(plan: Plan) -> None:
    for i in BARE:
        assert sheet_html(plan, i).count('class="page') == 1
        assert half_heights_mm(context(plan, i))[0] < 296
    assert sheet_html(plan, FITS).count('class="page') == 2


def test_installed_kit_that_misses_says_so_and_keeps_its_hazards(
    plan: Plan, sheets: list[str]
) -> None:
    v = SiteValues(plan, MISSES)
    short = f"{-plan.columns['margin_db'][MISSES]:.1f} dB short, limited inbound at the "
    assert f"MISSES THE TARGET The installed 1.20 m with 1.0 W is {short}" in sheets[MISSES]
    assert "It radiates all the same. TRANSMIT OFF" in sheets[MISSES]
    assert re.search(r"With that BUC some [\d.]+ m would do|No antenna up to 30 m", sheets[MISSES])
    for name in ("beam_edge_m", "cable_loss_high_db", "margin_db", "wind_drag_n"):
        assert f"{v.label(name)} {v[name]}" in sheets[MISSES], name
    assert banner(SiteValues(plan, FITS)) is None


def test_a_dish_without_a_buc_that_fits_is_not_built_on_and_may_transmit(plan: Plan) -> None:
    """Part of the kit stands there: both warnings."""
    sites = Sites.at(
        np.array([-3.1]),
        np.array([-60.1]),
        availability_pct=np.array([99.99]),
        fixed_buc_w=np.array([1.0]),
    )
    page = words(sheet_html(make_plan(sites, plan.network), 0))
    assert page.index("DO NOT INSTALL") < page.index("TRANSMIT OFF")
    assert "Nothing beside the installed kit" in page


def test_the_index_marks_the_sites_that_are_not_built(plan: Plan, tmp_path: Path) -> None:
    write_sheets(plan, [Round("all", 1, np.arange(4))], tmp_path)
    index = words((tmp_path / "index.html").read_text("utf-8"))
    assert "FITS Quay NOFIT Reach DO NOT INSTALL LOW Cape DO NOT INSTALL" in index
    assert "MISSES Landing MISSES THE TARGET" in index


def test_kit_list_blank_and_calendars_hold_nothing_that_nobody_will_install(
    plan: Plan, tmp_path: Path
) -> None:
    write_kit(plan, tmp_path / "kit.csv")
    with (tmp_path / "kit.csv").open(encoding="utf-8") as file:
        takes = {row["site_id"]: row for row in csv.DictReader(file) if row["part"] == "nothing"}
    assert {site: row["note"] for site, row in takes.items()} == {
        plan.columns["site_id"][i]: plan.columns["no_fit_reason"][i] for i in (NOTHING, LOW)
    }
    assert all((row["quantity"], row["kind"]) == ("0", "") for row in takes.values())
    write_blank(plan, tmp_path / "blank.csv")
    write_sun_table(plan, tmp_path / "sun.csv")
    write_sun_calendars(plan, tmp_path / "sun")
    for name in ("blank", "sun"):
        with (tmp_path / f"{name}.csv").open(encoding="utf-8") as file:
            found = {row["site_id"] for row in csv.DictReader(file)} - {""}
        assert found == {"FITS", "MISSES"}, name
    calendars = "".join(p.read_text("utf-8") for p in (tmp_path / "sun").iterdir())
    calendars = calendars.replace("\r\n ", "")
    assert "FITS Quay" in calendars
    assert "NOFIT" not in calendars
    assert "LOW" not in calendars


@pytest.mark.parametrize(("write", "kind"), [(write_kml, "kml"), (write_gpx, "gpx")])
def test_hand_held_maps_say_it_first(plan: Plan, tmp_path: Path, write, kind: str) -> None:
    write(plan, tmp_path / f"sites.{kind}")
    text = (tmp_path / f"sites.{kind}").read_text("utf-8")
    tag = "description" if kind == "kml" else "desc"
    found = {
        name: unescape(body).splitlines()
        for name, body in re.findall(rf"<name>(\w+) \w+</name><{tag}>(.*?)</{tag}>", text, re.S)
    }
    for i, name in ((NOTHING, "NOFIT"), (LOW, "LOW")):
        assert found[name][0] == f"DO NOT INSTALL: {plan.columns['no_fit_reason'][i]}"
        labels = {line.partition(":")[0] for line in found[name]}
        assert not labels & {"Antenna", "BUC", "Mount", "Inclinometer on the rim", "Margin"}
        v = SiteValues(plan, i)
        pair = f"{v['tried_antenna_m']} and {v['tried_buc_w']}"
        assert f"Margin with {pair}, tried and not planned: {v['margin_db']}" in found[name]
    assert found["MISSES"][0].startswith("MISSES THE TARGET: The installed 1.20 m")
    assert found["FITS"][0].startswith("Azimuth (true)")


def test_an_unserved_site_is_told_what_would_help_best(plan: Plan) -> None:
    """In a line of its own; not where it is served, nor where nothing helps."""
    found = {r.site_id: r for r in reversed(plan.facts.remedies)}
    for site, name in ((NOTHING, "NOFIT"), (MISSES, "MISSES")):
        line = f"What it would take: {told(found[name])}."
        assert found[name].helps
        assert context(plan, site)["takes"] == line
        assert line in unescape(sheet_html(plan, site))
    for site in (FITS, LOW):
        assert context(plan, site)["takes"] == ""
        assert "What it would take" not in sheet_html(plan, site)


def test_a_line_of_what_would_help_costs_room(plan: Plan) -> None:
    page = context(plan, MISSES)
    assert sum(half_heights_mm(page)) > sum(half_heights_mm({**page, "takes": ""}))


def test_doubtful_coordinates_are_checked_before_anything_else(plan: Plan) -> None:
    """No other satellite, dish or setting is advised for a place that nobody is sure of."""
    sites = Sites.at(
        np.array([0.0, 0.0, -3.1, -3.2, 0.0]),
        np.array([120.0, 11.0, -60.1, -60.2, 120.0]),
        site_id=np.array(["UNSEEN", "LOW", "NOFIT", "MISSES", "STANDS"], dtype=object),
        availability_pct=np.array([99.0, 99.0, 99.99, 99.9, 99.0]),
        fixed_antenna_m=np.array([NAN, NAN, NAN, 1.2, 1.2]),
        fixed_buc_w=np.array([NAN, NAN, NAN, 1.0, 1.0]),
        notes=dict.fromkeys(range(5), (Note.of("note.coordinate_doubt.sea_lat_sign"),)),
    )
    doubtful = make_plan(sites, plan.network, with_tables=True)
    check = "Check the coordinates before anything else: they look wrong."
    for i in range(5):
        text = re.sub(r"\s+", " ", unescape(sheet_html(doubtful, i)))
        assert check in text
        over = banner(SiteValues(doubtful, i))
        assert over is not None
        assert check in over.reason
        assert over.reason.startswith(check) or i == 3
        for advice in ("nother satellite", "higher here", "would do", "would mend", "takes: "):
            assert advice not in text, (i, advice)
    assert [r.code for r in doubtful.facts.remedies] == ["coordinates"] * 5
