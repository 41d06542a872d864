"""The sun's noise: limits, the lobe's integral, and what G/T loses."""

from __future__ import annotations

import numpy as np

from siteplan.physics.radio.sun_noise import antenna_sun_noise_k, degradation_db, sun_noise_k


def test_sun_fills_a_narrow_beam_and_hardly_a_wide_one():
    full, partial = antenna_sun_noise_k(12, [0.05, 10])
    np.testing.assert_allclose(full, sun_noise_k(12), rtol=1e-6)
    # Wide beam: disc area over the beam's solid angle, ln 2 (0.53 / 10)^2.
    np.testing.assert_allclose(partial / sun_noise_k(12), np.log(2) * 0.053**2, rtol=0.01)


def test_sun_at_the_edge_of_the_beam_is_3_db_down():
    on_axis, edge = antenna_sun_noise_k(12, 1.5, [0, 0.75])
    np.testing.assert_allclose(edge / on_axis, 0.5, rtol=1e-12)


def test_filling_equals_the_lobe_summed_over_the_disc():
    # Rings of the disc under a lobe 2^-(2 theta / beamwidth)^2, over the lobe's whole integral.
    theta = (np.arange(20_000) + 0.5) / 20_000 * 0.265
    lobe = 2 ** (-((2 * theta / 1.4) ** 2))
    disc = np.sum(2 * np.pi * theta * lobe) * 0.265 / 20_000
    whole = np.pi * 1.4**2 / (4 * np.log(2))
    np.testing.assert_allclose(
        antenna_sun_noise_k(12, 1.4) / sun_noise_k(12), disc / whole, rtol=1e-6
    )


def test_degradation_doubles_at_equal_noise_and_shrinks_with_line_loss():
    np.testing.assert_allclose(degradation_db(120, [0, 120]), [0, 3.0103], atol=1e-4)
    assert degradation_db(120, 500, 1.0) < degradation_db(120, 500)
