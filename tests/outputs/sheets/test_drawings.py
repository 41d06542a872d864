"""The drawings: lines run where the angles say, nothing is NaN, words the right way round."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

import pytest

from siteplan.outputs.sheets.drawings import compass_rose, obstacle_view, side_view, skew_view
from siteplan.outputs.sheets.skyplot import CENTRE, RING, Sky, place, sky_plot

Point = tuple[float, float]


def parsed(svg: str) -> ET.Element:
    assert "nan" not in svg
    assert "inf" not in svg
    assert " id=" not in svg
    return ET.fromstring(svg)


def words(svg: str) -> list[str]:
    return [node.text or "" for node in parsed(svg).iter("text")]


def lines(svg: str, css: str) -> list[tuple[Point, Point]]:
    """Start and end of the straight lines of a class."""
    found = []
    for node in parsed(svg).iter("path"):
        match = re.fullmatch(r"M([\d.-]+) ([\d.-]+)L([\d.-]+) ([\d.-]+)", node.get("d", ""))
        if match and node.get("class") == css:
            x1, y1, x2, y2 = map(float, match.groups())
            found.append(((x1, y1), (x2, y2)))
    return found


def marked(svg: str, tag: str, css: str) -> list[ET.Element]:
    """The elements of a class."""
    return [node for node in parsed(svg).iter(tag) if node.get("class") == css]


def bearing_deg(a: Point, b: Point) -> float:
    """Bearing from ``a`` to ``b``, clockwise from up, as a compass on paper reads it."""
    return math.degrees(math.atan2(b[0] - a[0], a[1] - b[1])) % 360


@pytest.mark.parametrize("azimuth", [0.0, 33.3, 90.0, 181.0, 359.0])
def test_the_rose_points_at_the_satellite_and_at_magnetic_north(azimuth: float) -> None:
    svg = compass_rose(azimuth, -20.0)
    (arrow,) = lines(svg, "heavy")
    assert (bearing_deg(*arrow) - azimuth + 180) % 360 - 180 == pytest.approx(0, abs=0.2)
    (needle,) = lines(svg, "dash")
    assert bearing_deg(*needle) == pytest.approx(340, abs=0.2)
    assert {"N", "E", "S", "W"} <= set(words(svg))


def test_a_rose_without_declination_has_no_needle() -> None:
    assert not lines(compass_rose(120.0, math.nan), "dash")


@pytest.mark.parametrize("elevation", [3.0, 23.1, 45.0, 78.3, 90.0])
def test_the_beam_rises_by_the_elevation(elevation: float) -> None:
    svg = side_view(elevation, 0.0, math.nan)
    (beam,) = lines(svg, "heavy")
    assert 90 - bearing_deg(*beam) == pytest.approx(elevation, abs=0.3)
    assert f"elevation {elevation:.2f}°" in words(svg)


@pytest.mark.parametrize(("elevation", "side"), [(40.0, "back"), (10.0, "forward")])
def test_the_rim_leans_as_the_inclinometer_says(elevation: float, side: str) -> None:
    rim = elevation - 22.0
    svg = side_view(elevation, 22.0, rim)
    assert f"rim {abs(rim):.1f}° {side}" in words(svg)
    bottom_to_top = next((b, a) for a, b in lines(svg, "thin"))
    # Back is away from the beam, which leaves to the right.
    lean = (bearing_deg(*bottom_to_top) + 180) % 360 - 180
    assert -lean == pytest.approx(rim, abs=0.3)


@pytest.mark.parametrize("skew", [64.5, -31.2, 89.9])
def test_skew_turns_one_way_behind_and_the_other_in_front(skew: float) -> None:
    turned = []
    for behind in (True, False):
        svg = skew_view(skew, behind=behind)
        ((a, b),) = lines(svg, "bar")
        turn = (bearing_deg(b, a) + 90) % 180 - 90
        assert turn == pytest.approx(skew if behind else -skew, abs=0.2)
        turned.append(next(w for w in words(svg) if "clockwise" in w))
    clockwise = [not word.endswith("counter-clockwise") for word in turned]
    assert clockwise == ([True, False] if skew > 0 else [False, True])


def test_no_skew_says_no_turn() -> None:
    assert "no turn" in words(skew_view(0.02, behind=True))


def test_obstacle_distances_are_never_rounded_down() -> None:
    svg = obstacle_view(23.0, [3, 5, 10, 15, 20], [0.0, 7.12, 31.01, 55.0, math.nan])
    shown = words(svg)
    distances = ["any", "7.2 m", "32 m", "55 m"]
    assert [word for word in shown if word in distances] == distances
    assert "20 m" not in shown
    assert {"3 m", "5 m", "10 m", "15 m"} <= set(shown)


@pytest.mark.parametrize("surface", ["roof", "ground"])
def test_heights_of_obstacles_say_from_where_they_count(surface: str) -> None:
    assert f"above {surface}" in words(obstacle_view(23.0, [3, 5], [0.0, 7.1], surface))


@pytest.mark.parametrize("azimuth", [10.0, 100.0, 250.0])
def test_the_sky_plot_puts_things_in_their_direction(azimuth: float) -> None:
    at = place(azimuth, 30.0)
    assert bearing_deg(CENTRE, at) == pytest.approx(azimuth, abs=0.1)
    assert math.dist(CENTRE, at) == pytest.approx(RING * 60 / 90, abs=0.1)
    svg = sky_plot(Sky(azimuth, 30.0))
    dots = marked(svg, "circle", "full")
    assert [float(dots[0].get(k, "nan")) for k in ("cx", "cy")] == pytest.approx(at, abs=0.06)


def test_the_horizon_is_drawn_where_it_stands_and_through_north() -> None:
    horizon = [0.0] * 72
    horizon[71] = horizon[0] = horizon[1] = 12.0
    horizon[36] = 40.0
    pieces = marked(sky_plot(Sky(180, 50, horizon)), "path", "grey")
    numbers = [[float(x) for x in re.findall(r"[\d.]+", p.get("d", ""))] for p in pieces]
    # Cells of 5 degrees about their bearing, one outline a run; the list begins at north.
    expected = [(357.5, 7.5, 78), (177.5, 182.5, 50), (352.5, 357.5, 78)]
    assert len(numbers) == len(expected)
    for flat, (start, end, below_zenith) in zip(numbers, expected, strict=True):
        outline = list(zip(flat[::2], flat[1::2], strict=True))
        steps = 2 * (len(outline) // 3)  # two points a cell inside, and the cells' ends on the rim
        inner, rim = outline[:steps], outline[steps:]
        sides = [bearing_deg(CENTRE, inner[0]), bearing_deg(CENTRE, inner[-1])]
        # Written to 0.1: at 49 units from the middle 0.1 degree.
        assert sides == pytest.approx([start, end], abs=0.1)
        depths = [math.dist(CENTRE, point) for point in inner]
        assert depths == pytest.approx([RING * below_zenith / 90] * len(inner), abs=0.08)
        assert [math.dist(CENTRE, p) for p in rim] == pytest.approx([RING] * len(rim), abs=0.08)


def test_the_suns_hours_that_are_down_are_not_drawn() -> None:
    sun = (("06:00", 90.0, math.nan), ("07:00", 95.0, 10.0), ("08:00", 110.0, 22.0))
    rays = marked(sky_plot(Sky(180, 50, (), sun)), "circle", "ray")
    assert len(rays) == 2


def test_text_of_drawings_is_escaped() -> None:
    assert "<b>" not in sky_plot(Sky(180, 50, (), (("<b>", 95.0, 10.0),)))


@pytest.mark.parametrize("elevation", [40.0, 62.0, 80.0, 87.0, 89.9])
@pytest.mark.parametrize("azimuth", [0.0, 65.0, 180.0, 270.0])
def test_no_words_of_the_sky_lie_over_one_another(azimuth: float, elevation: float) -> None:
    """A sun that passes near the zenith, behind a satellite that stands high."""
    hours = [(f"{h:02d}:00", 85.0 if h < 12 else 275.0, 90 - 15.0 * abs(h - 12.2))
             for h in range(7, 18)]  # fmt: skip
    drawn = sky_plot(Sky(azimuth, elevation, (), hours))
    rooms = []
    for css, x, y, anchor, words in re.findall(
        r'<text class="(\w*)" x="([\d.-]+)" y="([\d.-]+)" text-anchor="(\w+)">([^<]+)<', drawn
    ):
        wide = (6.2 if css == "strong" else 4.6) * len(words)
        left = float(x) - {"start": 0.0, "end": wide, "middle": wide / 2}[anchor]
        rooms.append((left, float(y) - 7.0, left + wide, float(y), words))
    assert {"satellite", "30°", "60°"} <= {room[4] for room in rooms}
    over = [
        (a[4], b[4])
        for k, a in enumerate(rooms)
        for b in rooms[k + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    assert over == []
