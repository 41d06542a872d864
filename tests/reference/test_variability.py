"""Worst month and single years: ITU-R P.841-4 and P.678-3, worked apart from the package."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.physics.propagation.variability import (
    annual_pct,
    correlation_factor,
    exceeding_pct,
    worst_month_pct,
    yearly_deviation_pct,
)

#: P.841, global relation (from memory): worst month, year [%].
MONTHS = ((1.0, 0.3000), (0.5, 0.1352), (0.3, 0.0751), (0.1, 0.0212), (0.7027, 0.2), (1.55924, 0.5))
#: P.678-3, summed term by term over a year's minutes: p, C, sigma of the minutes, sigma with r_c
#: 0.2, all but C fractions of time.
YEARS = ((1e-3, 36.445, 2.63103e-4, 3.30489e-4), (1e-2, 176.312, 1.82172e-3, 2.7053e-3))


@pytest.mark.parametrize(("month", "year"), MONTHS)
def test_worst_month(month: float, year: float) -> None:
    """Both ways, to the digits that are printed of either."""
    assert float(annual_pct(month)) == pytest.approx(year, abs=6e-5)
    assert float(worst_month_pct(year)) == pytest.approx(month, rel=3e-3)


def test_the_other_form_of_the_relation() -> None:
    """P.841 as p_w = Q p with Q = 2.85 p^-0.13: the same within 0.2 % (from memory)."""
    year = np.geomspace(0.01, 3, 40)
    np.testing.assert_allclose(worst_month_pct(year), 2.85 * year**0.87, rtol=4e-3)


@pytest.mark.parametrize(("p", "c", "minutes", "sigma"), YEARS)
def test_single_years(p: float, c: float, minutes: float, sigma: float) -> None:
    assert float(correlation_factor(100 * p)) == pytest.approx(c, abs=6e-4)
    assert float(yearly_deviation_pct(100 * p, 0.2)) / 100 == pytest.approx(sigma, rel=1e-5)
    assert float(yearly_deviation_pct(100 * p, 0.0)) / 100 == pytest.approx(minutes, rel=1e-5)


@pytest.mark.parametrize("p", [1e-4, 2.3e-4, 3.3e-3, 2e-2])
def test_the_correlation_term_by_term(p: float) -> None:
    """P.678-3's sum over all minutes of a year, added one by one."""
    b = -0.0396 * math.log(p) + 0.286
    minutes = np.arange(1, 525_960)
    whole = 1 + 2 * float(np.exp(-0.0265 * (60.0 * minutes) ** b).sum())
    assert float(correlation_factor(100 * p)) == pytest.approx(whole, rel=1e-9)


def test_chance_that_a_year_exceeds() -> None:
    """Worked: 0.35 % of a mean year against a target of 0.5 %, with r_c 0.1 and 0.3."""
    found = exceeding_pct(0.35, 0.5, [0.1, 0.3])
    np.testing.assert_allclose(found, [3.14, 12.00], atol=6e-3)
