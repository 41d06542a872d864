"""What sites look like in the report's picture: the map's own shapes and colours.

A class has a colour and a shape, so that the picture can be read in grey.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.outputs.map.looks import Style, failing_styles, passing_styles
from siteplan.outputs.svg import Point, box, circle, on_ring, path

#: Corners of regular shapes and the bearing of the first [deg].
_CORNERS = {
    "octagon": (8, 22.5), "triangle": (3, 0.0), "diamond": (4, 0.0), "square": (4, 45.0),
    "down": (3, 180.0), "pentagon": (5, 0.0), "hexagon": (6, 30.0),
}  # fmt: skip
#: Least radius of a mark [units].
_LEAST = 4.2
#: A bar: half its width and height, as shares of the radius.
_BAR = (1.0, 0.45)


def styles(classes: int) -> list[Style]:
    """Return colour, shape, radius, outline and mark of each class, the first not served."""
    return [*failing_styles(1), *passing_styles(classes - 1)]


def rules(classes: int) -> str:
    """Return the rules that colour the classes: ``k0`` and so on."""
    return "".join(
        f"svg .k{k} {{ fill: {style[0]}; stroke: #000; stroke-width: {1.3 if k else 1.6}; }}\n"
        for k, style in enumerate(styles(classes))
    )


def mark(at: Point, k: int, style: Style, size: float = 1.0) -> str:
    """Return the mark of a site of class ``k``; one that is not served has a cross in it."""
    _, shape, radius, _, cross = style
    radius = max(radius * 0.72, _LEAST) * size
    drawn = _shape(at, shape, radius, f"k{k}")
    return drawn + (_cross(at, radius * 0.5) if cross else "")


def _shape(at: Point, shape: str, radius: float, css: str) -> str:
    if shape in _CORNERS:
        count, first = _CORNERS[shape]
        wide = radius * 1.15 if count == 3 else radius
        turns = [first + 360 / count * k for k in range(count)]
        return path([on_ring(at, wide, turn) for turn in turns], css, closed=True)
    if shape == "bar":
        x, y = radius * _BAR[0], radius * _BAR[1]
        return path([(at[0] + a, at[1] + b) for a, b in ((-x, -y), (x, -y), (x, y), (-x, y))], css,
                    closed=True)  # fmt: skip
    return circle(at, radius, css)


def _cross(at: Point, half: float) -> str:
    (x, y), h = at, half
    ends: Sequence[Point] = ((x - h, y - h), (x + h, y + h), (x - h, y + h), (x + h, y - h))
    return path(ends[:2], "cross") + path(ends[2:], "cross")


def hub(at: Point) -> str:
    """Return the mark of the hub: a star, like nothing that a site looks like."""
    points = [on_ring(at, 9.0 if k % 2 == 0 else 3.8, 36.0 * k) for k in range(10)]
    return path(points, "hub", closed=True)


def direction(at: Point, bearing_deg: float) -> str:
    """Return an arrow's head at the edge of a picture, towards what lies beyond it."""
    tip = on_ring(at, 12.0, bearing_deg)
    wings = [on_ring(at, 11.0, bearing_deg + side * 140) for side in (-1, 1)]
    return path([tip, wings[0], at, wings[1]], "hub", closed=True)


def cell(at: Point, side: float, shares: Sequence[float]) -> str:
    """Return a cell of a grid: a frame, and at its foot a bar of the classes' shares."""
    x, y = at[0] - side / 2, at[1] - side / 2
    drawn = [box((x, y), side, side, "cell")]
    left, low = x, y + side * 0.74
    for k, share in enumerate(shares):
        if share > 0:
            drawn.append(box((left, low), side * share, side * 0.26, f"k{k} slim"))
            left += side * share
    return "".join(drawn)


def bearing(a: Point, b: Point) -> float:
    """Return the bearing from one point of the paper to another, clockwise from up [deg]."""
    return math.degrees(math.atan2(b[0] - a[0], a[1] - b[1]))
