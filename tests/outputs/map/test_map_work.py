"""Working with sites on the map: search, filters, table, selection, export, notes, the link."""

from __future__ import annotations

import csv
import io
import itertools
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

import numpy as np
import pytest

from siteplan.fields import FLAGS
from siteplan.outputs.map.payload import write_map
from siteplan.outputs.tables.files import write_csv
from siteplan.results import Plan

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844, "touch": True}
ENTER, ESCAPE, TAB, DOWN = "\ue007", "\ue00c", "\ue004", "\ue015"


@pytest.fixture(scope="module")
def map_path(spread_plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("work") / "map.html"
    write_map(spread_plan, path)
    return path


@pytest.fixture
def opened(browser: Any, map_path: Path) -> Iterator[Any]:
    browser.open(map_path, **LAPTOP)
    browser.run("window.localStorage.clear()")
    yield browser
    browser.run("window.localStorage.clear()")
    assert browser.console() == []
    assert {url.split("#")[0] for url in browser.requests()} <= {map_path.resolve().as_uri()}


def shown(browser: Any) -> set[int]:
    return set(browser.run("return [...siteplan.filters.shown.keys()].filter((i) =>"
                           " siteplan.filters.shown[i])"))  # fmt: skip


def type_into(browser: Any, element: str, text: str) -> None:
    browser.run(
        "const field = document.getElementById(arguments[0]); field.value = arguments[1];"
        "for (const kind of ['input', 'change']) field.dispatchEvent(new Event(kind));",
        element,
        text,
    )
    browser.settle()


def sites(mask: Any) -> set[int]:
    return set(np.flatnonzero(mask).tolist())


def text_of(browser: Any, selector: str) -> str:
    found: str = browser.run("return document.querySelector(arguments[0]).innerText", selector)
    return found


def saved(browser: Any) -> tuple[str, list[list[str]]]:
    """Name and rows of the file that the page has just handed out."""
    found = browser.run("return siteplan.saved")
    return found["name"], list(csv.reader(io.StringIO(found["text"].removeprefix("\ufeff"))))


@pytest.fixture
def catching(opened: Any) -> Any:
    """Keeps what the page would save: a link to a blob, by name and text."""
    opened.run(
        "const made = URL.createObjectURL;"
        "URL.createObjectURL = (blob) => { blob.text().then((t) => { siteplan.saved.text = t; });"
        " return made.call(URL, blob); };"
        "siteplan.saved = {};"
        "HTMLAnchorElement.prototype.click = function () { siteplan.saved.name = this.download; };"
    )
    return opened


# --- find -----------------------------------------------------------------------------------


def test_search_by_id_and_name(opened: Any, spread_plan: Plan) -> None:
    opened.keys("f")
    assert opened.run("return document.activeElement.id") == "find-words"
    opened.keys(*"post 004")
    expected = {i for i, name in enumerate(spread_plan.columns["name"]) if "Post 004" in name}
    assert shown(opened) == expected
    assert len(expected) == 10
    opened.keys(ENTER)
    assert opened.run("return siteplan.store.state.chosen") in expected
    type_into(opened, "find-words", "s00123")
    assert shown(opened) == {123}
    found = opened.run("return [...document.querySelectorAll('.found-id')].map(n => n.innerText)")
    assert found == ["S00123"]
    type_into(opened, "find-words", "nowhere at all")
    assert shown(opened) == set()
    assert "No site" in text_of(opened, "#find-none")
    opened.run("document.getElementById('find-clear').click()")
    assert len(shown(opened)) == len(spread_plan)


def test_filters(opened: Any, spread_plan: Plan) -> None:
    c = spread_plan.columns
    cases = {
        ("group", "south"): c["group"] == "south",
        ("mount", "non_penetrating"): c["mount"] == "non_penetrating",
        ("flag", "no_fit"): np.array(["no_fit" in flags.split(";") for flags in c["flags"]]),
        ("antenna", "1.8"): c["antenna_m"] == 1.8,
    }
    for (field, value), expected in cases.items():
        type_into(opened, f"find-{field}", value)
        assert shown(opened) == sites(expected), field
        assert 0 < expected.sum() < len(spread_plan)
        type_into(opened, f"find-{field}", "")


def test_the_margin_filter_and_the_others_add_up(opened: Any, spread_plan: Plan) -> None:
    c = spread_plan.columns
    # The page knows margins to 0.1 dB, and compares those.
    margin = np.round(c["margin_db"], 1)
    type_into(opened, "find-least", "-1")
    type_into(opened, "find-most", "2.5")
    assert shown(opened) == sites((margin >= -1) & (margin <= 2.5))
    type_into(opened, "find-group", "north")
    assert shown(opened) == sites((margin >= -1) & (margin <= 2.5) & (c["group"] == "north"))
    assert "of 250 sites shown" in text_of(opened, "#shown")
    opened.keys("s")
    assert len(shown(opened)) == len(spread_plan)
    assert opened.run("return document.getElementById('find-least').value") == ""


def test_what_is_not_served_can_be_asked_for(opened: Any, spread_plan: Plan) -> None:
    type_into(opened, "find-flag", "stop")
    stops = {f.code for f in FLAGS.values() if f.severity == "stop"}
    flagged = [bool(stops & set(text.split(";"))) for text in spread_plan.columns["flags"]]
    assert shown(opened) == sites(np.array(flagged) | (spread_plan.columns["margin_db"] < 0))


def test_any_field_can_colour_the_sites(opened: Any, spread_plan: Plan) -> None:
    type_into(opened, "other-field", "slant_range_km")
    assert text_of(opened, "#legend-title") == "Slant range [km]"
    type_into(opened, "other-field", "altitude_m")
    rows = opened.run(
        "return [...document.querySelectorAll('.row-count')].map((n) => Number(n.innerText))"
    )
    assert sum(rows) == len(spread_plan)
    assert len(rows) > 2
    opened.run("document.querySelector('#legend .row').click()")
    opened.settle()
    assert len(shown(opened)) == len(spread_plan) - rows[0]


# --- table ----------------------------------------------------------------------------------


def table_ids(browser: Any) -> list[str]:
    found: list[str] = browser.run(
        "return [...document.querySelectorAll('#table-body tr:not(.gap) .goto')]"
        ".map((n) => n.innerText)"
    )
    return found


def test_the_table_follows_the_map_and_the_map_the_table(opened: Any, spread_plan: Plan) -> None:
    opened.keys("t")
    assert opened.run("return document.getElementById('dock').hidden") is False
    rows = opened.run("return siteplan.table.rows().length")
    assert rows == len(spread_plan)
    assert len(table_ids(opened)) < 40, "only rows in sight exist"
    opened.run("document.querySelectorAll('#table-body .goto')[2].click()")
    opened.settle()
    chosen = opened.run("return siteplan.store.state.chosen")
    assert spread_plan.columns["site_id"][chosen] == table_ids(opened)[2]
    opened.run("siteplan.store.set({chosen: 200})")
    opened.settle()
    marked = opened.run("return document.querySelector('#table-body tr.chosen .goto').innerText")
    assert marked == "S00200"
    type_into(opened, "find-mount", "pole")
    assert opened.run("return siteplan.table.rows().length") == int(
        (spread_plan.columns["mount"] == "pole").sum()
    )


def test_the_worst_sites_come_first(opened: Any, spread_plan: Plan) -> None:
    opened.run("siteplan.store.set({table: true})")
    order = opened.run("return siteplan.table.rows()")
    margin = spread_plan.columns["margin_db"]
    failing = np.isnan(margin) | (margin < 0)
    count = int(failing.sum())
    assert failing[order[:count]].all()
    known = margin[order[:count]]
    assert np.isnan(known[: int(np.isnan(margin).sum())]).all()


def test_sorting(opened: Any, spread_plan: Plan) -> None:
    opened.run("siteplan.store.set({table: true})")
    for field, decimals in (("margin_db", 1), ("elevation_deg", 2), ("site_id", 0), ("mount", 0)):
        button = f"document.querySelector('#table-head [data-field={field}] button')"
        order = "return siteplan.table.rows()"
        opened.run(f"{button}.click()")
        up = shown_values(spread_plan, field, decimals, opened.run(order))
        assert all(a <= b for a, b in itertools.pairwise(up)), field
        opened.run(f"{button}.click()")
        assert shown_values(spread_plan, field, decimals, opened.run(order)) == up[::-1], field
        sort = opened.run(f"return {button}.closest('th').getAttribute('aria-sort')")
        assert sort == "descending"
        opened.run(f"{button}.click()")
        assert opened.run("return siteplan.store.state.sortBy") == ""


def shown_values(plan: Plan, field: str, decimals: int, order: list[int]) -> list[Any]:
    """Values in an order, without blanks, which must come last."""
    values = plan.columns[field][order]
    if values.dtype != float:
        return list(values)
    count = int((~np.isnan(values)).sum())
    assert np.isnan(values[count:]).all()
    return list(np.round(values[:count], decimals))


def test_rows_far_down_appear_when_scrolled_to(opened: Any) -> None:
    opened.run("siteplan.store.set({table: true})")
    opened.settle()
    opened.run("document.getElementById('table-frame').scrollTop = 1e6")
    opened.settle()
    last = opened.run("return siteplan.model.column('site_id')(siteplan.table.rows().at(-1))")
    assert table_ids(opened)[-1] == last


def test_only_those_in_view(opened: Any) -> None:
    opened.run(
        "siteplan.store.set({table: true}); siteplan.map.setView([5, 20], 6.5, {animate: false})"
    )
    opened.settle()
    opened.run("document.getElementById('only-view').click()")
    opened.settle()
    inside = opened.run("return siteplan.points.inView().length")
    assert opened.run("return siteplan.table.rows().length") == inside
    assert 0 < inside < 100


def test_the_table_by_keyboard(opened: Any) -> None:
    opened.keys("t")
    opened.run("document.querySelector('#table-body .goto').focus()")
    opened.keys(DOWN, DOWN, ENTER)
    third = opened.run("return siteplan.table.rows()[2]")
    assert opened.run("return siteplan.store.state.chosen") == third
    assert opened.run("return document.activeElement.id") == "card-title"


# --- selection ------------------------------------------------------------------------------


def box_around(browser: Any, chosen: list[int]) -> tuple[float, float, float, float]:
    found: list[float] = browser.run(
        "const f = siteplan.map.getContainer().getBoundingClientRect();"
        "const at = arguments[0].map((i) => siteplan.map.latLngToContainerPoint("
        "siteplan.points.latLng(i)));"
        "const x = at.map((p) => p.x + f.left), y = at.map((p) => p.y + f.top);"
        "return [Math.min(...x), Math.min(...y), Math.max(...x), Math.max(...y)];",
        chosen,
    )
    return found[0], found[1], found[2], found[3]


def drag(browser: Any, start: tuple[float, float], end: tuple[float, float]) -> None:
    steps = [("mouseMoved", start), ("mousePressed", start), ("mouseMoved", end)]
    for kind, (x, y) in [*steps, ("mouseReleased", end)]:
        event = {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}
        event["buttons"] = int(kind == "mouseMoved")
        browser.driver.execute_cdp_cmd("Input.dispatchMouseEvent", event)
    browser.settle()


def inside(browser: Any, x0: float, y0: float, x1: float, y1: float) -> set[int]:
    """Sites whose place on the screen lies in a box."""
    places = browser.run(
        "const f = siteplan.map.getContainer().getBoundingClientRect();"
        "return [...Array(siteplan.model.count).keys()].map((i) => {"
        "  const p = siteplan.map.latLngToContainerPoint(siteplan.points.latLng(i));"
        "  return [p.x + f.left, p.y + f.top]; });"
    )
    return {i for i, (x, y) in enumerate(places) if x0 < x < x1 and y0 < y < y1}


def selected(browser: Any) -> set[int]:
    return set(browser.run("return siteplan.selection.sites()"))


def test_a_box_selects(opened: Any, spread_plan: Plan) -> None:
    opened.keys("b")
    assert opened.run("return document.getElementById('tool-box').ariaPressed") == "true"
    view = opened.run("return [siteplan.map.getCenter().lat, siteplan.map.getCenter().lng]")
    drag(opened, (600, 200), (900, 500))
    within = inside(opened, 602, 202, 898, 498)
    assert within <= selected(opened) <= inside(opened, 598, 198, 902, 502)
    assert len(within) > 5
    assert opened.run("return siteplan.store.state.tool") == ""
    now = opened.run("return [siteplan.map.getCenter().lat, siteplan.map.getCenter().lng]")
    assert now == view, "the map does not move with the box"
    assert opened.run("return siteplan.store.state.chosen") == -1


def test_a_box_by_two_taps(browser: Any, map_path: Path) -> None:
    browser.open(map_path, **PHONE)
    browser.run("document.getElementById('tool-box').click()")
    browser.settle()
    expected = inside(browser, 118, 198, 302, 402)
    browser.tap(120, 200)
    browser.tap(300, 400)
    assert inside(browser, 122, 202, 298, 398) <= selected(browser) <= expected
    assert len(selected(browser)) > 3
    assert browser.console() == []


def test_a_polygon_selects(opened: Any) -> None:
    opened.keys("g")
    for x, y in ((600, 200), (900, 200), (900, 500), (600, 500)):
        opened.click(x, y)
    opened.run("document.getElementById('tool-done').click()")
    opened.settle()
    within = inside(opened, 602, 202, 898, 498)
    assert within <= selected(opened) <= inside(opened, 598, 198, 902, 502)
    opened.keys("g")
    opened.click(700, 300)
    opened.keys(ESCAPE)
    assert opened.run("return siteplan.store.state.tool") == ""
    assert selected(opened), "giving up keeps what was selected"


def test_totals_of_the_selection(opened: Any, spread_plan: Plan) -> None:
    chosen = list(range(20, 60))
    opened.run("siteplan.store.set({table: true}); siteplan.selection.add(arguments[0])", chosen)
    opened.settle()
    totals = text_of(opened, "#totals")
    antenna = spread_plan.columns["antenna_m"][chosen]
    for size in (1.2, 1.8, 2.4):
        assert f"{int((antenna == size).sum())} × {size:.2f} m" in totals
    assert f"{int(np.isnan(antenna).sum())} × none" in totals
    poles = int((spread_plan.columns["mount"][chosen] == "pole").sum())
    assert f"{poles} × pole" in totals
    assert text_of(opened, "#selected-count").startswith("40 selected")
    first = int(table_ids(opened)[0].removeprefix("S"))
    opened.run("document.querySelector('#table-body input').click()")
    assert selected(opened) == set(chosen) ^ {first}
    opened.run("document.getElementById('clear-selection').click()")
    assert selected(opened) == set()
    opened.run("document.getElementById('select-shown').click()")
    assert len(selected(opened)) == len(spread_plan)


def test_the_selection_is_saved_as_the_plan_s_own_table(
    catching: Any, spread_plan: Plan, tmp_path: Path
) -> None:
    chosen = [*range(12), 100]
    catching.run("siteplan.selection.add(arguments[0])", chosen)
    catching.run("siteplan.store.set({table: true})")
    catching.run("document.getElementById('export-csv').click()")
    catching.settle()
    name, rows = saved(catching)
    assert name == "sites_selected.csv"
    write_csv(spread_plan, tmp_path / "sites.csv")
    with (tmp_path / "sites.csv").open(encoding="utf-8", newline="") as file:
        whole = list(csv.DictReader(file))
    assert len(rows) == len(chosen) + 1
    numbers = texts = 0
    for cells, i in zip(rows[1:], chosen, strict=True):
        for key, cell in zip(rows[0], cells, strict=True):
            expected = whole[i][key]
            try:
                assert float(cell) == float(expected), key
                numbers += 1
            except ValueError:
                assert cell == expected, key
                texts += 1
    assert numbers > 100
    assert texts > 100


def test_no_cell_of_the_file_is_a_formula(catching: Any, spread_plan: Plan) -> None:
    catching.run("siteplan.store.set({table: true})")
    catching.run("document.getElementById('export-csv').click()")
    catching.settle()
    _, rows = saved(catching)
    assert len(rows) == len(spread_plan) + 1
    names = [row[rows[0].index("name")] for row in rows[1:]]
    assert "'=cmd('calc')" in names
    for cell in (cell for row in rows for cell in row):
        if cell.startswith(("=", "+", "-", "@", "\t", "\r")):
            float(cell)  # a plain number; anything else raises


# --- notes, link, keys ----------------------------------------------------------------------


def test_notes_are_kept_and_saved(catching: Any, map_path: Path) -> None:
    catching.run("siteplan.store.set({chosen: 3})")
    catching.settle()
    type_into(catching, "note", "=Gate code </script> 12\nask for the key")
    assert "Kept in this browser" in text_of(catching, "#note-said")
    catching.run("siteplan.store.set({chosen: 4})")
    catching.settle()
    assert catching.run("return document.getElementById('note').value") == ""
    catching.run("[...document.querySelectorAll('#card button')].at(-1).click()")
    catching.settle()
    name, rows = saved(catching)
    assert name == "site_notes.csv"
    assert rows == [
        ["site_id", "name", "note"],
        ["S00003", "'=cmd('calc')", "'=Gate code </script> 12\nask for the key"],
    ]


def test_notes_without_storage_last_until_the_page_closes(browser: Any, map_path: Path) -> None:
    lost = "Object.defineProperty(window, 'localStorage', {get() { throw new Error('no'); }});"
    script = browser.driver.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument", {"source": lost}
    )
    try:
        browser.open(map_path, **LAPTOP)
        browser.run("siteplan.store.set({chosen: 3})")
        browser.settle()
        type_into(browser, "note", "by the river")
        assert "until the page is closed" in text_of(browser, "#note-said")
        browser.run("siteplan.store.set({chosen: 4}); siteplan.store.set({chosen: 3})")
        browser.settle()
        assert browser.run("return document.getElementById('note').value") == "by the river"
        assert browser.console() == []
    finally:
        browser.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


def test_the_link_brings_the_view_back(opened: Any, map_path: Path) -> None:
    opened.keys("3")
    type_into(opened, "find-group", "north")
    type_into(opened, "find-words", "post & 1")
    opened.run("document.querySelectorAll('#legend .row')[1].click()")
    opened.run("siteplan.map.setView([40, 20], 6, {animate: false})")
    opened.run("siteplan.store.set({sortBy: 'name', sortDown: true, table: true, chosen: 111})")
    opened.settle()
    link = opened.run("return siteplan.hash.text()")
    before = (shown(opened), opened.run("return siteplan.map.getZoom()"))
    opened.driver.get("about:blank")
    opened.driver.get(f"{map_path.resolve().as_uri()}#{link}")
    opened.settle()
    assert text_of(opened, "#legend-title").startswith("Rain rate")
    assert (shown(opened), opened.run("return siteplan.map.getZoom()")) == before
    state = opened.run("return siteplan.store.state")
    assert (state["chosen"], state["sortBy"], state["sortDown"]) == (111, "name", True)
    assert state["table"] is True
    assert opened.run("return siteplan.map.getCenter().lat") == pytest.approx(
        40, abs=0.02
    )  # a pixel
    assert parse_qs(link)["words"] == ["post & 1"]


def test_the_address_follows_the_view(opened: Any) -> None:
    opened.keys("2")
    opened.driver.execute_async_script("setTimeout(arguments[0], 400)")
    assert "layer=elevation_deg" in opened.run("return window.location.hash")


@pytest.mark.parametrize(
    "hostile",
    [
        "at=<img src=x onerror=alert(1)>,x,9&layer=__proto__&hide=margin_db:99.-1&sort=-name()",
        "at=91,0,5&layer=</script>&site=</script>&words=%3Cb%3E&target=1e999&satellite=NaN",
        "at=1,2,3&hide=%F0%9F%93%A1:1,flags:&least=--1&most=0x10&group=%00&table=yes",
        "%E0%A4%A",
    ],
)
def test_a_hostile_link_does_no_harm(browser: Any, map_path: Path, hostile: str) -> None:
    browser.open(map_path, **LAPTOP)
    browser.driver.get("about:blank")
    browser.driver.get(f"{map_path.resolve().as_uri()}#{hostile}")
    browser.settle()
    assert browser.console() == []
    assert browser.driver.title == "Invented network"
    assert browser.run("return siteplan.store.state.chosen") == -1
    assert browser.run("return siteplan.store.state.target") is None
    assert browser.run("return document.querySelectorAll('b, img:not(.leaflet-tile)').length") == 0


def test_the_next_worst_site_by_key(opened: Any, spread_plan: Plan) -> None:
    margin = spread_plan.columns["margin_db"]
    opened.run("siteplan.filters.set({flag: 'no_fit'})")
    opened.keys("w")
    first = opened.run("return siteplan.store.state.chosen")
    assert margin[first] == pytest.approx(np.nanmin(margin), abs=0.051)
    opened.keys("w", "w")
    third = opened.run("return siteplan.store.state.chosen")
    assert margin[first] <= margin[third] < 0
    assert len({first, third}) == 2


def test_single_keys_can_be_switched_off(opened: Any) -> None:
    opened.run("document.getElementById('set-keys').click()")
    opened.keys("2")
    assert text_of(opened, "#legend-title") == "Margin [dB]"
    opened.run("siteplan.store.set({chosen: 3})")
    opened.settle()
    opened.keys(ESCAPE)
    assert opened.run("return siteplan.store.state.chosen") == -1, "named keys stay"
    opened.run("document.getElementById('set-keys').click()")
    opened.keys("2")
    assert text_of(opened, "#legend-title") == "Elevation [°]"


def test_letters_in_a_field_are_letters(opened: Any) -> None:
    opened.keys("f")
    opened.keys(*"t2w")
    assert opened.run("return document.getElementById('dock').hidden")
    assert opened.run("return siteplan.filters.wanted.words") == "t2w"


def test_hostile_names_are_text_everywhere(opened: Any, hostile_names: tuple[str, ...]) -> None:
    opened.run("siteplan.store.set({table: true, tab: 'find'})")
    for site, name in enumerate(hostile_names):
        opened.run("siteplan.store.set({chosen: arguments[0]})", site)
        type_into(opened, "find-words", f"S0000{site}")
        in_table = opened.run(
            "const row = document.querySelector('#table-body tr[data-site]');"
            "return row.querySelectorAll('td')[1].textContent"
        )
        in_list = opened.run("return document.querySelector('.found-name').textContent")
        assert (in_table, in_list) == (name, name)
        there = "siteplan.points.latLng(arguments[0])"
        opened.run(f"siteplan.map.setView({there}, 9, {{animate: false}})", site)
        opened.settle()
        x, y, _, _ = box_around(opened, [site])
        moved = {"type": "mouseMoved", "x": x, "y": y}
        opened.driver.execute_cdp_cmd("Input.dispatchMouseEvent", moved)
        opened.settle()
        tip = opened.run("return document.querySelector('#tip .tip-name')?.textContent")
        assert tip == name
        assert opened.driver.title == "Invented network"
        assert opened.run("return document.querySelectorAll('img, script[src], b').length") == 0
        wide = opened.run("return document.documentElement.scrollWidth")
        assert wide == LAPTOP["width"]


def test_what_the_page_tells_of_a_layer_is_json(map_path: Path) -> None:
    text = map_path.read_text("utf-8")
    start = text.index('id="siteplan-data">') + len('id="siteplan-data">')
    data = json.loads(text[start : text.index("</script>", start)])
    assert {layer["field"] for layer in data["layers"]} >= {"margin_db", "flags", "cable_class"}


def test_a_plan_without_tables_has_no_target_slider(opened: Any) -> None:
    opened.run("siteplan.store.set({tab: 'whatif'})")
    assert opened.run("return document.getElementById('whatif-target').hidden")


def test_the_phone_s_table_lies_over_the_map(
    browser: Any, map_path: Path, make_plan: Callable[..., Plan]
) -> None:
    browser.open(map_path, **PHONE)
    browser.run("document.getElementById('open-table').click()")
    browser.settle()
    browser.run("document.querySelectorAll('#table-body .goto')[1].click()")
    browser.settle()
    assert browser.run("return document.getElementById('dock').hidden"), "it gives way to the card"
    assert not browser.run("return document.getElementById('card').hidden")
    assert browser.run("return document.documentElement.scrollWidth") == PHONE["width"]
    assert browser.console() == []
