"""The sun's place and its outages against the astronomical unions' standard routines (SOFA)."""

from __future__ import annotations

import erfa
import numpy as np
import pytest

from siteplan.physics.angles.sun import days_since_j2000, subsolar_point, sun_position
from siteplan.physics.angles.sun_outage import sun_outages
from siteplan.physics.radio.sun_noise import sun_noise_k

J2000 = 2_451_545.0
AU_KM = 149_597_870.7


def sun_km(days):
    """Return earth-fixed vectors (n, 3) from the earth's centre to the sun as it appears.

    VSOP2000-based earth (epv00), aberration (ab), IAU 2006/2000A precession and nutation, and
    apparent sidereal time. UT1 is set to UTC, as they differ by less than 0.9 s.
    """
    tt = days + 69.184 / 86_400
    heliocentric, barycentric = erfa.epv00(J2000, tt)
    distance = np.linalg.norm(heliocentric["p"], axis=-1)
    velocity = barycentric["v"] * AU_KM / 86_400 / 299_792.458
    slowing = np.sqrt(1 - np.sum(velocity**2, axis=-1))
    direction = erfa.ab(-heliocentric["p"] / distance[:, None], velocity, distance, slowing)
    # Precession and nutation move by 0.1 arc second a day: six hours share a matrix.
    quarters, which = np.unique(np.round(tt * 4) / 4, return_inverse=True)
    of_date = np.einsum("nij,nj->ni", erfa.pnm06a(J2000, quarters)[which], direction)
    equinoxes = (
        erfa.gst06a(J2000, quarters, J2000, quarters)
        - erfa.gmst06(J2000, quarters, J2000, quarters)
    )[which]
    turned = erfa.rz(erfa.gmst06(J2000, days, J2000, tt) + equinoxes, np.eye(3))
    return np.einsum("nij,nj->ni", turned, of_date) * distance[:, None] * AU_KM


def site_km(lat, lon, height_m):
    """Return the earth-fixed position of a site (WGS 84 by gd2gc)."""
    return erfa.gd2gc(1, np.radians(lon), np.radians(lat), height_m) / 1e3


def north_deg(v):
    """Return the angles of vectors above the equator's plane."""
    return np.degrees(np.arctan2(v[..., 2], np.hypot(v[..., 0], v[..., 1])))


def angle_deg(a, b):
    """Return the angles between vectors along the last axis."""
    return np.degrees(erfa.sepp(a, b))


@pytest.fixture(scope="module")
def ten_years():
    """Return 4000 times of 2024 to 2034."""
    return days_since_j2000(np.datetime64("2024-01-01")) + np.linspace(0, 3653, 4000)


def test_place_over_ten_years(ten_years):
    sun = subsolar_point(ten_years)
    lon, dec = np.radians(sun.longitude_deg), np.radians(sun.declination_deg)
    ours = np.stack([np.cos(dec) * np.cos(lon), np.cos(dec) * np.sin(lon), np.sin(dec)], axis=-1)
    off = angle_deg(ours, sun_km(ten_years))
    assert off.max() < 0.02
    # Not by chance: the series itself is said to hold to 0.01 degree.
    assert np.mean(off) < 0.005


@pytest.mark.parametrize(("lat", "lon"), [(52.0, 5.0), (-33.0, 151.0), (0.5, -78.0), (69.0, 19.0)])
def test_azimuth_and_elevation_at_sites(ten_years, lat, lon):
    times = np.datetime64("2000-01-01T12:00:00", "ms") + (ten_years * 86.4e6).astype(
        "timedelta64[ms]"
    )
    ours = sun_position(times, lat, lon)
    seen = sun_km(days_since_j2000(times)) - site_km(lat, lon, 0)
    azimuth, elevation = np.radians(ours.azimuth_true_deg), np.radians(ours.elevation_deg)
    # Back to the earth-fixed frame by two turns of the axes, and compare directions.
    local = erfa.s2c(np.pi - azimuth, elevation)
    turn = erfa.rz(-np.radians(lon), erfa.ry(-(np.pi / 2 - np.radians(lat)), np.eye(3)))
    assert angle_deg(local @ turn.T, seen).max() < 0.02


@pytest.mark.parametrize(
    ("lat", "lon", "satellite", "half"),
    [
        (52.0, 5.0, 19.0, 0.9),
        (-26.0, 28.0, 36.0, 0.7),
        (0.0, 10.0, -20.0, 1.3),
        (61.0, 25.0, 5.0, 0.5),
    ],
)
def test_outages_against_a_search_second_by_second(lat, lon, satellite, half):
    ours = sun_outages(lat, lon, 300, satellite, half, year=2028)
    site = site_km(lat, lon, 300.0)
    bird = 42_164.17 * np.array([np.cos(np.radians(satellite)), np.sin(np.radians(satellite)), 0])
    # Every minute of two hours around the sun's passage of the satellite's meridian, each day.
    days = days_since_j2000(np.datetime64("2028-01-01")) + np.arange(366) + 0.5 - satellite / 360
    near = np.abs(north_deg(sun_km(days)) - north_deg(bird - site)) < half + 1
    found = {}
    for middle in days[near]:
        minutes = middle + np.arange(-60, 61) / 1440
        coarse = angle_deg(sun_km(minutes) - site, bird - site)
        if coarse.min() > half + 0.3:
            continue
        # Half the outage at four minutes a degree, and a minute more.
        reach = round(240 * half / np.cos(np.radians(9))) + 60
        seconds = minutes[coarse.argmin()] + np.arange(-reach, reach + 1) / 86_400
        angle = angle_deg(sun_km(seconds) - site, bird - site)
        inside = seconds[angle < half]
        if inside.size:
            assert angle[0] > half < angle[-1], "both ends are within the seconds looked at"
            peak = seconds[angle.argmin()]
            found[np.floor(peak)] = (inside[0], peak, inside[-1], angle.min())
    mine = {}
    for start, peak, end, least in zip(*ours[1:], strict=True):
        times = days_since_j2000([start, peak, end])
        mine[np.floor(times[1])] = (*times, least)
    # A graze within the series' error may fall on either side, and its ends are not sharp.
    clear = {day for day, row in (found | mine).items() if row[3] < half - 0.02}
    assert clear <= set(found)
    assert clear <= set(mine)
    assert len(clear) >= 4
    for day in clear:
        off_s = (np.array(mine[day][:3]) - found[day][:3]) * 86_400
        assert np.abs(off_s).max() < 30
        assert abs(mine[day][3] - found[day][3]) < 0.015


def test_sun_noise_at_12_ghz():
    # 120000 f^-0.75 (Maral and Bousquet) by hand: 12^0.75 = 6.4474.
    np.testing.assert_allclose(sun_noise_k(12), 18_612, rtol=1e-4)


def test_azimuth_and_elevation_against_astropy_over_ten_years():
    """astropy (BSD): its built-in ephemeris, its own rotation of the earth, no refraction."""
    import warnings

    from astropy import units as u
    from astropy.coordinates import AltAz, EarthLocation, get_sun
    from astropy.time import Time
    from astropy.utils import iers

    rng = np.random.default_rng(10)
    times = np.datetime64("2024-01-01T00:00") + rng.integers(0, 3653 * 1440, 300).astype("m8[m]")
    lat, lon = rng.uniform(-70, 70, 300), rng.uniform(-180, 180, 300)
    place = EarthLocation.from_geodetic(lon * u.deg, lat * u.deg, 0 * u.m)
    with iers.conf.set_temp("auto_download", False), warnings.catch_warnings():
        # Past the tables that come with the package the earth's turn is only estimated.
        warnings.filterwarnings("ignore", message="Tried to get polar motions for times after")
        warnings.filterwarnings("ignore", message=".*dubious year")
        moment = Time(times.astype("datetime64[s]").astype(str), scale="utc", location=place)
        moment.delta_ut1_utc = 0.0
        known = get_sun(moment).transform_to(AltAz(obstime=moment, location=place))
    found = sun_position(times, lat, lon)

    def direction(azimuth_deg, elevation_deg):
        az, el = np.radians(azimuth_deg), np.radians(elevation_deg)
        return np.stack([np.cos(el) * np.sin(az), np.cos(el) * np.cos(az), np.sin(el)], axis=-1)

    apart = angle_deg(
        direction(*found),
        direction(known.az.deg, known.alt.deg),
    )
    assert float(apart.max()) < 0.02
