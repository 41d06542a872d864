"""Margin classes of the network file."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def class_labels(bounds_db: tuple[float, ...]) -> list[str]:
    """Return the label of each class between bounds [dB], the worst first."""
    texts = [f"{b:g}" for b in bounds_db]
    between = [f"{a} to {b} dB" for a, b in itertools.pairwise(texts)]
    return [f"below {texts[0]} dB", *between, f"{texts[-1]} dB or more"]


def margin_class(margin_db: FloatArray, bounds_db: tuple[float, ...]) -> NDArray[np.object_]:
    """Return the class of each margin (n,), such as ``1 to 3 dB``; empty where NaN.

    A margin on a bound belongs to the class above it.
    """
    labels = [*class_labels(bounds_db), ""]
    index = np.searchsorted(bounds_db, np.round(margin_db, 6), side="right")
    index = np.where(np.isnan(margin_db), len(labels) - 1, index)
    return np.array(labels, dtype=object)[index]
