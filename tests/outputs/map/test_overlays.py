"""The user's own layers as the page gets them: where things lie, how much of them, which texts."""

from __future__ import annotations

import re
from importlib.resources import files

import numpy as np
import pytest
import shapely

from siteplan.basemap.rings import decoded
from siteplan.model import Overlay
from siteplan.outputs.map import overlays


def overlay(*shapes, labels=None, color=""):
    return Overlay("Layer", color, shapes, tuple(labels or [""] * len(shapes)))


def places(layer, text):
    return np.cumsum(decoded(text).reshape(-1, 2), axis=0) * layer["step_deg"]


def test_shapes_come_back_where_they_were():
    line = shapely.LineString([(10.1234, -5.5), (11, -6), (12.5, -3.25)])
    hole = shapely.Polygon(shapely.box(0, 0, 4, 4).exterior, [shapely.box(1, 1, 2, 2).exterior])
    points = [shapely.Point(181.5, 3), shapely.Point(-7.25, 60)]
    (layer,) = overlays.embedded([overlay(line, hole, *points)])
    np.testing.assert_allclose(places(layer, layer["lines"][0]), line.coords, atol=5e-4)
    assert len(layer["rings"]) == 2
    np.testing.assert_allclose(places(layer, layer["points"]), [(181.5, 3), (-7.25, 60)], atol=5e-4)


def test_lines_are_thinned_within_the_tolerance():
    x = np.linspace(0, 10, 20_001)
    line = shapely.LineString(np.column_stack([x, np.sin(x)]))
    (layer,) = overlays.embedded([overlay(line)])
    kept = places(layer, layer["lines"][0])
    assert len(kept) < 500
    assert shapely.hausdorff_distance(shapely.LineString(kept), line) < 3 * overlays.STEP_DEG


def test_a_mass_of_detail_is_made_coarser_until_it_fits():
    rng = np.random.default_rng(3)
    rough = shapely.LineString(np.cumsum(rng.normal(0, 0.01, (100_000, 2)), axis=0))
    plain = shapely.simplify(rough, overlays.STEP_DEG)
    assert shapely.get_num_coordinates(plain) > overlays.MOST_VERTICES
    (layer,) = overlays.embedded([overlay(rough)])
    assert 1000 < len(places(layer, layer["lines"][0])) <= overlays.MOST_VERTICES


def test_names_travel_as_they_are():
    hostile = "</script><b>{{ 7*7 }}"
    (layer,) = overlays.embedded([overlay(shapely.box(0, 0, 2, 2), labels=[hostile])])
    assert layer["labels"] == [[1, 1, hostile]]


def test_colours_take_turns_and_named_ones_stay():
    point = shapely.Point(0, 0)
    made = overlays.embedded([overlay(point), overlay(point), overlay(point, color="purple")])
    colors = [tuple(layer["colors"].values()) for layer in made]
    assert colors == [overlays.COLORS[name] for name in ("blue", "vermilion", "purple")]


@pytest.mark.parametrize("name", overlays.COLORS)
def test_lines_are_told_from_white_and_from_dark_land_and_sea(name):
    """WCAG 2.2, 1.4.11: graphics have a contrast of 3:1 (relative luminance as defined there)."""
    bright, dark = map(luminance, overlays.COLORS[name])
    assert 1.05 / (bright + 0.05) >= 3
    styles = files("siteplan.outputs.map").joinpath("styles/map.css").read_text()
    at_night = styles.split('[data-mode="dark"]', 1)[1]
    for ground in ("land", "sea"):
        under = re.search(rf"--{ground}: (#\w{{6}});", at_night)
        assert (dark + 0.05) / (luminance(under[1]) + 0.05) >= 3


def luminance(color):
    rgb = np.array(list(bytes.fromhex(color[1:]))) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return linear @ [0.2126, 0.7152, 0.0722]
