"""Noise temperatures: limits and the sums that must close."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.radio.noise import (
    g_over_t_db,
    mean_radiating_temperature_k,
    sky_noise_k,
    system_noise_k,
)

attenuations = st.floats(0, 60)
losses = st.floats(0, 6)


def test_clear_and_opaque_sky():
    np.testing.assert_allclose(sky_noise_k(0), 2.7, atol=1e-12)
    np.testing.assert_allclose(sky_noise_k(200, 281), 281, atol=1e-9)


@given(attenuations, attenuations)
def test_sky_noise_rises_with_attenuation(a, b):
    low, high = sorted((a, b))
    assert sky_noise_k(low) <= sky_noise_k(high)
    assert 2.7 - 1e-9 <= sky_noise_k(high) <= 275


def test_unknown_surface_temperature_takes_the_recommendation_s_default():
    # 37.34 + 0.81 x 293.15 by hand.
    radiating = mean_radiating_temperature_k([293.15, np.nan])
    np.testing.assert_allclose(radiating, [274.7915, 275], atol=1e-9)


def test_lossless_line_adds_nothing():
    np.testing.assert_allclose(system_noise_k(30, 20, 0, 75), 125, atol=1e-12)


def test_line_in_equilibrium_keeps_the_temperature():
    # An antenna at 290 K behind any line at 290 K still looks like 290 K.
    np.testing.assert_allclose(system_noise_k(270, 20, 3, 75), 290 + 75, atol=1e-9)


@given(attenuations, losses, losses)
def test_wet_reflector_and_line_act_as_two_attenuators_in_a_row(attenuation, rx, wet):
    sky = sky_noise_k(attenuation)
    wet_ratio, rx_ratio = 10 ** (wet / 10), 10 ** (rx / 10)
    behind_water = (sky + 20) / wet_ratio + 290 * (1 - 1 / wet_ratio)
    behind_line = behind_water / rx_ratio + 290 * (1 - 1 / rx_ratio)
    ours = system_noise_k(sky, 20, rx, 75, wet_loss_db=wet)
    np.testing.assert_allclose(ours, behind_line + 75, rtol=1e-12)


def test_a_tenth_of_a_decibel_of_line_costs_about_7_kelvin():
    # 290 K less the sky's 5 K, times 1 - 10^-0.01, by hand; some 7 K by common practice.
    step = system_noise_k(5, 0, 0.1, 40) - system_noise_k(5, 0, 0, 40)
    np.testing.assert_allclose(step, 6.487, atol=5e-4)


def test_g_over_t_is_the_same_at_the_feed_and_at_the_receiver():
    # Friis: referring noise to the feed multiplies it by the line's loss and leaves the gain.
    loss = 10 ** (0.5 / 10)
    at_feed = 50 + 290 * (loss - 1) + 75 * loss
    expected = 42 - 10 * np.log10(at_feed)
    system = system_noise_k(30, 20, 0.5, 75)
    np.testing.assert_allclose(g_over_t_db(42, 0.5, system), expected, atol=1e-12)


def test_wet_loss_lowers_g_over_t():
    dry = g_over_t_db(42, 0.2, system_noise_k(60, 20, 0.2, 75))
    wet_system = system_noise_k(60, 20, 0.2, 75, wet_loss_db=1)
    wet = g_over_t_db(42, 0.2, wet_system, wet_loss_db=1)
    # By hand: 60 + 20 K behind 1.2 dB and behind 0.2 dB of 290 K, and the decibel itself.
    systems = [80 * line + 290 * (1 - line) + 75 for line in (10**-0.12, 10**-0.02)]
    np.testing.assert_allclose(dry - wet, 1 + 10 * np.log10(systems[0] / systems[1]), atol=1e-12)


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (sky_noise_k, (1.0,)),
        (mean_radiating_temperature_k, (290.0,)),
        (system_noise_k, (30.0, 20.0, 0.2, 75.0)),
        (g_over_t_db, (42.0, 0.2, 130.0)),
    ],
)
def test_vector_equals_scalars(function, arguments):
    first = np.array([arguments[0], arguments[0] * 1.5])
    one, two = function(*arguments), function(first[1], *arguments[1:])
    assert one.shape == ()
    np.testing.assert_array_equal(function(first, *arguments[1:]), [one, two])
