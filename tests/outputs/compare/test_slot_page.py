"""compare.html says what the comparison says, and holds nothing but itself."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html

from siteplan.answers.slots import SlotComparison
from siteplan.outputs.compare.slot_chart import TONES, WIDTH, dish_mix, tone
from siteplan.outputs.compare.slot_page import SECTIONS, Beside, page, write_page
from siteplan.results import Plan
from tests.outputs.compare.compared import comparison, many
from tests.outputs.conftest import HOSTILE_NAMES
from tests.outputs.test_policy import Elements

HEADINGS = ["Dishes by satellite", "The satellites", "Antennas and BUCs, in sites",
            "No plan can be made with", "Best for how many sites", "Turning the dishes",
            "What was taken for them", "What to do next"]  # fmt: skip


@pytest.fixture(scope="module")
def compared() -> tuple[SlotComparison, Plan]:
    return comparison(refused=("Beyond",), satellite_eirp_dbw=48.0)


@pytest.fixture(scope="module")
def tree(compared: tuple[SlotComparison, Plan]) -> Any:
    return html.fromstring(page(*compared, Beside(9, 9)))


def rows_under(tree: Any, heading: str) -> list[list[str]]:
    (section,) = tree.xpath(f"//section[h2='{heading}']")
    rows = section.xpath(".//table")[0].xpath(".//tr")
    return [[" ".join(cell.text_content().split()) for cell in row] for row in rows]


def test_the_sections_stand_in_their_order(tree: Any) -> None:
    assert tree.xpath("//h2/text()") == HEADINGS
    assert len(SECTIONS) == len(HEADINGS) + 1


def test_each_satellite_has_its_figures(tree: Any, compared: tuple[SlotComparison, Plan]) -> None:
    of, _ = compared
    head, *rows = rows_under(tree, "The satellites")
    assert [row[0] for row in rows] == ["Ours (as planned)", "East", "West"]
    for row, slot in zip(rows, of.slots, strict=False):
        told = dict(zip(head, row, strict=True))
        assert int(told["Served"]) == slot.served
        assert int(told["With kit"]) == slot.with_kit
        assert int(told["Without kit"]) == slot.without_kit
        assert int(told["Out of view"]) == slot.out_of_view
        median, worst = map(float, re.findall(r"-?\d+\.\d", told["Margin, median and worst"]))
        assert median == pytest.approx(slot.median_margin_db, abs=0.051)
        assert worst == pytest.approx(slot.worst_margin_db, abs=0.051)
        assert float(told["Antenna area"].split()[0]) == pytest.approx(slot.area_m2, abs=0.051)
    assert "Cost" not in head


def test_reasons_and_what_was_taken_are_told(tree: Any) -> None:
    assert rows_under(tree, "No plan can be made with")[1:] == [
        ["Beyond", "120° E", "The hub does not see it."]
    ]
    text = " ".join(tree.text_content().split())
    assert "East, West: EIRP as in the project." in text
    assert "repointing/, a file a satellite" in text


def test_the_first_line_names_who_serves_most(
    tree: Any, compared: tuple[SlotComparison, Plan]
) -> None:
    of, _ = compared
    (told,) = tree.xpath("//p[@class='verdict']")
    best = min((s for s in of.slots if not s.reason), key=lambda s: (-s.served, s.area_m2))
    assert told.text_content().startswith(best.name)
    assert f"{best.served} of 6" in told.text_content()


def test_counts_of_the_best_add_up(tree: Any) -> None:
    rows = rows_under(tree, "Best for how many sites")[1:]
    assert sum(int(count) for _, count in rows) == 6


def test_the_chart_s_bars_are_as_long_as_their_counts(
    compared: tuple[SlotComparison, Plan],
) -> None:
    of, _ = compared
    planned = [slot for slot in of.slots if not slot.reason]
    sizes = sorted({d for s in planned for d, _ in s.antennas})
    svg = html.fromstring(dish_mix(planned, len(of.best), sizes))
    bars = [b for b in svg.xpath(".//rect") if float(b.get("height")) > 12.5]
    unit = float(bars[0].get("width")) / planned[0].antennas[0][1]
    expected = [
        (f"tone{tone(sizes.index(d), len(sizes))}", n) for s in planned for d, n in
        (*s.antennas, *([(None, s.without_kit)] if s.without_kit else []))
        if d is not None
    ]  # fmt: skip
    solid = [(b.get("class"), float(b.get("width"))) for b in bars if b.get("class") != "empty"]
    assert [css for css, _ in solid] == [css for css, _ in expected]
    for (_, wide), (_, count) in zip(solid, expected, strict=True):
        assert wide == pytest.approx(count * unit, abs=0.11)
    empty = [float(b.get("width")) for b in bars if b.get("class") == "empty"]
    assert empty == pytest.approx(
        [s.without_kit * unit for s in planned if s.without_kit], abs=0.11
    )
    assert max(float(b.get("x")) + float(b.get("width")) for b in bars) <= WIDTH


def test_tones_rise_and_keep_apart() -> None:
    for count in range(1, TONES + 1):
        found = [tone(k, count) for k in range(count)]
        assert len(set(found)) == count
        assert found == sorted(found)
    css = (Path(__file__).parents[3] / "siteplan/outputs/compare/slots.css").read_text("utf-8")
    greys = [int(x, 16) for x in re.findall(r"tone\d \{ fill: #(..)\1\1;", css)]
    assert len(greys) == TONES
    assert all(a - b >= 20 for a, b in itertools.pairwise(greys))


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_hostile_names_stay_text(name: str) -> None:
    made = page(*comparison(many(3), [(name, -40.0)], refused=(f"{name} 2",)))
    found = Elements(made)
    assert not {a for a in found.attributes if a.startswith("on")}
    assert "<img" not in made
    assert "<b>network" not in made
    assert [kind for kind, _ in found.inline if kind == "script"] == []


def test_too_many_sheets_are_told(compared: tuple[SlotComparison, Plan]) -> None:
    made = page(*compared, Beside(0, 900))
    assert "No sheets: there would be 900." in made


def test_where_there_is_no_map_the_page_says_so(compared: tuple[SlotComparison, Plan]) -> None:
    assert "map.html beside this page shows them" in page(*compared)
    made = page(*compared, Beside(unmapped_over=100_000))
    assert "map.html" not in made
    assert "No map: more than 100000 sites; compare_sites.csv has the best satellite" in made


def test_many_satellites_have_several_drawings_and_many_sizes_no_table(
    compared: tuple[SlotComparison, Plan],
) -> None:
    of, plan = compared
    sizes = tuple((0.5 + k / 10, 1) for k in range(14))
    more = tuple(replace(of.slots[1], name=f"S{k}", antennas=sizes) for k in range(40))
    many_of = replace(of, slots=more, sites=of.sites[1:2] * 40, repointing=of.repointing[1:2] * 40)
    tree = html.fromstring(page(many_of, plan))
    assert len(tree.xpath("//figure")) == 3
    assert "14 sizes of antennas and" in " ".join(tree.text_content().split())
    names = tree.xpath("//figure//text/text()")
    assert [n for n in names if n.startswith("S")] == [f"S{k}" for k in range(40)]


@pytest.mark.browser
def test_the_page_prints_on_a_few_pages_and_asks_for_nothing(
    browser: Any, compared: tuple[SlotComparison, Plan], tmp_path: Path
) -> None:
    from tests.outputs.sheets.test_browser import printed

    write_page(*compared, tmp_path / "compare.html", Beside(2, 2))
    reader = printed(browser, tmp_path / "compare.html")
    text = " ".join(" ".join(p.extract_text() for p in reader.pages).split())
    assert len(reader.pages) <= 2
    for heading in HEADINGS:
        assert heading in text
    assert browser.console() == []


def test_the_target_is_that_of_the_sites(compared: tuple[SlotComparison, Plan]) -> None:
    """As plan and report have it: the range, where sites have targets of their own."""
    of, plan = compared
    targets = np.array([99.8, *[99.95] * (len(plan) - 1)])
    own = replace(plan, columns={**plan.columns, "availability_target_pct": targets})
    assert "99.8 to 99.95 %" in html.fromstring(page(of, own)).xpath("string(//dl)")
    alike = replace(plan, columns={**plan.columns, "availability_target_pct": targets * 0 + 99.7})
    assert "99.7 %" in html.fromstring(page(of, alike)).xpath("string(//dl)")
