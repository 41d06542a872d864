"""What grows from period to period, as SVG: a bar a period, the last one's figure above it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.outputs.report.charts import HEIGHT, WIDTH
from siteplan.outputs.shown import whole_or_short
from siteplan.outputs.svg import box, drawing, line, text

_FOOT, _HEAD = 30.0, 20.0
#: Figures above bars are those of the last period and of these parts of the way.
_TOLD = (0.5,)
#: Width of a character of a figure, and the room to either side of the bars.
_CHARACTER, _SIDE = 5.8, 16.0


def growing(values: Sequence[float], title: str, ends: tuple[str, str]) -> str:
    """Return bars of what a period came to, none where that is not known.

    Parameters
    ----------
    values : sequence of float
        One a period, in order; NaN where it is not known.
    title : str
        What grows.
    ends : pair of str
        What the first and the last period are called.
    """
    top = max((v for v in values if not math.isnan(v)), default=0.0) or 1.0
    wide = (WIDTH - 2 * _SIDE) / max(len(values), 1)
    base = HEIGHT - _FOOT
    parts = []
    for k, value in enumerate(values):
        if math.isnan(value):
            continue
        tall = value / top * (base - _HEAD)
        x = _SIDE + k * wide
        parts.append(box((x + wide * 0.08, base - tall), wide * 0.84, tall, "barfill"))
        if k in _told(len(values)):
            figure = _figure(value)
            half = len(figure) * _CHARACTER / 2
            middle = min(max(x + wide / 2, half), WIDTH - half)
            parts.append(text((middle, base - tall - 4), figure, "small"))
    parts.append(line((_SIDE, base), (WIDTH - _SIDE, base)))
    parts += _named(ends, base, several=len(values) > 1)
    return drawing(WIDTH, HEIGHT, title, parts)


def _told(count: int) -> set[int]:
    """Return which bars have their figure above them: the last, and of many one on the way."""
    return {count - 1, *(int(part * (count - 1)) for part in _TOLD if count > 4)}


def _figure(value: float) -> str:
    return whole_or_short(round(value, 1) if abs(value) < 1000 else float(round(value)))


def _named(ends: tuple[str, str], base: float, *, several: bool) -> list[str]:
    """Return the names of the first and the last period under their bars."""
    widths = [max(len(name) * _CHARACTER / 2, 4.0) for name in ends]
    first = text((max(_SIDE, widths[0]), base + 14), ends[0], "small")
    last = text((min(WIDTH - _SIDE, WIDTH - widths[1]), base + 14), ends[1], "small")
    return [first, last] if several else [first]
