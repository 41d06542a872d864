"""Histograms as SVG: bars of one width, edges below them, counts above."""

from __future__ import annotations

import math

from siteplan.fields import FIELDS
from siteplan.outputs.shown import amount
from siteplan.outputs.svg import box, drawing, line, text
from siteplan.reported import Bars

#: The paper of one histogram [units], and what edges and counts take of it.
WIDTH, HEIGHT = 240.0, 132.0
_FOOT, _HEAD = 30.0, 20.0
#: Width of a character under the bars.
_CHARACTER = 5.8


def histogram(bars: Bars, title: str) -> str:
    """Return a histogram; values of pairs tried and not planned are hollow, on top."""
    count = len(bars.planned)
    wide = WIDTH / max(count, 3)
    start = (WIDTH - wide * count) / 2
    top = max([a + b for a, b in zip(bars.planned, bars.tried, strict=True)], default=1) or 1
    unit = (HEIGHT - _FOOT - _HEAD) / top
    base = HEIGHT - _FOOT
    parts = []
    for k, (planned, tried) in enumerate(zip(bars.planned, bars.tried, strict=True)):
        x, solid, hollow = start + k * wide, planned * unit, tried * unit
        if planned:
            parts.append(box((x + 1, base - solid), wide - 2, solid, "barfill"))
        if tried:
            parts.append(box((x + 1, base - solid - hollow), wide - 2, hollow, "hollow"))
        if planned + tried:
            at = (x + wide / 2, base - solid - hollow - 4)
            parts.append(text(at, str(planned + tried), "small"))
    parts.append(line((start, base), (start + wide * count, base)))
    parts += _edges(bars, start, wide, base)
    parts += _marks(bars, start, wide, base)
    unit_name = FIELDS[bars.field].unit
    parts.append(text((WIDTH / 2, HEIGHT - 3), _unit_words(unit_name), "small"))
    return drawing(WIDTH, HEIGHT, title, parts)


def _unit_words(unit: str) -> str:
    """Return what the numbers under the bars are."""
    return {"deg": "degrees", "%": "per cent of an average year"}.get(unit, unit)


def _edges(bars: Bars, start: float, wide: float, base: float) -> list[str]:
    """Return ticks and numbers between the bars; the outermost are open."""
    inner = bars.edges[1:-1]
    longest = max((len(amount(e, "")) for e in inner), default=1) * _CHARACTER + 3
    every = max(math.ceil(longest / wide), 1)
    return [
        line((x, base), (x, base + 3)) + (text((x, base + 14), amount(e, ""), "small")
                                          if k % every == 0 else "")
        for k, e in enumerate(inner)
        for x in (start + (k + 1) * wide,)
    ]  # fmt: skip


def _marks(bars: Bars, start: float, wide: float, base: float) -> list[str]:
    """Return lines at the values to be marked that lie between the bars."""
    found = []
    for value in bars.marks:
        for k, (low, high) in enumerate(zip(bars.edges, bars.edges[1:], strict=False)):
            if low <= value < high and (value > bars.edges[0] or k):
                x = start + (k + (value - low) / (high - low)) * wide
                found.append(line((x, _HEAD - 12), (x, base), "dash"))
    return found
