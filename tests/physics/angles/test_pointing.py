"""Pointing: signs, central differences, losses, neighbours."""

from __future__ import annotations

import numpy as np

from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.angles.pointing import (
    cross_polar_db,
    inclinometer_deg,
    neighbours,
    orbit_step,
    pointing_changes,
    pointing_loss_db,
)


def test_offset_dish_leans_back_less_than_the_elevation_and_even_forward():
    np.testing.assert_allclose(inclinometer_deg([40, 22.3, 10], 22.3), [17.7, 0, -12.3], atol=1e-12)
    np.testing.assert_allclose(inclinometer_deg(40, 0), 40, atol=0)


def test_changes_equal_the_look_angles_of_the_wrong_given():
    changes = pointing_changes(45, 10, 200, 25)
    right = look_angles(45, 10, 200, 25)
    for wrong, change in (
        (look_angles(45, 10, 200, 25.1), changes.satellite_lon),
        (look_angles(45.1, 10, 200, 25), changes.lat),
        (look_angles(45, 10.1, 200, 25), changes.lon),
    ):
        # The second order of 0.1 degree is some 1e-4 degree.
        np.testing.assert_allclose(
            change.azimuth_deg, wrong.azimuth_true_deg - right.azimuth_true_deg, atol=5e-4
        )
        np.testing.assert_allclose(
            change.elevation_deg, wrong.elevation_deg - right.elevation_deg, atol=5e-4
        )
        np.testing.assert_allclose(change.skew_deg, wrong.skew_deg - right.skew_deg, atol=5e-4)


def test_moving_site_and_satellite_east_together_changes_nothing():
    changes = pointing_changes([45, -20], [10, 30], 0, [25, 10])
    for site, satellite in zip(changes.lon, changes.satellite_lon, strict=True):
        np.testing.assert_allclose(site, -satellite, atol=1e-9)


def test_signs_on_the_satellite_s_meridian():
    north, south = (pointing_changes(lat, 20, 0, 20) for lat in (50, -50))
    # A satellite further east stands at a smaller azimuth in the north, a larger in the south.
    assert north.satellite_lon.azimuth_deg < -0.05
    assert south.satellite_lon.azimuth_deg > 0.05
    # Further north, the satellite sinks for a northern site.
    assert north.lat.elevation_deg < -0.1
    assert south.lat.elevation_deg > 0.1


def test_azimuth_through_north_does_not_jump():
    # Half a degree of the orbit to either side, seen from 30 S over north: at 1.0 and 359.0.
    changes = pointing_changes(-30, 20, 0, 20, error_deg=0.5)
    east, west = (look_angles(-30, 20, 0, lon).azimuth_true_deg for lon in (20.5, 19.5))
    assert east < 2
    assert west > 358
    np.testing.assert_allclose(
        changes.satellite_lon.azimuth_deg, (east - west + 360) / 2, atol=1e-9
    )


def test_changes_have_no_answer_below_the_horizon_and_at_the_poles():
    changes = pointing_changes([50, 90, 50], [190, 0, 20], 0, 20)
    assert np.isnan(changes.lat.elevation_deg[:2]).all()
    assert np.isfinite(changes.lat.elevation_deg[2])
    assert pointing_changes(50, 20, 0, 20).lon.skew_deg.shape == ()


def test_error_of_half_the_beamwidth_costs_3_db():
    np.testing.assert_allclose(pointing_loss_db([0, 0.8, 1.6], 1.6), [0, 3, 12], atol=1e-12)


def test_cross_polarization_of_a_wrong_skew():
    # tan 1 degree: 35.2 dB; tan 45: none left.
    np.testing.assert_allclose(cross_polar_db([1, -1, 45]), [35.16, 35.16, 0], atol=5e-3)
    assert np.isinf(cross_polar_db(0))


def vector(azimuth_deg, elevation_deg):
    """Return the unit vector (east, north, up) of a direction."""
    a, e = np.radians(azimuth_deg), np.radians(elevation_deg)
    return np.array([np.sin(a) * np.cos(e), np.cos(a) * np.cos(e), np.sin(e)])


def test_neighbours_stand_where_the_look_angles_say():
    out = neighbours([45, 10], [10, 20], 0, 19, [16, 19, 22, 25])
    assert out.separation_deg.shape == (2, 4)
    np.testing.assert_allclose(out.separation_deg[:, 1], 0, atol=1e-6)
    for site, (lat, lon) in enumerate(((45, 10), (10, 20))):
        wanted = look_angles(lat, lon, 0, 19)
        for k, position in enumerate((16, 19, 22, 25)):
            other = look_angles(lat, lon, 0, position)
            np.testing.assert_array_equal(
                out.look.azimuth_true_deg[site, k], other.azimuth_true_deg
            )
            chord = np.linalg.norm(vector(*wanted[:2]) - vector(*other[:2]))
            angle = np.degrees(2 * np.arcsin(chord / 2))
            np.testing.assert_allclose(out.separation_deg[site, k], angle, atol=1e-6)


def test_positions_look_wider_apart_from_the_ground_than_along_the_arc():
    # On a sphere of 6378.137 km at 45 N: 37,956 km from both, which stand 1,471.75 km apart; the
    # ellipsoid moves the site by some 15 km. About 1.1 times 2 degrees (common practice).
    near = 42_164.17 - 6378.137 / np.sqrt(2)
    distance = np.hypot(near, 6378.137 / np.sqrt(2))
    chord = 2 * 42_164.17 * np.sin(np.radians(1))
    away = np.sqrt(
        distance**2 + 2 * 42_164.17 * 6378.137 / np.sqrt(2) * (1 - np.cos(np.radians(2)))
    )
    expected = np.degrees(np.arccos((distance**2 + away**2 - chord**2) / (2 * distance * away)))
    separation = neighbours(45, 19, 0, 19, [21]).separation_deg[0]
    np.testing.assert_allclose(separation, expected, rtol=1e-3)
    assert 2.2 < expected < 2.25


def test_neighbours_from_the_sub_satellite_point():
    out = neighbours(0, 19, 0, 19, [21])
    # 2 degrees at 42164 km, seen from the surface below: atan(42164 sin 2 / (42164 cos 2 - 6378)).
    expected = np.degrees(
        np.arctan2(42_164.17 * np.sin(np.radians(2)), 42_164.17 * np.cos(np.radians(2)) - 6378.137)
    )
    np.testing.assert_allclose(out.separation_deg, expected, atol=1e-6)


def test_neighbour_below_the_horizon_has_no_separation():
    out = neighbours(60, 19, 0, 19, [22, 150])
    np.testing.assert_array_equal(np.isnan(out.separation_deg), [False, True])


def test_step_along_the_orbit_is_the_satellite_s_change():
    place = np.array([48.0, -30.0, 5.0]), np.array([11.0, 25.0, -70.0]), 0.0, 13.0
    step, whole = orbit_step(*place), pointing_changes(*place).satellite_lon
    for mine, theirs in zip(step, whole, strict=True):
        np.testing.assert_array_equal(mine, theirs)
