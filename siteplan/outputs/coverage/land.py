"""Land as polygons, from the basemap that the map draws (Natural Earth, public domain)."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.outputs.coverage.contours import Geometry, polygons_only
from siteplan.results import Frame

FloatArray = NDArray[np.float64]


def decoded(text: str) -> NDArray[np.int64]:
    """Return the whole numbers in a text of the encoded polyline algorithm format."""
    codes = np.frombuffer(text.encode("ascii"), dtype=np.uint8).astype(np.int64) - 63
    last = codes < 0x20
    ends = np.flatnonzero(last)
    starts = np.concatenate([[0], ends[:-1] + 1])
    place = np.arange(len(codes)) - np.repeat(starts, ends - starts + 1)
    values = np.add.reduceat((codes & 0x1F) << (5 * place), starts)
    return np.where(values & 1, ~(values >> 1), values >> 1)


@cache
def _rings() -> tuple[FloatArray, ...]:
    """Return the rings of all land, (n, 2) longitude and latitude [deg], without jumps."""
    raw = json.loads(resources.files("siteplan").joinpath("basemap", "basemap.json").read_bytes())
    arcs = [
        np.cumsum(decoded(text).reshape(-1, 2), axis=0) * raw["step_deg"] for text in raw["arcs"]
    ]
    return tuple(
        _joined([arcs[k] if k >= 0 else arcs[~k][::-1] for k in ring]) for ring in raw["land"]
    )


def _joined(parts: list[FloatArray]) -> FloatArray:
    """Return arcs as one line; each is moved by whole turns to meet the one before."""
    line = [parts[0]]
    for part in parts[1:]:
        turns = np.round((line[-1][-1, 0] - part[0, 0]) / 360)
        line.append(np.add(part, (360 * turns, 0)))
    return np.vstack(line)


def land(frame: Frame) -> Geometry:
    """Return the land inside a frame.

    Parameters
    ----------
    frame : Frame
        South, west, north, east [deg]; east may pass 180.

    Returns
    -------
    shapely.MultiPolygon
        Longitudes run on as the frame's do. Good to about 2 km, as the basemap is.
    """
    import shapely

    south, west, north, east = frame
    box = shapely.box(west, south, east, north)
    rings = [
        shapely.Polygon(np.add(ring, (360 * turn, 0)))
        for ring in _rings()
        for turn in (-1, 0, 1)
        if ring[:, 0].max() + 360 * turn >= west
        and ring[:, 0].min() + 360 * turn <= east
        and ring[:, 1].max() >= south
        and ring[:, 1].min() <= north
    ]
    return polygons_only(_even_odd(rings, box))


def _even_odd(rings: list[Geometry], box: Geometry) -> Geometry:
    """Return what an even-odd fill of the rings covers inside a box."""
    import shapely

    whole = shapely.make_valid(np.array(rings, dtype=object))
    depth = np.zeros(len(rings), dtype=int)
    if len(rings):
        _, inner = shapely.STRtree(whole).query(whole, predicate="contains")
        depth += np.bincount(inner, minlength=len(rings)) - 1
    clipped: NDArray[Any] = shapely.intersection(whole, box)
    solid = shapely.union_all(clipped[depth % 2 == 0])
    return shapely.difference(solid, shapely.union_all(clipped[depth % 2 == 1]))
