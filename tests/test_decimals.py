"""Values as they are written: one rounding for every file."""

from __future__ import annotations

import math

import numpy as np

from siteplan.arrays import at_decimals


def test_numbers_are_rounded_and_lose_a_minus_zero() -> None:
    found = at_decimals(np.array([-0.04, 1.26, np.nan]), 1)
    assert found[1] == 1.3
    assert math.copysign(1, found[0]) == 1
    assert np.isnan(found[2])
    assert at_decimals(np.array([1234.6]), 0).tolist() == [1235.0]


def test_texts_and_whole_numbers_stay_as_they_are() -> None:
    for values in (np.array(["1.26"], dtype=object), np.array([3]), np.array([True])):
        assert at_decimals(values, 1) is values


def test_without_decimals_numbers_stay_as_they_are() -> None:
    values = np.array([1.26])
    assert at_decimals(values, None) is values
