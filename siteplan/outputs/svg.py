"""Small pieces of SVG. No ids and no references: a page may hold any number of drawings.

Lengths are user units of the drawing's viewBox; angles are bearings, clockwise from up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from siteplan.outputs.escaping import for_html

Point = tuple[float, float]


def on_ring(centre: Point, radius: float, bearing_deg: float) -> Point:
    """Return the point at ``radius`` and ``bearing_deg`` (clockwise from up) of ``centre``."""
    turn = math.radians(bearing_deg)
    return centre[0] + radius * math.sin(turn), centre[1] - radius * math.cos(turn)


def drawing(width: float, height: float, title: str, parts: Iterable[str]) -> str:
    """Return an SVG element with a title that a screen reader can say."""
    return (
        f'<svg viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{for_html(title)}">'
        f"{''.join(parts)}</svg>"
    )


def document(width: float, height: float, title: str, style: str, parts: Iterable[str]) -> str:
    """Return a drawing as a file of its own, with its title and the style of its classes."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}" height="{height:g}"'
        f' viewBox="0 0 {width:g} {height:g}" role="img">\n'
        f"<title>{for_html(title)}</title>\n<style>{for_html(style)}</style>\n"
        f"{chr(10).join(parts)}\n</svg>\n"
    )


def clipped(width: float, height: float, parts: Iterable[str]) -> str:
    """Return parts of a drawing that end at its edges."""
    return f'<svg class="clip" width="{width:g}" height="{height:g}">{"".join(parts)}</svg>'


def line(a: Point, b: Point, css: str = "thin") -> str:
    """Return a straight line."""
    return f'<path class="{css}" d="M{_at(a)}L{_at(b)}"/>'


def path(points: Sequence[Point], css: str = "thin", *, closed: bool = False) -> str:
    """Return a line through points."""
    return f'<path class="{css}" d="M{"L".join(map(_at, points))}{"Z" if closed else ""}"/>'


def stepped(tenths: Sequence[Sequence[int]]) -> str:
    """Return a line of many points as the data of a path: the first point, then steps.

    ``tenths`` are the points in tenths of a unit. Empty for less than two.

    >>> stepped([[10, 20], [15, 18], [15, 30]])
    'M1 2l0.5-0.2 0 1.2'
    """
    if len(tenths) < 2:
        return ""
    moves = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(tenths)]
    first, *rest = [f"{x / 10:g} {y / 10:g}" for x, y in (tenths[0], *moves)]
    return f"M{first}l{' '.join(rest)}".replace(" -", "-")


def shape(rings: Iterable[Sequence[Point]], css: str = "grey") -> str:
    """Return an area of several rings; one within another is a hole."""
    lines = "".join(f"M{'L'.join(map(_at, ring))}Z" for ring in rings)
    return f'<path class="{css}" fill-rule="evenodd" d="{lines}"/>'


def curve(a: Point, control: Point, b: Point, css: str = "thick") -> str:
    """Return a quadratic curve."""
    return f'<path class="{css}" d="M{_at(a)}Q{_at(control)} {_at(b)}"/>'


def circle(centre: Point, radius: float, css: str = "thin") -> str:
    """Return a circle."""
    x, y = centre
    return f'<circle class="{css}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'


def box(corner: Point, width: float, height: float, css: str = "thin") -> str:
    """Return a rectangle from its upper left corner."""
    x, y = corner
    return (
        f'<rect class="{css}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'
    )


def text(at: Point, words: str, css: str = "", *, anchor: str = "middle") -> str:
    """Return a line of text; ``at`` is on its base line."""
    x, y = at
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text class="{css}" {place}>{for_html(words)}</text>'


def arc(centre: Point, radius: float, from_deg: float, to_deg: float, css: str = "thin") -> str:
    """Return an arc from one bearing to another, the way that the difference's sign says."""
    start, end = on_ring(centre, radius, from_deg), on_ring(centre, radius, to_deg)
    large = int(abs(to_deg - from_deg) > 180)
    sweep = int(to_deg > from_deg)
    turned = f"A{radius:.1f} {radius:.1f} 0 {large} {sweep} {_at(end)}"
    return f'<path class="{css}" d="M{_at(start)}{turned}"/>'


def arrow(a: Point, b: Point, css: str = "thick", *, head: float = 9) -> str:
    """Return a line from ``a`` to ``b`` with a filled head at ``b``."""
    bearing = math.degrees(math.atan2(b[0] - a[0], a[1] - b[1]))
    neck = on_ring(b, head * 0.8, bearing + 180)
    wings = [on_ring(b, head, bearing + 180 + side * 24) for side in (-1, 1)]
    return line(a, neck, css) + path([b, *wings], "full", closed=True)


def _at(point: Point) -> str:
    return f"{point[0]:.1f} {point[1]:.1f}"
