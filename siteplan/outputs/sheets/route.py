"""The sketch of a round: its stops in order, on the basemap's land and borders, north up.

Straight lines between stops: the roads decide. The basemap is good to about 2 km.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.basemap.rings import arc_boxes, arcs, land_boxes, land_rings, read
from siteplan.outputs.shown import amount, given
from siteplan.outputs.svg import Point, box, circle, drawing, line, path, shape, text

FloatArray = NDArray[np.float64]

#: The drawing's size, and what is kept free around the stops.
WIDTH, HEIGHT, MARGIN = 560.0, 236.0, 34.0
#: Least width of what is shown [km]: the basemap knows nothing smaller.
_LEAST_KM = 24.0
_KM_A_DEG = 111.2
#: Steps of the bar of the scale [km].
_BARS = tuple(k * 10**n for n in range(5) for k in (1, 2, 5))
#: Points nearer to one another than this are drawn as one.
_STEP = 0.6


class Frame(NamedTuple):
    """How degrees become the drawing's units: the middle, and units a degree each way."""

    lat: float
    lon: float
    across: float
    down: float

    def at(self, lon: FloatArray, lat: FloatArray) -> FloatArray:
        """Return points (n, 2) of the drawing."""
        x = WIDTH / 2 + (lon - self.lon) * self.across
        return np.stack([x, HEIGHT / 2 - (lat - self.lat) * self.down], axis=1)

    @property
    def units_a_km(self) -> float:
        """Units of the drawing a kilometre."""
        return self.down / _KM_A_DEG


def route(
    lat: FloatArray, lon: FloatArray, marked: Sequence[bool], *, units: str = "metric"
) -> str:
    """Return the sketch of a way through stops (n,) [deg]; ``marked`` ones are hollow.

    Parameters
    ----------
    lat, lon : (n,) arrays
        The stops in the order of their visit. [deg]
    marked : sequence of bool
        Which of them are not built as planned.
    units : str
        Units beside the scale's kilometres.
    """
    lon = lon[0] + np.mod(lon - lon[0] + 180, 360) - 180  # the antimeridian is no edge
    frame = _framed(lat, lon)
    stops = [(float(x), float(y)) for x, y in frame.at(lon, lat)]
    parts = [*_land(frame), box((0, 0), WIDTH, HEIGHT), *_scale(frame, units)]
    parts += [path(stops, "route")] if len(stops) > 1 else []
    small = len(stops) > 40
    for at, hollow in zip(stops, marked, strict=True):
        parts.append(circle(at, 2.4 if small else 3.6, "hollow" if hollow else "full"))
    parts += _numbers(stops)
    return drawing(WIDTH, HEIGHT, f"Route: {len(stops)} stops in the order of their visit", parts)


def _framed(lat: FloatArray, lon: FloatArray) -> Frame:
    """Return the frame that holds all stops, as large as they allow."""
    middle = (float(lat.min() + lat.max()) / 2, float(lon.min() + lon.max()) / 2)
    narrow = max(math.cos(math.radians(middle[0])), 0.02)
    wide_km = max(float(np.ptp(lon)) * narrow * _KM_A_DEG, _LEAST_KM)
    tall_km = max(float(np.ptp(lat)) * _KM_A_DEG, _LEAST_KM * HEIGHT / WIDTH)
    scale = min((WIDTH - 2 * MARGIN) / wide_km, (HEIGHT - 2 * MARGIN) / tall_km)
    return Frame(*middle, scale * _KM_A_DEG * narrow, scale * _KM_A_DEG)


@cache
def _borders() -> tuple[tuple[FloatArray, ...], FloatArray]:
    """Return the borders of countries as lines (n, 2) of longitude and latitude, and their boxes.

    All in degrees; the boxes (m, 4) are west, south, east and north.
    """
    lines, which = arcs(), read("basemap.json")["border"]
    return tuple(lines[k] for k in which), arc_boxes()[which]


def _land(frame: Frame) -> Iterator[str]:
    """Yield land, as one shape, and borders, as far as the frame shows them."""
    rings = [_clipped(points) for points in _near(land_rings(), land_boxes(), frame)]
    shown = [ring for ring in map(_thinned, rings) if len(ring) > 2]
    if shown:
        yield shape(shown, "land")
    for points in _near(*_borders(), frame):
        for piece in _inside(points):
            yield path(_thinned(piece), "border")


def _near(lines: Sequence[FloatArray], boxes: FloatArray, frame: Frame) -> Iterator[FloatArray]:
    """Yield those lines whose box (west, south, east, north) meets the drawing's, as its points."""
    half_lon, half_lat = WIDTH / 2 / frame.across, HEIGHT / 2 / frame.down
    west, south, east, north = boxes.T
    first = np.ceil((frame.lon - half_lon - east) / 360)
    last = np.floor((frame.lon + half_lon - west) / 360)
    there = (south <= frame.lat + half_lat) & (north >= frame.lat - half_lat) & (first <= last)
    for k in np.flatnonzero(there).tolist():
        for turns in range(int(first[k]), int(last[k]) + 1):
            yield frame.at(lines[k][:, 0] + 360 * turns, lines[k][:, 1])


def _clipped(points: FloatArray) -> FloatArray:
    """Return a ring within the drawing (Sutherland and Hodgman, 1974)."""
    for axis, side, limit in ((0, 1, 0.0), (0, -1, WIDTH), (1, 1, 0.0), (1, -1, HEIGHT)):
        if not len(points):
            break
        depth = side * (points[:, axis] - limit)
        after, nxt = np.roll(depth, -1), np.roll(points, -1, axis=0)
        crosses = (depth >= 0) != (after >= 0)
        share = np.divide(depth, depth - after, out=np.zeros_like(depth), where=crosses)
        cut = points + share[:, None] * (nxt - points)
        both = np.stack([points, cut], axis=1).reshape(-1, 2)
        points = both[np.stack([depth >= 0, crosses], axis=1).ravel()]
    return points


def _inside(points: FloatArray) -> Iterator[FloatArray]:
    """Yield the pieces of a line within the drawing."""
    seen = ((points > 0) & (points < np.array([WIDTH, HEIGHT]))).all(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], seen.astype(int), [0]])))
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        if stop - start > 1:
            yield points[start:stop]


def _thinned(points: FloatArray) -> list[Point]:
    """Return points without those that fall upon the one before."""
    cells = np.round(points / _STEP)
    new = np.ones(len(points), dtype=bool)
    new[1:] = (np.diff(cells, axis=0) != 0).any(axis=1)
    return [(float(x), float(y)) for x, y in points[new]]


def _scale(frame: Frame, units: str) -> list[str]:
    """Return a bar of a round number of kilometres, and which way is north."""
    longest = max((k for k in _BARS if k * frame.units_a_km <= 110), default=_BARS[0])
    end = (14 + longest * frame.units_a_km, HEIGHT - 10)
    told = given(longest, "km", units=units) if longest else amount(longest, "km")
    return [
        line((14, HEIGHT - 10), end, "thick"),
        *(line((x, HEIGHT - 14), (x, HEIGHT - 6), "thick") for x in (14, end[0])),
        text((14, HEIGHT - 18), told, "small", anchor="start"),
        text((WIDTH - 14, 18), "N", "strong"),
        line((WIDTH - 14, 40), (WIDTH - 14, 23), "thick"),
    ]


def _numbers(stops: Sequence[Point]) -> Iterator[str]:
    """Yield the stops' numbers, each where it hides no other; the first and the last come first."""
    taken = [(x - 3, y - 3, x + 3, y + 3) for x, y in stops]
    order = [0, len(stops) - 1, *range(1, len(stops) - 1)] if len(stops) > 1 else [0]
    for k in order:
        word = str(k + 1)
        wide = 6.5 * len(word)
        for dx, dy in ((6, -4), (6, 11), (-6 - wide, -4), (-6 - wide, 11), (-wide / 2, -8)):
            x, y = stops[k][0] + dx, stops[k][1] + dy
            field = (x, y - 9, x + wide, y + 1)
            inside = field[0] > 2 and field[2] < WIDTH - 2 and field[1] > 2
            if inside and not any(_meet(field, other) for other in taken):
                taken.append(field)
                yield text((x, y), word, "strong", anchor="start")
                break


def _meet(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    """Return whether two fields of words overlap."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
