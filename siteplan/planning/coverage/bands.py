"""Classes of the quantities that coverage gives: levels, and the words for what lies between."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.results import Band
from siteplan.words import class_labels

#: More catalogue sizes than this are thinned before they become contours.
MOST_SIZES = 8
#: The part of the values that round levels are laid through [%]: the ends are left open.
_CORE_PCT = (2.0, 98.0)
#: Steps of round levels: these times powers of ten.
_ROUND = (1, 2, 5, 10, 20, 50, 100)


def antenna_bands(diameter_m: Iterable[float]) -> tuple[Band, ...]:
    """Return the classes between the catalogue's diameters [m], rising.

    The last is beyond the catalogue. Of many sizes some are left out, never the largest.
    """
    sizes = [float(d) for d in diameter_m]
    if len(sizes) > MOST_SIZES:
        kept = np.linspace(0, len(sizes) - 1, MOST_SIZES).round().astype(int)
        sizes = [sizes[k] for k in kept]
    lows = [-math.inf, *sizes[:-1]]
    first, *others = (Band(low, high, f"{high:g} m") for low, high in zip(lows, sizes, strict=True))
    first = Band(first.low, first.high, f"{first.label} will do")
    return first, *others, Band(sizes[-1], math.inf, f"more than {sizes[-1]:g} m", care=True)


def elevation_bands(
    levels: Iterable[float], floor_deg: float, lowest_deg: float
) -> tuple[Band, ...]:
    """Return the classes of elevation [deg], rising.

    The floor is a level where the area's lowest elevation is under it; what is below the
    horizon is a class of its own.
    """
    special = [level for level in (0.0, float(floor_deg)) if lowest_deg < level]
    classes = level_bands(sorted({*special, *(v for v in levels if v > 0)}), "°")
    if lowest_deg >= 0:
        return classes
    below, *others = classes
    return Band(below.low, below.high, "below the horizon", care=True), *others


def level_bands(levels: Iterable[float], unit: str) -> tuple[Band, ...]:
    """Return the classes between rising levels, open at both ends."""
    rising = list(levels)
    ends = itertools.pairwise((-math.inf, *rising, math.inf))
    labels = class_labels(rising, unit)
    return tuple(Band(low, high, label) for (low, high), label in zip(ends, labels, strict=True))


def nice_levels(values: FloatArray, *, most: int = 7) -> list[float]:
    """Return round levels through the core of ``values`` (any shape), at most ``most``.

    Steps are 1, 2 or 5 times a power of ten, the finest that keeps to that. Empty where the
    values are all the same, or NaN.
    """
    finite = values[np.isfinite(values)]
    if finite.size == 0:
        return []
    low, high = (float(v) for v in np.percentile(finite, _CORE_PCT))
    if high - low <= 1e-9 * max(abs(low), abs(high)):
        return []
    power = 10.0 ** (math.floor(math.log10(high - low)) - 1)
    for step in (m * power for m in _ROUND):
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first < most:
            return [float(f"{k * step:.6g}") for k in range(first, last + 1)]
    return []
