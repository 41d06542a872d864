"""The sun's noise: limits, the lobe's integral, and what G/T loses."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.angles.sun import SOLAR_RADIUS_DEG
from siteplan.physics.radio.sun_noise import (
    _strewn_within,
    antenna_sun_noise_k,
    degradation_db,
    sun_noise_k,
)


def test_sun_fills_a_narrow_beam_and_hardly_a_wide_one():
    full, partial = antenna_sun_noise_k(12, [0.05, 10])
    np.testing.assert_allclose(full, sun_noise_k(12), rtol=1e-6)
    # Wide beam: disc area over the beam's solid angle, ln 2 (0.53 / 10)^2.
    np.testing.assert_allclose(partial / sun_noise_k(12), np.log(2) * 0.053**2, rtol=0.01)


def test_sun_at_the_edge_of_a_wide_beam_is_3_db_down():
    # The disc is a tenth of the beam: its near half counts a little more than its far one.
    on_axis, edge = antenna_sun_noise_k(12, 5.0, [0, 2.5])
    np.testing.assert_allclose(edge / on_axis, 0.5, rtol=0.005)


def summed_share(beamwidth_deg: float, separation_deg: float) -> float:
    """Return the part of a Gaussian lobe that falls on the disc, summed on a fine square grid."""
    step = SOLAR_RADIUS_DEG / 1500
    x = (np.arange(-1500, 1500) + 0.5) * step
    east, north = np.meshgrid(x, x)
    on_disc = np.hypot(east, north) < SOLAR_RADIUS_DEG
    off_axis = np.hypot(east + separation_deg, north)[on_disc]
    lobe = 2 ** (-((2 * off_axis / beamwidth_deg) ** 2))
    return float(np.sum(lobe) * step**2 / (np.pi * beamwidth_deg**2 / (4 * np.log(2))))


# Beams of 9 m and 4.5 m at 11.95 GHz, 30 m at 20 GHz, and of 1.2 m; out to the search's edge.
@pytest.mark.parametrize("beam", [70 * 0.0250872 / 9, 70 * 0.0250872 / 4.5, 0.035, 1.46])
@pytest.mark.parametrize("part", [0.0, 0.3, 0.7, 0.9, 1.0])
def test_off_the_axis_the_lobe_is_summed_over_the_disc(beam: float, part: float) -> None:
    apart = part * (beam / 2 + SOLAR_RADIUS_DEG)
    share = float(antenna_sun_noise_k(12, beam, apart) / sun_noise_k(12))
    # 0.01 dB: what the grid of the brute sum leaves at the rim of the narrowest beam.
    assert 10 * np.log10(share / summed_share(beam, apart)) == pytest.approx(0, abs=0.01)


def test_a_hub_sized_dish_0_2_degree_off_is_not_10_db_out():
    """9 m at 11.95 GHz, 0.2 degree off: 73 % of the noise is left, not the lobe's own 6 %."""
    on_axis, off = antenna_sun_noise_k(11.95, 70 * 0.0250872 / 9, [0.0, 0.2])
    assert off / on_axis == pytest.approx(0.73, abs=0.01)


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


@pytest.mark.parametrize("most", [3.0, 60.0, 200.0, 900.0])
def test_a_lobe_s_share_on_the_disc_is_scipy_s(most: float) -> None:
    """Summed here, left to scipy beyond: the same distribution to 1e-13."""
    from scipy.special import chndtr

    rng = np.random.default_rng(int(most))
    x, away = rng.uniform(0, most, (2, 4000))
    away[:10] = 0
    away[10] = np.nan
    found = _strewn_within(x, away)
    assert np.isnan(found[10])
    np.testing.assert_allclose(found, chndtr(x, 2, away), rtol=0, atol=1e-13)
