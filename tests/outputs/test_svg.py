"""Small pieces of SVG: places, arcs, texts."""

from __future__ import annotations

import math

import pytest
from lxml import etree

from siteplan.outputs.svg import arc, arrow, box, circle, curve, drawing, line, on_ring, path, text


@pytest.mark.parametrize(
    ("bearing_deg", "x", "y"), [(0, 0, -10), (90, 10, 0), (180, 0, 10), (270, -10, 0)]
)
def test_bearings_run_clockwise_from_up(bearing_deg: float, x: float, y: float) -> None:
    assert on_ring((0, 0), 10, bearing_deg) == pytest.approx((x, y), abs=1e-12)


def test_a_drawing_is_well_formed_and_says_its_title() -> None:
    pieces = [
        line((0, 0), (1, 1)),
        path([(0, 0), (1, 0), (1, 1)], closed=True),
        curve((0, 0), (1, 2), (3, 4)),
        circle((5, 5), 2),
        box((1, 1), 2, 3),
        text((4, 4), '<b>"&'),
        arrow((0, 0), (9, 9)),
    ]
    tree = etree.fromstring(drawing(20, 10, 'A "title" & more', pieces))
    assert tree.get("viewBox") == "0 0 20 10"
    assert tree.get("aria-label") == 'A "title" & more'
    assert tree.findtext("text") == '<b>"&'
    assert not any("id" in element.attrib or "href" in element.attrib for element in tree.iter())


@pytest.mark.parametrize(
    ("to_deg", "flags"), [(90, "0 1"), (-90, "0 0"), (200, "1 1"), (-200, "1 0")]
)
def test_an_arc_runs_the_way_of_its_sign(to_deg: float, flags: str) -> None:
    drawn = arc((0, 0), 10, 0, to_deg)
    end = on_ring((0, 0), 10, to_deg)
    assert f"0 {flags} " in drawn
    last = [float(number) for number in drawn.rstrip('"/>').split()[-2:]]
    assert math.dist(last, end) < 0.1
