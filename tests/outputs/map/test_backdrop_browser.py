"""Coverage, relief and own layers on the map, in a real browser with no network."""

from __future__ import annotations

import itertools
import time
from pathlib import Path

import numpy as np
import pytest
import shapely

from siteplan.inputs.network.read import network_from_mapping
from siteplan.jobs import coverage
from siteplan.model import Overlay, Sites
from siteplan.outputs.map.overlays import COLORS
from siteplan.outputs.map.payload import write_map
from siteplan.planning.coverage.cover import QUANTITIES
from siteplan.planning.plan import make_plan

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844, "touch": True}
HOSTILE = "</script><img src=x onerror=\"document.title='broken'\">"
ENTER, SPACE = "\ue007", " "
#: Notes every text that is written on a canvas: text, x, y, half its width.
SPY = (
    "window.boxes = []; const proto = CanvasRenderingContext2D.prototype;"
    "const plain = proto.fillText;"
    "proto.fillText = function (text, x, y) {"
    " window.boxes.push([text, x, y, this.measureText(text).width / 2]);"
    " plain.call(this, text, x, y); }"
)
NETWORK = {"satellite": {"longitude_deg": 170}, "antennas": [{"diameter_m": d} for d in (1.2, 1.8)]}
SITES = {
    "fiji": ([-18.1, -16.8, -19.0], [178.4, -179.9, -178.5]),
    "north": ([66.0, 69.0], [158.0, 172.0]),
}


def write(path: Path, where: str, step_deg: float = 0.25) -> coverage.Covered:
    sites = Sites.at(*(np.array(values) for values in SITES[where]))
    network = network_from_mapping(NETWORK)
    covered = coverage.work_out(coverage.lay(sites, coverage.Wanted(step_deg)), network)
    own = (
        Overlay(HOSTILE, "purple", (shapely.LineString([(178, -18), (181.5, -17)]),), (HOSTILE,)),
        Overlay("Towns", "", (shapely.Point(179.0, -17.5),), ("Suva",)),
    )
    write_map(make_plan(sites, network), path, backing=coverage.behind(covered, own))
    return covered


@pytest.fixture(scope="module")
def fiji(tmp_path_factory):
    path = tmp_path_factory.mktemp("behind") / "map.html"
    return path, write(path, "fiji")


@pytest.fixture
def opened(browser, fiji):
    path, _ = fiji
    browser.open(path, **LAPTOP)
    yield browser
    assert browser.console() == []
    asked = [url for url in browser.requests() if not url.startswith("data:")]
    assert asked == [path.resolve().as_uri()]
    assert browser.run("return document.title") != "broken"


def choose(browser, name):
    browser.run(f"document.querySelector('[data-coverage=\"{name}\"]').click()")
    browser.settle()


def hidden_relief(browser):
    choose(browser, "relief")


def legend(browser):
    return browser.run(
        "return [...document.querySelectorAll('.coverage-legend li')].map((li) => li.textContent)"
    )


@pytest.mark.parametrize("name", QUANTITIES)
def test_each_layer_is_drawn_in_the_colour_of_its_class(opened, fiji, name):
    """At the middle of each class, on either side of the antimeridian."""
    hidden_relief(opened)
    choose(opened, name)
    layer = next(found for found in fiji[1].layers if found.field.name == name)
    assert legend(opened) == [band.label for band, _ in layer.bands]
    colors = dict(
        opened.run(
            "return siteplan.coverage.layers.find((l) => l.name === arguments[0])"
            ".bands.map((b) => [b.label, b.color])",
            name,
        )
    )
    for band, shape in layer.bands:
        spot = max(shape.geoms, key=lambda p: p.area).representative_point()
        red, green, blue, opacity = opened.pixel("coverage", spot.y, spot.x)
        if not band.care:
            wanted = bytes.fromhex(colors[band.label][1:])
            assert max(abs(a - b) for a, b in zip((red, green, blue), wanted, strict=True)) <= 3
        assert opacity > 150


def test_none_clears_the_ground(opened):
    hidden_relief(opened)
    choose(opened, "none")
    assert opened.pixel("coverage", -17.5, 180.0)[3] == 0
    assert legend(opened) == []


def test_the_relief_can_be_switched_off_and_on(opened):
    choose(opened, "none")
    count = (
        "const c = document.querySelector('.leaflet-coverage-pane canvas');"
        "const copy = document.createElement('canvas');"
        "copy.width = c.width; copy.height = c.height;"
        "const ctx = copy.getContext('2d', {willReadFrequently: true}); ctx.drawImage(c, 0, 0);"
        "const {data} = ctx.getImageData(0, 0, c.width, c.height);"
        "return data.filter((v, k) => k % 4 === 3 && v).length"
    )
    assert opened.run(count) > 100, "Viti Levu has mountains"
    choose(opened, "relief")
    assert opened.run(count) == 0
    choose(opened, "relief")
    assert opened.run(count) > 100


def test_labels_are_written_inside_their_class(opened):
    choose(opened, "rain_rate_mm_h")
    opened.run(SPY)
    choose(opened, "elevation_deg")
    said = [text for text, *_ in opened.run("return window.boxes")]
    assert set(legend(opened)) & set(said)
    assert "Suva" in said


def test_own_layers_lie_above_the_contours_and_below_the_sites(opened):
    order = opened.run(
        "return ['coverage', 'own-layers', 'links', 'sites'].map((name) =>"
        " Number(siteplan.map.getPane(name).style.zIndex))"
    )
    assert all(a < b for a, b in itertools.pairwise(order))
    column = [opened.pixel("own-layers", -17.5 + k / 400, 179.75)[:3] for k in range(-8, 9)]
    wanted = np.frombuffer(bytes.fromhex(COLORS["purple"][0][1:]), np.uint8).astype(int)
    assert np.abs(np.array(column) - wanted).max(axis=1).min() <= 3, "the line is on top"


def test_an_own_layer_can_be_hidden_by_the_keyboard_and_its_name_is_text(opened):
    opened.run("document.querySelector('#tab-view').focus()")
    opened.keys(ENTER)
    opened.run("document.querySelector('[data-overlay=\"0\"]').focus()")
    label = opened.run("return document.activeElement.nextElementSibling.textContent")
    assert label == HOSTILE
    on = [opened.pixel("own-layers", -17.5 + k / 400, 179.75)[3] for k in range(-8, 9)]
    opened.keys(SPACE)
    assert not opened.run("return document.activeElement.checked")
    off = [opened.pixel("own-layers", -17.5 + k / 400, 179.75)[3] for k in range(-8, 9)]
    assert max(on) > 200
    assert max(off) == 0


def test_contours_are_chosen_by_the_keyboard(opened):
    opened.run("document.querySelector('#tab-view').focus()")
    opened.keys(ENTER)
    opened.run("document.querySelector('[data-coverage=\"elevation_deg\"]').focus()")
    opened.keys(ENTER)
    pressed = "return document.activeElement.getAttribute('aria-pressed')"
    assert opened.run(pressed) == "true"
    assert any("°" in label for label in legend(opened))


def test_the_link_brings_the_contours_back(opened):
    choose(opened, "rain_rate_mm_h")
    text = opened.run("return siteplan.hash.text()")
    assert "behind=rain_rate_mm_h" in text
    before = legend(opened)
    choose(opened, "none")
    time.sleep(0.6)  # the page writes its own address a little after a change
    follow(opened, text)
    assert legend(opened) == before
    follow(opened, text.replace("rain_rate_mm_h", "<b>"))
    assert legend(opened) == []


def follow(opened, text):
    """Change the address, and wait until the page has heard of it and written its own."""
    opened.driver.execute_async_script(
        "const [text, done] = arguments;"
        "window.addEventListener('hashchange', () => setTimeout(done, 600), {once: true});"
        "window.location.hash = text;",
        text,
    )
    opened.settle()


def test_the_dark_map_has_contours_too(opened):
    hidden_relief(opened)
    choose(opened, "elevation_deg")
    bright = opened.pixel("coverage", -17.5, 180.0)[3]
    opened.run("document.querySelector('#set-dark').click()")
    opened.settle()
    dark = opened.pixel("coverage", -17.5, 180.0)[3]
    assert 60 < dark < bright
    opened.run("document.querySelector('#set-dark').click()")
    opened.settle()


def test_labels_keep_clear_of_the_sites(opened):
    """No label's box holds the middle of a site, where the class has room elsewhere."""
    opened.run(SPY)
    choose(opened, "none")
    opened.run("window.boxes = []")
    choose(opened, "required_antenna_m")
    clashes = opened.run(
        "const {map, model} = siteplan; const corner = L.DomUtil.getPosition("
        "document.querySelector('.leaflet-own-layers-pane canvas'));"
        "const names = new Set(siteplan.coverage.layers[0].bands.map((b) => b.label));"
        "const labels = window.boxes.filter(([text]) => names.has(text));"
        "const sites = [...Array(model.count).keys()].map((i) => map.latLngToLayerPoint("
        "siteplan.points.latLng(i)).subtract(corner));"
        "return [labels.length, labels.filter(([, x, y, half]) => sites.some((p) =>"
        " Math.abs(p.x - x) < half && Math.abs(p.y - y) < 9)).length];"
    )
    assert clashes[0] > 0
    assert clashes[1] == 0


def test_all_that_can_be_pressed_is_44_pixels_high(opened):
    opened.run("document.querySelector('#tab-view').click()")
    heights = opened.run(
        "return [...document.querySelectorAll('.coverage-choices button, #backdrop label')]"
        ".map((e) => e.getBoundingClientRect().height)"
    )
    assert len(heights) == len(QUANTITIES) + 1 + 5
    assert min(heights) >= 44


def test_everything_has_a_name_for_screen_readers(opened):
    names = opened.run(
        "return [...document.querySelectorAll('#coverage, .coverage-choices')]"
        ".map((e) => e.getAttribute('aria-label'))"
    )
    assert len(names) == 2
    assert all(names)
    owner = "return document.querySelector('.coverage-legend').getAttribute('aria-labelledby')"
    assert "[m]" in opened.run(
        "return document.getElementById(arguments[0]).textContent", opened.run(owner)
    )
    assert (
        opened.run("return document.querySelectorAll('.coverage-swatch:not([aria-hidden])').length")
        == 0
    )


def test_colours_keep_their_order_in_grey(opened):
    """Relative luminance (WCAG 2.2) runs one way along the classes that can be served."""
    layers = opened.run(
        "return siteplan.coverage.layers.map((layer) =>"
        " layer.bands.filter((band) => !band.care).map((band) => band.color))"
    )
    for colors in layers:
        rgb = np.array([list(bytes.fromhex(c[1:])) for c in colors]) / 255
        linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
        steps = np.diff(linear @ [0.2126, 0.7152, 0.0722])
        assert (steps > 0.01).all() or (steps < -0.01).all()


def test_the_phone_shows_the_legend_and_opens_the_choices(browser, fiji):
    browser.open(fiji[0], **PHONE)
    assert legend(browser)
    choose(browser, "elevation_deg")
    assert browser.run("return document.documentElement.scrollWidth") <= 390
    assert browser.console() == []


def test_the_far_north_is_drawn(browser, tmp_path):
    write(tmp_path / "map.html", "north", 0.5)
    browser.open(tmp_path / "map.html", **LAPTOP)
    choose(browser, "elevation_deg")
    assert any("°" in label for label in legend(browser))
    assert browser.pixel("coverage", 68.0, 165.0)[3] > 150
    assert browser.console() == []


def test_a_map_without_coverage_has_no_such_section(browser, tmp_path, spread_plan):
    write_map(spread_plan, tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    assert browser.run("return document.querySelector('#coverage, .coverage-choices')") is None
    assert browser.console() == []
