"""Margin classes of the network file."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray
from siteplan.words import NO_KIT, class_labels

FloatArray = NDArray[np.float64]


def margin_class(
    margin_db: FloatArray, bounds_db: tuple[float, ...], *, given: BoolArray | None = None
) -> NDArray[np.object_]:
    """Return the class of each margin (n,), such as ``1 to 3 dB``; empty where NaN.

    A margin on a bound belongs to the class above it. Where (n,) no kit is ``given`` the margin is
    that of a pair which was only tried, and has no class: ``no kit``.
    """
    labels = [*class_labels(bounds_db, "dB"), NO_KIT, ""]
    index = np.searchsorted(bounds_db, np.round(margin_db, 6), side="right")
    if given is not None:
        index = np.where(given, index, len(labels) - 2)
    index = np.where(np.isnan(margin_db), len(labels) - 1, index)
    return np.array(labels, dtype=object)[index]
