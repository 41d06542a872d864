"""Land, borders and graticule in a window, as lines of SVG, from the basemap."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.basemap.rings import arcs, land_rings, read
from siteplan.outputs.report.projection import Window
from siteplan.outputs.shown import sided
from siteplan.outputs.svg import path, text

#: Points nearer than this to the one before are left out [units of paper].
_NEAR = 0.7
#: Lines are followed so far outside the window [units].
_OUTSIDE = 40.0
#: Longer steps of a ring are parted, so that they bend with the projection [deg].
_LONGEST_DEG = 1.5
#: Distances between lines of the graticule [deg]; about so many cross a window.
_STEPS_DEG = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0)
_LINES = 5


def land(view: Window) -> str:
    """Return the land in a window as one filled shape without outline."""
    south, west, north, east = view.bounds()
    pieces = []
    for ring in _rings_near(view.lon, (south, west, north, east)):
        cut = _cut(ring, (south, view.lon + west, north, view.lon + east))
        if len(cut) > 2:
            points = view.at(*_bent(cut).T[::-1])
            kept = _thinned(points)
            if len(kept) > 2:
                pieces.append("M" + "L".join(_at(p) for p in kept.tolist()) + "Z")
    return f'<path class="land" fill-rule="evenodd" d="{"".join(pieces)}"/>' if pieces else ""


def _rings_near(lon: float, box: tuple[float, float, float, float]) -> Iterator[FloatArray]:
    """Yield the rings that reach into a box about a longitude, each on its side of the world."""
    south, west, north, east = box
    for ring in land_rings():
        (x0, y0), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
        if y1 < south or y0 > north:
            continue
        for turn in (-720, -360, 0, 360, 720):
            if x1 + turn >= lon + west and x0 + turn <= lon + east:
                yield np.add(ring, (turn, 0))


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
    return both[np.stack([depth >= 0, crossing], axis=1).ravel()]


def _bent(ring: FloatArray) -> FloatArray:
    """Return a closed ring with its long steps parted."""
    ring = np.vstack([ring, ring[:1]])
    steps = np.abs(np.diff(ring, axis=0)).max(axis=1)
    parts = np.maximum(np.ceil(steps / _LONGEST_DEG), 1).astype(np.intp)
    each = np.repeat(np.arange(len(parts)), parts)
    along = (np.arange(len(each)) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[each]
    return ring[each] + along[:, None] * (ring[each + 1] - ring[each])


def _thinned(points: FloatArray) -> FloatArray:
    """Return points of a line without those that no eye tells apart."""
    moved = np.any(np.diff(np.round(points / _NEAR), axis=0) != 0, axis=1)
    return points[np.concatenate([[True], moved])]


@cache
def _strokes() -> tuple[tuple[str, tuple[int, ...]], ...]:
    raw = read("basemap.json")
    return tuple((kind, tuple(k if k >= 0 else ~k for k in raw[kind])) for kind in _KINDS)


_KINDS = ("coast", "border")


def strokes(view: Window) -> str:
    """Return coasts and borders in a window, each kind as one path."""
    drawn = []
    for kind, numbers in _strokes():
        pieces = []
        for line in (arcs()[k] for k in numbers):
            if _may_reach(view, line):
                pieces += [_d(piece) for piece in _pieces(view, view.at(line[:, 1], line[:, 0]))]
        if pieces:
            drawn.append(f'<path class="{kind}" d="{"".join(pieces)}"/>')
    return "".join(drawn)


def _may_reach(view: Window, line: FloatArray) -> bool:
    """Return whether a line's latitudes reach into a window's: most arcs are far away."""
    south, _, north, _ = _bounds(view)
    return bool(line[:, 1].max() >= south and line[:, 1].min() <= north)


@cache
def _bounds(view: Window) -> tuple[float, float, float, float]:
    return view.bounds()


def _pieces(view: Window, points: FloatArray) -> Iterator[FloatArray]:
    """Yield the pieces of a line (n, 2) that run through a window."""
    near = view.inside(points, _OUTSIDE)
    if not near.any():
        return
    # One more point on each side, so that pieces reach the edge.
    wide = near | np.append(near[1:], False) | np.append(False, near[:-1])
    jump = np.abs(np.diff(points[:, 0])) > view.scale if view.flat else np.zeros(len(points) - 1)
    cuts = np.flatnonzero((wide[1:] != wide[:-1]) | (jump > 0)) + 1
    for piece, kept in zip(np.split(points, cuts), np.split(wide, cuts), strict=True):
        if kept[0] and len(piece) > 1:
            yield _thinned(piece)


def _d(points: FloatArray) -> str:
    return "M" + "L".join(_at(p) for p in points.tolist()) if len(points) > 1 else ""


def _at(point: list[float]) -> str:
    return f"{point[0]:.1f} {point[1]:.1f}"


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
        return drawn if x > 30 else drawn + text((4, y - 2), words, "tiny", anchor="start")
    return drawn if y < view.height - 20 else drawn + text((x + 2, view.height - 3), words, "tiny",
                                                           anchor="start")  # fmt: skip


def _rounds(low: float, high: float, step: float) -> list[float]:
    """Return the multiples of a step from low to high."""
    first, last = np.ceil(low / step), np.floor(high / step)
    return [float(np.round(k * step, 6)) for k in np.arange(first, last + 1)]


def _step(span: float) -> float:
    return next((s for s in _STEPS_DEG if span / s <= _LINES + 1), _STEPS_DEG[-1])
