"""Gain and beamwidth: inverses, scaling and limits."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.radio.antennas import (
    beamwidth_deg,
    diameter_for_gain_m,
    gain_dbi,
    wavelength_m,
)

diameters = st.floats(0.3, 20)
efficiencies = st.floats(0.2, 1)
frequencies = st.floats(1, 50)


@given(diameters, efficiencies, frequencies)
def test_diameter_is_the_inverse_of_gain(diameter, efficiency, frequency):
    gain = gain_dbi(diameter, efficiency, frequency)
    np.testing.assert_allclose(
        diameter_for_gain_m(gain, efficiency, frequency), diameter, rtol=1e-12
    )


@given(diameters, efficiencies, frequencies)
def test_doubling_diameter_or_frequency_gives_6_db(diameter, efficiency, frequency):
    gain = gain_dbi(diameter, efficiency, frequency)
    twice = [
        gain_dbi(2 * diameter, efficiency, frequency),
        gain_dbi(diameter, efficiency, 2 * frequency),
    ]
    np.testing.assert_allclose(twice - gain, 20 * np.log10(2), atol=1e-9)


def test_half_the_efficiency_costs_3_db():
    lost = gain_dbi(1.2, 0.7, 14) - gain_dbi(1.2, 0.35, 14)
    np.testing.assert_allclose(lost, 10 * np.log10(2), atol=1e-9)


def test_aperture_of_an_isotropic_antenna():
    # A lossless aperture of lambda^2 / 4 pi has 0 dBi, whatever its wavelength.
    wavelength = wavelength_m([4.0, 12.0, 30.0])
    diameter = np.sqrt(4 / np.pi * wavelength**2 / (4 * np.pi))
    np.testing.assert_allclose(gain_dbi(diameter, 1, [4.0, 12.0, 30.0]), 0, atol=1e-12)


def test_beamwidth_shrinks_with_diameter_and_frequency():
    # 70 lambda / D by hand: lambda 0.025 m at 11.9917 GHz, D 1.75 m: 1 degree.
    np.testing.assert_allclose(beamwidth_deg(1.75, 11.99169832), 1.0, atol=1e-9)
    np.testing.assert_allclose(beamwidth_deg([3.5, 1.75], [11.99169832, 23.98339664]), 0.5)


def test_arrays_broadcast_and_scalars_give_zero_dimensions():
    assert gain_dbi([[1.2], [1.8]], 0.65, [11, 12, 14]).shape == (2, 3)
    assert gain_dbi(1.2, 0.65, 11).shape == ()
    assert diameter_for_gain_m(40, 0.65, 11).shape == ()
    assert beamwidth_deg(1.2, 11).shape == ()
