"""A dish turned from one satellite to another: azimuth from above, elevation, feed from behind.

Dashed is how it stands, heavy where it goes. Drawings compute nothing but where their lines run.
"""

from __future__ import annotations

import math

from siteplan.outputs.shown import angle
from siteplan.outputs.svg import Point, arc, arrow, circle, drawing, line, on_ring, text

#: Turns under this are drawn as none [deg].
LEAST_DEG = 0.05
#: Bearings this close share a place on a ring: the label of the first moves on [deg].
_CLOSE_DEG = 24.0


def azimuth_turn(from_deg: float, turn_deg: float) -> str:
    """Return a rose, true north up, with the dish's bearing as it is and as it goes.

    Parameters
    ----------
    from_deg : float
        Bearing of the present satellite from true north. [deg]
    turn_deg : float
        Turn to the new one, clockwise from above positive. [deg]
    """
    centre, ring = (110.0, 104.0), 62.0
    to = from_deg + turn_deg
    apart = math.copysign(max(abs(turn_deg), _CLOSE_DEG), turn_deg)
    parts = [
        circle(centre, ring),
        circle(centre, 2.5, "full"),
        *_points(centre, ring),
        line(centre, on_ring(centre, ring - 2, from_deg), "dash"),
        arrow(centre, on_ring(centre, ring - 2, to), "heavy", head=14),
        *_swept(centre, ring * 0.45, from_deg, turn_deg),
        _label(centre, ring + 28, to - apart, "now"),
        _label(centre, ring + 28, to, "new"),
    ]
    return drawing(220, 208, f"Azimuth from above: to {angle(to % 360, 1)} true", parts)


def _points(centre: Point, ring: float) -> list[str]:
    """Return ticks each 10 degrees, and the four points."""
    parts = []
    for bearing in range(0, 360, 10):
        long = 9 if bearing % 90 == 0 else 4
        parts.append(line(on_ring(centre, ring, bearing), on_ring(centre, ring - long, bearing)))
    for bearing, word in ((0, "N"), (90, "E"), (180, "S"), (270, "W")):
        x, y = on_ring(centre, ring + 11, bearing)
        parts.append(text((x, y + 4), word, "strong"))
    return parts


def _label(centre: Point, radius: float, bearing_deg: float, words: str) -> str:
    x, y = on_ring(centre, radius, bearing_deg)
    return text((x, y + 3.5), words, "strong" if words == "new" else "small")


def _swept(centre: Point, radius: float, from_deg: float, turn_deg: float) -> list[str]:
    """Return an arc from one bearing on by a turn, with a head where there is room for one."""
    if abs(turn_deg) < 4:
        return []
    to = from_deg + turn_deg
    end = on_ring(centre, radius, to)
    tail = on_ring(end, 4, to - math.copysign(90, turn_deg))
    return [arc(centre, radius, from_deg, to, "thick"), arrow(tail, end, "thick", head=8)]


def elevation_turn(from_deg: float, to_deg: float) -> str:
    """Return the beam from the side as it is and as it goes, both above level [deg]."""
    foot, reach = (40.0, 176.0), 148.0
    parts = [
        line((8, foot[1]), (232, foot[1]), "thick"),
        text((230, foot[1] + 13), "level", "small", anchor="end"),
        circle(foot, 4, "full"),
        line(foot, on_ring(foot, reach, 90 - from_deg), "dash"),
        arrow(foot, on_ring(foot, reach, 90 - to_deg), "heavy", head=13),
        *_swept(foot, 84, 90 - from_deg, from_deg - to_deg),
    ]
    apart = math.copysign(max(abs(to_deg - from_deg), 8.0), to_deg - from_deg)
    for word, at in (("now", to_deg - apart), ("new", to_deg)):
        x, y = on_ring(foot, reach + 12, 90 - at)
        parts.append(text((x, y + 4), word, "strong" if word == "new" else "small"))
    words = f"Elevation from the side: {angle(from_deg, 1)} to {angle(to_deg, 1)}"
    return drawing(240, 208, words, parts)


def skew_turn(from_deg: float, turn_deg: float) -> str:
    """Return the feed from behind the dish as it is turned and as it goes.

    Parameters
    ----------
    from_deg : float
        Its present turn from upright, clockwise positive. [deg]
    turn_deg : float
        What it turns by, clockwise positive. [deg]
    """
    centre, ring = (110.0, 104.0), 62.0
    to = from_deg + turn_deg
    upright = line(on_ring(centre, ring + 9, 0), on_ring(centre, ring + 9, 180), "dots")
    old = line(on_ring(centre, ring - 4, from_deg), on_ring(centre, ring - 4, from_deg + 180),
               "dash")  # fmt: skip
    new = line(on_ring(centre, ring - 6, to), on_ring(centre, ring - 6, to + 180), "bar")
    parts = [circle(centre, ring), upright, old, new,
             *_swept(centre, ring + 7, from_deg, turn_deg),
             text((110, 16), "seen from behind the dish", "small")]  # fmt: skip
    return drawing(220, 208, f"Feed from behind: to {angle(_axis_deg(to), 1)}", parts)


def _axis_deg(turn_deg: float) -> float:
    """Return a turn of an axis from upright, -90 to 90 [deg]."""
    return (turn_deg + 90) % 180 - 90
