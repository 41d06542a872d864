"""Colour ramps, blended in a space where equal steps look equal."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

#: OKLab's matrices (B. Ottosson, 2020): linear sRGB to LMS, and the LMS roots to Lab.
_TO_LMS = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def linear_rgb(colors: Sequence[str]) -> NDArray[np.float64]:
    """Return linear sRGB (n, 3) in [0, 1] of colours like ``#a3142a`` (IEC 61966-2-1)."""
    rgb = np.array([list(bytes.fromhex(color[1:])) for color in colors]) / 255
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def _hex(linear: NDArray[np.float64]) -> list[str]:
    kept = np.clip(linear, 0, 1)
    rgb = np.where(kept <= 0.0031308, kept * 12.92, 1.055 * kept ** (1 / 2.4) - 0.055)
    return ["#" + bytes(row.tolist()).hex() for row in np.rint(rgb * 255).astype(np.uint8)]


def ramp_colors(anchors: Sequence[str], count: int) -> list[str]:
    """Return ``count`` colours evenly along ``anchors``, blended in OKLab."""
    if count == 0:
        return []
    lab = np.cbrt(linear_rgb(anchors) @ _TO_LMS.T) @ _TO_LAB.T
    at = np.linspace(0, len(anchors) - 1, count) if count > 1 else np.array([0.0])
    blend = np.column_stack([np.interp(at, np.arange(len(anchors)), axis) for axis in lab.T])
    lms = (blend @ np.linalg.inv(_TO_LAB).T) ** 3
    return _hex(lms @ np.linalg.inv(_TO_LMS).T)
