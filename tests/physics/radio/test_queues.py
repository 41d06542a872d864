"""Erlang's formulas and slotted ALOHA: limits, and that they agree with one another."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import lambertw

from siteplan.physics.radio.queues import (
    MOST_LINES,
    erlang_b,
    erlang_c,
    lines_for,
    offered_to_slots,
    slotted_aloha,
)


@pytest.mark.parametrize(("erlangs", "lines"), [(0.5, 3), (4.0, 4), (12.0, 20)])
def test_the_recursion_is_the_sum(erlangs: float, lines: int) -> None:
    """B = (E^m / m!) / sum of E^k / k!, as the textbook writes it."""
    terms = [erlangs**k / math.factorial(k) for k in range(lines + 1)]
    assert erlang_b(erlangs, lines) == pytest.approx(terms[-1] / sum(terms), rel=1e-12)


def test_without_lines_everything_is_lost_and_without_traffic_nothing() -> None:
    assert erlang_b(3.0, 0) == 1.0
    assert erlang_b(0.0, 4) == 0.0
    assert erlang_c(5.0, 5) == erlang_c(7.0, 5) == 1.0
    assert lines_for(0.0, 0.01) == 0


@given(st.floats(0.01, 500.0), st.floats(0.0005, 0.5))
def test_the_lines_are_the_fewest(erlangs: float, blocking: float) -> None:
    lines = lines_for(erlangs, blocking)
    assert erlang_b(erlangs, lines) <= blocking
    assert erlang_b(erlangs, lines - 1) > blocking


@given(st.floats(0.01, 50.0), st.integers(1, 80))
def test_waiting_is_likelier_than_loss(erlangs: float, lines: int) -> None:
    assert erlang_c(erlangs, lines) >= erlang_b(erlangs, lines) - 1e-15


def test_slots_carry_most_at_one_burst_each() -> None:
    offered = np.linspace(0.0, 4.0, 4001)
    through = slotted_aloha(offered)
    assert offered[np.argmax(through)] == pytest.approx(1.0, abs=1e-3)
    assert through.max() == pytest.approx(math.exp(-1), rel=1e-9)


@given(st.floats(0.0, 0.3678))
def test_what_is_sent_gets_so_much_through(throughput: float) -> None:
    sent = offered_to_slots(throughput)
    assert 0 <= sent <= 1
    assert float(slotted_aloha(sent)) == pytest.approx(throughput, abs=1e-9)


def test_the_load_that_gets_through_is_that_of_lambert_s_w() -> None:
    """scipy.special.lambertw, principal branch."""
    for throughput in (0.0, 1e-6, 0.1, 0.25, 0.36, 0.3678):
        expected = float(-lambertw(-throughput).real)
        assert offered_to_slots(throughput) == pytest.approx(expected, rel=1e-9, abs=1e-15)


def test_what_is_no_traffic_is_refused() -> None:
    with pytest.raises(ValueError, match="no traffic in erlangs"):
        erlang_b(-1.0, 2)
    with pytest.raises(ValueError, match="no traffic in erlangs"):
        lines_for(math.nan, 0.01)
    with pytest.raises(ValueError, match="no number of lines"):
        erlang_b(1.0, -1)
    for share in (0.0, 1.0):
        with pytest.raises(ValueError, match="no share between 0 and 1"):
            lines_for(1.0, share)
    with pytest.raises(ValueError, match="more than 1000000 lines"):
        lines_for(1.1 * MOST_LINES, 0.01)
    with pytest.raises(ValueError, match="at most 1/e does"):
        offered_to_slots(0.4)
