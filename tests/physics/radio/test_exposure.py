"""Exposure: regions, limits, and distances that must be the inverse of densities."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.exposure import (
    beside_beam_w_m2,
    field_regions,
    off_axis_gain_dbi,
    off_axis_safe_distance_m,
    power_density_w_m2,
    safe_distance_m,
    safe_distances,
)
from siteplan.physics.radio.limits import exposure_limit_w_m2, known_rules

powers = st.floats(0.5, 500)
diameters = st.floats(0.6, 9)
frequencies = st.floats(3.5, 31)
limits = st.floats(1, 200)


def test_density_is_constant_near_and_falls_as_the_square_far_off():
    regions = field_regions(10, 1.2, 0.65, 14.25)
    inside = power_density_w_m2([0, regions.near_end_m], 10, 1.2, 0.65, 14.25)
    np.testing.assert_allclose(inside, regions.near_w_m2, rtol=1e-12)
    one, two = power_density_w_m2(regions.far_start_m * [1, 2], 10, 1.2, 0.65, 14.25)
    np.testing.assert_allclose(one / two, 4, rtol=1e-12)


def test_transition_falls_as_the_distance():
    near_end = field_regions(10, 1.2, 0.65, 14.25).near_end_m
    one, two = power_density_w_m2(near_end * [1, 2], 10, 1.2, 0.65, 14.25)
    np.testing.assert_allclose(one / two, 2, rtol=1e-12)


@given(powers, diameters, frequencies)
def test_the_step_at_the_far_field_is_3_per_cent(power, diameter, frequency):
    # (pi / 1.44) / (16 x 0.25 / (0.6 pi)): whatever the antenna.
    start = field_regions(power, diameter, 0.6, frequency).far_start_m
    before, at = power_density_w_m2([start * (1 - 1e-9), start], power, diameter, 0.6, frequency)
    np.testing.assert_allclose(at / before, np.pi**2 * 0.6 / 5.76, rtol=1e-6)


@given(limits, powers, diameters, frequencies)
def test_beyond_the_safe_distance_the_limit_is_kept_and_just_inside_it_is_not(
    limit, power, diameter, frequency
):
    distance = safe_distance_m(limit, power, diameter, 0.65, frequency)
    beyond = distance * np.linspace(1 + 1e-9, 10, 500) + 1e-9
    kept = power_density_w_m2(beyond, power, diameter, 0.65, frequency)
    assert (kept <= limit * (1 + 1e-8)).all()
    if distance > 0:
        inside = power_density_w_m2(distance * (1 - 1e-6), power, diameter, 0.65, frequency)
        assert inside >= limit * (1 - 1e-5)


def test_weak_transmitters_are_safe_everywhere_on_the_axis():
    # 16 eta P / pi D^2 = 2.3 W/m2 for 1 W into 1.2 m, under the public's 10 W/m2.
    np.testing.assert_allclose(safe_distances(1, 1.2, 0.65, 14.25), 0, atol=0)


def test_public_distance_is_the_longer_one_and_distances_grow_with_power():
    out = safe_distances([20, 100, 400], 1.2, 0.65, 14.25)
    assert (out.public_m > out.controlled_m).all()
    assert (np.diff(out.public_m) > 0).all()


@pytest.mark.parametrize("rule", known_rules())
def test_workers_are_allowed_five_times_the_public_s_figure(rule):
    public = exposure_limit_w_m2(rule, "public", [4.0, 6.0, 14.25, 30.0])
    controlled = exposure_limit_w_m2(rule, "controlled", [4.0, 6.0, 14.25, 30.0])
    np.testing.assert_allclose(controlled, 5 * public, rtol=1e-12)


def test_local_limit_hardly_steps_at_6_ghz():
    below, above = exposure_limit_w_m2("ICNIRP 2020 local", "public", [6.0, 6.0001])
    np.testing.assert_allclose(above, below, rtol=2e-3)


def test_outside_a_rule_s_frequencies_there_is_no_limit_and_no_distance():
    limit = exposure_limit_w_m2("47 CFR 1.1310", "public", [1.4, 1.5, 100, 101])
    np.testing.assert_array_equal(np.isnan(limit), [True, False, False, True])
    for rule in ("ICNIRP 2020 whole body", "ICNIRP 2020 local"):
        limit = exposure_limit_w_m2(rule, "public", [1.99, 2.0, 300, 301])
        np.testing.assert_array_equal(np.isnan(limit), [True, False, False, True])
    assert np.isnan(safe_distances(100, 2.4, 0.65, 1.6)).all()


def test_unknown_rule_and_audience_are_refused():
    with pytest.raises(ValueError, match="rule 'mine' is not known: use one of 47 CFR"):
        exposure_limit_w_m2("mine", "public", 14)
    with pytest.raises(ValueError, match="audience 'all' is not known: use 'public'"):
        exposure_limit_w_m2("47 CFR 1.1310", "all", 14)


def test_gain_off_axis_falls_and_never_passes_the_gain_on_axis():
    angle = np.linspace(0, 180, 721)
    for diameter in (0.6, 1.2, 4.5):
        gain = off_axis_gain_dbi(angle, diameter, 0.65, 14.25)
        assert (np.diff(gain) <= 1e-12).all()
        np.testing.assert_allclose(gain[0], gain_dbi(diameter, 0.65, 14.25), rtol=1e-12)


def test_distance_beside_the_beam_is_far_shorter_than_in_it():
    gain = off_axis_gain_dbi([10.0, 60.0], 1.2, 0.65, 14.25)
    distance = off_axis_safe_distance_m(10, 16, gain)
    # 16 W into 7 dBi and -10 dBi by hand: sqrt(16 G / 4 pi 10).
    expected = np.sqrt(16 * 10 ** (np.array([7.0, -10.0]) / 10) / (4 * np.pi * 10))
    np.testing.assert_allclose(distance, expected, rtol=1e-9)
    assert (distance < 1).all()


def test_beside_the_beam_a_hundredth_remains():
    np.testing.assert_allclose(beside_beam_w_m2([200.0, 36.0]), [2.0, 0.36], rtol=1e-12)


def test_vector_equals_scalars():
    power = np.array([5.0, 50.0, 500.0])
    together = safe_distances(power, 1.8, 0.6, 29.0)
    for k, watts in enumerate(power):
        np.testing.assert_array_equal(
            [d[k] for d in together], safe_distances(watts, 1.8, 0.6, 29.0)
        )


def test_distances_by_the_rules_asked_for():
    """With one rule its own distances; with all, the longest of each."""
    beam = np.array([16.0, 60.0]), 1.2, 0.65, 14.25
    each = [safe_distances(*beam, rules=(rule,)) for rule in known_rules()]
    every = safe_distances(*beam)
    np.testing.assert_array_equal(every.public_m, np.max([d.public_m for d in each], axis=0))
    np.testing.assert_array_equal(
        every.controlled_m, np.max([d.controlled_m for d in each], axis=0)
    )
