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
    parts = [*_horizon(sky.horizon_deg), _grid()]
    parts += _sun_track([s for s in sky.sun if _known(*s[1:]) and s[2] > 0])
    if _known(sky.azimuth_deg, sky.elevation_deg):
        at = place(sky.azimuth_deg, sky.elevation_deg)
        parts += [line(CENTRE, on_ring(CENTRE, RING, sky.azimuth_deg), "dash")]
        parts += [circle(at, 6.5, "hollow"), circle(at, 3, "full")]
        parts += [_beside(at, "satellite", "strong", drop=15)]
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
        x, y = place(45, elevation)
        parts.append(text((x, y + 3), angle(elevation), "small"))
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


def _sun_track(sun: Sequence[tuple[str, float, float]]) -> list[str]:
    """Return the sun's way over the day with its hours."""
    if not sun:
        return []
    points = [place(azimuth, elevation) for _, azimuth, elevation in sun]
    parts = [path(points, "dots")] if len(points) > 1 else []
    for k, ((hour, _, _), at) in enumerate(zip(sun, points, strict=True)):
        parts.append(circle(at, 2.6, "ray"))
        if k % 3 == 0:
            parts.append(_beside(at, hour, "small"))
    return parts


def _beside(at: Point, words: str, css: str, *, drop: float = -5) -> str:
    """Return words next to a point, on the side where there is room, ``drop`` below it."""
    right = at[0] < CENTRE[0] + 8
    x = at[0] + (8 if right else -8)
    return text((x, at[1] + drop), words, css, anchor="start" if right else "end")
