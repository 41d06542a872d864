"""Histograms, and how many sites have which antenna with which BUC."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Network
from siteplan.planning.targets import annual_target_pct
from siteplan.reported import Bars, Matrix

#: At most so many bars; the widths that they may have.
_MOST_BARS = 14
_WIDTHS = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
#: Margins outside are gathered in the outermost bars, lest one site stretch the picture [dB].
_MARGIN_SPAN_DB = (-10.0, 15.0)
#: Edges of the bars of availability [%]: the steps that people lease and sign for.
AVAILABILITY_EDGES = (95, 98, 99, 99.5, 99.7, 99.8, 99.9, 99.95, 99.99, 99.999)
ELEVATION_STEP_DEG = 5.0


def histograms(
    columns: Mapping[str, NDArray[Any]], planned: BoolArray, network: Network
) -> tuple[Bars, ...]:
    """Return the histograms of margin after reserve, elevation and availability.

    Parameters
    ----------
    columns : mapping of arrays (n,)
        Result fields.
    planned : (n,) array of bool
        Which sites have kit.
    network : Network
        Whose least elevation and target are marked.
    """
    margin = columns["margin_after_reserve_db"]
    elevation = columns["elevation_deg"]
    availability = columns["availability_achieved_pct"]
    rules, asked = network.rules, np.array([network.usual_target_pct])
    target = float(annual_target_pct(network, asked)[0])
    everywhere = np.ones(len(planned), dtype=bool)
    return (
        bars("margin_after_reserve_db", margin, planned, _margin_edges(margin), (0.0,)),
        bars("elevation_deg", elevation, everywhere, _elevation_edges(elevation),
             (rules.min_elevation_deg,)),
        bars("availability_achieved_pct", availability, planned,
             _in_use(AVAILABILITY_EDGES, availability), (target,)),
    )  # fmt: skip


def bars(
    field: str,
    values: FloatArray,
    planned: BoolArray,
    edges: Sequence[float],
    marks: tuple[float, ...],
) -> Bars:
    """Return how many values (n,) lie between which edges, the outermost bars open."""
    inner = np.asarray(edges[1:-1], dtype=float)
    which = np.searchsorted(inner, np.round(values, 6), side="right")
    known = ~np.isnan(values)

    def count(where: BoolArray) -> tuple[int, ...]:
        return tuple(np.bincount(which[where & known], minlength=len(inner) + 1).tolist())

    return Bars(
        field,
        tuple(float(edge) for edge in edges),
        count(planned),
        count(~planned),
        int((~known).sum()),
        marks,
    )


def _margin_edges(values: FloatArray) -> list[float]:
    """Return edges of one width around all margins but those far out; 0 is one of them."""
    low, high = _span(values, _MARGIN_SPAN_DB)
    width = next((w for w in _WIDTHS if _count(low, high, w) <= _MOST_BARS), _WIDTHS[-1])
    first, last = np.floor(low / width), np.floor(high / width) + 1
    return [float(k * width) for k in np.arange(first, last + 1)]


def _elevation_edges(values: FloatArray) -> list[float]:
    """Return edges every 5 degrees around all elevations."""
    low, high = _span(values, (0.0, 89.9))
    first, last = low // ELEVATION_STEP_DEG, high // ELEVATION_STEP_DEG + 1
    return [float(k * ELEVATION_STEP_DEG) for k in np.arange(first, last + 1)]


def _span(values: FloatArray, limits: tuple[float, float]) -> tuple[float, float]:
    """Return the least and the greatest value inside limits; without values the lower limit."""
    known = values[~np.isnan(values)]
    if not known.size:
        return 0.0, 0.0
    low, high = np.clip([known.min(), known.max()], *limits)
    return float(low), float(high)


def _count(low: float, high: float, width: float) -> float:
    return float(np.floor(high / width) - np.floor(low / width) + 1)


def _in_use(edges: Sequence[float], values: FloatArray) -> list[float]:
    """Return the edges around the values, with one more on each side for the open bars."""
    known = values[~np.isnan(values)]
    whole = [0.0, *edges, 100.0]
    if not known.size:
        return [whole[-2], whole[-1]]
    first = int(np.searchsorted(whole, known.min(), side="right")) - 1
    last = int(np.searchsorted(whole, known.max(), side="right"))
    return whole[max(first, 0) : min(last, len(whole) - 1) + 1]


def matrix(antenna_m: FloatArray, buc_w: FloatArray) -> Matrix:
    """Return how many sites (n,) have which antenna with which BUC."""
    paired = ~(np.isnan(antenna_m) | np.isnan(buc_w))
    antennas, row = np.unique(antenna_m[paired], return_inverse=True)
    bucs, column = np.unique(buc_w[paired], return_inverse=True)
    counts = np.zeros((len(antennas), len(bucs)), dtype=np.int64)
    np.add.at(counts, (row, column), 1)
    return Matrix(
        tuple(antennas.tolist()),
        tuple(bucs.tolist()),
        tuple(tuple(line) for line in counts.tolist()),
        int((~paired).sum()),
    )
