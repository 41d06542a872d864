"""How long fades last: what holds of the two distributions whatever their figures."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.propagation.fade_duration import (
    ELEVATION_RANGE_DEG,
    FREQUENCY_RANGE_GHZ,
    YEAR_S,
    durations,
    fades_longer,
)

A, EL, F = np.array([1.0, 4.0, 12.0]), np.array([10.0, 35.0, 55.0]), np.array([11.95, 14.25, 29.5])


def test_fewer_fades_are_longer() -> None:
    counts = np.array([fades_longer(d, A, EL, F, 1e5) for d in (1, 10, 60, 600, 3_600, 36_000)])
    assert (np.diff(counts, axis=0) < 0).all()
    assert (counts > 0).all()


def test_the_two_distributions_meet_at_their_boundary() -> None:
    bound = durations(A, EL, F).bound_s
    for k in range(len(A)):
        below, above = (
            fades_longer(bound[k] * x, A[k], EL[k], F[k], 1e5) for x in (1 - 1e-9, 1 + 1e-9)
        )
        assert float(above) == pytest.approx(float(below), rel=1e-7)


def test_counts_grow_with_the_time_faded() -> None:
    once, twice = (fades_longer(60, A, EL, F, t) for t in (1e4, 2e4))
    np.testing.assert_allclose(twice, 2 * once, rtol=1e-12)


def test_short_fades_take_their_part_of_the_time() -> None:
    """Durations summed over the power law below the boundary: the part that steps 6 and 9 give."""
    of = durations(A, EL, F)
    for k in range(len(A)):
        edges = np.geomspace(1, float(of.bound_s[k]), 4_001)
        longer = np.array([float(fades_longer(d, A[k], EL[k], F[k], 1.0)) for d in edges[::40]])
        middle = np.sqrt(edges[::40][1:] * edges[::40][:-1])
        summed = float(np.sum(-np.diff(longer) * middle))
        whole = of.short[k] * (1 - of.bound_s[k] ** (of.exponent[k] - 1))
        assert summed == pytest.approx(whole, rel=2e-3)


@pytest.mark.parametrize(
    ("a", "el", "f"),
    [(0.0, 30, 14), (-1, 30, 14), (3, 4.99, 14), (3, 60.01, 14), (3, -2, 14), (3, 30, 9.9),
     (3, 30, 50.1), (np.nan, 30, 14), (3, np.nan, 14)],
)  # fmt: skip
def test_outside_its_range_there_is_no_answer(a: float, el: float, f: float) -> None:
    assert np.isnan(fades_longer(10, a, el, f, 1e5))


def test_the_ends_of_the_range_are_in() -> None:
    ends = np.array(ELEVATION_RANGE_DEG), np.array(FREQUENCY_RANGE_GHZ)
    assert np.isfinite(fades_longer(10, 3.0, *ends, 1e5)).all()


def test_shorter_than_a_second_is_refused() -> None:
    with pytest.raises(ValueError, match="less than 1 s"):
        fades_longer(0.5, 3.0, 30, 14, 1e5)


def test_a_year_of_seconds() -> None:
    assert YEAR_S == 31_557_600
