"""The words in the report's map picture: within its frame, none left out for want of room."""

from __future__ import annotations

import re

import numpy as np
import pytest

from siteplan.outputs.report.ground import graticule
from siteplan.outputs.report.picture import HEIGHT, WIDTH, _name
from siteplan.outputs.report.projection import window


@pytest.mark.parametrize("east", [5.0, 5.4, 6.0, 7.5, 9.9])
def test_the_words_at_a_meridian_are_not_cut_at_the_edge(east: float) -> None:
    """Whatever meridian comes next to the right edge; letters of 9 units are some 5 wide."""
    view = window(np.array([50.0, 51.0]), np.array([-5.0, east]), WIDTH, HEIGHT)
    found = re.findall(
        r'<text class="tiny" x="([\d.]+)" y="[\d.]+" text-anchor="(\w+)">([^<]+)', graticule(view)
    )
    assert len(found) > 4
    for x, anchor, words in found:
        right = float(x) + (4.6 * len(words) if anchor == "start" else 0.0)
        assert right <= WIDTH, words


def test_a_name_without_room_beside_its_place_stands_further_off_with_a_line_to_it() -> None:
    at = (300.0, 200.0)
    crowd = [(210.0, 188.0, 390.0, 212.0), (240.0, 180.0, 360.0, 222.0)]
    far = _name(at, "Toucan Shore clinic", crowd)
    assert "Toucan Shore clinic" in far
    assert "<path" in far
    beside = _name(at, "Toucan Shore clinic", [])
    assert "<path" not in beside
