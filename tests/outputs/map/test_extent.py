"""Where the map opens."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.arrays import BoolArray
from siteplan.basemap.rings import arcs
from siteplan.outputs.map.extent import MERCATOR_LIMIT_DEG, extent, far_off, first_view


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


# --- sites in doubt, and one place alone -----------------------------------------------------

VALLEY = np.array([-1.2, -1.6, -2.0]), np.array([36.5, 36.9, 37.3])


def with_more(lat: float, lon: float) -> tuple[NDArray[np.float64], NDArray[np.float64], BoolArray]:
    """The valley's sites and a doubted one."""
    doubted = np.array([False, False, False, True])
    return np.append(VALLEY[0], lat), np.append(VALLEY[1], lon), doubted


@pytest.mark.parametrize("lon", [-36.5, 0.0, 143.1, 180.0])
def test_a_doubted_site_far_away_is_left_out_of_the_first_view(lon: float) -> None:
    frame, far = first_view(*with_more(1.2, lon))
    assert far.tolist() == [False, False, False, True]
    np.testing.assert_allclose(frame, first_view(*VALLEY, np.zeros(3, dtype=bool))[0], atol=1e-12)


def test_a_doubted_site_far_to_the_north_alone_is_left_out() -> None:
    frame, far = first_view(*with_more(61.2, 36.9))
    assert far[3]
    assert frame[2] == pytest.approx(-1.1, abs=1e-9)


def test_a_doubted_site_among_the_others_stays_in_view() -> None:
    frame, far = first_view(*with_more(-1.4, 37.9))
    assert not far.any()
    assert frame[3] == pytest.approx(37.9, abs=1e-9)


def test_a_site_that_nobody_doubts_stays_in_view_however_far() -> None:
    lat, lon, doubted = with_more(1.2, -36.5)
    frame, far = first_view(lat, lon, ~doubted & False)
    assert not far.any()
    assert frame[1] == pytest.approx(-36.5, abs=1e-9)


def test_where_all_are_in_doubt_all_are_in_view() -> None:
    lat, lon, _ = with_more(1.2, -36.5)
    frame, far = first_view(lat, lon, np.ones(4, dtype=bool))
    assert not far.any()
    np.testing.assert_allclose(frame, extent(lat, lon), atol=1e-12)


def test_doubt_is_measured_across_the_antimeridian() -> None:
    lat, lon = np.array([-17.0, -18.0, -17.5]), np.array([178.0, -179.0, -178.5])
    assert not far_off(lat, lon, np.array([False, False, True])).any()


# Places from memory, to a tenth of a degree: an inland capital, a desert, an island far out.
@pytest.mark.parametrize(("lat", "lon"), [(-1.3, 36.8), (23.4, 4.2), (-37.1, -12.3), (-18, 179.9)])
def test_one_site_alone_opens_with_a_coast_or_border_around_it(lat: float, lon: float) -> None:
    south, west, north, east = first_view(np.array([lat]), np.array([lon]), np.zeros(1, bool))[0]
    assert north - south >= 8
    assert (south + north) / 2 == pytest.approx(lat, abs=1e-9)
    lines = np.vstack(arcs())
    turned = np.mod(lines[:, 0] - west, 360) + west
    within = (turned < east) & (lines[:, 1] > south) & (lines[:, 1] < north)
    assert within.sum() >= 1


def test_two_sites_at_one_place_are_one_place() -> None:
    here = np.array([-1.3, -1.31]), np.array([36.8, 36.805])
    assert np.ptp(first_view(*here, np.zeros(2, dtype=bool))[0][::2]) >= 8
    apart = np.array([-1.3, -1.4]), np.array([36.8, 36.8])
    assert np.ptp(first_view(*apart, np.zeros(2, dtype=bool))[0][::2]) == pytest.approx(1, abs=1e-9)
