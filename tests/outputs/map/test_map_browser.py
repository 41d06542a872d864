"""The map in a real browser with no network: what a reader sees and can do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.fields import FIELDS, lookup
from siteplan.outputs.map.layers import LAYERS
from siteplan.outputs.map.payload import write_map
from siteplan.results import Plan

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844, "touch": True}
ENTER, ESCAPE, TAB = "\ue007", "\ue00c", "\ue004"


@pytest.fixture(scope="module")
def map_path(spread_plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("browser") / "map.html"
    write_map(spread_plan, path)
    return path


@pytest.fixture
def opened(browser: Any, map_path: Path) -> Any:
    """The map on a laptop; whatever a test does, the console stays empty."""
    browser.open(map_path, **LAPTOP)
    yield browser
    assert browser.console() == []
    assert browser.requests() == [map_path.resolve().as_uri()]


@pytest.fixture
def phone(browser: Any, map_path: Path) -> Any:
    browser.open(map_path, **PHONE)
    yield browser
    assert browser.console() == []


def legend(browser: Any) -> dict[str, str]:
    """Labels of the legend and the counts beside them."""
    rows = browser.run(
        "return [...document.querySelectorAll('#legend .row')].map((row) =>"
        " ['label', 'count'].map((part) => row.querySelector(`.row-${part}`).textContent))"
    )
    return dict(rows)


def text_of(browser: Any, selector: str) -> str:
    found: str = browser.run("return document.querySelector(arguments[0]).innerText", selector)
    return found


def place_of(browser: Any, site: int) -> tuple[float, float]:
    """Where a site is drawn, in pixels of the viewport."""
    x, y = browser.run(
        "const p = siteplan.map.latLngToContainerPoint(siteplan.points.latLng(arguments[0]));"
        "const box = siteplan.map.getContainer().getBoundingClientRect();"
        "return [box.left + p.x, box.top + p.y];",
        site,
    )
    return float(x), float(y)


def place_at(browser: Any, x: float, y: float) -> tuple[float, float]:
    """Latitude and longitude under a pixel of the viewport."""
    lat, lon = browser.run(
        "const box = siteplan.map.getContainer().getBoundingClientRect();"
        "const point = [arguments[0] - box.left, arguments[1] - box.top];"
        "const at = siteplan.map.containerPointToLatLng(point); return [at.lat, at.lng];",
        x,
        y,
    )
    return float(lat), float(lon)


def zoom_to(browser: Any, plan: Plan, site: int, zoom: float = 7) -> None:
    lat, lon = (float(plan.columns[name][site]) for name in ("lat", "lon"))
    browser.run(
        "siteplan.map.setView([arguments[0], arguments[1]], arguments[2], {animate: false})",
        lat,
        lon,
        zoom,
    )
    browser.settle()


def card(browser: Any) -> dict[str, str]:
    """Labels and values of the open card."""
    rows = browser.run(
        "return [...document.querySelectorAll('#card dt')].map((dt) =>"
        " [dt.textContent, dt.nextElementSibling.textContent])"
    )
    return dict(rows)


def a_site(plan: Plan, where: np.ndarray[Any, Any]) -> int:
    return int(np.flatnonzero(where)[0])


# --- opening --------------------------------------------------------------------------------


def test_opens_with_an_empty_console_and_no_request(opened: Any) -> None:
    assert text_of(opened, "#heading") == "Invented network"
    assert "13.0° E" in text_of(opened, "#facts")
    assert "2026-03-01" in text_of(opened, "#facts")
    assert "99.5 %" in text_of(opened, "#facts")


def test_the_caution_is_in_sight(opened: Any) -> None:
    caution = text_of(opened, ".caution")
    for words in ("Planning figures", "survey", "licensed practice", "your licence"):
        assert words in caution


def test_all_sites_are_in_view_at_the_start(opened: Any, spread_plan: Plan) -> None:
    assert opened.run("return siteplan.points.inView().length") == len(spread_plan)
    clear = opened.run("return document.getElementById('panel').getBoundingClientRect().right")
    west = int(np.argmin(spread_plan.columns["lon"]))
    assert place_of(opened, west)[0] > clear


def test_land_is_land_and_sea_is_sea(opened: Any) -> None:
    colors = opened.run(
        "return ['--land', '--sea'].map(SP => getComputedStyle("
        "document.documentElement).getPropertyValue(SP).trim())"
    )
    land, sea = ([*bytes.fromhex(color[1:])] for color in colors)
    # Lake-free inland places and mid-ocean, off the graticule (from memory).
    for lat, lon in ((23.4, 4.2), (-9.5, -55.3), (62.3, 98.7), (-22.2, 22.8)):
        np.testing.assert_allclose(opened.pixel("basemap", lat, lon)[:3], land, atol=2)
    for lat, lon in ((44.3, -38.2), (-22.7, -12.4), (-33.8, 77.7)):
        np.testing.assert_allclose(opened.pixel("basemap", lat, lon)[:3], sea, atol=2)


def test_hostile_names_ran_nothing(opened: Any) -> None:
    assert opened.driver.title == "Invented network"
    assert opened.run("return document.querySelectorAll('img, #card script').length") == 0


# --- layers and legend ----------------------------------------------------------------------

BY_BUTTON = "document.querySelector(`[data-layer='${arguments[0]}']`).click()"
BY_LIST = (
    "const list = document.getElementById('other-field'); list.value = arguments[0];"
    " list.dispatchEvent(new Event('change'))"
)


def test_each_layer_switches(opened: Any, spread_plan: Plan) -> None:
    fields = [known for layer in LAYERS if (known := lookup(layer.field))]
    assert {field.name for field in fields} <= set(spread_plan.columns)
    for number, field in enumerate(fields):
        keyed = number < 9
        opened.run(BY_BUTTON if keyed else BY_LIST, field.name)
        opened.settle()
        assert text_of(opened, "#legend-title").startswith(field.label)
        counts = legend(opened)
        assert sum(int(count) for count in counts.values()) == len(spread_plan), field.name
        pressed = opened.run(
            "const on = document.querySelectorAll('#layer-list [aria-pressed=true]');"
            "return [...on].map((button) => button.dataset.layer)"
        )
        assert pressed == ([field.name] if keyed else [])


def test_layers_recolour_the_sites(opened: Any, spread_plan: Plan) -> None:
    site = a_site(spread_plan, spread_plan.columns["margin_db"] > 6)
    zoom_to(opened, spread_plan, site, 9)
    at = [float(spread_plan.columns[name][site]) for name in ("lat", "lon")]
    seen = set()
    for number in range(1, 6):
        opened.keys(str(number))
        seen.add(tuple(opened.pixel("sites", *at)))
    assert len(seen) == 5


def test_margin_counts_equal_numpy(opened: Any, spread_plan: Plan) -> None:
    margin = spread_plan.columns["margin_db"]
    counts = legend(opened)
    assert int(counts["below 0 dB: fails"]) == int((margin < 0).sum())
    assert int(counts["1 to 3 dB"]) == int(((margin >= 1) & (margin < 3)).sum())
    assert int(counts["No margin: satellite not in view"]) == int(np.isnan(margin).sum())


def test_the_legend_hides_and_shows(opened: Any, spread_plan: Plan) -> None:
    margin = spread_plan.columns["margin_db"]
    site = a_site(spread_plan, (margin >= 1) & (margin < 3))
    zoom_to(opened, spread_plan, site, 9)
    at = [float(spread_plan.columns[name][site]) for name in ("lat", "lon")]
    row = "document.querySelectorAll('#legend .row')[2]"
    assert opened.pixel("sites", *at)[3] == 255
    opened.run(f"{row}.click()")
    opened.settle()
    left = len(spread_plan) - int(((margin >= 1) & (margin < 3)).sum())
    assert text_of(opened, "#shown") == f"{left} of {len(spread_plan)} sites shown"
    assert opened.run(f"return {row}.getAttribute('aria-pressed')") == "false"
    assert opened.pixel("sites", *at)[3] == 0
    opened.click(*place_of(opened, site))
    assert opened.run("return document.getElementById('card').hidden")
    opened.run(f"{row}.click()")
    opened.settle()
    assert opened.pixel("sites", *at)[3] == 255


def test_filters_of_two_layers_add_up(opened: Any, spread_plan: Plan) -> None:
    margin, mount = spread_plan.columns["margin_db"], spread_plan.columns["mount"]
    opened.run("document.querySelectorAll('#legend .row')[3].click()")
    opened.keys("5")
    poles = mount == "pole"
    left = int((poles & ~((margin >= 3) & (margin < 6))).sum())
    assert 0 < left < poles.sum()
    assert legend(opened)["pole"] == f"{left} of {int(poles.sum())}"
    opened.run("document.getElementById('show-all').click()")
    opened.settle()
    assert legend(opened)["pole"] == str(int(poles.sum()))
    assert text_of(opened, "#shown") == f"{len(spread_plan)} sites shown"


def test_a_failing_site_lies_on_top(
    browser: Any, make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    # Forty sites at one place, a failing one in the middle of the file.
    plan = make_plan(np.full(40, 9.0), np.full(40, 9.0), seed=8)
    margin = np.full(40, 5.0)
    margin[17] = -0.4
    plan.columns["margin_db"][:] = margin
    plan.columns["flags"][:] = ""
    write_map(plan, tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    browser.click(*place_of(browser, 0))
    assert browser.run("return siteplan.store.state.chosen") == 17
    assert "-0.4 dB" in text_of(browser, "#card .verdict")
    assert len(browser.run("return siteplan.store.state.under")) == 40
    assert browser.run("return document.querySelectorAll('#card .also').length") == 8


# --- the card -------------------------------------------------------------------------------


def test_a_click_opens_the_card(opened: Any, spread_plan: Plan) -> None:
    columns = spread_plan.columns
    site = a_site(spread_plan, (columns["margin_db"] > 3) & (np.arange(len(spread_plan)) > 20))
    zoom_to(opened, spread_plan, site)
    opened.click(*place_of(opened, site))
    assert text_of(opened, "#card-title") == columns["name"][site]
    assert text_of(opened, ".card-id") == columns["site_id"][site]
    assert (
        text_of(opened, ".coordinates") == f"{columns['lat'][site]:.6f}, {columns['lon'][site]:.6f}"
    )
    found = card(opened)
    for name in ("azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg", "skew_deg"):
        field = FIELDS[name]
        assert found[field.label] == f"{columns[name][site]:.{field.decimals}f}°"
    for name in (
        "antenna_m",
        "buc_w",
        "margin_db",
        "outbound_margin_db",
        "inbound_margin_db",
        "outbound_availability_pct",
        "inbound_availability_pct",
        "rain_rate_mm_h",
        "uplink_attenuation_db",
        "downlink_attenuation_db",
    ):
        field = FIELDS[name]
        assert found[field.label] == f"{columns[name][site]:.{field.decimals}f} {field.unit}", name
    assert found["Limited by"] == "inbound"
    assert found["Mount"] == columns["mount"][site].replace("_", " ")
    assert found["Why this mount"] == columns["mount_reason"][site]
    assert found["contact"] == spread_plan.extra["contact"][site]


def test_flags_have_their_sentences(opened: Any, spread_plan: Plan) -> None:
    site = a_site(spread_plan, spread_plan.columns["margin_db"] < 0)
    zoom_to(opened, spread_plan, site, 9)
    opened.click(*place_of(opened, site))
    shown = text_of(opened, "#card")
    assert "Stop: No pair of the catalogue meets the target with the reserve" in shown
    assert "Nearest miss: 2.4 m with 3 W" in shown
    assert "DO NOT INSTALL" in shown


def test_hostile_names_are_shown_as_text(opened: Any, hostile_names: tuple[str, ...]) -> None:
    for site, name in enumerate(hostile_names):
        opened.run("siteplan.store.set({chosen: arguments[0]})", site)
        opened.settle()
        shown = opened.run("return document.getElementById('card-title').textContent")
        assert shown == name
        inside = opened.run("return document.getElementById('card-title').children.length")
        assert inside == 0
        overflow = opened.run(
            "const c = document.getElementById('card'); return c.scrollWidth - c.clientWidth"
        )
        assert overflow <= 0


def test_a_click_on_the_empty_map_closes_the_card(opened: Any) -> None:
    opened.run("siteplan.store.set({chosen: 3})")
    opened.settle()
    opened.run("siteplan.map.setView([-50, -30], 6, {animate: false})")
    opened.settle()
    opened.click(700, 400)
    assert opened.run("return document.getElementById('card').hidden")


def test_the_pointer_reads_out_place_and_site(opened: Any, spread_plan: Plan) -> None:
    site = a_site(spread_plan, np.arange(len(spread_plan)) > 30)
    zoom_to(opened, spread_plan, site)
    x, y = place_of(opened, site)
    opened.driver.execute_cdp_cmd(
        "Input.dispatchMouseEvent", {"type": "mouseMoved", "x": x, "y": y}
    )
    opened.settle()
    assert spread_plan.columns["name"][site] in text_of(opened, "#tip")
    readout = text_of(opened, ".readout")
    # Two decimals at this zoom; one pixel is 0.01 degree.
    assert float(readout.split("°")[0]) == pytest.approx(
        abs(spread_plan.columns["lat"][site]), abs=0.03
    )


# --- hub, bearings, keyboard ----------------------------------------------------------------


def test_the_hub_line_toggles(opened: Any, spread_plan: Plan) -> None:
    site = a_site(spread_plan, np.arange(len(spread_plan)) > 40)
    opened.run("siteplan.store.set({chosen: arguments[0]})", site)
    opened.settle()
    empty = "document.querySelector('.leaflet-links-pane canvas').toDataURL()"
    before = opened.run(f"return {empty}")
    assert not opened.run("return siteplan.overlay.lineShown()")
    opened.run("document.getElementById('hub-line').click()")
    opened.settle()
    assert opened.run("return siteplan.overlay.lineShown()")
    assert (
        opened.run("return document.getElementById('hub-line').getAttribute('aria-pressed')")
        == "true"
    )
    assert opened.run(f"return {empty}") != before
    opened.keys("h")
    assert not opened.run("return siteplan.overlay.lineShown()")
    assert opened.run(f"return {empty}") == before


def test_the_great_circle_is_the_geodesic_of_a_sphere(opened: Any) -> None:
    from pyproj import Geod

    line = np.array(opened.run("return siteplan.greatCircle([50, 170], [-20, -130], 4)"))
    inner = Geod(a=1, b=1).npts(170, 50, -130, -20, 3)
    lon = (line[1:-1, 1] + 180) % 360 - 180
    np.testing.assert_allclose(np.column_stack([lon, line[1:-1, 0]]), inner, atol=1e-9)
    assert np.abs(np.diff(line[:, 1])).max() < 90, "no jump at the antimeridian"


def test_bearings_appear_when_there_is_room(opened: Any, spread_plan: Plan) -> None:
    assert "Zoom in" in text_of(opened, "#legend-key")
    site = a_site(spread_plan, np.arange(len(spread_plan)) > 50)
    zoom_to(opened, spread_plan, site, 8)
    assert "bearing to the satellite" in text_of(opened, "#legend-key")
    x, y = place_of(opened, site)
    azimuth = np.radians(spread_plan.columns["azimuth_true_deg"][site])
    ahead = place_at(opened, x + 18 * np.sin(azimuth), y - 18 * np.cos(azimuth))
    behind = place_at(opened, x - 18 * np.sin(azimuth), y + 18 * np.cos(azimuth))
    assert opened.pixel("sites", *ahead)[3] > 100
    assert opened.pixel("sites", *behind)[3] == 0


def test_everything_by_keyboard(opened: Any, spread_plan: Plan) -> None:
    opened.keys(TAB)
    assert opened.run("return document.activeElement.className") == "skip"
    opened.keys("3")
    assert text_of(opened, "#legend-title") == "Rain rate R0.01 [mm/h]"
    opened.keys("1", "n")
    first = opened.run("return siteplan.store.state.cursor")
    assert (
        np.isnan(spread_plan.columns["margin_db"][first])
        or spread_plan.columns["margin_db"][first] < 0
    )
    opened.keys("n", "n", "p")
    second = opened.run("return siteplan.store.state.cursor")
    assert second not in (first, -1)
    opened.keys(ENTER)
    assert opened.run("return document.activeElement.id") == "card-title"
    assert text_of(opened, ".card-id") == spread_plan.columns["site_id"][second]
    opened.keys(ESCAPE)
    assert opened.run("return document.getElementById('card').hidden")
    assert opened.run("return document.activeElement.id") == "map"


def test_help_and_assumptions_open_and_close(opened: Any, spread_plan: Plan) -> None:
    opened.keys("?")
    assert opened.run("return document.getElementById('help').open")
    assert "Colour by Elevation" in text_of(opened, "#keys")
    opened.keys("2", ESCAPE)
    assert not opened.run("return document.getElementById('help').open")
    assert text_of(opened, "#legend-title") == "Margin [dB]"
    opened.run("document.getElementById('open-assumed').click()")
    opened.settle()
    shown = text_of(opened, "#assumed")
    for assumption in spread_plan.assumptions:
        assert assumption.meaning in shown
        assert assumption.key not in shown
        assert f"{assumption.value} {assumption.unit}" in shown
    opened.keys(ESCAPE)


def test_legend_rows_work_from_the_keyboard(opened: Any) -> None:
    opened.run("document.querySelectorAll('#legend .row')[1].focus()")
    opened.keys(ENTER)
    rows = "document.querySelectorAll('#legend .row')[1]"
    assert opened.run(f"return {rows}.getAttribute('aria-pressed')") == "false"
    assert opened.run(f"return document.activeElement === {rows}"), "the focus stays on the row"


# --- a phone --------------------------------------------------------------------------------


def small_targets(browser: Any) -> list[str]:
    found: list[str] = browser.run(
        "const all = 'button, a[role=button], a.button, select, input, textarea, summary, label';"
        "return [...document.querySelectorAll(all)].filter((b) => {"
        "  if (b.closest('label.switch, label.tick') && b.tagName === 'INPUT') return false;"
        "  if (b.tagName === 'LABEL' && !b.querySelector('input')) return false;"
        "  const r = b.getBoundingClientRect();"
        "  return r.width && (r.width < 44 || r.height < 44);"
        "}).map((b) => b.outerHTML.slice(0, 80))"
    )
    return found


def test_touch_targets_are_large_enough(phone: Any) -> None:
    assert small_targets(phone) == []
    for tab in ("layers", "find", "whatif", "view"):
        phone.run(f"document.getElementById('tab-{tab}').click()")
        phone.settle()
        assert small_targets(phone) == [], tab
    phone.run("siteplan.store.set({chosen: 30})")
    phone.settle()
    assert small_targets(phone) == []
    phone.run("siteplan.store.set({chosen: -1, table: true})")
    phone.settle()
    assert small_targets(phone) == []


def test_the_phone_s_page_fits(phone: Any, spread_plan: Plan) -> None:
    assert phone.run("return document.documentElement.scrollWidth") == 390
    assert phone.run("return document.documentElement.scrollHeight") == 844
    height = phone.run("return document.getElementById('map').clientHeight")
    assert height > 844 * 0.4
    assert phone.run("return siteplan.points.inView().length") == len(spread_plan)
    assert len(legend(phone)) == 6


def test_a_tap_opens_the_card_and_the_site_stays_in_sight(phone: Any, spread_plan: Plan) -> None:
    site = a_site(
        spread_plan, (spread_plan.columns["margin_db"] > 3) & (np.arange(len(spread_plan)) > 20)
    )
    zoom_to(phone, spread_plan, site, 8)
    x, y = place_of(phone, site)
    phone.tap(x + 12, y + 10)
    phone.settle()
    assert text_of(phone, "#card-title") == spread_plan.columns["name"][site]
    phone.run("siteplan.map.stop()")
    top = phone.run("return document.getElementById('card').getBoundingClientRect().top")
    assert place_of(phone, site)[1] < top
    assert (
        phone.run(
            "const c = document.querySelector('.card-body'); return c.scrollWidth - c.clientWidth"
        )
        <= 0
    )


def test_layers_on_the_phone(phone: Any) -> None:
    layers = "document.getElementById('layer-list').getBoundingClientRect().height"
    assert phone.run(f"return {layers}") == 0
    phone.run("document.getElementById('tab-layers').click()")
    phone.settle()
    assert phone.run(f"return {layers}") > 100
    phone.run("document.querySelector('[data-layer=elevation_deg]').click()")
    phone.settle()
    assert phone.run("return siteplan.model.layers[siteplan.store.state.layer].field") == (
        "elevation_deg"
    )
    phone.run("document.getElementById('tab-layers').click()")
    assert phone.run(f"return {layers}") == 0


# --- odd browsers, paper ----------- ---------------------------------------------------------


def test_missing_browser_features_do_not_break_the_map(opened: Any, map_path: Path) -> None:
    lost = "delete window.ResizeObserver; delete HTMLDialogElement.prototype.showModal;"
    script = opened.driver.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument", {"source": lost}
    )
    try:
        opened.open(map_path, **LAPTOP)
        assert opened.run("return siteplan.points.inView().length") == 250
        opened.keys("2")
        assert text_of(opened, "#legend-title") == "Elevation [°]"
        opened.keys("?")
        assert "Colour by" in text_of(opened, "#help")
        messages = [row["message"] for row in opened.console()]
        assert len(messages) == 1
        assert "following the size of the window is not available here" in messages[0]
    finally:
        opened.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


def test_the_policy_is_enforced(opened: Any) -> None:
    reply = opened.driver.execute_async_script(
        "const done = arguments[0];"
        "fetch('https://example.invalid/x').then(() => done('fetched'), (e) => done(String(e)));"
    )
    assert "fetched" not in reply
    blocked = [row["message"] for row in opened.console()]
    assert any("Content Security Policy" in message for message in blocked)


def test_paper_is_one_landscape_page_with_the_legend(opened: Any) -> None:
    import base64
    import re

    pdf = base64.b64decode(
        opened.driver.execute_cdp_cmd(
            "Page.printToPDF", {"preferCSSPageSize": True, "printBackground": True}
        )["data"]
    )
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    assert len(boxes) == 1
    width, height = (float(side) for side in boxes[0])
    # ISO 216: A4 is 297 mm by 210 mm; a point is 1/72 inch.
    assert (width, height) == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=1)
    opened.settle()
    assert opened.run("return document.body.className") == ""
    shown = opened.run("return siteplan.map.getSize().x")
    opened.run("window.dispatchEvent(new Event('beforeprint'))")
    hidden = opened.run(
        "return ['.top-buttons', '.part', '.leaflet-control-zoom'].map((s) =>"
        " getComputedStyle(document.querySelector(s)).display)"
    )
    assert hidden == ["none"] * 3
    assert len(legend(opened)) == 6
    assert "Octagon: not served" in text_of(opened, "#legend-key")
    assert (
        opened.run("return document.getElementById('legend').getBoundingClientRect().height") > 100
    )
    opened.run("window.dispatchEvent(new Event('afterprint'))")
    opened.settle()
    assert opened.run("return siteplan.map.getSize().x") == shown
