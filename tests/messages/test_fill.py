"""Sentences filled for many sites at once equal sentences formatted one by one."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from siteplan.messages import fill, join


@given(st.lists(st.floats(-500, 500), min_size=1, max_size=30))
def test_fill_equals_formatting_one_by_one(numbers: list[float]) -> None:
    values = {"x": np.array(numbers), "y": np.arange(len(numbers), dtype=float)}
    template = "{x:.1f} dB at {y:.0f} deg, {{braces}} 100 %"
    expected = [
        template.format(x=float(np.round(x, 1)) + 0.0, y=float(k)) for k, x in enumerate(numbers)
    ]
    assert fill(template, values).tolist() == expected


def test_fill_without_numbers_and_without_sites() -> None:
    assert fill("plain", {"x": np.zeros(2)}).tolist() == ["plain", "plain"]
    assert fill("{x:.1f}", {"x": np.zeros(0)}).tolist() == []


def test_join_keeps_the_order() -> None:
    masks = [np.array([True, False, True]), np.array([True, True, False])]
    texts = [np.array(["a", "b"], dtype=object), np.array(["c", "d"], dtype=object)]
    joined = join(list(zip(masks, texts, strict=True)), ";", 3)
    assert joined.tolist() == ["a;c", "d", "b"]
