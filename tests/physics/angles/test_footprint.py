"""Directions from the satellite, ellipses as it sees them, and contours cut at the limb."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.angles.footprint import (
    LIMB_DEG,
    OpenLineError,
    Ring,
    ellipse_drop_db,
    ellipse_radius_deg,
    place_seen,
    ring,
    seen_from_satellite,
)

#: Sphere of the test's own: WGS 84's equatorial radius, the geostationary orbit's [km].
EARTH_KM, ORBIT_KM = 6378.137, 42164.17
RNG = np.random.default_rng(14)


def circle(u: float, v: float, radius: float, n: int = 361) -> tuple[np.ndarray, np.ndarray]:
    """Return the places under a circle in the plane of directions from 0 E."""
    turn = np.linspace(0, 2 * np.pi, n)
    return place_seen(u + radius * np.cos(turn), v + radius * np.sin(turn), 0)


def drawn(lat: np.ndarray, lon: np.ndarray, sat: float = 0.0) -> Ring:
    found = ring(lat, lon, sat)
    assert found is not None
    return found


def test_directions_are_those_of_vectors() -> None:
    """Worked out there by dot products: the angle off nadir, and east and north of it."""
    lat, lon, sat = RNG.uniform(-60, 60, 200), RNG.uniform(-50, 50, 200) + 100, 100.0
    seen = seen_from_satellite(lat, lon, sat)
    phi, lam = np.radians(lat), np.radians(lon - sat)
    place = EARTH_KM * np.array([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)])
    sight = place - np.array([[ORBIT_KM], [0], [0]])
    off = np.degrees(np.arccos(-sight[0] / np.linalg.norm(sight, axis=0)))
    here = ~seen.hidden
    assert here.sum() > 150
    np.testing.assert_allclose(np.hypot(seen.u_deg, seen.v_deg)[here], off[here], atol=1e-6)
    bearing = np.arctan2(sight[2], sight[1])
    np.testing.assert_allclose(np.arctan2(seen.v_deg, seen.u_deg)[here], bearing[here], atol=1e-9)


def test_the_limb_is_where_the_satellite_stands_on_the_horizon() -> None:
    """81.3 degrees of arc away, 8.7 degrees off nadir: Roddy, Satellite Communications, ch. 3."""
    assert pytest.approx(8.70, abs=0.005) == LIMB_DEG
    seen = seen_from_satellite([0, 0], [81.29, 81.31], 0)
    assert seen.hidden.tolist() == [False, True]
    np.testing.assert_allclose(np.hypot(seen.u_deg, seen.v_deg), LIMB_DEG, atol=1e-5)


def test_east_and_north_are_positive_also_across_the_antimeridian() -> None:
    seen = seen_from_satellite([10, -10, 0], [-175, 175, -181], 179)
    assert (np.sign(seen.u_deg).tolist(), np.sign(seen.v_deg).tolist()) == ([1, -1, 0], [1, -1, 0])
    again = seen_from_satellite([10, -10, 0], [185, 535, 179], -181)
    np.testing.assert_array_equal(seen.u_deg, again.u_deg)


def test_places_and_directions_give_one_another_back() -> None:
    off, turn = RNG.uniform(0, LIMB_DEG * 0.999, 300), RNG.uniform(0, 2 * np.pi, 300)
    u, v = off * np.cos(turn), off * np.sin(turn)
    seen = seen_from_satellite(*place_seen(u, v, 170), 170)
    np.testing.assert_allclose([seen.u_deg, seen.v_deg], [u, v], atol=1e-7)
    assert np.isnan(place_seen(np.array([9.0]), np.zeros(1), 0)[0]).all()


ELLIPSE = {"centre_deg": (1.0, -2.0), "widths_deg": (4.0, 1.5), "edge_db": 4.0}


@pytest.mark.parametrize("tilt", [0.0, 30.0, -75.0, 90.0])
def test_an_ellipse_drops_by_its_edge_at_the_end_of_each_axis(tilt: float) -> None:
    t = np.radians(tilt)
    axes = np.array([[2.0, 0.0], [0.0, 0.75]])  # half the widths, along and across
    ends = [(a * np.cos(t) - b * np.sin(t), a * np.sin(t) + b * np.cos(t)) for a, b in axes]
    u = np.array([1.0, *(1 + s * e for e, _ in ends for s in (1, -1))])
    v = np.array([-2.0, *(-2 + s * n for _, n in ends for s in (1, -1))])
    drop = ellipse_drop_db(u, v, tilt_deg=tilt, **ELLIPSE)
    np.testing.assert_allclose(drop, [0, 4, 4, 4, 4], atol=1e-12)


def test_an_ellipse_turned_by_90_degrees_has_its_axes_swapped() -> None:
    u, v = RNG.uniform(-8, 8, (2, 100))
    swapped = ELLIPSE | {"widths_deg": (1.5, 4.0)}
    one = ellipse_drop_db(u, v, tilt_deg=20 + 90, **ELLIPSE)
    np.testing.assert_allclose(one, ellipse_drop_db(u, v, tilt_deg=20, **swapped), rtol=1e-12)


def test_the_radius_of_an_ellipse_is_where_its_drop_is() -> None:
    turn = RNG.uniform(0, 7, 50)
    shape = {"widths_deg": (4.0, 1.5), "tilt_deg": 25.0, "edge_db": 4.0}
    away = ellipse_radius_deg(turn, 7.0, **shape)
    drop = ellipse_drop_db(away * np.cos(turn), away * np.sin(turn), centre_deg=(0, 0), **shape)
    np.testing.assert_allclose(drop, 7.0, rtol=1e-12)


def test_a_ring_that_is_seen_whole_is_one_part_round() -> None:
    found = drawn(*circle(2, 1, 3))
    assert (len(found.parts), found.other) == (1, None)
    np.testing.assert_allclose(found.parts[0], [found.u_deg, found.v_deg], atol=0)
    np.testing.assert_allclose(found.u_deg[0], found.u_deg[-1], atol=0)
    np.testing.assert_allclose(np.hypot(found.u_deg - 2, found.v_deg - 1), 3, atol=1e-6)


def test_ends_within_a_twentieth_of_a_degree_are_closed_and_others_refused() -> None:
    lat, lon = circle(0, 0, 3, n=3601)  # a point each 0.0052 degree
    assert len(drawn(lat[:-8], lon[:-8]).parts) == 1
    with pytest.raises(OpenLineError, match="neither one another nor the limb"):
        ring(lat[:-12], lon[:-12], 0)
    with pytest.raises(OpenLineError, match="neither one another nor the limb"):
        ring([0, 0], [0, 85], 0)  # one end beyond the limb alone


def _area(found: Ring) -> float:
    u, v = found.u_deg, found.v_deg
    return abs(float(np.sum(u[:-1] * v[1:] - u[1:] * v[:-1]))) / 2


def test_a_ring_cut_at_the_limb_is_closed_along_it() -> None:
    """A small circle around a place near the limb: the part beyond is dropped there."""
    t = np.linspace(0, 2 * np.pi, 721)
    lat, lon = 15 * np.sin(t), 75 + 15 * np.cos(t)
    found = drawn(lat, lon)
    off = np.hypot(found.u_deg, found.v_deg)
    assert off.max() <= LIMB_DEG + 2e-5
    along = off > LIMB_DEG - 1e-6
    assert 0.1 < along.mean() < 0.99
    (part,) = found.parts  # what runs along the limb is no contour
    assert np.hypot(*part)[[0, -1]].min() > LIMB_DEG
    assert np.hypot(*part)[1:-1].max() < LIMB_DEG
    inside = seen_from_satellite(0, 75, 0)
    whole = circle(float(inside.u_deg), 0, LIMB_DEG - float(inside.u_deg))
    assert _area(found) > _area(drawn(*whole))


@pytest.mark.parametrize("sat", [0.0, 178.0])
def test_a_line_from_limb_to_limb_can_be_closed_either_way(sat: float) -> None:
    lat = np.linspace(-85, 85, 400)
    found = drawn(lat, np.full(400, sat + 40.0), sat)
    assert found.other is not None
    either = _area(found) + _area(Ring(*found.other, ()))
    disc = np.pi * LIMB_DEG**2
    np.testing.assert_allclose(either, disc, rtol=1e-4)
    assert _area(found) < disc / 2  # the shorter way first
    assert len(found.parts) == 1


def test_what_is_hidden_is_no_ring() -> None:
    lat, lon = circle(0, 0, 2)
    assert ring(lat, lon + 180, 0) is None
