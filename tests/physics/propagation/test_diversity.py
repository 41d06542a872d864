"""What a second station leaves of the rain: never less in heavier rain, nothing below zero."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.propagation.diversity import (
    MOST_KM,
    Baseline,
    baseline_angle_deg,
    gain_db,
    rain_left_db,
)

RAIN = np.linspace(0, 60, 1201)


@pytest.mark.parametrize("ghz", [10.0, 14.25, 30.0])
@pytest.mark.parametrize("baseline", [Baseline(1, 0), Baseline(8, 45), Baseline(50, 90)])
@pytest.mark.parametrize("elevation", [5.0, 45.0, 90.0])
def test_what_is_left_never_falls(ghz: float, baseline: Baseline, elevation: float) -> None:
    left = rain_left_db(RAIN, ghz, elevation, baseline)
    assert (np.diff(left) >= 0).all()
    assert (left >= 0).all()
    assert (left <= RAIN).all()
    plain = np.maximum(RAIN - gain_db(RAIN, ghz, elevation, baseline), 0.0)
    assert (left >= plain).all()
    # Where the plain difference never fell before, it is what is left; steps of 0.03 dB between.
    held = np.maximum.accumulate(plain)
    np.testing.assert_allclose(left, held, atol=0.001, rtol=0)


def test_gain_can_outgrow_the_rain() -> None:
    """The case that is held: at 10 GHz, high and across, the plain difference falls again."""
    across = Baseline(20, 90)
    plain = RAIN - gain_db(RAIN, 10.0, 90.0, across)
    assert (np.diff(plain) < 0).any()
    left = rain_left_db(RAIN, 10.0, 90.0, across)
    assert left[-1] == pytest.approx(plain.max(), abs=0.001)


def test_the_order_of_the_rain_does_not_matter() -> None:
    baseline = Baseline(12, 30)
    falling = rain_left_db(RAIN[::-1], 14.0, 40.0, baseline)
    np.testing.assert_allclose(falling[::-1], rain_left_db(RAIN, 14.0, 40.0, baseline), atol=1e-12)
    one = rain_left_db(np.array([7.0]), 14.0, 40.0, baseline)
    expected = 7.0 - gain_db(7.0, 14.0, 40.0, baseline)
    np.testing.assert_allclose(one, expected, atol=1e-12, rtol=0)


def test_no_distance_leaves_the_rain_as_it_is() -> None:
    assert rain_left_db(RAIN, 14.0, 40.0, Baseline(0, 90)) is RAIN


def test_distances_beyond_twenty_kilometres_count_as_that() -> None:
    far, most = (gain_db(RAIN, 14.0, 40.0, Baseline(km, 10)) for km in (50.0, MOST_KM))
    np.testing.assert_array_equal(far, most)
    assert (gain_db(RAIN[1:], 14.0, 40.0, Baseline(3.0, 10)) < most[1:]).all()


@pytest.mark.parametrize("ghz", [9.99, 30.01])
def test_other_frequencies_are_refused(ghz: float) -> None:
    with pytest.raises(ValueError, match="from 10 to 30 GHz"):
        gain_db(5.0, ghz, 40.0, Baseline(10, 0))


@pytest.mark.parametrize(
    ("bearing", "azimuth", "angle"),
    [(0, 0, 0), (90, 0, 90), (180, 0, 0), (270, 0, 90), (10, 350, 20), (200, 10, 10), (0, 135, 45)],
)
def test_the_angle_of_the_baseline(bearing: float, azimuth: float, angle: float) -> None:
    assert float(baseline_angle_deg(bearing, azimuth)) == pytest.approx(angle, abs=1e-12)
