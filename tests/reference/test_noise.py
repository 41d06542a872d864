"""Sky noise against figures computed from the Recommendation, and against thermodynamics."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import constants as codata

from siteplan.physics import constants
from siteplan.physics.radio.noise import sky_noise_k

# ITU-R P.618-14 equation 69 with T_mr 275 K: attenuation [dB], noise [K].
P618_14_EQ_69 = [(0.5, 32.31), (1, 58.70), (3, 138.53), (5, 188.89), (10, 247.77)]


@pytest.mark.parametrize(("attenuation_db", "noise_k"), P618_14_EQ_69)
def test_p618_equation_69(attenuation_db, noise_k):
    np.testing.assert_allclose(sky_noise_k(attenuation_db, 275), noise_k, atol=5e-3)


def test_equation_69_is_the_limit_of_thin_absorbing_layers():
    # A thousand layers, each absorbing and radiating at 275 K by Kirchhoff's law.
    temperature = 2.7
    layer = 10 ** (-0.003 / 10)
    for _ in range(1000):
        temperature = temperature * layer + 275 * (1 - layer)
    np.testing.assert_allclose(sky_noise_k(3.0, 275), temperature, rtol=1e-12)


def test_constants_are_those_of_codata_and_of_a_geodesy_library():
    from pyproj import Geod

    ours = (constants.SPEED_OF_LIGHT_M_S, constants.BOLTZMANN_J_K)
    assert ours == (codata.c, codata.k)
    np.testing.assert_allclose(constants.BOLTZMANN_DBW_K_HZ, 10 * np.log10(codata.k), atol=1e-12)
    earth = Geod(ellps="WGS84")
    assert earth.a / 1e3 == constants.WGS84_A_KM
    np.testing.assert_allclose(constants.WGS84_F, earth.f, rtol=1e-13)
    np.testing.assert_allclose(constants.WGS84_E2, earth.es, rtol=1e-12)


def test_geostationary_radius_by_kepler_s_third_law():
    # WGS 84 gravitational constant 398600.4418 km3/s2, sidereal day 86164.0905 s.
    radius = (398_600.4418 * 86_164.0905**2 / (4 * np.pi**2)) ** (1 / 3)
    np.testing.assert_allclose(constants.GEOSTATIONARY_RADIUS_KM, radius, atol=5e-3)
