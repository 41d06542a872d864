"""The map for every reader: accessibility rules, keyboard, dark and bright, paper, odd places."""

from __future__ import annotations

import base64
import json
import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.outputs.map.payload import write_map
from siteplan.results import Plan

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844, "touch": True}
ENTER, ESCAPE, TAB, SPACE = "\ue007", "\ue00c", "\ue004", "\ue00d"
AXE = Path(__file__).parent.parent / "web" / "node_modules" / "axe-core" / "axe.min.js"
#: WCAG 2.2 at levels A and AA, and what goes with them.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="module")
def axe() -> str:
    if not AXE.exists():
        if os.environ.get("CI"):
            pytest.fail("axe-core is missing, and CI must run it: npm ci in tests/outputs/web")
        pytest.skip("axe-core is missing: npm ci in tests/outputs/web")
    return AXE.read_text("utf-8")


@pytest.fixture(scope="module")
def map_path(worked_plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("access") / "map.html"
    write_map(worked_plan, path)
    return path


@pytest.fixture
def opened(browser: Any, map_path: Path) -> Iterator[Any]:
    browser.open(map_path, **LAPTOP)
    yield browser
    browser.run("window.localStorage.clear()")
    assert browser.console() == []


def findings(browser: Any, axe: str) -> list[str]:
    """What the rules find wrong, of any weight.

    What the edge of a scrolled box cuts off looks too small to the rules, or the edge of a card
    over it: it is whole once it is scrolled to, or the card closed. Sizes have tests of their own.
    """
    browser.driver.execute_script(axe)
    found = browser.driver.execute_async_script(
        "const done = arguments[1];"
        "const scrolls = (e) => e.scrollHeight > e.clientHeight + 1"
        " && ['auto', 'scroll'].includes(getComputedStyle(e).overflowY);"
        "const cut = (v, n) => { if (v.id !== 'target-size') return false;"
        " const it = document.querySelector(n.target[0]); let box = it.parentElement;"
        " const card = document.getElementById('card').getBoundingClientRect();"
        " const at = it.getBoundingClientRect();"
        " const over = card.height && at.bottom > card.top && at.top < card.bottom;"
        " if (over && at.right > card.left && at.left < card.right"
        " && !it.closest('#card')) return true;"
        " while (box && !scrolls(box)) box = box.parentElement; if (!box) return false;"
        " const [a, b] = [it, box].map((e) => e.getBoundingClientRect());"
        " return a.bottom > b.bottom || a.top < b.top; };"
        "axe.run(document, {runOnly: arguments[0]}).then((r) => done(r.violations.map((v) =>"
        " [v.id, v.impact, v.nodes.filter((n) => !cut(v, n)).map((n) => n.html.slice(0, 200))])"
        ".filter(([, , nodes]) => nodes.length)));",
        RULES,
    )
    return [json.dumps(row) for row in found]


STATES = {
    "at the start": "",
    "card and table": "siteplan.store.set({chosen: 7, table: true}); siteplan.selection.add([1])",
    "the plan in short": "document.getElementById('strip-open').click();"
    " document.querySelector('.strip-mounts .strip-item').click();"
    " document.getElementById('strip-open').click(); siteplan.store.set({target: 99.9})",
    "search": "siteplan.store.set({target: null}); siteplan.filters.clear();"
    " document.getElementById('strip-open').click(); siteplan.store.set({tab: 'find'});"
    " siteplan.filters.set({words: 's00'})",
    "what-if": "siteplan.store.set({tab: 'whatif', target: 99.9, satellite: 20, chosen: 3})",
    "one kit everywhere": "siteplan.store.set({kit: 1, chosen: 4}); siteplan.filters"
    ".set({least: -5}); document.getElementById('spread').open = true",
    "view": "siteplan.store.set({tab: 'view', layer: 4, tool: 'polygon', chosen: 2})",
    "help": "document.getElementById('help').showModal()",
}


@pytest.mark.parametrize("mode", ["bright", "dark"])
@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_no_accessibility_rule_is_broken(
    browser: Any, map_path: Path, axe: str, mode: str, size: dict[str, Any]
) -> None:
    browser.open(map_path, **size)
    if mode == "dark":
        browser.run("document.getElementById('set-dark').click()")
    for state, script in STATES.items():
        browser.run(script)
        browser.settle()
        assert findings(browser, axe) == [], state
        browser.run(
            "siteplan.filters.clear(); siteplan.store.set({tab: '', table: false, chosen: -1,"
            " tool: '', layer: 0, kit: null})"
        )
    browser.run("window.localStorage.clear()")
    assert browser.console() == []


def test_the_whole_job_by_keyboard(opened: Any, worked_plan: Plan) -> None:
    """Filter by a legend row, find, read the card, select, save: no pointer."""
    opened.keys(TAB, ENTER)
    focus = "return document.activeElement.id || document.activeElement.className"
    reached = set()
    for _ in range(60):
        opened.keys(TAB)
        reached.add(opened.run(focus))
    assert {"open-table", "open-help", "tab-find", "fit", "worst", "tool-box", "map"} <= reached
    opened.keys("f")
    opened.keys(*"S0008", ENTER)
    assert opened.run("return document.getElementById('card-title').innerText") == "S0008"
    opened.keys("x", "t")
    assert opened.run("return siteplan.store.state.selectedCount") == 1
    opened.run("document.getElementById('export-csv').focus()")
    saved = "return siteplan.handed.last"
    assert opened.run(saved) is None
    opened.keys(ENTER)
    assert opened.run(saved) == {"name": "sites_selected.csv", "rows": 1}
    opened.keys(ESCAPE)
    assert opened.run("return document.activeElement.id") == "map"


def test_focus_is_seen(opened: Any) -> None:
    opened.keys(TAB, TAB)
    style = opened.run("const s = getComputedStyle(document.activeElement);"
                       "return [s.outlineStyle, s.outlineWidth]")  # fmt: skip
    assert style == ["solid", "3px"]


def test_dark_is_kept_and_paper_is_bright(opened: Any, map_path: Path) -> None:
    opened.keys("d")
    assert opened.run("return document.documentElement.dataset.mode") == "dark"
    opened.driver.get(map_path.resolve().as_uri())
    opened.settle()
    assert opened.run("return document.documentElement.dataset.mode") == "dark"
    mode = "return document.documentElement.dataset.mode"
    opened.run("window.dispatchEvent(new Event('beforeprint'))")
    assert opened.run(mode) == "bright"
    opened.run("window.dispatchEvent(new Event('afterprint'))")
    assert opened.run(mode) == "dark"


def test_the_print_button_lays_the_sheet_out_first(opened: Any) -> None:
    opened.keys("d", "t")
    view = "return [siteplan.map.getSize().x, siteplan.map.getZoom(), siteplan.store.state.table]"
    before = opened.run(view)
    seen = opened.driver.execute_async_script(
        "const done = arguments[0];"
        "window.print = () => {"
        "  const land = document.querySelector('.leaflet-basemap-pane canvas').getContext('2d');"
        "  const d = land.getImageData(land.canvas.width / 2, 200, 1, 1).data;"
        "  const map = siteplan.map.getContainer().getBoundingClientRect();"
        "  done({mode: document.documentElement.dataset.mode, light: d[0], wide: map.width,"
        "    high: map.height, dock: document.getElementById('dock').hidden});"
        "};"
        "document.getElementById('print').click();"
    )
    assert seen["mode"] == "bright"
    assert seen["light"] > 200, "drawn bright before printing begins"
    assert seen["dock"] is True
    # CSS: 96 pixels an inch. The sheet is 281 mm wide inside its margins.
    assert seen["wide"] == pytest.approx(281 / 25.4 * 96, abs=3)
    assert seen["high"] > 550
    opened.run("window.dispatchEvent(new Event('afterprint'))")
    opened.settle()
    assert opened.run(view) == before
    assert opened.run("return document.documentElement.dataset.mode") == "dark"


def test_the_device_s_dark_mode_is_followed(browser: Any, map_path: Path) -> None:
    media = {"features": [{"name": "prefers-color-scheme", "value": "dark"}]}
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
    try:
        browser.open(map_path, **LAPTOP)
        assert browser.run("return document.documentElement.dataset.mode") == "dark"
        assert not browser.run("return window.localStorage.getItem('siteplan:mode')")
    finally:
        browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def printed(browser: Any) -> bytes:
    how = {"preferCSSPageSize": True, "printBackground": True}
    return base64.b64decode(browser.driver.execute_cdp_cmd("Page.printToPDF", how)["data"])


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_paper_is_one_page_whatever_is_open(
    browser: Any, map_path: Path, size: dict[str, Any]
) -> None:
    browser.open(map_path, **size)
    browser.run("siteplan.store.set({chosen: 7, table: true, tab: 'find'})")
    browser.settle()
    pages = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", printed(browser))
    assert len(pages) == 1
    assert float(pages[0][0]) > float(pages[0][1]), "landscape"


def test_coordinates_in_both_spellings(opened: Any, worked_plan: Plan) -> None:
    lat, lon = (float(worked_plan.columns[k][7]) for k in ("lat", "lon"))
    opened.run("siteplan.store.set({chosen: 7})")
    opened.settle()
    text = "return document.querySelector('.coordinates').innerText"
    assert opened.run(text) == f"{lat:.6f}, {lon:.6f}"
    opened.keys("c")
    shown = re.findall(r"(\d+)° (\d+)′ ([\d.]+)″ ([NSEW])", opened.run(text))
    for (degrees, minutes, seconds, letter), value in zip(shown, (lat, lon), strict=True):
        angle = int(degrees) + int(minutes) / 60 + float(seconds) / 3600
        assert (angle if letter in "NE" else -angle) == pytest.approx(value, abs=0.05 / 3600 + 1e-6)
    event = {"type": "mouseMoved", "x": 700, "y": 400}
    opened.driver.execute_cdp_cmd("Input.dispatchMouseEvent", event)
    opened.settle()
    assert "′" in opened.run("return document.querySelector('.readout').innerText")


# --- odd places -----------------------------------------------------------------------------


def test_sites_on_both_sides_of_the_antimeridian(
    browser: Any, make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    lat = np.linspace(-22, -8, 30)
    lon = np.where(np.arange(30) % 2, 179.2, -178.6)
    write_map(make_plan(lat, lon), tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    assert browser.run("return siteplan.points.inView().length") == 30
    browser.run("siteplan.store.set({tool: 'box'})")
    for kind, x in (("mousePressed", 420), ("mouseMoved", 1300), ("mouseReleased", 1300)):
        event = {"type": kind, "x": x, "y": 70 if x == 420 else 720, "button": "left"}
        event |= {"clickCount": 1, "buttons": 1}
        browser.driver.execute_cdp_cmd("Input.dispatchMouseEvent", event)
    browser.settle()
    assert browser.run("return siteplan.selection.sites().length") == 30
    assert browser.console() == []


def test_the_polar_north(browser: Any, make_plan: Callable[..., Plan], tmp_path: Path) -> None:
    lat, lon = np.array([78.2, 81.0, 80.6, 88.0]), np.array([15.6, 13.0, -20.0, 13.0])
    write_map(make_plan(lat, lon), tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    assert browser.run("return siteplan.points.inView().length") == 4
    browser.run("siteplan.store.set({chosen: 3, satellite: 20})")
    browser.settle()
    assert "Drawn at the edge" in browser.run("return document.getElementById('card').innerText")
    assert browser.run("return siteplan.live.now.angles[3].elevation") is None
    assert browser.run("return siteplan.live.now.angles[0].elevation") > 0
    assert browser.console() == []


# --- tiles, packed data ---------------------------------------------------------------------

TILES = "https://tiles.example.invalid/{z}/{x}/{y}.png"


def test_tiles_come_only_from_the_host_that_was_asked_for(
    browser: Any, worked_plan: Plan, tmp_path: Path
) -> None:
    write_map(worked_plan, tmp_path / "map.html", tiles=TILES)
    browser.open(tmp_path / "map.html", **LAPTOP)
    asked = {url.split("/")[2] for url in browser.requests() if url.startswith("http")}
    assert asked == {"tiles.example.invalid"}
    browser.console()
    other = "const i = new Image(); i.src = 'https://other.invalid/a.png'; document.body.append(i)"
    browser.run(other)
    browser.settle()
    blocked = [row["message"] for row in browser.console()]
    assert any("Content Security Policy" in m and "other.invalid" in m for m in blocked)
    browser.run("document.querySelector('#backdrop input').click()")
    browser.settle()
    assert browser.run("return document.querySelectorAll('.leaflet-tile').length") == 0


def test_packed_data_are_the_plain_ones(
    browser: Any, worked_plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    look = (
        "const m = siteplan.model; return JSON.stringify(m.names.map((n) => m.values(n)))"
        " + JSON.stringify(m.layers.map((l) => [...l.codes]))"
    )
    write_map(worked_plan, tmp_path / "plain.html", plain=True)
    browser.open(tmp_path / "plain.html", **LAPTOP)
    expected = browser.run(look)
    monkeypatch.setattr("siteplan.outputs.map.page.PLAIN_BELOW", 0)
    write_map(worked_plan, tmp_path / "packed.html")
    assert 'application/json" id="siteplan-data' not in (tmp_path / "packed.html").read_text(
        "utf-8"
    )
    browser.open(tmp_path / "packed.html", **LAPTOP)
    browser.driver.execute_async_script(
        "const done = arguments[0];"
        "(function wait() { siteplan.ready ? done() : setTimeout(wait, 20); }());"
    )
    assert browser.run(look) == expected
    assert browser.console() == []


def test_a_browser_that_cannot_unpack_says_what_to_do(
    browser: Any, worked_plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("siteplan.outputs.map.page.PLAIN_BELOW", 0)
    write_map(worked_plan, tmp_path / "packed.html")
    lost = "delete window.DecompressionStream"
    script = browser.driver.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument", {"source": lost}
    )
    try:
        browser.open(tmp_path / "packed.html", **LAPTOP)
        assert "--plain-map" in browser.run("return document.querySelector('.top').innerText")
        assert browser.console() == []
    finally:
        browser.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


# --- many sites -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def crowd(
    browser: Any, make_plan: Callable[..., Plan], tmp_path_factory: pytest.TempPathFactory
) -> Any:
    """Fifty thousand sites on a laptop's screen."""
    rng = np.random.default_rng(3)
    plan = make_plan(rng.uniform(-32, 55, 50_000), rng.uniform(-12, 48, 50_000))
    path = tmp_path_factory.mktemp("crowd") / "map.html"
    write_map(plan, path)
    browser.open(path, **LAPTOP)
    browser.driver.set_script_timeout(60)
    browser.driver.execute_async_script(
        "const done = arguments[0];"
        "(function wait() { siteplan.ready ? done() : setTimeout(wait, 50); }());"
    )
    browser.settle()
    return browser


def test_no_failing_site_is_hidden_by_others(crowd: Any) -> None:
    """Near every failing site a failing marker is drawn: red within a few pixels."""
    misses = crowd.run(
        "const canvas = document.querySelector('.leaflet-sites-pane canvas');"
        "const corner = L.DomUtil.getPosition(canvas);"
        "const d = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;"
        "const red = (x, y) => { const k = 4 * (x + canvas.width * y);"
        "  return d[k] > 40 && d[k] < 190 && d[k + 1] < 70 && d[k + 2] < 90 && d[k + 3] > 150; };"
        "let misses = 0, seen = 0;"
        "for (let i = 0; i < siteplan.model.count; i++) {"
        "  if (!siteplan.model.failing[i]) continue;"
        "  const p = siteplan.map.latLngToLayerPoint(siteplan.points.latLng(i));"
        "  const [x, y] = [Math.round(p.x - corner.x), Math.round(p.y - corner.y)];"
        "  if (x < 12 || y < 12 || x > canvas.width - 12 || y > canvas.height - 12) continue;"
        "  seen++; let found = false;"
        "  for (let a = -8; a <= 8 && !found; a++) for (let b = -8; b <= 8; b++)"
        "    if (red(x + a, y + b)) { found = true; break; }"
        "  if (!found) misses++; }"
        "return [misses, seen];"
    )
    assert misses[1] > 500
    assert misses[0] == 0


def test_many_sites_stay_usable(crowd: Any) -> None:
    assert crowd.run("return siteplan.model.count") == 50_000
    crowd.run("siteplan.store.set({table: true}); siteplan.filters.set({words: 's49999'})")
    assert crowd.run("return siteplan.table.rows()") == [49_999]
    crowd.run("siteplan.filters.clear()")
    crowd.settle()
    assert crowd.run("return siteplan.table.rows().length") == 50_000
    assert crowd.run("return document.querySelectorAll('#table-body tr').length") < 60
    crowd.run("siteplan.store.set({table: false, satellite: 30})")
    crowd.settle()
    assert crowd.run("return siteplan.live.now.angles.length") == 50_000
    crowd.run("siteplan.store.set({satellite: null})")
