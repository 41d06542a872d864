"""One kit everywhere, through the data that the page holds, against plans with that kit fixed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.jobs.opened import find, read_sites
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.map import payload as pages
from siteplan.outputs.map.dataset import dump, in_steps, told_by_change
from siteplan.outputs.map.payload import payload, write_map
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.samples import FROZEN, NAMES

#: Sites of a sample, drawn again around its own.
COUNT = 200
#: Margins travel in steps of this [dB].
STEP_DB = 0.05


def around(sample: str) -> tuple[Sites, Network]:
    """Two hundred sites around those of a sample, each with its own's target and kit."""
    project, network = find(FROZEN / sample)
    own = read_sites(project.sites_path, None).sites
    rng = np.random.default_rng(20)
    sites = own.take(np.arange(COUNT) % len(own))
    ids = np.array([f"T{k:03d}" for k in range(COUNT)], dtype=object)
    lat, lon = sites.lat + rng.uniform(-1.5, 1.5, COUNT), sites.lon + rng.uniform(-2, 2, COUNT)
    unknown = np.full(COUNT, np.nan)
    return replace(sites, site_id=ids, lat=lat, lon=lon, altitude_m=unknown), network


def fixed_plan(sites: Sites, network: Network, pair: tuple[float, float]) -> Plan:
    n = len(sites)
    diameter_m, power_w = (np.full(n, value) for value in pair)
    unknown = np.full(n, np.nan)
    stands = replace(sites, fixed_antenna_m=diameter_m, fixed_buc_w=power_w,
                     fixed_efficiency=unknown, fixed_buc_backoff_db=unknown)  # fmt: skip
    return make_plan(stands, network)


def margins_of(page: dict[str, Any]) -> NDArray[np.float64]:
    """The margins that a page holds (n, pairs) [dB], read as the page's own script reads them."""
    one_kit = page["everywhere"]
    told = np.array([np.nan if x is None else x for x in one_kit["db"]], dtype=float)
    steps = told.reshape(page["count"], len(one_kit["pairs"]))
    seen = ~np.isnan(steps).any(axis=1)
    return np.where(seen[:, None], np.cumsum(np.nan_to_num(steps), axis=1), np.nan) * STEP_DB


@pytest.fixture(scope="module", params=NAMES)
def sample(request: pytest.FixtureRequest) -> tuple[Sites, Network, Plan, dict[str, Any]]:
    sites, network = around(request.param)
    plan = make_plan(sites, network, with_tables=True)
    return sites, network, plan, json.loads(dump(payload(plan, "")))


def test_the_page_s_margins_equal_plans_with_that_kit_fixed(
    sample: tuple[Sites, Network, Plan, dict[str, Any]],
) -> None:
    sites, network, plan, page = sample
    found, bounds = margins_of(page), network.rules.margin_classes_db
    assert page["everywhere"]["step_db"] == STEP_DB
    assert len(page["everywhere"]["pairs"]) == len(network.antennas) * len(network.bucs)
    for k, pair in enumerate(plan.facts.pairs):
        assert page["everywhere"]["pairs"][k] == list(pair)
        # Nobody tells margins beyond 320 dB apart: sites that graze the horizon.
        fixed = np.clip(fixed_plan(sites, network, pair).columns["margin_db"], -320, 320)
        assert np.isfinite(fixed).sum() > 150
        np.testing.assert_array_equal(np.isnan(found[:, k]), np.isnan(fixed))
        assert np.nanmax(np.abs(found[:, k] - fixed)) < STEP_DB
        # Whatever the rounding, each stays in its class and on its side of the reserve.
        for bound in (*bounds, network.rules.reserve_db):
            np.testing.assert_array_equal(
                np.round(found[:, k], 6) >= bound, np.round(fixed, 6) >= bound
            )


def test_values_stay_in_their_class_when_they_travel_in_steps() -> None:
    values = np.array([0.999, 1.0, 1.026, 1.024, 1.031, -0.001, -0.0, np.nan, 2.976, 3.0])
    steps = in_steps(values, STEP_DB, (0.0, 1.0, 1.03, 3.0))
    expected = [19, 20, 20, 20, 21, -1, 0, np.nan, 59, 60]
    np.testing.assert_array_equal(steps, expected)
    assert np.nanmax(np.abs(steps * STEP_DB - values)) < STEP_DB
    rng = np.random.default_rng(2)
    many = rng.uniform(-5, 8, 5000)
    bounds = (0.0, 1.0, 2.37, 3.0)
    told = np.round(in_steps(many, STEP_DB, bounds) * STEP_DB, 6)
    assert np.abs(told - many).max() < STEP_DB
    assert np.abs(told - many).mean() < STEP_DB / 3
    for bound in bounds:
        np.testing.assert_array_equal(told >= bound, np.round(many, 6) >= bound)


def test_rows_are_told_by_their_change() -> None:
    told = told_by_change(
        np.array([[3.0, 5.0, 4.0], [np.nan, np.nan, np.nan], [-2.0, np.nan, 7.0]])
    )
    assert json.loads(dump(told)) == [3, 2, -1, None, None, None, -2, None, 7]
    plain = told_by_change(np.array([[3.0, 5.0], [0.0, 0.0]]))
    assert json.loads(dump(plain)) == [3, 2, 0, 0]


def test_prices_travel_where_every_pair_has_one(monkeypatch: pytest.MonkeyPatch) -> None:
    sites, network = around("fjord_substations")
    plan = make_plan(sites.take(np.arange(5)), network, with_tables=True)
    assert "prices" not in payload(plan, "")["everywhere"]
    known = {pair: 100.0 * k for k, pair in enumerate(plan.facts.pairs)}
    monkeypatch.setattr(pages, "kind_prices", lambda _, pairs: [known[pair] for pair in pairs])
    assert payload(plan, "")["everywhere"]["prices"] == list(known.values())
    known[plan.facts.pairs[2]] = float("nan")
    assert "prices" not in payload(plan, "")["everywhere"]


def test_a_plan_without_tables_goes_without(worked_plan: Plan) -> None:
    assert "everywhere" not in payload(replace(worked_plan, tables={}), "")


# --- in the browser -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def clinics() -> tuple[Sites, Network, Plan]:
    sites, network = around(NAMES[0])
    return sites, network, make_plan(sites, network, with_tables=True)


@pytest.fixture
def opened(
    browser: Any, clinics: tuple[Sites, Network, Plan], tmp_path: Path
) -> Iterator[tuple[Any, Path]]:
    path = tmp_path / "map.html"
    write_map(clinics[2], path)
    browser.open(path, width=1366, height=768)
    yield browser, path
    browser.run("window.localStorage.clear()")
    assert browser.console() == []


def choose(browser: Any, k: int) -> None:
    browser.run(
        "const f = document.getElementById('kit-choice'); f.value = arguments[0];"
        "f.dispatchEvent(new Event('change'));",
        str(k),
    )
    browser.settle()


def text_of(browser: Any, selector: str) -> str:
    return str(browser.run("return document.querySelector(arguments[0]).innerText", selector))


@pytest.mark.browser
def test_one_kit_everywhere_on_the_map(
    opened: tuple[Any, Path], clinics: tuple[Sites, Network, Plan]
) -> None:
    browser, path = opened
    sites, network, plan = clinics
    k = 3
    fixed = fixed_plan(sites, network, plan.facts.pairs[k]).columns
    counts = "return [...document.querySelectorAll('#legend .row-count')].map((n) => n.innerText)"
    planned = browser.run(counts)
    choose(browser, k)
    values = browser.run(
        "return [...Array(siteplan.model.count).keys()]"
        ".map((i) => siteplan.live.value('margin_db', i))"
    )
    gap = np.abs(np.array(values, dtype=float) - fixed["margin_db"])
    assert np.nanmax(gap) < STEP_DB
    # The legend counts anew, and says whose margins these are.
    margin = np.round(fixed["margin_db"], 6)
    classes = np.bincount(np.searchsorted(network.rules.margin_classes_db, margin, side="right"),
                          minlength=5)  # fmt: skip
    recounted = browser.run(counts)
    assert recounted != planned
    assert [int(text) for text in recounted[:5]] == classes.tolist()
    assert text_of(browser, "#kit-banner").startswith("Not the plan: 1.8 m and 1 W at every site.")
    assert "1.8 m and 1 W" in text_of(browser, "#legend-title")
    low = fixed["elevation_deg"] < network.rules.min_elevation_deg
    served = int(((margin >= network.rules.reserve_db) & ~low).sum())
    assert text_of(browser, "#kit-said").startswith(f"Serves {served} of {COUNT} sites")
    assert browser.run("return siteplan.live.now.failing.reduce((a, b) => a + b)") == COUNT - served
    # Filters and table follow, and a link brings it back.
    browser.run("siteplan.filters.set({least: 1}); siteplan.store.set({table: true, chosen: 0})")
    browser.settle()
    assert browser.run("return siteplan.filters.shownCount()") == int((margin >= 1).sum())
    assert "1.8 m and 1 W" in text_of(browser, "#table-head")
    assert "Not the plan" in text_of(browser, "#card")
    link = browser.run("return siteplan.hash.text()")
    assert "kit=1.8+1" in link
    browser.open(Path(f"{path}"), width=1366, height=768)
    browser.run("window.location.hash = arguments[0]", link)
    browser.settle()
    assert browser.run("return siteplan.store.state.kit") == k
    assert browser.run("return siteplan.filters.shownCount()") == int((margin >= 1).sum())
    # Another target is asked of the kit planned.
    browser.run("siteplan.store.set({target: 99})")
    browser.settle()
    assert browser.run("return [siteplan.store.state.kit, siteplan.live.now.kit]") == [None, None]
    browser.run("siteplan.store.set({target: null})")
    choose(browser, k)
    browser.run("document.getElementById('kit-back').click(); siteplan.filters.clear()")
    browser.settle()
    assert browser.run(counts) == planned
    assert not browser.run("return document.getElementById('kit-banner').checkVisibility()")


@pytest.mark.browser
def test_the_histogram_filters_by_pointer_and_by_number(
    opened: tuple[Any, Path], clinics: tuple[Sites, Network, Plan]
) -> None:
    browser, _ = opened
    elevation = np.round(clinics[2].columns["elevation_deg"], 2)
    browser.run("siteplan.store.set({layer: 1})")
    browser.settle()
    browser.run("document.getElementById('spread').scrollIntoView({block: 'end'})")
    box = browser.run(
        "const r = document.querySelector('.spread-bars').getBoundingClientRect();"
        "return [r.left, r.right, r.top + r.height / 3]"
    )
    left, right, y = box
    drag = [("mousePressed", left + 2), ("mouseMoved", (left + right) / 2),
            ("mouseReleased", (left + right) / 2)]  # fmt: skip
    for kind, x in drag:
        event = {"type": kind, "x": x, "y": y, "button": "left", "buttons": 1, "clickCount": 1}
        browser.driver.execute_cdp_cmd("Input.dispatchMouseEvent", event)
    browser.settle()
    ranges = browser.run("return siteplan.filters.wanted.ranges")
    name, least, most = ranges.split(":")
    assert (name, least) == ("elevation_deg", "")
    shown = browser.run("return siteplan.filters.shownCount()")
    assert shown == int((elevation <= float(most)).sum())
    assert 0 < shown < COUNT
    assert browser.run("return document.getElementById('spread-most').value") == most
    assert browser.run("return document.querySelectorAll('.bin-range').length") == 1
    # By number, and from the keyboard alone.
    browser.run("const f = document.getElementById('spread-least'); f.focus(); f.select()")
    browser.keys(*"70")
    browser.settle()
    inside = (elevation >= 70) & (elevation <= float(most))
    assert browser.run("return siteplan.filters.shownCount()") == int(inside.sum())
    assert "ranges=elevation_deg%3A70%3A" in browser.run("return siteplan.hash.text()")
    browser.run("document.getElementById('spread-clear').click()")
    assert browser.run("return siteplan.filters.shownCount()") == COUNT
    assert browser.run("return document.querySelectorAll('.bin-range').length") == 0
