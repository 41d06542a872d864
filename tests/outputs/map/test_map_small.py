"""What makes the map easy to use, in a real browser: first view, names, doubts, links, paper."""

from __future__ import annotations

import base64
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.outputs.map.payload import write_map
from siteplan.results import Plan

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}
DESK = {"width": 1920, "height": 1080}
PHONE = {"width": 390, "height": 844, "touch": True}
SIZES = pytest.mark.parametrize("size", [LAPTOP, DESK, PHONE], ids=["laptop", "desk", "phone"])
ENTER = "\ue007"
FAR = 24
#: A marker with its ring reaches so far from its middle [CSS pixels].
MARKER = 15


@pytest.fixture(scope="module")
def plan(make_plan: Callable[..., Plan]) -> Plan:
    """Twenty-four sites in a valley, at its corners too, and one whose longitude lost its sign."""
    rng = np.random.default_rng(5)
    lat = np.concatenate([[-4.0, -4.0, 2.0, 2.0], rng.uniform(-4, 2, 20), [-1.3]])
    lon = np.concatenate([[30.0, 40.0, 30.0, 40.0], rng.uniform(30, 40, 20), [-36.2]])
    made = make_plan(lat, lon)
    flags = made.columns["flags"].copy()
    flags[FAR] = "coordinate_doubt"
    return replace(made, columns=MappingProxyType({**made.columns, "flags": flags}))


@pytest.fixture(scope="module")
def map_path(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("small") / "map.html"
    write_map(plan, path)
    return path


@pytest.fixture
def opened(browser: Any, map_path: Path) -> Iterator[Any]:
    browser.open(map_path, **LAPTOP)
    yield browser
    browser.run("window.localStorage.clear()")
    assert browser.console() == []


def places(browser: Any) -> NDArray[np.float64]:
    """Where the sites are drawn (n, 2), in pixels of the viewport."""
    found = browser.run(
        "const box = siteplan.map.getContainer().getBoundingClientRect();"
        "return Array.from({length: siteplan.model.count}, (_, i) => {"
        "  const p = siteplan.map.latLngToContainerPoint(siteplan.points.latLng(i));"
        "  return [box.left + p.x, box.top + p.y]; });"
    )
    return np.array(found)


def box_of(browser: Any, selector: str) -> list[float]:
    found: list[float] = browser.run(
        "const b = document.querySelector(arguments[0]).getBoundingClientRect();"
        "return [b.left, b.top, b.right, b.bottom];",
        selector,
    )
    return found


def text_of(browser: Any, selector: str) -> str:
    found: str = browser.run("return document.querySelector(arguments[0]).innerText", selector)
    return found


# --- first view -----------------------------------------------------------------------------


@SIZES
def test_first_view_has_every_marker_whole_and_the_far_site_not(
    browser: Any, map_path: Path, size: dict[str, Any]
) -> None:
    browser.open(map_path, **size)
    at = places(browser)[:FAR]
    left, top, right, bottom = box_of(browser, "#map")
    assert np.all((at > (left + MARKER, top + MARKER)) & (at < (right - MARKER, bottom - MARKER)))
    for cover in ("#panel", ".tools", ".leaflet-control-zoom"):
        west, north, east, south = box_of(browser, cover)
        over = (at > (west - MARKER, north - MARKER)) & (at < (east + MARKER, south + MARKER))
        assert not over.all(axis=1).any(), cover
    assert not left < places(browser)[FAR, 0] < right
    assert browser.console() == []


def test_the_first_view_follows_the_window_until_the_reader_moves_it(opened: Any) -> None:
    before = opened.run("return siteplan.map.getZoom()")
    metrics = {"width": 900, "height": 600, "deviceScaleFactor": 1, "mobile": False}
    opened.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    opened.settle()
    opened.settle()
    assert opened.run("return siteplan.map.getZoom()") < before
    assert opened.run("return siteplan.points.inView().length") == FAR
    opened.run("siteplan.map.setZoom(9, {animate: false})")
    opened.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics | {"width": 1300})
    opened.settle()
    opened.settle()
    assert opened.run("return siteplan.map.getZoom()") == 9


def test_the_link_goes_to_the_site_far_away_and_back(opened: Any) -> None:
    assert text_of(opened, "#far") == "1 site far away"
    opened.click(*centre_of(opened, "#far"))
    assert opened.run("return siteplan.store.state.chosen") == FAR
    left, top, right, bottom = box_of(opened, "#map")
    x, y = places(opened)[FAR]
    assert left < x < right
    assert top < y < bottom
    assert text_of(opened, "#fit") == "All but 1 in view"
    opened.run("document.getElementById('fit').click()")
    opened.settle()
    assert opened.run("return siteplan.points.inView().length") == FAR


def centre_of(browser: Any, selector: str) -> tuple[float, float]:
    left, top, right, bottom = box_of(browser, selector)
    return (left + right) / 2, (top + bottom) / 2


def test_without_doubt_there_is_no_link(browser: Any, spread_plan: Plan, tmp_path: Path) -> None:
    write_map(spread_plan, tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    assert browser.run("return document.getElementById('far').hidden")
    assert text_of(browser, "#fit") == "All in view"


# --- doubts and names -----------------------------------------------------------------------


@pytest.mark.parametrize("mode", ["bright", "dark"])
def test_a_doubted_site_has_its_mark_in_every_layer(opened: Any, plan: Plan, mode: str) -> None:
    if mode == "dark":
        opened.keys("d")
    opened.run("document.getElementById('far').click()")
    opened.run("siteplan.store.set({chosen: -1, cursor: -1, names: false})")
    opened.settle()
    read = (
        "const c = document.querySelector('.leaflet-sites-pane canvas');"
        "const o = L.DomUtil.getPosition(c);"
        "const p = siteplan.map.latLngToLayerPoint(siteplan.points.latLng(arguments[0]));"
        "const often = {willReadFrequently: true};"
        "const copy = document.createElement('canvas').getContext('2d', often);"
        "copy.drawImage(c, -(Math.round(p.x - o.x) + 7), -(Math.round(p.y - o.y) - 21));"
        "return [...copy.getImageData(0, 0, 14, 14).data];"
    )
    for k in range(opened.run("return siteplan.model.layers.length")):
        opened.run("siteplan.store.set({layer: arguments[0]})", k)
        opened.settle()
        pixels = np.array(opened.run(read, FAR)).reshape(-1, 4)
        white = (pixels[:, :3] > 235).all(axis=1).sum()
        dark = ((pixels[:, :3] < 90).all(axis=1) & (pixels[:, 3] > 200)).sum()
        assert white > 40, k
        assert dark > 10, k


def test_names_come_with_zooming_in_and_can_be_switched_off(opened: Any) -> None:
    inked = (
        "const draw = CanvasRenderingContext2D.prototype.fillText; window.texts = [];"
        "CanvasRenderingContext2D.prototype.fillText = function (text, ...at) {"
        "  if (this.canvas.parentElement?.className.includes('sites')) window.texts.push(text);"
        "  draw.call(this, text, ...at); };"
    )
    opened.run(inked)
    opened.run("siteplan.map.setView([-1, 35], 9, {animate: false})")
    opened.settle()
    named = opened.run("return siteplan.points.inView().map((i) => siteplan.model.label(i))")
    assert named
    for k in (1, 2, 0):
        opened.run("window.texts.length = 0; siteplan.store.set({layer: arguments[0]})", k)
        opened.settle()
        assert opened.run("return window.texts.length") > 0, k
    opened.run("siteplan.store.set({tab: 'view'})")
    opened.run(
        "const box = [...document.querySelectorAll('#backdrop label')]"
        ".find((l) => l.textContent.startsWith('Names of sites')).querySelector('input');"
        "box.click(); window.texts.length = 0;"
        "siteplan.map.setZoom(9.5, {animate: false})"
    )
    opened.settle()
    assert opened.run("return window.texts.filter((t) => t !== '?').length") == 0


# --- links and dialogs ----------------------------------------------------------------------


def test_a_link_may_name_a_site_alone(browser: Any, map_path: Path) -> None:
    browser.driver.get("about:blank")
    browser.driver.get(f"{map_path.resolve().as_uri()}#site=S00012")
    browser.settle()
    assert browser.run("return siteplan.store.state.chosen") == 12
    assert text_of(browser, ".card-id") == "S00012"
    left, top, _, bottom = box_of(browser, "#map")
    x, y = places(browser)[12]
    assert left < x < box_of(browser, "#card")[0]
    assert top < y < bottom
    browser.run("window.location.hash = 'site=nowhere'")
    browser.settle()
    assert text_of(browser, "#view-note") == "No site nowhere on this map."
    assert browser.console() == []


@pytest.mark.parametrize("name", ["help", "assumed"])
@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_a_dialog_opens_at_its_top(
    browser: Any, map_path: Path, size: dict[str, Any], name: str
) -> None:
    browser.open(map_path, **(size | {"height": 420}))
    button = {"help": "open-help", "assumed": "view-assumed"}[name]
    browser.run(f"document.getElementById('{button}').click()")
    browser.settle()
    assert browser.run(f"return document.getElementById('{name}').scrollTop") == 0
    top = box_of(browser, f"#{name}")[1]
    assert box_of(browser, f"#{name}-title")[1] >= top
    focus = "return document.activeElement.id"
    assert browser.run(focus) == f"{name}-title"


# --- selecting ------------------------------------------------------------------------------


def test_a_polygon_is_closed_by_enter_and_counted_on_the_map(opened: Any, plan: Plan) -> None:
    opened.click(*centre_of(opened, "#tool-polygon"))
    _, top, right, bottom = box_of(opened, "#map")
    panel = box_of(opened, "#panel")[2]
    for x, y in ((panel + 8, top + 8), (right - 90, top + 8), (right - 90, bottom - 50)):
        opened.click(x, y)
    assert opened.run("return siteplan.store.state.tool") == "polygon"
    opened.keys(ENTER)
    assert opened.run("return siteplan.store.state.tool") == ""
    count = opened.run("return siteplan.store.state.selectedCount")
    assert count > 3
    assert text_of(opened, "#picked-text").startswith(f"{count} selected")
    assert opened.run("return document.getElementById('dock').hidden")
    opened.click(*centre_of(opened, "#picked-table"))
    assert opened.run("return document.getElementById('picked').hidden")
    opened.run("document.getElementById('selected-first').click()")
    opened.settle()
    rows = opened.run("return siteplan.table.rows()")
    chosen = set(opened.run("return siteplan.selection.sites()"))
    assert set(rows[:count]) == chosen


def test_a_what_if_is_an_estimate_in_the_header(
    browser: Any, worked_plan: Plan, tmp_path: Path
) -> None:
    write_map(worked_plan, tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    before = text_of(browser, "#facts")
    assert "Estimate" not in before
    browser.run("siteplan.store.set({target: 99.9})")
    assert "Estimate\ntarget 99.9 %, kit as planned" in text_of(browser, "#facts")
    assert "Target of the plan" in text_of(browser, "#facts")
    browser.run("siteplan.store.set({target: null})")
    assert text_of(browser, "#facts") == before


# --- paper ----------------------------------------------------------------------------------


def printed(browser: Any, folder: Path) -> NDArray[np.int64]:
    """The one page that the browser prints, as pixels (rows, columns, 3)."""
    how = {"preferCSSPageSize": True, "printBackground": True}
    data = browser.driver.execute_cdp_cmd("Page.printToPDF", how)["data"]
    (folder / "page.pdf").write_bytes(base64.b64decode(data))
    command = ["pdftoppm", "-r", "72", "-singlefile", str(folder / "page.pdf")]
    raw = subprocess.run(command, capture_output=True, check=True).stdout
    _, size, _, pixels = raw.split(b"\n", 3)
    width, height = map(int, size.split())
    return np.frombuffer(pixels, np.uint8).reshape(height, width, 3).astype(np.int64)


AT_PRINT = (
    "window.seen = []; window.addEventListener('beforeprint', () => window.seen.push(["
    " siteplan.map.getZoom(), siteplan.map.getSize().x, siteplan.map.getSize().y,"
    " siteplan.map.getCenter().lat, siteplan.map.getCenter().lng,"
    " document.documentElement.dataset.mode, ...siteplan.points.inView()]));"
    "window.print = () => { window.called = true; };"
)


@pytest.mark.parametrize("card", [-1, 5], ids=["no card", "card"])
def test_the_browser_s_menu_prints_what_the_button_prints(
    opened: Any, tmp_path: Path, card: int
) -> None:
    opened.keys("d")
    opened.run(AT_PRINT)
    opened.run("siteplan.store.set({chosen: arguments[0]})", card)
    opened.settle()
    canvases = "return document.querySelectorAll('#map canvas').length"
    drawn_on = opened.run(canvases)
    from_menu = printed(opened, tmp_path)
    opened.settle()
    assert opened.run("return document.documentElement.dataset.mode") == "dark"
    assert opened.run(canvases) == drawn_on
    opened.run("document.getElementById('print').click()")
    opened.driver.execute_async_script(
        "const done = arguments[0];"
        "(function wait() { window.called ? done() : setTimeout(wait, 20); }());"
    )
    from_button = printed(opened, tmp_path)
    opened.settle()
    menu, button = opened.run("return window.seen")
    assert menu[:3] == button[:3]
    np.testing.assert_allclose(menu[3:5], button[3:5], atol=1e-9)
    assert menu[5:] == button[5:]
    assert menu[5] == "bright"
    # Text and lines of a canvas may be set as outlines from one and as pixels from the other.
    off = (np.abs(from_menu - from_button).max(axis=2) > 60).mean()
    assert off < 0.02
    # Something is drawn: land over sea, and marks in both.
    assert (from_menu.std(axis=2) > 40).mean() > 0.001


@SIZES
def test_on_paper_all_that_was_in_view_is_whole(
    browser: Any, map_path: Path, tmp_path: Path, size: dict[str, Any]
) -> None:
    browser.open(map_path, **size)
    browser.run(
        "window.seen = null; window.addEventListener('beforeprint', () => {"
        "  const box = siteplan.map.getContainer().getBoundingClientRect();"
        "  const panel = document.getElementById('panel').getBoundingClientRect();"
        "  window.seen = {wide: box.width, high: box.height, panel: panel.right - box.left,"
        "    at: Array.from({length: 24}, (_, i) => {"
        "      const p = siteplan.map.latLngToContainerPoint(siteplan.points.latLng(i));"
        "      return [p.x, p.y]; })}; });"
    )
    printed(browser, tmp_path)
    browser.settle()
    seen = browser.run("return window.seen")
    at = np.array(seen["at"])
    assert (at[:, 0] > seen["panel"] + MARKER - 2).all()
    assert (at[:, 0] < seen["wide"] - MARKER).all()
    assert ((at[:, 1] > MARKER) & (at[:, 1] < seen["high"] - MARKER)).all()
    assert browser.run("return siteplan.points.inView().length") == FAR
