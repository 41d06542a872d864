"""The cover of a round: route, stops with kit and marks, kit to load, contacts, risks, ticks."""

from __future__ import annotations

import dataclasses
import re
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.sheets.cover import IN_TABLE, ON_FIRST, cover_html, numbered
from siteplan.outputs.sheets.files import write_sheets
from siteplan.outputs.sheets.route import HEIGHT, WIDTH, route
from siteplan.planning.plan import make_plan
from siteplan.planning.rounds import Round, legs_km
from siteplan.results import Plan

LAT, LON = np.array([-3.0, -3.1, -3.0, -3.2]), np.array([-60.0, -60.1, -60.2, -60.3])
NAN = float("nan")


def network(**tables: object) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": -61.0}, **tables})


@pytest.fixture(scope="module")
def plan() -> Plan:
    sites = Sites.at(
        LAT,
        LON,
        site_id=np.array(["A", "B", "C", "D"], dtype=object),
        name=np.array(["Quay", "Reach <b>", "Cape", "Landing"], dtype=object),
        availability_pct=np.array([99.0, 99.99, 99.0, 99.0]),
        fixed_antenna_m=np.array([NAN, NAN, NAN, 1.8]),
        fixed_buc_w=np.array([NAN, NAN, NAN, 2.0]),
        cable_m=np.array([20.0, 30.0, 50.0, 10.0]),
    )
    contacts = {"operator_name": "Desk", "operator_phone": "+1 555 0100"}
    return make_plan(sites, network(network={"date": "2026-09-01"}, contacts=contacts))


def words(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def cover(plan: Plan, order: list[int]) -> str:
    sites = np.array(order)
    lat, lon = plan.columns["lat"], plan.columns["lon"]
    return cover_html(plan, Round("x", 1, sites), "x", legs_km(sites, lat, lon))


def test_distances_stand_between_the_stops_in_their_order(plan: Plan) -> None:
    """0.1 degree each way near the equator, by hand: 11.12 km north, 11.10 km east: 15.7 km."""
    text = words(cover(plan, [2, 0, 1, 3]))
    # C to A: 0.2 degree east, 22.2 km; A to B: 15.7 km; B to D: 0.2 east, 0.1 south, 24.9 km.
    rows = re.findall(r"(\d) ([A-D]) [A-Z][a-z]+(?: <b>)? ?(\d+ km)?", text)
    assert rows == [("1", "C", ""), ("2", "A", "22 km"), ("3", "B", "16 km"), ("4", "D", "25 km")]
    assert "4 stops · 63 km in straight lines; the longest, 25 km, from stop 3 to 4" in text


def test_kit_to_load_leaves_out_what_stands_and_what_is_not_built(plan: Plan) -> None:
    given = plan.columns["antenna_m"]
    assert np.isnan(given).tolist() == [False, True, False, False]
    text = words(cover(plan, [0, 1, 2, 3]))
    assert f"Antennas: 2 × {given[0]:.2f} m" in text
    # At D the whole station stands: no cable of its 10 m, no LNB.
    assert "Cable, and slack: 70 m of 75 ohm, series 59" in text
    assert "2 sets at most" in text
    assert "Desk, +1 555 0100" in text
    assert "2 B Reach <b> 16 km DO NOT INSTALL" in text


def test_a_stop_that_cannot_be_served_is_marked_beside_its_kit(plan: Plan) -> None:
    """On the sketch and in the kit to load too: kit is not carried up before that is settled."""
    flags = plan.columns["flags"].copy()
    flags[0] = f"{flags[0]};blocked".removeprefix(";")
    stopped = dataclasses.replace(plan, columns={**plan.columns, "flags": flags})
    page = cover(stopped, [0, 1, 2, 3])
    pair = f"{plan.columns['antenna_m'][0]:.2f} m, {plan.columns['buc_w'][0]:.1f} W"
    assert f"1 A Quay {pair}: STOP: DO NOT BUILD YET 2 B" in words(page)
    assert "Counted too, but STOP, not built yet: stop 1" in words(page)
    assert "Counted too" not in words(cover(plan, [0, 1, 2, 3]))
    assert page.count('class="hollow"') == cover(plan, [0, 1, 2, 3]).count('class="hollow"') + 1


def test_mounts_to_be_surveyed_are_told_so(plan: Plan) -> None:
    open_ = np.full(4, "provisional", dtype=object)
    told = dataclasses.replace(plan, columns={**plan.columns, "mount_certainty": open_})
    text = words(cover(told, [0, 1, 2, 3]))
    assert "(to be surveyed)" in text
    assert "provisional" not in text


def test_risks_name_the_stops_that_they_hold_at(plan: Plan) -> None:
    text = words(cover(plan, [2, 0, 1, 3]))
    assert "Stop: No pair of the catalogue meets the target with the reserve: stop 3" in text


def test_what_stands_already_is_marked_and_told_apart_from_what_is_built(plan: Plan) -> None:
    """D's whole station stands; where the dish alone does, the row says which part."""
    both = f"{plan.columns['antenna_m'][3]:.2f} m, {plan.columns['buc_w'][3]:.1f} W"
    page = words(cover(plan, [0, 1, 2, 3]))
    assert f"4 D Landing 25 km {both}: STANDS ALREADY: check, do not build Kit" in page
    no_buc = np.full(4, NAN)
    dish = dataclasses.replace(plan, columns={**plan.columns, "fixed_buc_w": no_buc})
    page = words(cover(dish, [0, 1, 2, 3]))
    assert f"4 D Landing 25 km {both}: ANTENNA STANDS ALREADY: check it, build the rest" in page


@pytest.mark.parametrize("n", [IN_TABLE + 1, ON_FIRST + 5, 120])
def test_every_stop_of_a_round_of_any_length_tells_its_kit_and_what_is_against_it(n: int) -> None:
    rng = np.random.default_rng(3)
    target = np.where(np.arange(n) % 4 == 1, 99.99, 99.0)
    sites = Sites.at(rng.uniform(-5, 5, n), rng.uniform(-65, -55, n), availability_pct=target)
    plan = make_plan(sites, network())
    flags = plan.columns["flags"].copy()
    flags[0] = "blocked"
    plan = dataclasses.replace(plan, columns={**plan.columns, "flags": flags})
    bare = np.isnan(plan.columns["antenna_m"])
    assert 0 < bare.sum() < n
    page = cover(plan, list(range(n)))
    text = words(page)
    assert text.count("DO NOT INSTALL") == bare.sum()
    assert text.count("STOP: DO NOT BUILD YET") == 1
    for k in range(n):
        site = re.escape(str(plan.columns["site_id"][k]))
        kit = "DO NOT INSTALL" if bare[k] else f"{plan.columns['antenna_m'][k]:.2f} m, "
        assert re.search(rf"\b{k + 1} {site} (?:\d+ km |[\d.]+ km )?{kit}", text), k
    assert page.count('class="cover page"') == (1 if n <= ON_FIRST else 2)


def test_runs_of_stops() -> None:
    assert numbered([2, 3, 4, 9], 12) == "stops 2 to 4, 9"
    assert numbered(list(range(1, 40, 2)), 50).endswith(" and more, 20 in all")


def test_the_cover_comes_before_the_sheets_and_in_no_other_file(plan: Plan, tmp_path: Path) -> None:
    write_sheets(plan, [Round("x", 1, np.arange(4))], tmp_path)
    text = (tmp_path / "groups" / "x.html").read_text("utf-8")
    assert text.index("Round: x") < text.index("<article")
    assert text.count('class="cover page"') == 1
    assert "Round: x" not in (tmp_path / "A.html").read_text("utf-8")


@pytest.mark.parametrize("shift", [0.0, 180.0])
def test_the_route_lies_within_its_frame_across_the_antimeridian_too(shift: float) -> None:
    lon = (np.array([-0.4, 0.3, 0.9]) + shift + 180) % 360 - 180
    drawn = route(np.array([-17.0, -16.8, -16.9]), lon, [False, True, False])
    (way,) = re.findall(r'class="route" d="M([^"]*)"', drawn)
    points = np.array([[float(x) for x in p.split()] for p in way.split("L")])
    assert (points > 0).all()
    assert (points < [WIDTH, HEIGHT]).all()
    assert (np.diff(points[:, 0]) > 100).all()  # to the east, each well beyond the one before
    assert drawn.count('class="hollow"') == 1


def test_land_and_nothing_but_land_is_grey() -> None:
    """Around a place in the middle of the Amazon all is land, of the Pacific nothing."""
    inland = route(np.array([-4.0, -4.1]), np.array([-63.0, -63.1]), [False] * 2)
    at_sea = route(np.array([-30.0, -30.1]), np.array([-120.0, -120.1]), [False] * 2)
    (ring,) = re.findall(r'class="land" fill-rule="evenodd" d="M([^"]*)Z"', inland)
    x, y = np.array([[float(v) for v in p.split()] for p in ring.split("L")]).T
    area = abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
    assert area == pytest.approx(WIDTH * HEIGHT, rel=0.01)
    assert 'class="land"' not in at_sea


def test_miles_stand_beside_kilometres(plan: Plan) -> None:
    general = plan.network.network.model_copy(update={"units": "us"})
    us = dataclasses.replace(plan, network=plan.network.model_copy(update={"network": general}))
    assert "25 km (15.4 mi)" in words(cover(us, [2, 0, 1, 3]))
