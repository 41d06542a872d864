"""Look angles against a textbook, a geodesy library and an astronomy library."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.angles.geometry import free_space_loss_db, look_angles, spreading_loss_db_m2

GEOSTATIONARY_KM = 42_164.17


def sphere(lat, lon, satellite_lon, *, radius_km, orbit_km):
    """Return azimuth, elevation, range and central angle on a spherical earth (Roddy ch. 3)."""
    phi, east = np.radians(lat), np.radians(satellite_lon - lon)
    central = np.arccos(np.cos(phi) * np.cos(east))
    distance = np.sqrt(
        radius_km**2 + orbit_km**2 - 2 * radius_km * orbit_km * np.cos(central),
    )
    elevation = np.degrees(np.arccos(orbit_km * np.sin(central) / distance))
    azimuth = np.degrees(np.arctan2(np.tan(east), -np.sin(phi))) % 360
    return azimuth, elevation, distance, np.degrees(central)


def sphere_skew(lat, lon, satellite_lon):
    """Return the arctan form of the skew, sin(lon - satellite) / tan(lat)."""
    return np.degrees(np.arctan(np.sin(np.radians(lon - satellite_lon)) / np.tan(np.radians(lat))))


def test_roddy_examples_3_1_and_3_2():
    # Roddy, Satellite Communications, 4th ed.: 35 N 100 W, satellite 90 W; azimuth 162.9,
    # elevation 48, range 37215 km, all on a sphere of 6371 km.
    azimuth, elevation, distance, _ = sphere(35, -100, -90, radius_km=6371, orbit_km=42_164)
    np.testing.assert_allclose([azimuth, elevation], [162.9, 48], atol=0.05)
    np.testing.assert_allclose(distance, 37_215, atol=0.5)
    look = look_angles(35, -100, 0, -90)
    np.testing.assert_allclose(look.azimuth_true_deg, 162.9, atol=0.05)
    np.testing.assert_allclose(look.elevation_deg, 48, atol=0.05)
    np.testing.assert_allclose(look.slant_range_km, 37_215, atol=15)


def test_low_elevation_sphere():
    # Computed on a sphere of 6378.137 km: azimuth 109.33, elevation 5.847, central angle 75.498.
    model = sphere(52, 0, 66, radius_km=6378.137, orbit_km=GEOSTATIONARY_KM)
    np.testing.assert_allclose([model[0], model[1], model[3]], [109.33, 5.847, 75.498], atol=5e-3)
    look = look_angles(52, 0, 0, 66)
    np.testing.assert_allclose(look.azimuth_true_deg, model[0], atol=0.03)
    np.testing.assert_allclose(look.elevation_deg, model[1], atol=0.03)


def test_the_ellipsoid_stays_within_a_twentieth_of_a_degree_of_the_sphere():
    lat, lon = (a.ravel() for a in np.meshgrid(np.arange(-75, 76, 5), np.arange(-75, 76, 5)))
    off_zenith = (lat != 0) | (lon != 0)
    lat, lon = lat[off_zenith], lon[off_zenith]
    look = look_angles(lat, lon, 0, 0)
    azimuth, elevation, distance, central = sphere(
        lat, lon, 0, radius_km=6378.137, orbit_km=GEOSTATIONARY_KM
    )
    seen = np.isfinite(look.elevation_deg) & (central < 81)
    difference = np.abs(look.elevation_deg - elevation)[seen]
    # Geodetic latitude put into the sphere's formula keeps the direction of the vertical; what
    # is left is the shift of the site by up to 22 km.
    assert 0.02 < difference.max() < 0.05
    turned = np.remainder(look.azimuth_true_deg - azimuth + 180, 360)[seen] - 180
    assert np.abs(turned).max() < 1.5  # 5 degrees from the sub-satellite point
    assert np.abs(look.slant_range_km - distance)[seen].max() < 25


def itrs_km(lat, lon, height_km):
    """Return earth-fixed coordinates of a point on the ellipsoid (EPSG guidance note 7-2)."""
    a, f = 6378.137, 1 / 298.257223563
    e2 = 1 - (1 - f) ** 2
    phi, lam = np.radians(lat), np.radians(lon)
    nu = a / np.sqrt(1 - e2 * np.sin(phi) ** 2)
    return np.array(
        [
            (nu + height_km) * np.cos(phi) * np.cos(lam),
            (nu + height_km) * np.cos(phi) * np.sin(lam),
            (nu * (1 - e2) + height_km) * np.sin(phi),
        ]
    )


def satellite_km(lon):
    """Return earth-fixed coordinates of a geostationary satellite."""
    lam = np.radians(lon)
    return GEOSTATIONARY_KM * np.array([np.cos(lam), np.sin(lam), 0.0])


@pytest.fixture(scope="module")
def sites():
    """Return latitude, longitude and altitude [m] of 60 sites around 12 E that see it."""
    rng = np.random.default_rng(11)
    lat, lon = rng.uniform(-65, 65, 60), rng.uniform(-35, 59, 60)
    lat[0], lon[0] = 0.02, 12.01
    return lat, lon, rng.uniform(-100, 5000, 60)


def test_against_the_topocentric_conversion_of_a_geodesy_library(sites):
    from pyproj import Transformer

    look = look_angles(*sites, 12)
    x, y, z = satellite_km(12) * 1e3
    for k, (lat, lon, h) in enumerate(zip(*sites, strict=True)):
        # EPSG method 9836, geocentric to topocentric.
        pipe = f"+proj=topocentric +ellps=WGS84 +lat_0={lat:.17g} +lon_0={lon:.17g} +h_0={h:.17g}"
        east, north, up = Transformer.from_pipeline(pipe).transform(x, y, z)
        azimuth = np.degrees(np.arctan2(east, north)) % 360
        elevation = np.degrees(np.arctan2(up, np.hypot(east, north)))
        np.testing.assert_allclose(look.azimuth_true_deg[k], azimuth, atol=1e-6)
        np.testing.assert_allclose(look.geometric_elevation_deg[k], elevation, atol=1e-8)
        if elevation > 0:
            distance_km = np.sqrt(east**2 + north**2 + up**2) / 1e3
            np.testing.assert_allclose(look.slant_range_km[k], distance_km, atol=1e-6)


def test_against_an_astronomy_library(sites):
    from skyfield.api import Distance, load, wgs84
    from skyfield.toposlib import ITRSPosition

    when = load.timescale(builtin=True).utc(2026, 3, 20, 9)
    satellite = ITRSPosition(Distance(km=satellite_km(12)))
    look = look_angles(*sites, 12)
    for k, (lat, lon, h) in enumerate(zip(*sites, strict=True)):
        site = wgs84.latlon(lat, lon, elevation_m=h)
        elevation, azimuth, distance = (satellite - site).at(when).altaz()
        np.testing.assert_allclose(look.azimuth_true_deg[k], azimuth.degrees, atol=1e-6)
        np.testing.assert_allclose(look.elevation_deg[k], elevation.degrees, atol=1e-6)
        np.testing.assert_allclose(look.slant_range_km[k], distance.km, atol=1e-4)


def skew_by_vectors(lat, lon, height_m, satellite_lon, axis="north", *, spherical=False):
    """Return the skew from earth-fixed vectors: the signed angle between two planes.

    One plane holds the line of sight and the site's vertical, the other the line of sight and
    the satellite's axis (``north``, or ``orbit``: its track, less a right angle).
    """
    vertical = itrs_km(lat, lon, 1.0) - itrs_km(lat, lon, 0.0)
    site = itrs_km(lat, lon, height_m / 1e3)
    if spherical:
        phi, lam = np.radians(lat), np.radians(lon)
        vertical = np.array([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)])
        site = 6378.137 * vertical
    sight = satellite_km(satellite_lon) - site
    sight /= np.linalg.norm(sight)
    lam = np.radians(satellite_lon)
    track = np.array([-np.sin(lam), np.cos(lam), 0.0])
    turned = np.cross(sight, track) if axis == "orbit" else np.array([0.0, 0.0, 1.0])
    normal_v, normal_s = np.cross(sight, vertical), np.cross(sight, turned)
    # Right-handed about the line of sight is clockwise for who looks along it.
    angle = np.degrees(np.arctan2(np.cross(normal_v, normal_s) @ sight, normal_v @ normal_s))
    return (angle + 90) % 180 - 90


def test_skew_against_vectors_in_the_earth_fixed_frame(sites):
    look = look_angles(*sites, 12)
    expected = [skew_by_vectors(*site, 12) for site in zip(*sites, strict=True)]
    seen = np.isfinite(look.skew_deg)
    assert seen.sum() > 40
    off = np.remainder(look.skew_deg - expected + 90, 180)[seen] - 90
    # The difference of two near vectors that makes the vertical costs the oracle some digits.
    np.testing.assert_allclose(off, 0, atol=1e-6)


def test_roddy_example_5_1():
    # Roddy, 4th ed., Ex. 5.1, 18 N 73 W, satellite 105 W: 58.6 by vectors, 58.5 by the arctan.
    # On a sphere: 58.62 by the north axis, 58.35 by the orbit's tangent, 58.49 by the arctan.
    by_axis = [
        skew_by_vectors(18, -73, 0, -105, axis, spherical=True) for axis in ("north", "orbit")
    ]
    np.testing.assert_allclose(by_axis, [58.62, 58.35], atol=5e-3)
    np.testing.assert_allclose(sphere_skew(18, -73, -105), 58.49, atol=5e-3)
    np.testing.assert_allclose(look_angles(18, -73, 0, -105).skew_deg, 58.62, atol=0.03)


def test_arctan_form_of_the_skew_is_within_a_quarter_degree():
    # 40 N 0 E, satellite 30 W: the arctan form gives 30.79.
    np.testing.assert_allclose(sphere_skew(40, 0, -30), 30.79, atol=5e-3)
    ours = look_angles(40, 0, 0, -30).skew_deg
    np.testing.assert_allclose(ours, 30.79, atol=0.25)
    np.testing.assert_allclose(ours, skew_by_vectors(40, 0, 0, -30), atol=1e-9)


def test_losses_at_the_sub_satellite_point():
    # Handbook form 92.45 + 20 log f + 20 log d (ITU-R P.525-4), and 162.1 dB m2 at 35786 km,
    # the round figure of every link budget (common practice).
    handbook = 92.45 + 20 * np.log10(14.25) + 20 * np.log10(35_786.0)
    np.testing.assert_allclose(free_space_loss_db(35_786.0, 14.25), handbook, atol=5e-3)
    np.testing.assert_allclose(spreading_loss_db_m2(35_786.0), 162.1, atol=0.05)
