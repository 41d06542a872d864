"""Moisture above 5 % of time, between the published levels; pressure by height."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.propagation.climate import (
    UpperMoisture,
    moisture_above_frozen,
    moisture_at_level,
    standard_pressure_hpa,
    topographic_altitude_m,
    upper_moisture,
)

#: The levels that P.836 and P.840 publish from 5 to 50 % of time.
LEVELS_PCT = (5.0, 10.0, 20.0, 30.0, 50.0)
LAT, LON = np.array([3.133, 51.5, -33.94]), np.array([101.7, -0.14, 18.43])
ALTITUDE_KM = np.array([0.05, 0.03, 0.6])


@pytest.fixture(scope="module")
def unlike() -> UpperMoisture:
    """Levels of seven sites, no two figures alike."""
    rng = np.random.default_rng(4)
    return UpperMoisture(rng.uniform(1, 90, (len(LEVELS_PCT), 3, 7)))


@pytest.mark.parametrize("lower", range(4))
@pytest.mark.parametrize("part", [0.0, 0.2, 0.5, 0.9])
def test_between_levels_it_runs_straight_over_the_logarithm(
    unlike: UpperMoisture, lower: int, part: float
) -> None:
    """P.836-6 and P.840-7 interpolate in the logarithm of the percentage."""
    low, high = LEVELS_PCT[lower : lower + 2]
    found = unlike.at(np.full(7, low * (high / low) ** part))
    expected = (1 - part) * unlike.levels[lower] + part * unlike.levels[lower + 1]
    ours = (found.vapour_kg_m2, found.density_g_m3, found.cloud_kg_m2)
    np.testing.assert_allclose(ours, expected, rtol=1e-12)


def test_each_site_has_its_own_percentage_and_the_ends_hold_beyond(unlike: UpperMoisture) -> None:
    p_pct = np.array([0.5, 5.0, 7.0, 12.0, 28.0, 50.0, 90.0])
    found = unlike.at(p_pct)
    for k, p in enumerate(np.clip(p_pct, 5, 50)):
        by_hand = [
            np.interp(np.log(p), np.log(LEVELS_PCT), unlike.levels[:, quantity, k])
            for quantity in range(3)
        ]
        ours = [found.vapour_kg_m2[k], found.density_g_m3[k], found.cloud_kg_m2[k]]
        np.testing.assert_allclose(ours, by_hand, rtol=1e-12)
    few = unlike.take(np.array([4, 2])).at(p_pct[[4, 2]])
    np.testing.assert_allclose(few.vapour_kg_m2, found.vapour_kg_m2[[4, 2]], rtol=1e-12)


@pytest.mark.parametrize("p_pct", LEVELS_PCT)
def test_at_a_published_level_it_is_the_map_s(p_pct: float) -> None:
    there = moisture_at_level(LAT, LON, ALTITUDE_KM, p_pct)
    found = moisture_above_frozen(LAT, LON, ALTITUDE_KM, np.full(3, p_pct))
    np.testing.assert_allclose(found.vapour_kg_m2, there.vapour_kg_m2, rtol=1e-9)
    np.testing.assert_allclose(found.density_g_m3, there.density_g_m3, rtol=1e-9)
    np.testing.assert_allclose(found.cloud_kg_m2, there.cloud_kg_m2, rtol=1e-9)
    assert upper_moisture(LAT, LON, ALTITUDE_KM).levels.shape == (5, 3, 3)


def test_higher_ground_has_less_above_it() -> None:
    """P.836-6 annex 1: content and density fall by exp(-h / scale), a scale of some 2 km."""
    low, high = (moisture_at_level(LAT, LON, np.full(3, h), 5.0) for h in (0.0, 2.0))
    for name in ("vapour_kg_m2", "density_g_m3"):
        ratio = getattr(high, name) / getattr(low, name)
        assert ((ratio > 0.2) & (ratio < 0.6)).all()
    np.testing.assert_array_equal(high.cloud_kg_m2, low.cloud_kg_m2)


def test_pressure_of_the_standard_atmosphere() -> None:
    """ISO 2533, tables by geometric height: 898.76, 795.01, 540.48 and 264.99 hPa (from memory)."""
    found = standard_pressure_hpa(np.array([0.0, 1.0, 2.0, 5.0, 10.0]))
    np.testing.assert_allclose(found, [1013.25, 898.76, 795.01, 540.48, 264.99], atol=0.01)


def test_the_ground_is_one_over_any_turn_of_longitude() -> None:
    at = topographic_altitude_m(LAT, LON)
    for turn in (-360, 360, 720):
        np.testing.assert_allclose(topographic_altitude_m(LAT, LON + turn), at, atol=1e-6)
    # No step at the antimeridian nor at Greenwich, the map's edges.
    for edge in (180.0, 0.0):
        west, east = topographic_altitude_m(np.full(2, 66.5), np.array([edge - 1e-7, edge + 1e-7]))
        assert west == pytest.approx(east, abs=0.01)
