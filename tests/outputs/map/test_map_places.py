"""Places where maps go wrong: the antimeridian, the pole, one site, none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.outputs.map.payload import write_map
from siteplan.results import Plan

pytestmark = pytest.mark.browser

LAPTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844, "touch": True}


ODD_PLACES = {
    "one site": ([-1.28], [36.82]),
    "across the antimeridian": ([-17.0, -18.5, -13.6, -16.0], [178.0, -178.5, -172.0, 179.9]),
    "polar": ([69.0, 78.2, 88.0, 89.9], [20.0, 15.0, 100.0, -100.0]),
    "none": ([], []),
    "two at one place": ([5.0, 5.0], [5.0, 5.0]),
}


@pytest.mark.parametrize("case", ODD_PLACES)
@pytest.mark.parametrize("screen", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_odd_places_are_in_view(
    browser: Any, make_plan: Callable[..., Plan], tmp_path: Path, case: str, screen: dict[str, Any]
) -> None:
    lat, lon = (np.array(values, dtype=float) for values in ODD_PLACES[case])
    write_map(make_plan(lat, lon), tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **screen)
    assert browser.run("return siteplan.points.inView().length") == len(lat)
    assert browser.console() == []


def test_the_view_across_the_antimeridian_is_narrow(
    browser: Any, make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    lat, lon = (np.array(values) for values in ODD_PLACES["across the antimeridian"])
    write_map(make_plan(lat, lon), tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    west, east = browser.run(
        "const b = siteplan.map.getBounds(); return [b.getWest(), b.getEast()]"
    )
    assert east - west < 40
    # Land lies on both sides: Vanua Levu at 179.3 E, and no line from there across the sea.
    sea = browser.pixel("basemap", -15.5, 179.97)
    assert sea[:3] == browser.pixel("basemap", -15.5, 180.5)[:3]
