"""Look angles: symmetries, limits and shapes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.angles.geometry import (
    ZENITH_TOLERANCE_DEG,
    azimuth_sensitivity_deg_per_km,
    free_space_loss_db,
    look_angles,
    sky_direction,
    spreading_loss_db_m2,
)

latitudes = st.floats(-85, 85)
apart = st.floats(-85, 85)
longitudes = st.floats(-180, 180)
altitudes = st.floats(-400, 6000)


def angle_between(a, b, turn=360.0):
    """Return the unsigned difference of two angles modulo ``turn`` [deg]."""
    return np.abs(np.remainder(np.asarray(a) - b + turn / 2, turn) - turn / 2)


@given(latitudes, longitudes, altitudes, apart)
def test_north_and_south_mirror_each_other(lat, lon, altitude, east):
    north = look_angles(lat, lon, altitude, lon + east)
    south = look_angles(-lat, lon, altitude, lon + east)
    np.testing.assert_allclose(south.elevation_deg, north.elevation_deg, atol=1e-9)
    np.testing.assert_allclose(south.slant_range_km, north.slant_range_km, atol=1e-6)
    if np.isfinite(north.skew_deg):
        assert angle_between(south.azimuth_true_deg, 180 - north.azimuth_true_deg) < 1e-6
        assert angle_between(south.skew_deg, -north.skew_deg, turn=180) < 1e-6


@given(latitudes, longitudes, altitudes, apart)
def test_east_and_west_mirror_each_other(lat, lon, altitude, east):
    to_east = look_angles(lat, lon, altitude, lon + east)
    to_west = look_angles(lat, lon, altitude, lon - east)
    np.testing.assert_allclose(to_west.elevation_deg, to_east.elevation_deg, atol=1e-9)
    if np.isfinite(to_east.skew_deg):
        assert angle_between(to_west.azimuth_true_deg, -to_east.azimuth_true_deg) < 1e-6
        assert angle_between(to_west.skew_deg, -to_east.skew_deg, turn=180) < 1e-6


@given(latitudes, longitudes, altitudes, apart, st.integers(-3, 3))
def test_whole_turns_of_the_satellite_change_nothing(lat, lon, altitude, east, turns):
    # 1e-7 degree: rounding a longitude of 1000 degrees moves it by some 1e-13, the zenith
    # tolerance of 1e-3 degree magnifies that in azimuth by up to 1e4.
    once = look_angles(lat, lon, altitude, lon + east)
    again = look_angles(lat, lon, altitude, lon + east + 360 * turns)
    # A satellite due north by less than rounding may stand at 0 or just under 360 degrees.
    turn = {"azimuth_true_deg": 360.0, "skew_deg": 180.0}
    for name, a, b in zip(once._fields, once, again, strict=True):
        np.testing.assert_array_equal(np.isnan(a), np.isnan(b))
        off = angle_between(a, b, turn[name]) if name in turn else a - b
        np.testing.assert_allclose(np.nan_to_num(off), 0, atol=1e-7, err_msg=name)


@given(latitudes, longitudes, altitudes, longitudes)
def test_ranges_of_the_angles(lat, lon, altitude, satellite):
    look = look_angles(lat, lon, altitude, satellite)
    assert np.isfinite(look.geometric_elevation_deg)
    if look.geometric_elevation_deg < 0:
        assert all(np.isnan(value) for value in look[:4])
    else:
        assert 0 <= look.elevation_deg <= 90
        # From the nearest point of a 6 km high equator to the horizon seen from there.
        assert 35_779 < look.slant_range_km < 41_700
    if np.isfinite(look.skew_deg):
        assert 0 <= look.azimuth_true_deg < 360
        assert -90 < look.skew_deg <= 90


def test_vector_equals_scalar_loop():
    rng = np.random.default_rng(3)
    lat, lon = rng.uniform(-88, 88, 200), rng.uniform(-180, 180, 200)
    altitude = rng.uniform(0, 4000, 200)
    together = look_angles(lat, lon, altitude, -30)
    alone = [look_angles(*site, -30) for site in zip(lat, lon, altitude, strict=True)]
    for name in together._fields:
        loop = [getattr(look, name) for look in alone]
        # The library's loops over arrays may round the last bit differently.
        np.testing.assert_allclose(getattr(together, name), loop, rtol=1e-11, atol=1e-11)


def test_scalars_give_zero_dimensional_arrays_and_arguments_broadcast():
    for value in look_angles(10, 20, 0, 30):
        assert isinstance(value, np.ndarray)
        assert value.shape == ()
    for value in look_angles(np.zeros((3, 1)) + 10, 20, 0, [30, 31]):
        assert value.shape == (3, 2)
    assert azimuth_sensitivity_deg_per_km(10, 20, 0, 30).shape == ()
    assert free_space_loss_db(38_000, 12).shape == ()
    assert spreading_loss_db_m2(38_000).shape == ()


def test_sub_satellite_point_has_an_elevation_but_no_bearing():
    look = look_angles(0, 25, 0, 25)
    np.testing.assert_allclose(look.elevation_deg, 90, atol=1e-9)
    np.testing.assert_allclose(look.slant_range_km, 42_164.17 - 6378.137, atol=1e-9)
    assert np.isnan(look.azimuth_true_deg)
    assert np.isnan(look.skew_deg)
    assert np.isnan(azimuth_sensitivity_deg_per_km(0, 25, 0, 25))


def test_bearing_comes_back_outside_the_zenith_tolerance():
    # A site turns away from the zenith by a / (a - R) of its angle at the earth's centre more.
    just = ZENITH_TOLERANCE_DEG * (42_164.17 - 6378.137) / 42_164.17
    inside, outside = look_angles(0, [-0.99 * just, -1.01 * just], 0, 0).azimuth_true_deg
    assert np.isnan(inside)
    np.testing.assert_allclose(outside, 90, atol=1e-9)


@pytest.mark.parametrize("lat", [90, -90])
def test_poles_see_the_satellite_below_the_horizon(lat):
    look = look_angles(lat, 17, 0, 0)
    assert all(np.isnan(value) for value in look[:4])
    # From the polar radius of WGS 84, 6356.752 km (NGA.STND.0036).
    expected = -np.degrees(np.arctan(6356.752 / 42_164.17))
    np.testing.assert_allclose(look.geometric_elevation_deg, expected, atol=1e-6)


def test_sensitivity_is_not_given_at_the_poles():
    assert np.isnan(azimuth_sensitivity_deg_per_km([90, -90], 0, 0, 0)).all()


def test_skew_at_the_equator_is_plus_90_on_both_sides():
    np.testing.assert_allclose(look_angles(0, 0, 0, [30, -30]).skew_deg, [90, 90], atol=1e-12)


def test_skew_is_zero_on_the_satellite_s_meridian():
    skew = look_angles([50, -50], 30, 0, 30).skew_deg
    np.testing.assert_allclose(skew, [0, 0], atol=1e-12)
    assert not np.signbit(skew).any()


def test_skew_is_positive_for_a_satellite_west_of_a_northern_site():
    skew = look_angles([40, 40, -40, -40], 0, 0, [-30, 30, -30, 30]).skew_deg
    np.testing.assert_array_equal(np.sign(skew), [1, -1, -1, 1])


def test_azimuth_wraps_into_0_to_360_south_of_the_satellite():
    azimuth = look_angles(-30, [0, 1e-13, -1e-13], 0, 0).azimuth_true_deg
    assert ((azimuth >= 0) & (azimuth < 360)).all()
    assert (angle_between(azimuth, 0) < 1e-9).all()


def test_geoid_height_moves_the_elevation_by_less_than_is_said():
    lat = np.linspace(-70, 70, 29)
    low, high = (look_angles(lat, 0, h, 25).elevation_deg for h in (0, 100))
    assert np.nanmax(np.abs(high - low)) < 2e-4


def test_unknown_position_gives_nan_not_an_error():
    assert np.isnan(look_angles(np.nan, 0, 0, 0).geometric_elevation_deg)
    assert np.isnan(look_angles(10, 0, np.nan, 0).azimuth_true_deg)


@pytest.mark.parametrize("function", [look_angles, azimuth_sensitivity_deg_per_km])
def test_impossible_latitude_is_refused(function):
    with pytest.raises(ValueError, match="within -90 to 90"):
        function([10, 91], 0, 0, 0)


@pytest.mark.parametrize(
    ("lat", "lon", "altitude_m"),
    [(10, 0, 0), (0.3, 0.1, 500), (-0.2, -0.3, 0), (52, 3, 100), (-60, 40, 3000), (0, 20, 0)],
)
def test_azimuth_sensitivity_equals_the_steepest_finite_difference(lat, lon, altitude_m):
    # Steps of 1 m around the site; lengths of a degree from the ellipsoid's radii of curvature.
    e2 = 6.694379990141e-3
    flat = 1 - e2 * np.sin(np.radians(lat)) ** 2
    across = (6378.137 / np.sqrt(flat) + altitude_m / 1e3) * np.cos(np.radians(lat))
    meridian = 6378.137 * (1 - e2) / flat**1.5 + altitude_m / 1e3
    way = np.radians(np.arange(0, 360, 1))
    d_lat = np.degrees(1e-3 * np.cos(way) / meridian)
    d_lon = np.degrees(1e-3 * np.sin(way) / across)
    ahead = look_angles(lat + d_lat, lon + d_lon, altitude_m, 0).azimuth_true_deg
    behind = look_angles(lat - d_lat, lon - d_lon, altitude_m, 0).azimuth_true_deg
    steepest = np.max(angle_between(ahead, behind)) / 2e-3
    ours = azimuth_sensitivity_deg_per_km(lat, lon, altitude_m, 0)
    np.testing.assert_allclose(ours, steepest, rtol=2e-4)


def test_sensitivity_grows_towards_the_sub_satellite_point():
    turn = azimuth_sensitivity_deg_per_km([40, 10, 1, 0.1], 0, 0, 0)
    assert (np.diff(turn) > 0).all()
    # 0.1 degree is 11 km from it: about 1 radian in 12 km, as the dish sees 11/0.85 km of offset.
    np.testing.assert_allclose(turn[-1], np.degrees(1 / 11.06), rtol=0.01)


def test_free_space_and_spreading_loss_are_tied_by_the_isotropic_aperture():
    # Loss = spreading loss - 10 log10(lambda^2 / 4 pi), ITU-R P.525.
    wavelength_m = 0.299792458 / 14.25
    tied = spreading_loss_db_m2(38_500) - 10 * np.log10(wavelength_m**2 / (4 * np.pi))
    np.testing.assert_allclose(free_space_loss_db(38_500, 14.25), tied, atol=1e-9)


def test_losses_double_as_they_should():
    np.testing.assert_allclose(
        free_space_loss_db(76_000, 12) - free_space_loss_db(38_000, 12), 6.0206, atol=1e-4
    )
    np.testing.assert_allclose(
        free_space_loss_db(38_000, 24) - free_space_loss_db(38_000, 12), 6.0206, atol=1e-4
    )


@given(latitudes, longitudes, altitudes, apart)
def test_sky_direction_points_where_the_satellite_is(lat, lon, altitude, east):
    # From the site along that direction for the slant range lies the satellite.
    look, sky = (
        look_angles(lat, lon, altitude, lon + east),
        sky_direction(lat, lon, altitude, lon + east),
    )
    if np.isnan(look.elevation_deg):
        assert np.isnan(sky).all()
        return
    e2, phi, lam = 6.694379990141e-3, np.radians(lat), np.radians(lon)
    nu = 6378.137 / np.sqrt(1 - e2 * np.sin(phi) ** 2)
    out = (nu + altitude / 1e3) * np.cos(phi)
    site = [out * np.cos(lam), out * np.sin(lam), (nu * (1 - e2) + altitude / 1e3) * np.sin(phi)]
    delta, meridian = np.radians(sky.declination_deg), np.radians(sky.longitude_deg)
    way = [np.cos(delta) * np.cos(meridian), np.cos(delta) * np.sin(meridian), np.sin(delta)]
    there = np.array(site) + look.slant_range_km * np.array(way)
    orbit = np.radians(lon + east)
    expected = 42_164.17 * np.array([np.cos(orbit), np.sin(orbit), 0])
    np.testing.assert_allclose(there, expected, atol=1e-5)


def test_a_tilt_turns_the_skew_alone_and_stays_an_axis() -> None:
    """On the satellite's meridian an upright polarization is upright: the skew is the tilt."""
    lat, lon = np.array([40.0, -40.0, 10.0]), np.array([10.0, 10.0, 60.0])
    plain = look_angles(lat, lon, 0, 10.0)
    for tilt in (-90.0, -26.0, 3.5, 90.0):
        tilted = look_angles(lat, lon, 0, 10.0, tilt_deg=tilt)
        assert tilted.skew_deg[:2] == pytest.approx(90 if tilt == -90 else tilt, abs=1e-9)
        assert ((tilted.skew_deg > -90) & (tilted.skew_deg <= 90)).all()
        turn = (tilted.skew_deg - plain.skew_deg - tilt + 90) % 180 - 90
        assert turn == pytest.approx(0, abs=1e-9)
        for name in ("azimuth_true_deg", "elevation_deg", "slant_range_km"):
            assert getattr(tilted, name).tobytes() == getattr(plain, name).tobytes(), name
    assert look_angles(lat, lon, 0, 10.0, tilt_deg=0.0).skew_deg.tobytes() == (
        plain.skew_deg.tobytes()
    )
