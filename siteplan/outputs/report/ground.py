"""Land, borders and graticule in a window, as lines of SVG, from the basemap."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray
from siteplan.basemap.rings import arcs, land_boxes, land_rings, read
from siteplan.outputs.report.projection import Window
from siteplan.outputs.shown import sided
from siteplan.outputs.svg import path, stepped, text

#: Points nearer than this to the one before are left out [units of paper].
_NEAR = 1.1
#: Lines are followed so far outside the window [units].
_OUTSIDE = 60.0
#: Longer steps of a ring are parted, so that they bend with the projection [deg].
_LONGEST_DEG = 1.5
#: Distances between lines of the graticule [deg]; about so many cross a window.
_STEPS_DEG = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0)
_LINES = 5
#: Width of a letter of the words at the lines [units].
_TINY = 5.0


def land(view: Window) -> str:
    """Return the land in a window as one filled shape, its coast as outline.

    Around a pole it has none: there it is cut along a meridian that lies in the window.
    """
    south, west, north, east = view.bounds()
    box = (south, view.lon + west, north, view.lon + east)
    cut = [_bent(piece) for ring in _rings_near(box) if len(piece := _cut(ring, box)) > 2]
    if not cut:
        return ""
    lon, lat = np.concatenate(cut).T
    points = np.split(view.at(lat, lon), np.cumsum([len(piece) for piece in cut])[:-1])
    drawn = "".join(_d(kept) + "Z" for piece in points if len(kept := _thinned(piece)) > 3)
    css = "land" if _around_pole(view) else "land coast"
    return f'<path class="{css}" fill-rule="evenodd" d="{drawn}"/>'


def _around_pole(view: Window) -> bool:
    _, west, _, east = view.bounds()
    return not view.flat and east - west >= 360


def _rings_near(box: tuple[float, float, float, float]) -> Iterator[FloatArray]:
    """Yield the rings that reach into a box, each on its side of the world."""
    south, west, north, east = box
    corners, rings = land_boxes(), land_rings()
    for turn in (-720, -360, 0, 360, 720):
        reach = (corners[:, 2] + turn >= west) & (corners[:, 0] + turn <= east)
        reach &= (corners[:, 3] >= south) & (corners[:, 1] <= north)
        for k in np.flatnonzero(reach).tolist():
            yield np.add(rings[k], (turn, 0))


def _cut(ring: FloatArray, box: tuple[float, float, float, float]) -> FloatArray:
    """Return a ring (n, 2) of longitudes and latitudes inside a box.

    Sutherland and Hodgman's algorithm, an edge of the box after the other; pieces that it joins
    are joined along the edge, where filling by the even-odd rule shows nothing.
    """
    south, west, north, east = box
    for axis, limit, sign in ((0, west, 1), (0, east, -1), (1, south, 1), (1, north, -1)):
        ring = _half(ring, axis, limit, sign)
        if len(ring) < 3:
            break
    return ring


def _half(ring: FloatArray, axis: int, limit: float, sign: int) -> FloatArray:
    """Return what of a closed ring lies on one side of a line."""
    if len(ring) == 0:
        return ring
    depth = (ring[:, axis] - limit) * sign
    if (depth >= 0).all():
        return ring
    following, depth_following = np.roll(ring, -1, axis=0), np.roll(depth, -1)
    crossing = (depth >= 0) != (depth_following >= 0)
    share = np.where(crossing, depth / np.where(crossing, depth - depth_following, 1.0), 0.0)
    met = ring + share[:, None] * (following - ring)
    both = np.stack([ring, met], axis=1).reshape(-1, 2)
    return np.asarray(both[np.stack([depth >= 0, crossing], axis=1).ravel()])


def _bent(ring: FloatArray) -> FloatArray:
    """Return a closed ring with its long steps parted."""
    ring = np.vstack([ring, ring[:1]])
    steps = np.abs(np.diff(ring, axis=0)).max(axis=1)
    parts = np.maximum(np.ceil(steps / _LONGEST_DEG), 1).astype(np.intp)
    each = np.repeat(np.arange(len(parts)), parts)
    along = (np.arange(len(each)) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[each]
    return np.asarray(ring[each] + along[:, None] * (ring[each + 1] - ring[each]))


def _thinned(points: FloatArray) -> FloatArray:
    """Return points of a line without those that no eye tells apart."""
    moved = np.any(np.diff(np.round(points / _NEAR), axis=0) != 0, axis=1)
    return np.asarray(points[np.concatenate([[True], moved])])


@cache
def _lines(kind: str) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return all points (n, 2) of a kind of line, and the number of the line of each (n,)."""
    lines = [arcs()[k if k >= 0 else ~k] for k in read("basemap.json")[kind]]
    return np.concatenate(lines), np.repeat(np.arange(len(lines)), [len(line) for line in lines])


def strokes(view: Window) -> str:
    """Return borders in a window as one path, and coasts where the land is without outline."""
    south, west, north, east = view.bounds()
    drawn = []
    for kind in ("coast", "border") if _around_pole(view) else ("border",):
        points, owner = _lines(kind)
        off = (points[:, 0] - view.lon + 180) % 360 - 180
        here = (points[:, 1] >= south - 1) & (points[:, 1] <= north + 1)
        here &= (off >= west - 1) & (off <= east + 1)
        at = np.flatnonzero(here)
        placed = view.at(points[at, 1], points[at, 0])
        breaks = (np.diff(at) > 1) | (np.diff(owner[at]) > 0)
        pieces = (_d(piece) for piece in _pieces(view, placed, breaks))
        if d := "".join(pieces):
            drawn.append(f'<path class="{kind}" d="{d}"/>')
    return "".join(drawn)


def _pieces(
    view: Window, points: FloatArray, breaks: NDArray[np.bool_] | None = None
) -> Iterator[FloatArray]:
    """Yield the pieces of lines (n, 2) in a window; lines end at ``breaks`` (n - 1,)."""
    if len(points) < 2:
        return
    near = view.inside(points, _OUTSIDE)
    jump = np.abs(np.diff(points[:, 0])) > view.scale if view.flat else np.zeros(len(near) - 1)
    ends = (jump > 0) | (near[1:] != near[:-1])
    cuts = np.flatnonzero(ends if breaks is None else ends | breaks) + 1
    for piece, kept in zip(np.split(points, cuts), np.split(near, cuts), strict=True):
        if kept[0] and len(piece) > 1:
            yield _thinned(piece)


def _d(points: FloatArray) -> str:
    """Return a line as the data of a path."""
    return stepped(np.rint(points * 10).astype(np.int64).tolist())


# --- graticule ------------------------------------------------------------------------------


def graticule(view: Window) -> str:
    """Return meridians and parallels in a window, with what they are where they leave it."""
    south, west, north, east = view.bounds()
    lat_step = _step(north - south)
    lon_step = _step(east - west) if east - west < 360 else 30.0
    along = np.linspace(0, 1, 181)
    drawn = []
    for lat in _rounds(south, north, lat_step):
        if abs(lat) < 90:
            line = view.at(np.full(181, lat), view.lon + west + along * (east - west))
            drawn.append(_line(view, line, sided(lat, "NS"), axis=0))
    top = min(north, 90 - lat_step) if east - west >= 360 else north
    low = max(south, lat_step - 90) if east - west >= 360 else south
    for lon in _rounds(view.lon + west, view.lon + east, lon_step):
        line = view.at(low + along * (top - low), np.full(181, lon))
        east_of = (lon + 180) % 360 - 180
        drawn.append(_line(view, line, sided(east_of, "EW"), axis=1))
    return "".join(drawn)


def _line(view: Window, line: FloatArray, words: str, *, axis: int) -> str:
    """Return a line, with its words at the left edge (``axis`` 0) or at the lower one (1)."""
    drawn = "".join(path([(x, y) for x, y in p.tolist()], "grid") for p in _pieces(view, line))
    seen = line[view.inside(line)]
    if not len(seen):
        return drawn
    x, y = seen[np.argmin(seen[:, 0]) if axis == 0 else np.argmax(seen[:, 1])].tolist()
    if axis == 0:
        return (
            drawn if x > 30 or y < 14 else drawn + text((4, y - 2), words, "tiny", anchor="start")
        )
    if y < view.height - 20:
        return drawn
    right = x + 2 + _TINY * len(words) < view.width  # else the words stand left of their line
    at = (x + 2, view.height - 3) if right else (x - 2, view.height - 3)
    return drawn + text(at, words, "tiny", anchor="start" if right else "end")


def _rounds(low: float, high: float, step: float) -> list[float]:
    """Return the multiples of a step from low to high."""
    first, last = np.ceil(low / step), np.floor(high / step)
    return [float(np.round(k * step, 6)) for k in np.arange(first, last + 1)]


def _step(span: float) -> float:
    return next((s for s in _STEPS_DEG if span / s <= _LINES + 1), _STEPS_DEG[-1])
