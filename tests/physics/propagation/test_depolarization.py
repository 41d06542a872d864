"""Depolarization: its limits, and which way it goes with rain, time, elevation and tilt."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.propagation.depolarization import (
    FREQUENCY_RANGE_GHZ,
    ISOLATION_RANGE_DB,
    LEAST_RAIN_DB,
    rain_xpd_db,
)

frequencies = st.floats(*FREQUENCY_RANGE_GHZ)
elevations = st.floats(0, 90)
tilts = st.floats(-90, 90)
percentages = st.floats(0.001, 10)
rains = st.floats(0, 90)


@given(rains, rains, percentages, frequencies, elevations, tilts)
def test_more_rain_never_discriminates_better(one, other, p, f, el, tau):
    less, more = sorted((one, other))
    low, high = ISOLATION_RANGE_DB
    few, many = rain_xpd_db([less, more], p, f, el, tau)
    assert low <= many <= few <= high


@given(rains, percentages, frequencies, elevations)
def test_circular_is_the_worst_and_signs_of_the_tilt_mean_nothing(rain, p, f, el):
    tilted = rain_xpd_db(rain, p, f, el, [45, -45, 0, 90, 20, -20, 70])
    assert (tilted[0] <= tilted + 1e-9).all()
    np.testing.assert_allclose(tilted[[1, 3, 5, 6]], tilted[[0, 2, 4, 4]], rtol=0, atol=1e-9)


def test_what_is_held_at_the_ends():
    """P above 1 % is taken as 1 %, no rain as a thousandth of a decibel."""
    np.testing.assert_allclose(
        rain_xpd_db(5, [1.0, 3.0, 50.0], 14.25, 30, 45),
        rain_xpd_db(5, 1, 14.25, 30, 45),
        rtol=1e-12,
    )
    np.testing.assert_allclose(
        rain_xpd_db(5, [1e-3, 1e-5], 14.25, 30, 45), rain_xpd_db(5, 1e-3, 14.25, 30, 45), rtol=1e-12
    )
    none, least = rain_xpd_db([0, LEAST_RAIN_DB], 0.1, 4, 10, 45)
    assert none == pytest.approx(least, rel=1e-12)


def test_results_stay_within_0_and_80_db():
    assert rain_xpd_db(0.01, 1, 14.25, 90, 0) == pytest.approx(80, abs=1e-12)
    assert rain_xpd_db(1e4, 1, 14.25, 0, 45) == pytest.approx(0, abs=1e-12)


def test_unknown_stays_unknown():
    nan = float("nan")
    arguments = [5.0, 0.1, 14.25, 30.0, 45.0]
    for k in range(5):
        assert np.isnan(rain_xpd_db(*[nan if k == j else x for j, x in enumerate(arguments)]))
    found = rain_xpd_db(5, 0.1, [3.99, 4, 55, 55.1, 0], 30, 45)
    assert np.isnan(found).tolist() == [True, False, False, True, True]


def test_arrays_broadcast():
    assert rain_xpd_db(np.ones((3, 1)), 0.1, 14.25, np.full(4, 30.0), 0).shape == (3, 4)
    assert rain_xpd_db(1, 0.1, 14.25, 30, 0).shape == ()
