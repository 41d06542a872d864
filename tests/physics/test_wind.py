"""Wind: scaling and limits."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.wind import (
    EXPOSURE,
    TERRAIN,
    gust_height_factor,
    gust_pressure_pa,
    mean_wind_pressure,
    wind_force_n,
)

#: Usual figures of the network file: they are the caller's.
CATEGORY, DRAG = "II", 1.5


def test_pressure_grows_with_the_square_of_the_wind_and_with_height():
    slow, fast = mean_wind_pressure([20, 40], 10, CATEGORY).peak_pa
    np.testing.assert_allclose(fast / slow, 4, rtol=1e-12)
    assert (np.diff(mean_wind_pressure(25, [2, 5, 10, 30], CATEGORY).peak_pa) > 0).all()


@pytest.mark.parametrize("terrain", TERRAIN)
def test_below_the_least_height_the_pressure_stays(terrain):
    least_m = TERRAIN[terrain][1]
    low, at = mean_wind_pressure(25, [0.1, least_m], terrain).peak_pa
    np.testing.assert_allclose(low, at, rtol=1e-12)


def test_rougher_country_slows_the_wind():
    peak = [float(mean_wind_pressure(25, 10, terrain).peak_pa) for terrain in TERRAIN]
    assert (np.diff(peak) < 0).all()


def test_open_country_at_10_m_is_the_reference_of_the_basic_speed():
    # c_r is 1.007 there: 0.19 ln(10 / 0.05) (EN 1991-1-4 equation 4.4 by hand).
    np.testing.assert_allclose(
        mean_wind_pressure(25, 10, CATEGORY).roughness_factor, 1.0067, atol=1e-4
    )


def test_a_hill_raises_the_mean_wind():
    flat, hill = mean_wind_pressure(25, 10, CATEGORY, orography=[1.0, 1.3]).peak_pa
    assert 1.3 < hill / flat < 1.3**2


def test_mixing_up_mean_and_gust_halves_the_pressure():
    mean_based = mean_wind_pressure(30, 10, CATEGORY).peak_pa
    assert 0.35 < gust_pressure_pa(30) / mean_based < 0.6


@pytest.mark.parametrize("exposure", EXPOSURE)
def test_gust_factor_is_flat_at_the_bottom_and_2_01_at_the_top(exposure):
    bottom = gust_height_factor([0, 4.57], exposure)
    np.testing.assert_allclose(bottom[0], bottom[1], rtol=1e-12)
    np.testing.assert_allclose(gust_height_factor(500, exposure), 2.01, rtol=1e-12)


def test_unknown_terrain_and_exposure_are_refused():
    with pytest.raises(ValueError, match="terrain 'V' is not known: use one of 0, I"):
        mean_wind_pressure(25, 10, "V")
    with pytest.raises(ValueError, match="exposure 'A' is not known: use one of B, C, D"):
        gust_height_factor(10, "A")


def test_force_on_a_dish_by_hand():
    # 800 Pa x 1.5 x pi/4 x 1.2^2 m2.
    np.testing.assert_allclose(wind_force_n(800, 1.2, DRAG), 1357.17, atol=0.01)
