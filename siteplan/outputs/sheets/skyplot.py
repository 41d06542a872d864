"""The sky over the site: horizon, satellite and the sun's track, north up and east to the right.

The rim is the horizon and the middle the zenith, so that the sheet, laid flat and turned until
its north points north, shows each thing in its direction.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

from siteplan.frozen import frozen
from siteplan.outputs.shown import amount, angle, fixed
from siteplan.outputs.svg import Point, circle, drawing, line, on_ring, path, text

CENTRE: Point = (110.0, 106.0)
RING = 88.0
#: Width of a letter and height of a line, by the kind of words.
_LETTERS = {"small": (5.0, 8.0), "strong": (6.8, 10.0)}
#: Left, top, right, bottom of what is taken on the paper.
_Box = tuple[float, float, float, float]


@frozen
class Sky:
    """What stands in the sky of a site; angles in degrees, empty where nothing is known.

    ``horizon_deg`` holds the horizon's elevation around the compass from north, in equal
    steps; ``sun`` holds (hour as the crew reads it, azimuth, elevation).
    """

    azimuth_deg: float
    elevation_deg: float
    horizon_deg: Sequence[float] = ()
    sun: Sequence[tuple[str, float, float]] = ()


def sky_plot(sky: Sky) -> str:
    """Return the drawing of a site's sky."""
    sun = [s for s in sky.sun if _known(*s[1:]) and s[2] > 0]
    rings = [place(azimuth, elevation) for _, azimuth, elevation in sun]
    taken = [_around(at, 3.0) for at in rings]
    parts, named = [*_horizon(sky.horizon_deg), _grid()], []
    if _known(sky.azimuth_deg, sky.elevation_deg):
        at = place(sky.azimuth_deg, sky.elevation_deg)
        parts += [line(CENTRE, on_ring(CENTRE, RING, sky.azimuth_deg), "dash")]
        taken.append(_around(at, 6.5))
        named = [circle(at, 6.5, "hollow"), circle(at, 3, "full")]
        named += _named(at, "satellite", "strong", taken, keep=True)
    parts += _elevations(taken)
    parts += _sun_track([hour for hour, _, _ in sun], rings, taken) + named
    azimuth, elevation = fixed(sky.azimuth_deg, 1), amount(sky.elevation_deg, "degrees", 1)
    return drawing(220, 212, f"Sky: satellite at {azimuth}, elevation {elevation}", parts)


def place(azimuth_deg: float, elevation_deg: float) -> Point:
    """Return where a direction stands on the plot."""
    return on_ring(CENTRE, RING * (90 - elevation_deg) / 90, azimuth_deg)


def _known(*numbers: float) -> bool:
    return all(math.isfinite(n) for n in numbers)


@cache
def _grid() -> str:
    """Return rim, rings at 30 and 60 degrees, and the quarters: the same on all sheets."""
    parts = [circle(CENTRE, RING, "thick")]
    for elevation in (30, 60):
        parts.append(circle(CENTRE, RING * (90 - elevation) / 90, "faint"))
    for bearing, word in ((0, "N"), (90, "E"), (180, "S"), (270, "W")):
        parts.append(line(CENTRE, on_ring(CENTRE, RING, bearing), "faint"))
        x, y = on_ring(CENTRE, RING + 9, bearing)
        parts.append(text((x, y + 4), word, "strong"))
    return "".join(parts)


def _horizon(horizon_deg: Sequence[float]) -> list[str]:
    """Return what stands in the way as grey pieces of the rim, each up to its top."""
    step = 360 / max(len(horizon_deg), 1)
    tops = [min(float(top), 90.0) if top > 0 else 0.0 for top in horizon_deg]
    parts = []
    for start, stop in _runs(tops):
        edges = [(k * step - step / 2, k * step + step / 2, tops[k]) for k in range(start, stop)]
        inner = [place(edge, top) for left, right, top in edges for edge in (left, right)]
        outer = [on_ring(CENTRE, RING, edge) for _, right, _ in edges for edge in (right,)]
        first = on_ring(CENTRE, RING, edges[0][0])
        parts.append(path([*inner, *reversed(outer), first], "grey", closed=True))
    return parts


def _runs(tops: Sequence[float]) -> list[tuple[int, int]]:
    """Return the runs of tops above zero as pairs of first and one past the last."""
    runs: list[tuple[int, int]] = []
    for k, top in enumerate(tops):
        if top > 0 and runs and runs[-1][1] == k:
            runs[-1] = (runs[-1][0], k + 1)
        elif top > 0:
            runs.append((k, k + 1))
    return runs


def _elevations(taken: list[_Box]) -> list[str]:
    """Return what the rings are, each where it hides nothing."""
    parts = []
    for elevation in (30, 60):
        words = angle(elevation)
        spots = [place(bearing, elevation) for bearing in (45, 135, 315, 225, 20, 160, 340, 200)]
        rooms = [_room((x, y + 3), words, "small", "middle") for x, y in spots]
        free = (k for k, room in enumerate(rooms) if not any(_meet(room, b) for b in taken))
        k = next(free, 0)
        taken.append(rooms[k])
        parts.append(text((spots[k][0], spots[k][1] + 3), words, "small"))
    return parts


def _sun_track(hours: Sequence[str], points: Sequence[Point], taken: list[_Box]) -> list[str]:
    """Return the sun's way over the day, each third hour named where there is room."""
    parts = [path(points, "dots")] if len(points) > 1 else []
    parts += [circle(at, 2.6, "ray") for at in points]
    for hour, at in list(zip(hours, points, strict=True))[::3]:
        parts += _named(at, hour, "small", taken)
    return parts


def _named(at: Point, words: str, css: str, taken: list[_Box], *, keep: bool = False) -> list[str]:
    """Return words next to a point where they hide nothing; none, or with ``keep`` the first."""
    spots = _beside(at)
    rooms = [_room(spot, words, css, anchor) for spot, anchor in spots]
    free = (k for k, room in enumerate(rooms) if not any(_meet(room, b) for b in taken))
    k = next(free, 0 if keep else None)
    if k is None:
        return []
    taken.append(rooms[k])
    (spot, anchor) = spots[k]
    return [text(spot, words, css, anchor=anchor)]


def _beside(at: Point) -> list[tuple[Point, str]]:
    """Return where words may stand next to a point, the inner side first, and their anchors."""
    inner, outer = (8.0, -8.0) if at[0] < CENTRE[0] + 8 else (-8.0, 8.0)
    sides = [(inner, -5.0), (inner, 15.0), (outer, -5.0), (outer, 15.0), (inner, 4.0), (outer, 4.0)]
    found = [((at[0] + x, at[1] + y), "start" if x > 0 else "end") for x, y in sides]
    return [*found, *(((at[0], at[1] + y), "middle") for y in (-12.0, 22.0, -24.0, 34.0))]


def _room(at: Point, words: str, css: str, anchor: str) -> _Box:
    """Return what words take of the paper: left, top, right, bottom."""
    each, high = _LETTERS[css]
    wide = each * len(words)
    left = at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return left, at[1] - high, left + wide, at[1] + 2


def _around(at: Point, half: float) -> _Box:
    return at[0] - half, at[1] - half, at[0] + half, at[1] + half


def _meet(a: _Box, b: _Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
