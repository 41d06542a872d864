"""Where the map opens."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.outputs.map.extent import MERCATOR_LIMIT_DEG, extent


def test_frame_around_sites() -> None:
    found = extent(np.array([-10.0, 5.0]), np.array([20.0, 40.0]))
    np.testing.assert_allclose(found, (-10, 20, 5, 40), atol=1e-12)


@pytest.mark.parametrize("lon", [36.82, -179.9, 179.9, 396.82])
def test_a_single_site_is_in_the_middle_of_a_degree(lon: float) -> None:
    south, west, north, east = extent(np.array([-1.28]), np.array([lon]))
    assert (south + north) / 2 == pytest.approx(-1.28, abs=1e-9)
    assert east - west == pytest.approx(1, abs=1e-9)
    assert (((west + east) / 2 - lon + 180) % 360) - 180 == pytest.approx(0, abs=1e-9)


def test_sites_on_both_sides_of_the_antimeridian_lie_together() -> None:
    _, west, _, east = extent(np.array([-17.0, -18.0, -13.0]), np.array([178.0, -178.0, -172.0]))
    assert (west, east) == pytest.approx((178, 188), abs=1e-9)


def test_sites_all_around_the_world_leave_out_the_widest_gap() -> None:
    _, west, _, east = extent(np.zeros(4), np.array([-170.0, -60.0, 20.0, 100.0]))
    assert (west, east) == pytest.approx((-60, 190), abs=1e-9)


def test_the_poles_are_cut_where_the_projection_ends() -> None:
    south, _, north, _ = extent(np.array([69.0, 89.9]), np.array([20.0, 30.0]))
    assert (south, north) == pytest.approx((69, MERCATOR_LIMIT_DEG), abs=1e-9)
    south, _, north, _ = extent(np.array([-89.9]), np.array([0.0]))
    assert -MERCATOR_LIMIT_DEG <= south < north


def test_no_sites_show_most_of_the_world() -> None:
    south, west, north, east = extent(np.array([]), np.array([]))
    assert east - west == 360
    assert south < -50 < 70 < north


def test_places_that_are_not_known_are_left_out() -> None:
    found = extent(np.array([np.nan, 10.0, 12.0]), np.array([0.0, 20.0, 22.0]))
    np.testing.assert_allclose(found, (10, 20, 12, 22), atol=1e-12)
