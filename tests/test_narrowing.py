"""A group of arrays asked for fewer and fewer of its sites."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.arrays import FloatArray, IntArray, Narrowing, take


@dataclass(frozen=True)
class Heights:
    height_m: FloatArray

    def take(self, index: IntArray) -> Heights:
        return take(self, index)


def test_the_same_sites_are_taken_once_and_others_from_the_whole() -> None:
    those = Narrowing(Heights(np.arange(6.0) * 10))
    first = those.at(np.array([1, 3, 5]))
    assert first.height_m.tolist() == [10, 30, 50]
    assert those.at(np.array([1, 3, 5])) is first
    assert those.at(np.array([3, 5])).height_m.tolist() == [30, 50]
    assert those.at(np.array([0, 2])).height_m.tolist() == [0, 20]  # as many, but others
    assert those.at(np.arange(6)).height_m.tolist() == [0, 10, 20, 30, 40, 50]
