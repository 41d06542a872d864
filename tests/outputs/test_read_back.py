"""Each figure read back by its label from sheet and card; from lists in ``test_read_back_lists``.

Three unlike sites (``read_back/unlike.py``), no figure twice, so that one in another's place is
never green. ``read_back/figures.py`` holds label and form of every field, ``read_back/sheet.py``
and ``read_back/lists.py`` what each box must say, ``read_back/readers.py`` how it is read. A new
field is a line of ``FIGURES``; one that the sheet shows is also a word of ``sheet.ROWS``.
"""

from __future__ import annotations

import dataclasses
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.outputs.map.payload import write_map
from siteplan.outputs.sheets.files import sheet_html, write_sheets
from siteplan.planning.rounds import Round
from siteplan.results import Plan
from tests.outputs.read_back import readers
from tests.outputs.read_back.figures import (
    FIGURES,
    NOT_REACHED,
    OF_THE_NETWORK,
    Table,
    said,
    text,
)
from tests.outputs.read_back.lists import (
    CARD,
    GPX,
    KIT,
    KML,
    place_dms,
)
from tests.outputs.read_back.readers import Card, Point, Sheet, bearing, points, rings, words
from tests.outputs.read_back.sheet import (
    SHEET,
    VISITED,
    declination,
    rim_deg,
    sun_hours,
    turn,
)
from tests.outputs.read_back.unlike import (
    LAT_DEG,
    LON_DEG,
    NOWHERE,
    SITES,
    TEXTS,
    boxes,
    changed,
    look,
    unlike_plan,
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return unlike_plan()


def test_angles_are_those_of_the_place(plan: Plan) -> None:
    """The plan's own angles stand within half of the last digit shown."""
    for i in SITES:
        seen = look(i)
        for name, worth, half in (
            ("azimuth_true_deg", seen.azimuth, 0.005),
            ("elevation_deg", seen.elevation, 0.005),
            ("skew_deg", seen.skew, 0.05),
            ("inclinometer_deg", rim_deg(i), 0.05),
        ):
            assert plan.columns[name][i] == pytest.approx(worth, abs=half), name


def test_the_sites_are_unlike(plan: Plan) -> None:
    """Every pair of words for a direction is told of one site or another."""
    assert {turn(i) for i in SITES} == {"clockwise", "counter-clockwise"}
    assert {rim_deg(i) > 0 for i in SITES} == {True, False}
    assert {declination(plan, i).split()[-1] for i in SITES} == {"east", "west"}
    assert {(lat > 0, lon > 0) for lat, lon in zip(LAT_DEG, LON_DEG, strict=True)} == {
        *((True, True), (False, False), (True, False)),
    }
    for name in NOWHERE:
        assert {value == 0 for value in plan.columns[name]} == {True, False}


# --- the crew's sheet -----------------------------------------------------------------------

#: Figures of the sheet that stand in no box: page and step of the test, and a tick to write at.
FREE_FIGURES = ["10", "1"]


@pytest.fixture(scope="module")
def folder(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sheets as they are written, of one round in an order of its own."""
    path = tmp_path_factory.mktemp("sheets")
    write_sheets(plan, [Round("all", 1, np.array(VISITED))], path)
    return path


@pytest.fixture(scope="module")
def sheets(folder: Path) -> list[Sheet]:
    """Each site's sheet from the file that bears its id."""
    found = [readers.sheets_of(folder / f"{name}.html") for name in TEXTS["site_id"]]
    assert [len(of_file) for of_file in found] == [1, 1, 1]
    return [sheet for (sheet,) in found]


@pytest.mark.parametrize("key", boxes(SHEET))
def test_the_sheet(plan: Plan, sheets: list[Sheet], key: tuple[str, str]) -> None:
    """A box that the site has no figure for is left out, or stands empty to be written in."""
    for i in SITES:
        assert sheets[i].boxes.get(key, "") == said(plan, SHEET[key], i)


def test_the_sheet_has_no_label_that_the_table_does_not_name(sheets: list[Sheet]) -> None:
    for sheet in sheets:
        assert set(sheet.boxes) - set(SHEET) == set()
    assert set(SHEET) - {key for sheet in sheets for key in sheet.boxes} == set()


def test_the_rounds_file_holds_the_same_sheets_in_the_order_of_the_visits(
    folder: Path, sheets: list[Sheet]
) -> None:
    together = readers.sheets_of(folder / "groups" / "all.html")
    assert [sheet.boxes for sheet in together] == [sheets[i].boxes for i in VISITED]


def test_the_index_leads_to_the_sheet_that_it_names(plan: Plan, folder: Path) -> None:
    named = [f"{text(plan, 'site_id', i)} {text(plan, 'name', i)}" for i in VISITED]
    files = [f"{text(plan, 'site_id', i)}.html" for i in VISITED]
    assert readers.links_of(folder / "index.html") == [
        ("all", "groups/all.html"),
        *zip(named, files, strict=True),
    ]


def test_no_figure_of_the_sheet_stands_outside_of_a_box(sheets: list[Sheet]) -> None:
    for sheet in sheets:
        assert re.findall(r"\S*\d\S*", sheet.rest) == FREE_FIGURES


#: What a box of the first site says when a field is another.
OTHERWISE: list[tuple[dict[str, Any], tuple[str, str], str]] = [
    ({"mount": "ground"}, ("Mount", "heading"), "ballasted frame on the ground"),
    (
        {"mount": "engineered", "mount_certainty": "provisional"},
        ("Mount", "heading"),
        "a footing or frame designed by an engineer, to be surveyed",
    ),
    ({"mount_certainty": "provisional"}, ("Mount", "heading"), "pole in a footing, to be surveyed"),
    ({"mount_question": "Rock?"}, ("Mount", "question"), "To settle it: Rock?"),
    ({"structure": "pitched_roof"}, ("Mount", "Structure"), "pitched roof"),
    ({"skew_deg": 0.04}, ("angles", "Polarization angle (skew), note"), "no turn"),
    ({"skew_deg": -0.04}, ("angles", "Polarization angle (skew), note"), "no turn"),
    ({"skew_deg": -0.04}, ("angles", "Polarization angle (skew)"), "0.0°"),
    (
        {"skew_deg": 0.06},
        ("angles", "Polarization angle (skew), note"),
        "clockwise, seen from behind",
    ),
    (
        {"skew_deg": -0.06},
        ("angles", "Polarization angle (skew), note"),
        "counter-clockwise, seen from behind",
    ),
    ({"skew_deg": math.nan}, ("angles", "Polarization angle (skew)"), ""),
    ({"skew_deg": math.nan}, ("drawing", "Skew from behind the dish"), ""),
    ({"inclinometer_deg": 0.06}, ("angles", "Inclinometer on the rim, note"), "leans back"),
    (
        {"inclinometer_deg": -0.06},
        ("angles", "Inclinometer on the rim, note"),
        "leans FORWARD, over the feed",
    ),
    ({"inclinometer_deg": 0.04}, ("angles", "Inclinometer on the rim, note"), "upright"),
    ({"inclinometer_deg": -0.04}, ("angles", "Inclinometer on the rim, note"), "upright"),
    (
        {"public_beside_m": 0.0},
        ("Keep out of the beam", FIGURES["public_beside_m"][0]),
        NOT_REACHED,
    ),
    ({"public_beside_m": 0.04}, ("Keep out of the beam", FIGURES["public_beside_m"][0]), "0.0 m"),
    ({"altitude_m": math.nan}, ("head", "above sea level"), ""),
    ({"group": ""}, ("head", "group"), ""),
    ({"priority": ""}, ("head", "priority"), ""),
]


@pytest.mark.parametrize(("columns", "key", "words"), OTHERWISE)
def test_the_sheet_where_a_field_is_another(
    plan: Plan, columns: dict[str, Any], key: tuple[str, str], words: str
) -> None:
    """With a dish to be built, whose mount is weighed."""
    to_build = changed(plan, **{"fixed_antenna_m": math.nan, **columns})
    assert Sheet(sheet_html(to_build, 0)).boxes.get(key, "") == words


def test_a_site_without_kit_is_told_so(plan: Plan) -> None:
    bare = changed(plan, antenna_m=math.nan, buc_w=math.nan, no_fit_reason="Too much rain.")
    page = re.sub(r"<[^>]+>", " ", sheet_html(bare, 0))
    assert re.search(r"DO NOT INSTALL\s+Too much rain\.", page)
    assert "Parts" not in page


def test_a_wind_that_the_network_gives_is_not_called_assumed(plan: Plan) -> None:
    given = tuple(a for a in plan.assumptions if a.key != "site.wind_m_s")
    told = [
        Sheet(sheet_html(dataclasses.replace(plan, assumptions=given), i)).boxes[
            "Wind and ballast", "Wind from"
        ]
        for i in SITES
    ]
    assert told == ["given", "the network file", "the network file"]


def test_the_basis_of_a_gust(plan: Plan) -> None:
    rules = plan.network.rules.model_copy(update={"wind_basis": "gust_3s"})
    site = plan.network.site.model_copy(update={"gust_exposure": "D"})
    network = plan.network.model_copy(update={"rules": rules, "site": site})
    to_build = changed(plan, fixed_antenna_m=math.nan)
    sheet = Sheet(sheet_html(dataclasses.replace(to_build, network=network), 0))
    assert sheet.boxes["Wind and ballast", "basis"] == (
        "The design wind is a 3-second gust (0.613 V², ASCE 7), exposure D. Ballast is worked out"
        " with a safety factor of 1.5. Where a code's speed is an ultimate one, its factor is in"
        " the speed already and must not be taken twice."
    )


def test_the_sun_that_crosses_the_azimuth_twice(plan: Plan) -> None:
    """In the order of the clock at the site, three hours ahead of UTC."""
    twice = np.array([["2026-09-14T13:05:00", "2026-09-14T03:45:00"]] * 3, dtype="datetime64[s]")
    tables = {**plan.tables, "sun_on_azimuth": twice}
    sheet = Sheet(sheet_html(dataclasses.replace(plan, tables=tables), 0))
    told = sheet.boxes["caption", "Check the compass by the sun"]
    assert "on the dish's azimuth at 06:45 and 16:05." in told


# --- the sheet's drawings -------------------------------------------------------------------


def near(found: list[Point], expected: list[Point]) -> bool:
    """Whether two sets of points are the same, to the tenth that a drawing is written with."""
    apart = [[math.dist(a, b) for b in expected] for a in found]
    rows, columns = list(apart), list(zip(*apart, strict=True))
    return len(found) > 0 and all(min(row) < 0.08 for row in (*rows, *columns))


def sky_at(centre: Point, ring: float, azimuth: float, elevation: float) -> Point:
    """Where a direction lies on a sky plot: north up, east to the right, overhead in the middle."""
    out, way = ring * (90 - elevation) / 90, math.radians(azimuth)
    return centre[0] + out * math.sin(way), centre[1] - out * math.cos(way)


def test_the_letters_of_the_compass_stand_in_their_quarters(sheets: list[Sheet]) -> None:
    for title in ("Compass rose", "Sky"):
        drawing = sheets[0].drawings[title]
        centre = rings(drawing, "circle")[0]
        found = {w: bearing(centre, p) for w, p in words(drawing) if w in "NESW"}
        for letter, quarter in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
            off = (found[letter] - quarter + 180) % 360 - 180
            assert off == pytest.approx(0, abs=5), letter  # letters stand on their base line


def test_arrow_and_needle_of_the_rose(plan: Plan, sheets: list[Sheet]) -> None:
    for i in SITES:
        rose = sheets[i].drawings["Compass rose"]
        centre = rings(rose, "circle")[0]
        tail, tip = points(rose, "path.heavy")[:2]
        assert math.dist(tail, centre) == pytest.approx(0, abs=0.1)
        assert bearing(centre, tip) == pytest.approx(look(i).azimuth, abs=0.2)
        needle = points(rose, "path.hollow")[0]
        size, side = declination(plan, i).split("° ")
        east = float(size) if side == "east" else -float(size)
        assert bearing(centre, needle) == pytest.approx(east % 360, abs=0.2)


def test_beam_and_rim_from_the_side(sheets: list[Sheet]) -> None:
    """The beam runs to the right: a rim that leans forward has its top to the right."""
    for i in SITES:
        side = sheets[i].drawings["Dish from the side"]
        told = [word for word, _ in words(side)]
        lean = "back" if rim_deg(i) > 0 else "forward"
        assert f"elevation {look(i).elevation:.2f}°" in told
        assert f"rim {abs(rim_deg(i)):.1f}° {lean}" in told
        top, _, bottom = points(side, "path.heavy")[:3]
        upright = bearing(bottom, top)
        assert (upright + 180) % 360 - 180 == pytest.approx(-rim_deg(i), abs=0.3)
        start, end = points(side, "path.heavy")[3:5]
        assert 90 - bearing(start, end) == pytest.approx(look(i).elevation, abs=0.3)


@pytest.mark.parametrize(("title", "behind"), [("behind", True), ("in front of", False)])
def test_the_feeds_turn(sheets: list[Sheet], title: str, behind: bool) -> None:
    """The bar of the drawing, and the words below it; from in front all runs the other way."""
    for i in SITES:
        drawing = sheets[i].drawings[f"Skew from {title} the dish"]
        top, bottom = points(drawing, "path.bar")
        leans = (bearing(bottom, top) + 90) % 180 - 90
        assert leans == pytest.approx(look(i).skew * (1 if behind else -1), abs=0.2)
        told = [word for word, _ in words(drawing)]
        assert told == [
            f"{title} the dish",
            f"{abs(look(i).skew):.1f}° {turn(i, behind=behind)}",
        ]


def horizon_corners(plan: Plan, i: int) -> list[tuple[float, float]]:
    """Azimuth and height of the corners of each piece of the horizon, 5 degrees wide."""
    tops = plan.tables["horizon_deg"][i]
    return [
        (5.0 * k + side, float(top))
        for k, top in enumerate(tops)
        for side in (-2.5, 2.5)
        if top > 0
    ]


def test_satellite_sun_and_horizon_of_the_sky(plan: Plan, sheets: list[Sheet]) -> None:
    for i in SITES:
        sky = sheets[i].drawings["Sky"]
        centre, ring = rings(sky, "circle.thick")[0], 88.0
        at = sky_at(centre, ring, look(i).azimuth, look(i).elevation)
        assert near(rings(sky, "circle.hollow"), [at])
        sun = [sky_at(centre, ring, azimuth, up) for _, azimuth, up in sun_hours(plan, i)]
        assert near(rings(sky, "circle.ray"), sun)
        inside = [p for p in points(sky, "path.grey") if math.dist(p, centre) < ring - 1]
        tops = [sky_at(centre, ring, *corner) for corner in horizon_corners(plan, i)]
        assert near(inside, tops) if tops else not inside
    assert [bool(horizon_corners(plan, i)) for i in SITES] == [True, True, False]


def test_each_obstacles_distance_stands_below_its_height(plan: Plan, sheets: list[Sheet]) -> None:
    """Rounded up: to a tenth below 10 m, else to a metre; ``any`` where none need be kept."""

    def kept(away: float) -> str:
        if away <= 0:
            return "any"
        return f"{math.ceil(away * 10) / 10:.1f} m" if away < 10 else f"{math.ceil(away)} m"

    for i in SITES:
        told = words(sheets[i].drawings["How far an obstacle must stand from the dish"])
        columns: dict[float, list[tuple[float, str]]] = {}
        for word, (x, y) in told:
            columns.setdefault(x, []).append((y, word))
        found = [[word for _, word in sorted(columns[x])] for x in sorted(columns)]
        away = plan.tables["stand_off_m"][i].tolist()
        heights = ("3 m", "5 m", "10 m", "15 m", "20 m")
        assert found == [
            [f"above {plan.columns['stand_off_from'][i]}", "away, least"],
            *([high, kept(far)] for high, far in zip(heights, away, strict=True)),
        ]


# --- the map's card -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def map_page(plan: Plan, browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    path = tmp_path_factory.mktemp("card") / "map.html"
    write_map(plan, path)
    browser.open(path)
    return browser


@pytest.fixture(scope="module")
def cards(map_page: Any) -> list[Card]:
    return [Card(map_page, i) for i in SITES]


@pytest.mark.browser
@pytest.mark.parametrize("key", boxes(CARD))
def test_the_card(plan: Plan, cards: list[Card], key: tuple[str, str]) -> None:
    for i in SITES:
        assert cards[i].boxes.get(key, "") == said(plan, CARD[key], i)


@pytest.mark.browser
def test_the_card_has_no_label_that_the_table_does_not_name(cards: list[Card]) -> None:
    for card in cards:
        assert set(card.boxes) - set(CARD) == set()
    assert set(CARD) - {key for card in cards for key in card.boxes} == set()


@pytest.mark.browser
def test_degrees_minutes_and_seconds_of_the_card(map_page: Any) -> None:
    found = [Card(map_page, i, dms=True).boxes["head", "coordinates"] for i in SITES]
    assert found == [place_dms(i) for i in SITES]


@pytest.mark.browser
def test_satellite_and_horizon_of_the_cards_sky(plan: Plan, cards: list[Card]) -> None:
    for i in SITES:
        sky = cards[i].sky
        centre, ring = rings(sky, "circle.sky-rim")[0], 118.0
        at = sky_at(centre, ring, look(i).azimuth, look(i).elevation)
        assert near(rings(sky, "circle.sky-satellite"), [at])
        tops = plan.tables["horizon_deg"][i]
        ground = points(sky, "path.sky-ground")[: len(tops)]
        edge = [sky_at(centre, ring, 5.0 * k, top) for k, top in enumerate(tops)]
        assert near(ground, edge) if math.isfinite(tops[0]) else not ground


# --- what makes the comparisons tell --------------------------------------------------------


def test_no_two_figures_read_alike(plan: Plan) -> None:
    """Of all fields and sites; without sign and unit, so that no unit has to save it."""
    seen: dict[str, tuple[str, int]] = {}
    for name, i in ((name, i) for name in FIGURES for i in SITES):
        number = text(plan, name, i).removeprefix("-").split(" ")[0].rstrip("°")
        if isinstance(plan.columns[name][i], str) or not number or i in NOWHERE.get(name, ()):
            continue
        assert seen.setdefault(number, (name, i)) == (name, i), f"{name} and {seen[number]}"


def test_no_field_has_one_text_at_all_sites_and_no_two_have_the_same_three(plan: Plan) -> None:
    told = {n: tuple(plan.columns[n]) for n in FIGURES if isinstance(plan.columns[n][0], str)}
    assert all(len(set(three)) > 1 for three in told.values())
    assert len(set(told.values())) == len(told)
    nowhere = {NOWHERE[name] for name in NOWHERE}
    assert len(nowhere) == len(NOWHERE)


@pytest.mark.parametrize("table", [SHEET, CARD, KML, GPX, KIT], ids=["sheet", "card", *"kgl"])
def test_every_other_box_tells_the_sites_apart(plan: Plan, table: Table) -> None:
    alike = {key for key, says in table.items() if len({said(plan, says, i) for i in SITES}) == 1}
    assert alike - OF_THE_NETWORK == set()


def test_the_table_names_every_field(plan: Plan) -> None:
    assert set(FIGURES) == set(plan.columns)
