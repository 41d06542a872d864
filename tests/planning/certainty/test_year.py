"""The worst month's availability, and the chance that a single year misses its target."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.physics.propagation.variability import yearly_deviation_pct
from siteplan.planning.certainty.year import told, years
from siteplan.planning.link.availability import Availability
from siteplan.planning.step import text_field

NAN = np.nan


def achieved(outbound: list[float], inbound: list[float], low: list[bool] | None = None):
    """Return availabilities as the link gives them."""
    out, back = np.array(outbound), np.array(inbound)
    none = np.zeros(len(out), dtype=bool)
    return Availability(
        out, back, np.minimum(out, back), (none * 1.0, none * 1.0), none,
        none if low is None else np.array(low), none,
    )  # fmt: skip


def asked(of: Availability, target: float, inbound: bool = False, ratio: float = 0.2):
    n = len(of.outbound_availability_pct)
    return years(of, np.full(n, target), np.full(n, inbound), ratio)


def notes(of) -> list[str]:
    return text_field(told(of), english(), len(of.outage_pct)).tolist()


def test_margin_zero_is_even_odds() -> None:
    """P.678-3: a year exceeds its own mean with a chance of one half."""
    found = asked(achieved([99.5, 99.9, 98.5], [100, 100, 100]), 99.5).year_risk_pct
    assert found[0] == pytest.approx(50, abs=1e-9)
    assert found[1] < 1
    assert found[2] > 99


def test_the_worked_chance() -> None:
    """0.35 % of a mean year against 0.5 %: 0.1200 with r_c 0.3 (worked by hand from P.678-3)."""
    found = asked(achieved([99.65], [100.0]), 99.5, ratio=0.3).year_risk_pct[0]
    assert found == pytest.approx(12.00, abs=6e-3)


def test_the_limiting_direction_decides_the_chance_and_the_worse_one_the_month() -> None:
    of = achieved([99.9], [99.6])
    out, back = (asked(of, 99.5, inbound) for inbound in (False, True))
    assert out.year_risk_pct[0] < back.year_risk_pct[0]
    away = (0.5 - 0.4) / float(yearly_deviation_pct(0.4, 0.2))
    assert back.year_risk_pct[0] == pytest.approx(100 * NormalDist().cdf(-away), rel=1e-9)
    # P.841-4 (from memory): 0.4 % of a year is 100 - (0.4 / 0.30)^(1 / 1.15) of the worst month.
    month = 100 - (0.4 / 0.30) ** (1 / 1.15)
    for each in (out, back):
        assert each.worst_month_availability_pct[0] == pytest.approx(month, abs=1e-9)


def test_under_the_range_the_least_outage_counts_and_is_told() -> None:
    of = asked(achieved([99.999, 99.99], [100.0, 100.0]), 99.98)
    assert of.year_risk_pct[0] == pytest.approx(of.year_risk_pct[1], abs=1e-6)
    assert "counts an outage of 0.01 %" in notes(of)[0]
    assert "0.01 %" not in notes(of)[1]


def test_a_target_under_the_range_has_no_answer() -> None:
    """Neither the raised outage nor any other would say something: it would be over half."""
    of = asked(achieved([99.999, 99.9], [100.0, 100.0]), 99.995)
    assert np.isnan(of.year_risk_pct[0])
    assert of.year_risk_pct[1] > 99
    assert "target and outage are both under 0.01 %" in notes(of)[0]
    assert notes(of)[1] == ""


def test_over_the_ranges_blank_and_told() -> None:
    of = asked(achieved([97.9, 96.0, NAN, NAN], [100.0] * 2 + [NAN] * 2,
                        [False, False, True, False]), 99.5)  # fmt: skip
    assert np.isnan(of.year_risk_pct).all()
    assert np.isnan(of.worst_month_availability_pct).tolist() == [False, True, True, True]
    texts = notes(of)
    assert "chance of a bad year is blank: more than 2 %" in texts[0]
    assert "worst month" not in texts[0]
    for text in texts[1:3]:
        assert "worst month is blank: more than 3.2 %" in text
        assert "more than 2 %" in text
    assert texts[3] == ""  # no answer at all


def test_the_methods_least_is_a_bound() -> None:
    of = asked(achieved([99.999, 99.9989], [99.999, 100.0]), 99.5)
    assert "lower bound" in notes(of)[0]
    assert "lower bound" not in notes(of)[1]
    assert of.worst_month_availability_pct[0] == pytest.approx(99.992986, abs=1e-6)
