"""The grid of an area: nodes on whole multiples of the step."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import NetworkError
from siteplan.results import Frame, Grid

#: How many nodes a grid may have.
MOST_NODES = 4_000_000
#: The area goes this far beyond the sites: a share of their extent, but at least [deg].
_MARGIN_SHARE, _LEAST_MARGIN_DEG = 0.1, 0.5


def around(extent: Frame) -> Frame:
    """Return the frame [deg] of an area around sites: their extent and a margin."""
    south, west, north, east = extent
    high = max(_MARGIN_SHARE * (north - south), _LEAST_MARGIN_DEG)
    wide = min(max(_MARGIN_SHARE * (east - west), _LEAST_MARGIN_DEG), (360 - (east - west)) / 2)
    return max(south - high, -90.0), west - wide, min(north + high, 90.0), east + wide


def make_grid(frame: Frame, step_deg: float) -> Grid:
    """Return the grid that covers a frame, its nodes on whole multiples of the step.

    Parameters
    ----------
    frame : Frame
        South, west, north, east [deg]; at most a whole turn wide.
    step_deg : float
        Spacing [deg], above 0.

    Returns
    -------
    Grid
        At least two nodes each way, none beyond the poles. A frame of a whole turn ends on the
        meridian on which it began.

    Raises
    ------
    NetworkError
        If the grid would have more than ``MOST_NODES`` nodes.
    """
    south, west, north, east = frame
    rows = _multiples(south, north, step_deg)
    rows = rows[np.abs(rows * step_deg) <= 90 + 1e-9]
    cols = _multiples(west, min(east, west + 360), step_deg)
    turn = round(360 / step_deg)
    if math.isclose(turn * step_deg, 360):
        cols = cols[: turn + 1]
    nodes = len(rows) * len(cols)
    if nodes > MOST_NODES:
        coarser = math.ceil(105 * step_deg * math.sqrt(nodes / MOST_NODES)) / 100
        raise NetworkError(
            f"a step of {step_deg:g} deg makes {nodes:,} points, more than {MOST_NODES:,}.",
            where="coverage step",
            fix=f"Use {coarser:g} deg or more, or a smaller area.",
        )
    return Grid(np.round(rows * step_deg, 9), np.round(cols * step_deg, 9), step_deg)


def _multiples(low: float, high: float, step: float) -> NDArray[np.int64]:
    """Return the whole multiples of a step from the last at or below ``low`` to past ``high``."""
    first = math.floor(low / step + 1e-9)
    last = max(math.ceil(high / step - 1e-9), first + 1)
    return np.arange(first, last + 1)
