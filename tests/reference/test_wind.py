"""Wind pressures against a published worked example and a code's table."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from siteplan.physics.wind import (
    TERRAIN,
    gust_height_factor,
    gust_pressure_pa,
    mean_wind_pressure,
    wind_force_n,
)


def test_worked_example_of_en_1991_1_4():
    # Steel Buildings in Europe, part 3, appendix B: v_b 26 m/s, rho 1.25 kg/m3, terrain
    # category III, z 8 m: q_b 422.5 Pa, c_r 0.706, c_e 1.56, q_p 659 Pa. It goes on from a terrain
    # factor 0.19 (0.3 / 0.05)^0.07 rounded to 0.215, and so do we for its printed digits.
    rounding = 0.215 / (0.19 * 6**0.07)
    out = mean_wind_pressure(26, 8, "III", density_kg_m3=1.25)
    np.testing.assert_allclose(out.basic_pa, 422.5, atol=0.05)
    np.testing.assert_allclose(out.roughness_factor * rounding, 0.706, atol=5e-4)
    np.testing.assert_allclose(out.exposure_factor * rounding**2, 1.56, atol=5e-3)
    np.testing.assert_allclose(out.peak_pa * rounding**2, 659, atol=0.5)


def test_gust_form():
    # 0.613 Kz Kd V^2 with V 44.44 m/s, Kz 1.09, Kd 0.95: 1254 Pa.
    np.testing.assert_allclose(gust_pressure_pa(44.44, 1.09, 0.95), 1254, atol=0.5)


# ASCE 7-16 table 26.10-1, Kz by exposure at 15, 30, 60 and 100 ft (from memory).
ASCE_7_16_TABLE_26_10_1 = [
    ("B", [0.57, 0.70, 0.85, 0.99]),
    ("C", [0.85, 0.98, 1.13, 1.26]),
    ("D", [1.03, 1.16, 1.31, 1.43]),
]


@pytest.mark.parametrize(("exposure", "factors"), ASCE_7_16_TABLE_26_10_1)
def test_height_factor_of_gusts(exposure, factors):
    # Printed to 0.01, for exposure C cut rather than rounded (1.137 and 1.266 by the formula).
    height_m = np.array([15, 30, 60, 100]) * 0.3048
    np.testing.assert_allclose(gust_height_factor(height_m, exposure), factors, atol=7e-3)


def test_terrain_categories():
    # EN 1991-1-4 table 4.1: z_0 and z_min [m] of categories 0 to IV (from memory).
    table = [(0.003, 1), (0.01, 1), (0.05, 2), (0.3, 5), (1.0, 10)]
    assert list(TERRAIN.values()) == table


def test_613_is_half_the_density_of_standard_air():
    # Half of 1.225 kg/m3 (ISO 2533 at sea level) is 0.6125; the form has three digits of it.
    np.testing.assert_allclose(gust_pressure_pa(1), 0.5 * 1.225, atol=5.1e-4)
    np.testing.assert_allclose(gust_pressure_pa(40), 0.613 * 40**2, rtol=1e-12)


def test_force_is_the_pressure_summed_over_the_disc():
    summed = quad(lambda r: 659 * 1.5 * 2 * np.pi * r, 0, 0.9)[0]
    np.testing.assert_allclose(wind_force_n(659, 1.8, 1.5), summed, rtol=1e-9)
