"""What-if and the card on the map, against the plan's own methods."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.map.payload import payload, write_map
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.angles.sun import sun_position
from siteplan.planning.link import whatif
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from siteplan.results import Plan
from tests.planning.worked import work_out

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}


@pytest.fixture(scope="module")
def page(browser: Any, worked_plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Any:
    path = tmp_path_factory.mktemp("whatif") / "map.html"
    write_map(worked_plan, path)
    browser.open(path, **LAPTOP)
    return browser


@pytest.fixture
def opened(page: Any) -> Iterator[Any]:
    """One page for all: each test puts the sliders back."""
    yield page
    page.run("siteplan.store.set({target: null, satellite: null, chosen: -1, layer: 0, tab: ''})")
    page.settle()
    assert page.console() == []


def text_of(browser: Any, selector: str) -> str:
    found: str = browser.run("return document.querySelector(arguments[0]).innerText", selector)
    return found


def numbers(browser: Any, field: str) -> np.ndarray[Any, Any]:
    values = browser.run(
        "return [...Array(siteplan.model.count).keys()]"
        ".map((i) => siteplan.live.value(arguments[0], i))",
        field,
    )
    return np.array([np.nan if v is None else v for v in values], dtype=float)


def margins_at(plan: Plan, target_pct: float) -> dict[str, np.ndarray[Any, Any]]:
    """Margins of the plan's own method and kit at another target."""
    c = plan.columns
    sites = Sites.at(c["lat"], c["lon"], fixed_antenna_m=c["antenna_m"], fixed_buc_w=c["buc_w"])
    targets = np.full(len(plan), target_pct)
    again = make_plan(
        Sites.at(
            sites.lat,
            sites.lon,
            availability_pct=targets,
            fixed_antenna_m=c["antenna_m"],
            fixed_buc_w=c["buc_w"],
        ),
        plan.network,
    )
    kept = ~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"])
    return {
        name: np.where(kept, again.columns[name], np.nan)
        for name in ("outbound_margin_db", "inbound_margin_db", "margin_db")
    }


def ask(browser: Any, target: float) -> None:
    browser.run(
        "const f = document.getElementById('target-exact'); f.value = arguments[0];"
        "f.dispatchEvent(new Event('change'));",
        str(target),
    )
    browser.settle()


@pytest.mark.parametrize("target", [95.0, 98.2, 99.0, 99.4, 99.55, 99.8, 99.93, 99.97, 99.99])
def test_the_target_slider_equals_a_plan_of_that_target(
    opened: Any, worked_plan: Plan, target: float
) -> None:
    ask(opened, target)
    for name, expected in margins_at(worked_plan, target).items():
        gap = np.abs(numbers(opened, name) - expected)
        assert np.isfinite(gap).sum() > 25
        assert np.nanmax(gap) < 0.1, name


def test_the_estimate_is_marked_and_moves_the_legend(opened: Any, worked_plan: Plan) -> None:
    counts = "return [...document.querySelectorAll('.row-count')].map((n) => n.innerText)"
    before = opened.run(counts)
    opened.run(
        "const s = document.getElementById('target'); s.value = 1000;"
        "s.dispatchEvent(new Event('input'));"
    )
    opened.settle()
    assert "99.99 %, an estimate" in opened.run(
        "return document.getElementById('target-text').textContent"
    )
    assert "Estimate" in text_of(opened, "#legend-key")
    assert opened.run(counts) != before
    opened.run("siteplan.store.set({chosen: 7, table: true})")
    opened.settle()
    assert "≈" in text_of(opened, "#card .verdict")
    assert "Estimate" in text_of(opened, "#card .whatif-note")
    assert "≈" in text_of(opened, "#table-body")
    opened.run("document.getElementById('target-reset').click()")
    opened.settle()
    assert opened.run(counts) == before
    assert "≈" not in text_of(opened, "#card .verdict")


def test_targets_out_of_the_table_are_refused(opened: Any) -> None:
    for target in (94.0, 100.0, 99.999):
        ask(opened, target)
        assert opened.run("return siteplan.store.state.target") is None


def test_what_fails_follows_the_estimate(opened: Any, worked_plan: Plan) -> None:
    ask(opened, 99.99)
    margin = margins_at(worked_plan, 99.99)["margin_db"]
    failing = np.array(opened.run("return [...siteplan.live.now.failing]"), dtype=bool)
    clear = np.abs(margin) > 0.3
    assert failing[clear & (margin < 0)].all()
    low = worked_plan.columns["elevation_deg"] < 12
    assert failing[low].all(), "what stops a site whatever the target still does"
    assert not failing[clear & (margin > 0) & ~low].any()


@pytest.mark.parametrize("moved", [13.0, -15.3, 45.0, 61.7])
def test_look_angles_equal_the_plan_s(opened: Any, worked_plan: Plan, moved: float) -> None:
    opened.run("siteplan.store.set({satellite: arguments[0]})", moved)
    c = worked_plan.columns
    # The page has places to 1e-6 degree and altitudes to 1 m: 1e-4 degree at most.
    expected = look_angles(c["lat"], c["lon"], c["altitude_m"], moved)
    for field, angles in (
        ("azimuth_true_deg", expected.azimuth_true_deg),
        ("elevation_deg", expected.elevation_deg),
        ("skew_deg", expected.skew_deg),
    ):
        found = numbers(opened, field)
        assert np.array_equal(np.isnan(found), np.isnan(angles)), field
        turn = np.abs((found - angles + 180) % 360 - 180)
        assert np.nanmax(turn) < 0.01, field
    magnetic = (expected.azimuth_true_deg - c["magnetic_declination_deg"]) % 360
    turn = np.abs((numbers(opened, "azimuth_magnetic_deg") - magnetic + 180) % 360 - 180)
    assert np.nanmax(turn) < 0.01


def test_a_moved_satellite_greys_what_rests_on_the_link(opened: Any) -> None:
    opened.run(
        "const s = document.getElementById('satellite'); s.value = 40;"
        "s.dispatchEvent(new Event('input')); siteplan.store.set({chosen: 7})"
    )
    opened.settle()
    assert "needs a new plan" in text_of(opened, "#card .verdict")
    assert "moved" in text_of(opened, "#legend-key")
    stale = opened.run(
        "return [...document.querySelectorAll('#card dd.stale')]"
        ".map((n) => n.previousElementSibling.innerText)"
    )
    assert {"Margin", "Antenna", "Outbound availability", "Mount"} <= set(stale)
    assert not {"Elevation", "Azimuth (true)", "Rain rate R0.01"} & set(stale)
    assert opened.run("return document.querySelectorAll('#legend .row.outdated').length") > 3
    opened.run("document.getElementById('satellite-reset').click()")
    opened.settle()
    assert opened.run("return document.querySelectorAll('#card dd.stale').length") == 0


def test_a_moved_satellite_recolours_the_elevation(opened: Any, worked_plan: Plan) -> None:
    opened.run("siteplan.store.set({layer: 1, satellite: 45})")
    opened.settle()
    c = worked_plan.columns
    elevation = look_angles(c["lat"], c["lon"], c["altitude_m"], 45.0).elevation_deg
    rows = opened.run(
        "return [...document.querySelectorAll('.row-count')].map((n) => Number(n.innerText))"
    )
    expected, _ = np.histogram(elevation[~np.isnan(elevation)], [-1, 10, 20, 30, 45, 91])
    assert rows == [*expected, int(np.isnan(elevation).sum())]


# --- what is unmistakable -------------------------------------------------------------------


def test_a_stopped_site_with_a_positive_margin_has_a_class_of_its_own(worked_plan: Plan) -> None:
    c = worked_plan.columns
    low = (c["elevation_deg"] < 12) & (c["margin_db"] >= 0)
    assert low.any(), "such a site is in the plan"
    spec = payload(worked_plan, "x")["layers"][0]
    row = spec["classes"][-2]
    assert row["label"] == "Margin holds, but a flag stops it"
    assert (row["shape"], row["mark"]) == ("octagon", "level")
    assert {spec["codes"][i] for i in np.flatnonzero(low)} == {str(len(spec["classes"]) - 2)}


def dark_red(browser: Any, i: int) -> int:
    """Pixels of the stop's colour around a site on the canvas of the sites."""
    found: int = browser.run(
        "const canvas = document.querySelector('.leaflet-sites-pane canvas');"
        "const corner = L.DomUtil.getPosition(canvas);"
        "const p = siteplan.map.latLngToLayerPoint(siteplan.points.latLng(arguments[0]))"
        ".subtract(corner).floor();"
        "const often = {willReadFrequently: true};"
        "const copy = document.createElement('canvas').getContext('2d', often);"
        "copy.drawImage(canvas, 16 - p.x, 16 - p.y);"
        "const d = copy.getImageData(0, 0, 32, 32).data; let n = 0;"
        "const near = (k, c) => c.every((x, j) => Math.abs(d[k + j] - x) < 13);"
        "for (let k = 0; k < d.length; k += 4)"
        "  if (near(k, [140, 16, 32]) || near(k, [163, 20, 42])) n++;"
        "return n;",
        i,
    )
    return found


def test_a_stopped_site_is_marked_in_every_layer(opened: Any, worked_plan: Plan) -> None:
    opened.run("siteplan.map.setView([71, 25], 8, {animate: false})")
    for k in range(opened.run("return siteplan.model.layers.length")):
        opened.run("siteplan.store.set({layer: arguments[0]})", k)
        opened.settle()
        assert dark_red(opened, 2) > 40, f"layer {k}"
    opened.run("siteplan.store.set({layer: 0}); siteplan.map.setView([0, 13], 8, {animate: false})")
    opened.settle()
    served = not opened.run("return siteplan.model.failing[0]")
    assert served
    assert dark_red(opened, 0) == 0


# --- the card -------------------------------------------------------------------------------


def test_the_budget_on_the_card_adds_up(opened: Any, worked_plan: Plan) -> None:
    budget, c = worked_plan.tables[whatif.BUDGET], worked_plan.columns
    for i in range(60):
        for way, name in enumerate(whatif.DIRECTIONS):
            steps = opened.run("return siteplan.budgetSteps(arguments[0], arguments[1])", i, name)
            if np.isnan(c["margin_db"][i]):
                assert steps == []
                continue
            # The page has every figure to 0.1 dB, so that the steps add up as they are shown.
            fields = ("clear_es_n0_db", "fade_margin_db", "margin_db")
            clear, fade, margin = (np.round(c[f"{name}_{field}"][i], 1) for field in fields)
            hop, taken, site, hub = np.round(budget[i, way, [0, 1, 2, 4]], 1)
            others = min(taken, hop - clear)  # what three roundings come to is not given back
            modem = getattr(worked_plan.network, name).implementation_loss_db
            reserve = worked_plan.network.rules.reserve_db
            levels = [s["level"] for s in steps if "level" in s]
            kitted = not np.isnan(c["antenna_m"][i]) and not np.isnan(c["buc_w"][i])
            tops = [hop] if kitted else []  # a pair that was only tried has no Es/N0
            assert levels == pytest.approx([*tops, fade, margin, margin - reserve], abs=1e-9)
            expected = {
                "Other hop": hop - clear - others if kitted else 0.0,
                "Interference": others if kitted else 0.0,
                "Threshold": clear - fade - modem if kitted else 0.0,
                "Modem loss": modem if kitted else 0.0,
                "Rain and gas at the site": site,
                ("Noise of the rain, wet dish", "Wet dish")[way]: fade - site - hub - margin,
                "Rain at the hub": hub,
                "Reserve": reserve,
            }
            drops = {s["label"]: s["drop"] for s in steps if "drop" in s}
            shown = {label: drop for label, drop in expected.items() if abs(drop) > 0.04}
            assert drops == pytest.approx(shown, abs=1e-9)
            top = hop if kitted else fade
            assert top - sum(expected.values()) == pytest.approx(margin - reserve, abs=1e-9)


def test_the_budget_is_folded_and_stays_as_it_was_left(opened: Any) -> None:
    is_open = "return document.getElementById('link-budget').open"
    opened.run("siteplan.store.set({chosen: 7})")
    opened.settle()
    assert not opened.run(is_open)
    opened.run("document.querySelector('#link-budget summary').click()")
    opened.settle()
    opened.run("siteplan.store.set({chosen: 8})")
    opened.settle()
    assert opened.run(is_open)
    opened.run("document.querySelector('#link-budget summary').click()")
    opened.settle()
    opened.run("siteplan.store.set({chosen: 7})")
    opened.settle()
    assert not opened.run(is_open)


def test_the_hop_on_the_card_is_the_budgets(opened: Any, worked_plan: Plan) -> None:
    """What is left for the site is its G/T and its EIRP, pointing and gas taken off."""
    opened.run("siteplan.store.set({chosen: 7})")
    opened.settle()
    rows = opened.run(
        "return [...document.querySelectorAll('#card .budget:not([data-way]) tr')]"
        ".map((r) => [r.children[0].textContent, parseFloat(r.children[1].textContent)])"
    )
    shown, c = dict(rows), worked_plan.columns
    g_t, gas = (float(c[k][7]) for k in ("remote_g_t_db_k", "downlink_gas_db"))
    eirp, up_gas = (float(c[k][7]) for k in ("remote_eirp_dbw", "uplink_gas_db"))
    # Each of some seven lines is rounded to 0.1 dB.
    left = shown["G/T of the site, less pointing and gas"], shown["EIRP of the site, less gas"]
    assert left == pytest.approx((g_t - gas, eirp - up_gas), abs=0.3)


def test_the_budget_is_drawn_for_both_directions(opened: Any) -> None:
    opened.run("siteplan.store.set({chosen: 7})")
    opened.settle()
    captions = opened.run(
        "return [...document.querySelectorAll('#card .budget caption')].map((n) => n.textContent)"
    )
    assert captions == [
        *("Outbound, Es/N0", "Inbound, Es/N0"),
        *("Downlink to the site, clear sky", "Uplink from the site, clear sky"),
    ]
    assert opened.run("return document.querySelectorAll('#card .budget rect').length") >= 12


def test_the_sky_has_satellite_sun_and_horizon(opened: Any, worked_plan: Plan) -> None:
    opened.run("siteplan.store.set({chosen: 4})")
    opened.settle()
    count = "return document.querySelectorAll(arguments[0]).length"
    assert opened.run(count, "#card .sky-sun") >= 3
    assert opened.run(count, "#card .sky-ground") == 1
    x, y = opened.run(
        "const c = document.querySelector('#card .sky-satellite');"
        "return [c.cx.baseVal.value, c.cy.baseVal.value]"
    )
    c = worked_plan.columns
    radius = 118 * (90 - c["elevation_deg"][4]) / 90
    bearing = np.radians(c["azimuth_true_deg"][4])
    assert x == pytest.approx(148 + radius * np.sin(bearing), abs=0.1)
    assert y == pytest.approx(148 - radius * np.cos(bearing), abs=0.1)
    label = opened.run("return document.querySelector('#card .sky').getAttribute('aria-label')")
    assert f"elevation {c['elevation_deg'][4]:.0f}°" in label
    opened.run("siteplan.store.set({chosen: 9})")
    opened.settle()
    assert opened.run(count, "#card .sky-ground") == 0
    assert "No horizon surveyed" in text_of(opened, "#card")


def test_the_sun_s_track_is_the_sun_s(opened: Any) -> None:
    # At the solstices the sun's declination is the obliquity; the rest is the plan's own series.
    times = np.datetime64("2026-06-21T00:00") + np.arange(0, 1440, 20) * np.timedelta64(60, "s")
    there = sun_position(times, 35.0, 20.0)
    up = there.elevation_deg > 5
    track = np.array(opened.run("return siteplan.sunTrack(35, 23.44, 1)[0]"))
    expected = np.interp(there.azimuth_true_deg[up], track[:, 0], track[:, 1])
    np.testing.assert_allclose(expected, there.elevation_deg[up], atol=0.15)


def test_what_another_antenna_buys(opened: Any, worked_plan: Plan) -> None:
    c = worked_plan.columns
    i = int(np.flatnonzero(~np.isnan(c["next_antenna_margin_db"]) & ~np.isnan(c["antenna_m"]))[0])
    opened.run("siteplan.store.set({chosen: arguments[0]})", i)
    opened.settle()
    gain = round(c["next_antenna_margin_db"][i], 1) - round(c["margin_db"][i], 1)
    assert f"{c['next_antenna_m'][i]:g} m, buys {gain:.1f} dB" in text_of(opened, "#card .buys")


def test_the_card_links_to_the_sheet(opened: Any, worked_plan: Plan) -> None:
    opened.run("siteplan.store.set({chosen: 7})")
    opened.settle()
    href = opened.run("return document.getElementById('sheet-link').getAttribute('href')")
    assert href == f"sheets/{worked_plan.columns['site_id'][7]}.html"


def test_no_link_without_sheets(spread_plan: Plan) -> None:
    assert payload(spread_plan, "x")["sheets"] is None


def test_the_table_in_the_page_is_the_plan_s(worked_plan: Plan, parse: Any) -> None:
    from siteplan.outputs.map.dataset import to_json

    found = parse(to_json(payload(worked_plan, "x")["whatif"]))
    n, points = len(worked_plan), len(worked_plan.facts.whatif_p_pct)
    assert found["p_pct"] == list(worked_plan.facts.whatif_p_pct)
    bends = np.array([np.nan if v is None else v for v in found["site"]], dtype=float)
    margins = bends.reshape(n, 2, points).cumsum(axis=2).cumsum(axis=2) / 100
    np.testing.assert_allclose(margins, worked_plan.tables[whatif.MARGINS], atol=0.00501)
    clear = np.array([np.nan if v is None else v for v in found["clear"]], dtype=float)
    wanted = worked_plan.tables[whatif.CLEAR]
    np.testing.assert_allclose(clear.reshape(n, 3) / 100, wanted, atol=0.00501)
    np.testing.assert_allclose(found["hub_db"], worked_plan.facts.whatif_hub_db, atol=0.000501)
    assert found["share"] == worked_plan.network.rules.hub_outage_share


def test_no_hub_leaves_the_whole_outage_to_the_sites(worked_plan: Plan) -> None:
    told = worked_plan.network.model_dump(exclude_unset=True)
    network = Network.model_validate(told | {"hub": {}})
    plan = make_plan(Sites.at(np.array([10.0]), np.array([20.0])), network, with_tables=True)
    assert payload(plan, "x")["whatif"]["share"] == 0


def test_work_out_is_what_the_tables_come_from(worked_plan: Plan) -> None:
    c = worked_plan.columns
    targets = c["availability_target_pct"]
    sites = Sites.at(c["lat"], c["lon"], availability_pct=targets)
    done = work_out(sites, setting(worked_plan.network))
    again = whatif.tables(done.ways, done.split, 100 - targets)
    for name, table in again.items():
        np.testing.assert_allclose(table, worked_plan.tables[name], rtol=0, atol=1e-9)
