"""Worst month and single years: round trips, limits, and what lies outside."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.propagation.variability import (
    SINGLE_YEAR_RANGE_PCT,
    WORST_MONTH_RANGE_PCT,
    annual_pct,
    exceeding_pct,
    normal_above,
    worst_month_pct,
    yearly_deviation_pct,
)


@given(st.floats(*WORST_MONTH_RANGE_PCT))
def test_there_and_back(month: float) -> None:
    assert float(worst_month_pct(annual_pct(month))) == pytest.approx(month, rel=1e-12)


@pytest.mark.parametrize("outside", [0.0, -1.0, 1.8e-4, 7.9, 100.0, np.nan])
def test_no_answer_outside_the_relation(outside: float) -> None:
    assert np.isnan(annual_pct(outside))


@pytest.mark.parametrize("outside", [0.0, -1.0, 1e-6, 3.3, 50.0, np.nan])
def test_no_worst_month_of_such_a_year(outside: float) -> None:
    assert np.isnan(worst_month_pct(outside))


@given(st.floats(0.01, 2.0), st.floats(0.05, 0.5))
def test_the_mean_is_exceeded_every_other_year(p_pct: float, ratio: float) -> None:
    assert float(exceeding_pct(p_pct, p_pct, ratio)) == pytest.approx(50, abs=1e-12)


def test_a_deviation_has_a_range() -> None:
    low, high = SINGLE_YEAR_RANGE_PCT
    ends = yearly_deviation_pct([low * 0.99, low, high, high * 1.01, np.nan], 0.2)
    assert np.isnan(ends).tolist() == [True, False, False, True, True]


def test_less_than_the_range_counts_as_its_end() -> None:
    assert float(exceeding_pct(0.0, 0.5, 0.2)) == float(exceeding_pct(0.01, 0.5, 0.2))
    assert np.isnan(exceeding_pct(2.1, 0.5, 0.2))


def test_the_climate_widens_a_year() -> None:
    wide = yearly_deviation_pct(0.5, [0.0, 0.1, 0.3])
    assert (np.diff(wide) > 0).all()
    np.testing.assert_allclose(wide**2 - wide[0] ** 2, [0, 0.05**2, 0.15**2], atol=1e-12)


def test_the_normal_distribution() -> None:
    """Against scipy's."""
    from scipy.special import ndtr

    away = np.array([[-3.0, 0.0], [1.0, np.inf]])
    np.testing.assert_allclose(normal_above(away), ndtr(-away), rtol=1e-12)
    assert np.isnan(normal_above(np.nan))
    many = np.linspace(-6, 6, 60_001)
    each = [float(normal_above(x)) for x in many]
    np.testing.assert_allclose(normal_above(many), each, rtol=1e-12)
