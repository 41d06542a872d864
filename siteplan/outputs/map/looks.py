"""How a class looks on the map: palettes, shapes, and the row that the page draws.

Ramps rise steadily in lightness (CIE L*), so that they keep their order in grey.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from siteplan.outputs.map.colors import ramp_colors

#: Ramps, the end that needs care first; each rises in lightness.
FAILING = ("#4d0711", "#a3142a")
PASSING = ("#dd6a17", "#eeb52f", "#b4dcf0", "#eef7fc")
DUSK = ("#35104f", "#86377a", "#d5696c", "#f5be82", "#fbf1cc")
RAIN = ("#0c2257", "#1f6aa8", "#63b3bd", "#c0e2b6", "#f6f3c8")
SIZE = ("#083a2b", "#2a875a", "#86c47d", "#e4f1c6")
POWER = ("#3a0a45", "#8f3d96", "#cf8fd0", "#f3e0f2")
#: Okabe and Ito's colours for names, darkest last so that the usual case stays light.
NAMES = ("#56b4e9", "#e69f00", "#009e73", "#cc79a7", "#f0e442", "#0072b2", "#d55e00", "#444444")
#: Verdicts of what came back, each with its colour, whatever others there are.
VERDICTS = {
    "accepted": "#56b4e9",
    "accepted but not served": "#0072b2",
    "not accepted": "#a3142a",
    "incomplete": "#e69f00",
    "came back, could not be used": "#cc79a7",
    "nothing to accept": "#444444",
}
BLANK = "#ffffff"
#: Ramp of the fields that have no layer of their own.
PLAIN = ("#3b2a14", "#7d5a2b", "#bd9355", "#e3cf9f", "#f7f0dc")

PASS_SHAPES = ("triangle", "diamond", "square", "down", "pentagon", "hexagon", "bar")
NAME_SHAPES = ("circle", "square", "triangle", "diamond", "down", "hexagon", "pentagon", "bar")


def row(
    label: str, color: str, shape: str, radius: float, *, outline: float = 1.2, mark: str = ""
) -> dict[str, Any]:
    """Return one class as the page draws it; ``radius`` and ``outline`` in CSS pixels."""
    return {
        "label": label,
        "color": color,
        "shape": shape,
        "radius": round(radius, 1),
        "outline": outline,
        "mark": mark,
    }


def blank(label: str) -> dict[str, Any]:
    """Return the class of the sites that have no value."""
    return {**row(label, BLANK, "blank", 6.5), "blank": True}


def plain_look() -> dict[str, Any]:
    """Return what the page needs to class any other field by itself: colours and shapes."""
    return {
        "ramps": {str(k): ramp_colors(PLAIN, k)[::-1] for k in range(1, 8)},
        "colors": list(NAMES),
        "shapes": list(NAME_SHAPES),
        "blank": blank("No value"),
    }


#: Colour, shape, radius, outline and mark of a class.
Style = tuple[str, str, float, float, str]


def failing_styles(count: int) -> list[Style]:
    """Return the looks of the margins that fail, the worst first."""
    colors = ramp_colors(FAILING, count)
    radii = np.linspace(9.5, 8.0, count)
    marks = ["cross", *["stroke"] * (count - 1)][:count]
    return [
        (color, "octagon", float(radius), 2.4, mark)
        for color, radius, mark in zip(colors, radii, marks, strict=True)
    ]


def passing_styles(count: int) -> list[Style]:
    """Return the looks of the margins that pass, the shortest first."""
    if count == 0:
        return []
    shapes = [*PASS_SHAPES[: count - 1], "circle"]
    radii = np.linspace(7.5, 5.0, count)
    return [
        (color, shape, float(radius), 1.2, "")
        for color, shape, radius in zip(ramp_colors(PASSING, count), shapes, radii, strict=True)
    ]
