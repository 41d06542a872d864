"""Patterns: they fall with the angle, they are even, and what size does to them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.patterns import (
    PATTERNS,
    MeasuredPattern,
    measured_gain_dbi,
    off_axis_gain_dbi,
)

names = st.sampled_from(PATTERNS)
diameters = st.floats(0.4, 6)
efficiencies = st.floats(0.5, 0.8)
angles = st.floats(0, 180)
MEASURED = MeasuredPattern(
    np.array([0.0, 0.5, 1.5, 5.0, 48.0, 180.0]), np.array([43.0, 40.0, 24.0, 11.0, -10.0, -10.0])
)


def dish(diameter, efficiency, frequency=11.95):
    return gain_dbi(diameter, efficiency, frequency), diameter / wavelength_m(frequency)


@given(names, diameters, efficiencies, angles, angles)
def test_gain_never_rises_with_the_angle(name, diameter, efficiency, one, other):
    gain, x = dish(diameter, efficiency)
    near, far = off_axis_gain_dbi(name, sorted((one, other)), gain, x)
    assert far <= near <= gain


@given(names, diameters, angles)
def test_sides_are_alike_and_the_axis_has_the_gain_given(name, diameter, angle):
    gain, x = dish(diameter, 0.65)
    left, axis, right = off_axis_gain_dbi(name, [-angle, 0, angle], gain, x)
    assert left == right
    assert axis == gain


@given(names, diameters, angles)
def test_nothing_jumps(name, diameter, angle):
    """The steepest is the main lobe's end: 0.005 x^2 phi [dB/deg], below 0.5 x."""
    gain, x = dish(diameter, 0.65)
    one, other = off_axis_gain_dbi(name, [angle, angle + 1e-6], gain, x)
    assert one - other <= 0.6e-6 * x


@given(diameters, diameters, efficiencies, st.floats(0.1, 180))
def test_carrier_over_interference_rises_with_the_dish_by_appendix_8(one, other, efficiency, angle):
    rises("appendix_8", sorted((one, other)), efficiency, angle, 1e-9)


@given(names, diameters, diameters, efficiencies, st.floats(0.1, 180))
def test_carrier_over_interference_rises_among_side_lobes(name, one, other, efficiency, angle):
    """A neighbour beyond 100 lambda / D of the smaller dish: what flags 'near' neighbours."""
    small, large = sorted((one, other))
    first = float(100 * wavelength_m(11.95) / small)
    # Small dishes begin later in S.465-6: 114 (D / lambda)^-1.09, at least 2 degrees.
    rises(name, (small, large), efficiency, max(angle, first, 2.0), 1e-9)


@given(names, diameters, diameters, efficiencies, st.floats(0.1, 180))
def test_on_the_plateau_it_falls_by_half_a_decibel_at_most(name, one, other, efficiency, angle):
    """S.580-6 and S.465-6 have plateaus that rise faster than the gain under D / lambda 100."""
    rises(name, sorted((one, other)), efficiency, angle, 0.5)


def rises(name, pair, efficiency, angle, spare_db):
    gain, x = dish(np.array(pair), efficiency)
    small, large = gain - off_axis_gain_dbi(name, angle, gain, x)
    assert large >= small - spare_db


def test_measured_rows_and_what_lies_between():
    known = [42, 40, 24, 11, -10, -10]
    np.testing.assert_allclose(
        measured_gain_dbi(MEASURED, MEASURED.angle_deg, 42), known, rtol=0, atol=1e-9
    )
    # Halfway in the logarithm: sqrt(1.5 x 5) degrees. Beyond 180 the last row holds.
    assert measured_gain_dbi(MEASURED, np.sqrt(7.5), 42) == pytest.approx(17.5, abs=1e-9)
    assert measured_gain_dbi(MEASURED, -200, 42) == pytest.approx(-10, abs=1e-9)
    # Inside the first row the loss goes with the square: a quarter of 2 dB at half the angle.
    assert measured_gain_dbi(MEASURED, 0.25, 42) == pytest.approx(41.5, abs=1e-9)


@given(angles, angles, st.floats(40, 50))
def test_a_measured_pattern_that_falls_stays_one(one, other, gain):
    near, far = measured_gain_dbi(MEASURED, sorted((one, other)), gain)
    assert far <= near + 1e-12
    assert measured_gain_dbi(MEASURED, 0, gain) == gain


def test_a_pattern_without_a_row_on_the_axis_is_read_alike():
    without = MeasuredPattern(MEASURED.angle_deg[1:], MEASURED.gain_dbi[1:])
    angle = np.linspace(0, 180, 400)
    np.testing.assert_array_equal(
        measured_gain_dbi(without, angle, 42), measured_gain_dbi(MEASURED, angle, 42)
    )


def test_unknown_stays_unknown_and_arrays_broadcast():
    for name in PATTERNS:
        found = off_axis_gain_dbi(name, [np.nan, 1, 2], [43, np.nan, 43], [57, 57, np.nan])
        assert np.isnan(found).all()
        assert off_axis_gain_dbi(name, np.ones((5, 3)), 43, np.full((5, 1), 57)).shape == (5, 3)
        assert off_axis_gain_dbi(name, 1, 43, 57).shape == ()
    assert np.isnan(measured_gain_dbi(MEASURED, [np.nan, 0.1], [43, np.nan])).all()
