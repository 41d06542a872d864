"""Neighbours and distant hills against an astronomy and a geodesy library."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.angles.horizon import terrain_horizon
from siteplan.physics.angles.pointing import neighbours, pointing_changes

SITE = (48.3, 11.5, 520.0)


def satellite(lon):
    """Return a geostationary satellite as an earth-fixed position."""
    from skyfield.api import Distance
    from skyfield.toposlib import ITRSPosition

    lam = np.radians(lon)
    return ITRSPosition(Distance(km=42_164.17 * np.array([np.cos(lam), np.sin(lam), 0.0])))


def seen(lat, lon, height_m, position):
    """Return a satellite as a site sees it."""
    from skyfield.api import load, wgs84

    when = load.timescale(builtin=True).utc(2026, 3, 20, 9)
    return (satellite(position) - wgs84.latlon(lat, lon, elevation_m=height_m)).at(when)


def test_separation_of_neighbours():
    out = neighbours(*SITE, 19.2, [16.0, 23.5, 60.0])
    for k, position in enumerate((16.0, 23.5, 60.0)):
        expected = seen(*SITE, 19.2).separation_from(seen(*SITE, position)).degrees
        np.testing.assert_allclose(out.separation_deg[k], expected, atol=1e-6)


@pytest.mark.parametrize("given", ["satellite_lon", "lat", "lon"])
def test_changes_of_azimuth_and_elevation(given):
    step = {"satellite_lon": (0, 0, 0.1), "lat": (0.1, 0, 0), "lon": (0, 0.1, 0)}[given]
    lat, lon, height = SITE
    sides = [
        seen(lat + s * step[0], lon + s * step[1], height, 19.2 + s * step[2]).altaz()
        for s in (1, -1)
    ]
    change = getattr(pointing_changes(*SITE, 19.2), given)
    elevation, azimuth = ((sides[0][k].degrees - sides[1][k].degrees) / 2 for k in (0, 1))
    np.testing.assert_allclose(change.azimuth_deg, azimuth, atol=1e-6)
    np.testing.assert_allclose(change.elevation_deg, elevation, atol=1e-6)


def test_hill_over_the_ellipsoid_without_refraction():
    from pyproj import Geod, Transformer

    earth = Geod(ellps="WGS84")
    to_fixed = Transformer.from_crs("EPSG:4979", "EPSG:4978", always_xy=True)
    lat, lon, height = SITE
    pipe = f"+proj=topocentric +ellps=WGS84 +lat_0={lat} +lon_0={lon} +h_0={height}"
    to_site = Transformer.from_pipeline(pipe)
    for distance_m, top_m in ((2_000, 700.0), (30_000, 2_500.0), (80_000, 2_900.0)):
        far_lon, far_lat, _ = earth.fwd(lon, lat, 160.0, distance_m)
        east, north, up = to_site.transform(*to_fixed.transform(far_lon, far_lat, top_m))
        expected = np.degrees(np.arctan2(up, np.hypot(east, north)))
        ours = terrain_horizon([distance_m], [top_m], height, refraction_factor=1.0)
        np.testing.assert_allclose(ours.elevation_deg, expected, atol=3e-3)
