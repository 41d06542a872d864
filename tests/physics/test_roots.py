"""Roots side by side: where they are, where there are none, and how few calls they take."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from siteplan.physics.roots import Ending, find_roots, find_roots_near

#: Smooth functions of one root in 0 to 5: by name the function and its root.
SMOOTH: dict[str, tuple[Callable[[np.ndarray], np.ndarray], float]] = {
    "square": (lambda x: x**2 - 2, 2**0.5),
    "cube": (lambda x: x**3 - 30, 30 ** (1 / 3)),
    "falling": (lambda x: 1 - np.exp(x - 3.3), 3.3),
    "cosine": (lambda x: np.cos(x / 2) - 0.25, 2 * np.arccos(0.25)),
    "logarithm": (lambda x: np.log(x + 0.01) - np.log(0.51), 0.5),
    "steep": (lambda x: np.expm1(4 * (x - 1.234)), 1.234),
}


def counted(
    function: Callable[[np.ndarray], np.ndarray], low: float, high: float, tolerance: float = 1e-9
) -> tuple[float, int]:
    """Return a root and how often the function was asked."""
    calls: list[int] = []

    def asked(x: np.ndarray, index: np.ndarray) -> np.ndarray:
        calls.append(len(x))
        return function(x)

    (root,) = find_roots(asked, np.array([low]), np.array([high]), tolerance=tolerance)
    return float(root), len(calls)


@pytest.mark.parametrize("name", SMOOTH)
@pytest.mark.parametrize("turned", [False, True])
def test_a_smooth_function_takes_less_than_half_the_calls_of_halving(
    name: str, turned: bool
) -> None:
    """Halving 5 to 1e-9 takes 33 calls; inverse quadratic steps gain digits each time."""
    function, root = SMOOTH[name]
    ends = (5.0, 0.0) if turned else (0.0, 5.0)
    found, calls = counted(function, *ends)
    assert found == pytest.approx(root, abs=1e-9)
    assert calls <= 14
    mirrored, again = counted(lambda x: -function(x), *ends)
    assert (mirrored, again) == (found, calls)


def test_a_hard_function_takes_no_more_than_three_times_halving() -> None:
    """Flat to the ninth order: Chandrupatla's steps fall back on halving."""
    found, calls = counted(lambda x: (x - 1) ** 9, 0.0, 5.0, 1e-6)
    assert found == pytest.approx(1, abs=1e-6)
    assert calls <= 3 * 23


def test_a_jump_through_zero_is_a_root() -> None:
    found, _ = counted(lambda x: np.where(x < 1.7, -1.0, 2.0), 0.0, 5.0)
    assert found == pytest.approx(1.7, abs=1e-9)


def test_each_problem_has_its_own_root_and_is_no_longer_asked_when_it_is_found() -> None:
    asked: list[int] = []
    names = list(SMOOTH)

    def all_of_them(x: np.ndarray, index: np.ndarray) -> np.ndarray:
        assert (np.diff(index) > 0).all()
        asked.append(len(x))
        return np.array(
            [SMOOTH[names[i]][0](np.array([v]))[0] for v, i in zip(x, index, strict=True)]
        )

    n = len(names)
    found = find_roots(all_of_them, np.zeros(n), np.full(n, 5.0))
    np.testing.assert_allclose(found, [root for _, root in SMOOTH.values()], atol=1e-9)
    assert asked[:2] == [n, n]
    assert (np.diff(asked) <= 0).all()
    assert asked[-1] < n
    assert sum(asked) == sum(counted(function, 0.0, 5.0)[1] for function, _ in SMOOTH.values())


def test_ends_that_are_roots_and_brackets_without_one() -> None:
    offset = np.array([0.0, -5.0, 1.0, np.nan, 2.0])
    low, high = np.zeros(5), np.array([5.0, 5.0, 5.0, 5.0, np.nan])
    found = find_roots(lambda x, index: x + offset[index], low, high)
    np.testing.assert_allclose(found, [0, 5, np.nan, np.nan, np.nan], atol=1e-12)


def test_the_tolerance_is_the_width_that_is_left() -> None:
    """The end that is told is the nearer to zero: within the width, and a wide one asks less."""
    function, root = SMOOTH["logarithm"]
    calls = []
    for tolerance in (1e-1, 1e-4, 1e-12):
        found, asked = counted(function, 0.0, 5.0, tolerance)
        assert abs(found - root) <= tolerance
        calls.append(asked)
    assert calls == sorted(calls)
    assert calls[0] < calls[-1]


def test_nothing_to_find() -> None:
    none = np.zeros(0)
    assert find_roots(lambda x, index: x, none, none).shape == (0,)


def test_where_a_function_is_steep_a_value_near_zero_ends_the_search() -> None:
    """f falls by at least one for each one of x: what is left of f bounds what is left of x."""
    at = np.linspace(-3, 40, 200)
    calls = {True: 0, False: 0}

    def found(steep: bool) -> np.ndarray:
        def function(x: np.ndarray, k: np.ndarray) -> np.ndarray:
            calls[steep] += len(x)
            return at[k] - x - (x - at[k]) ** 3

        return find_roots(function, at - 7, at + 11, tolerance=1e-11, steep=steep)

    for steep in (True, False):
        np.testing.assert_allclose(found(steep), at, rtol=0, atol=1e-11)
    assert calls[True] < calls[False]


def near(
    function: Callable[[np.ndarray], np.ndarray],
    start: float,
    step: float,
    ends: tuple[float, float] = (0.0, 5.0),
) -> tuple[float, int]:
    """Return the root that is sought from a start, and how often the function was asked."""
    calls: list[int] = []

    def asked(x: np.ndarray, index: np.ndarray) -> np.ndarray:
        calls.append(len(x))
        return function(x)

    first = np.array([start]), function(np.array([start]))
    (root,) = find_roots_near(asked, first, step, ends, ending=Ending(1e-9))
    return float(root), len(calls)


@pytest.mark.parametrize("name", [name for name in SMOOTH if name not in ("falling", "cosine")])
@pytest.mark.parametrize("beside", [-0.2, -0.001, 0.001, 0.2])
def test_a_start_near_the_root_takes_fewer_calls_than_a_wide_bracket(
    name: str, beside: float
) -> None:
    function, root = SMOOTH[name]
    found, calls = near(function, root + beside, abs(beside) * 1.1)
    assert found == pytest.approx(root, abs=1e-9)
    assert calls <= 8
    assert calls < counted(function, 0.0, 5.0)[1]


@pytest.mark.parametrize("start", [0.0, 0.3, 4.9, 5.0])
def test_a_start_far_from_the_root_finds_it_too(start: float) -> None:
    """Short steps grow twice as long each time: ten of 0.004 reach across."""
    function, root = SMOOTH["cube"]
    found, calls = near(function, start, 0.004)
    assert found == pytest.approx(root, abs=1e-9)
    assert calls <= 24


def test_no_root_between_the_ends_and_roots_at_what_is_tried() -> None:
    offset = np.array([-9.0, 9.0, np.nan, -2.0, -3.0, -5.0, -np.inf])
    start = np.full(7, 2.0)
    found = find_roots_near(
        lambda x, k: x + offset[k], (start, start + offset), 1.0, (0.0, 5.0), ending=Ending(1e-9)
    )
    np.testing.assert_allclose(found, [np.nan, np.nan, np.nan, 2, 3, 5, np.nan], rtol=0, atol=1e-12)


def test_a_jump_and_an_infinite_value_do_not_stop_the_search() -> None:
    jump, _ = near(lambda x: np.where(x < 1.7, x - 3, np.inf), 4.0, 0.5)
    assert jump == pytest.approx(1.7, abs=2e-9)


def test_no_problem_is_near_a_root() -> None:
    none = np.zeros(0)
    found = find_roots_near(lambda x, k: x, (none, none), 1.0, (0.0, 1.0), ending=Ending(1e-9))
    assert found.shape == (0,)
