"""Obstacles and terrain: inverses, sectors through north, earth curvature."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.angles.horizon import (
    blocking_elevation_deg,
    clearance_deg,
    required_distance_m,
    terrain_horizon,
    top_elevation_deg,
)


def test_top_of_an_obstacle():
    np.testing.assert_allclose(top_elevation_deg([10, -10, 0], 10), [45, -45, 0], atol=1e-12)


def test_clearance_takes_half_the_beam_off():
    np.testing.assert_allclose(
        clearance_deg(30, [20, 29.5, 35], 1.2), [9.4, -0.1, -5.6], atol=1e-12
    )


@given(st.floats(0.5, 50), st.floats(5, 80), st.floats(0.2, 3), st.floats(0, 1.5))
def test_at_the_required_distance_the_spare_is_left(height, elevation, beamwidth, spare):
    distance = required_distance_m(height, elevation, beamwidth, spare_deg=spare)
    left = clearance_deg(elevation, top_elevation_deg(height, distance), beamwidth)
    np.testing.assert_allclose(left, spare, atol=1e-9)


def test_no_distance_helps_a_beam_that_dips_below_the_horizontal():
    out = required_distance_m([5, 5, -2], [0.5, 20, 0.5], 1.2)
    assert np.isnan(out[0])
    assert out[1] > 0
    assert out[2] == 0


def test_highest_obstacle_at_the_bearing_is_found():
    out = blocking_elevation_deg(
        [180.0, 180.0, 180.0],
        1.0,
        [0, 0, 0, 2],
        ([170, 175, 185, 10], [190, 178, 200, 50]),
        [12.0, 30.0, 40.0, 50.0],
    )
    np.testing.assert_array_equal(out, [12.0, np.nan, np.nan])


def test_beam_s_width_reaches_into_a_sector_beside_it():
    for edge in ((181.5, 190.0), (170.0, 178.5)):
        hit = [
            blocking_elevation_deg([180.0], half, [0], ([edge[0]], [edge[1]]), [20.0])[0]
            for half in (1.0, 2.0)
        ]
        np.testing.assert_array_equal(hit, [np.nan, 20.0])


def test_sector_through_north():
    out = blocking_elevation_deg(
        [359.0, 1.0, 20.0, 340.0], 0.0, [0, 1, 2, 3], ([350] * 4, [10] * 4), [15.0] * 4
    )
    np.testing.assert_array_equal(out, [15.0, 15.0, np.nan, np.nan])


def test_no_obstacles_at_all():
    out = blocking_elevation_deg([10.0, 20.0], 1.0, [], ([], []), [])
    assert np.isnan(out).all()


def exact_elevation_deg(distance, height, antenna, radius):
    """Return the elevation of a point over a sphere, from its position in the plane."""
    turn = distance / radius
    x = (radius + height) * np.sin(turn)
    y = (radius + height) * np.cos(turn) - (radius + antenna)
    return np.degrees(np.arctan2(y, x))


def test_terrain_against_exact_geometry_over_the_effective_earth():
    distance = np.array([500.0, 5_000, 20_000, 60_000])
    height = np.array([120.0, 400, 1500, 3000])
    for k in (1.0, 4 / 3):
        exact = exact_elevation_deg(distance, height, 100.0, k * 6_371_000)
        for point in range(4):
            out = terrain_horizon(
                distance[point : point + 1], height[point : point + 1], 100.0, refraction_factor=k
            )
            np.testing.assert_allclose(out.elevation_deg, exact[point], atol=3e-3)


def test_highest_point_of_the_profile_wins():
    out = terrain_horizon([1000, 2000, 3000], [[10, 60, 60], [50, 0, 0]], [0.0, 0.0])
    np.testing.assert_array_equal(out.distance_m, [2000, 1000])
    assert (out.elevation_deg > 1.5).all()


def test_curvature_lowers_and_refraction_lifts_a_far_hill():
    bent, straight = (
        terrain_horizon([50_000], [1000], 0.0, refraction_factor=k).elevation_deg
        for k in (4 / 3, 1.0)
    )
    flat = np.degrees(np.arctan(1000 / 50_000))
    assert straight < bent < flat
    # d / 2 a = 50 / 12742: 0.2248 degree of curvature, three quarters of it with refraction.
    np.testing.assert_allclose(flat - straight, 0.2248, atol=1e-3)
    np.testing.assert_allclose(flat - bent, 0.1686, atol=1e-3)


def test_sea_horizon_dips():
    # Dip of the geometric horizon sqrt(2 h / a): 1.015 degree at 1000 m.
    distance = np.linspace(1000, 200_000, 2000)
    out = terrain_horizon(distance, np.zeros(2000), 1000.0, refraction_factor=1.0)
    np.testing.assert_allclose(out.elevation_deg, -1.015, atol=2e-3)
    np.testing.assert_allclose(out.distance_m, 112_900, rtol=2e-3)


def test_missing_points_are_passed_over():
    out = terrain_horizon([0, 1000, 2000], [[500, np.nan, 100], [np.nan] * 3], [0.0, 0.0])
    np.testing.assert_array_equal(out.distance_m, [2000, np.nan])
    np.testing.assert_array_equal(np.isnan(out.elevation_deg), [False, True])
