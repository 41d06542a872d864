"""Outage over time: a bar a month, its causes one on the other, and the plan's rain as a line.

Rain stands lowest and darkest, so that the line, which is of rain alone, is read against it; the
tones keep their order in grey.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np

from siteplan.answers.operations import FloatArray
from siteplan.answers.outages import OverTime
from siteplan.model import OUTAGE_CAUSES
from siteplan.outputs.shown import amount, words
from siteplan.outputs.svg import box, drawing, line, path, text

#: The paper, and what stands around the field of bars [units].
WIDTH, HEIGHT = 680.0, 262.0
LEFT, RIGHT, HEAD, FOOT = 44.0, 8.0, 62.0, 34.0
#: Causes with a tone of their own beside rain, the longest; the others are one.
TONES: Final = 4
#: Widths of a character: of the key, of a name below the bars.
_CHARACTER, _SMALL = 5.4, 5.2
#: Names stand below each of so many months, or years: what fits is taken.
_EVERY: Final = (1, 2, 3, 6, 12, 24, 60, 120, 240)
_RAIN: Final = OUTAGE_CAUSES.index("rain")


class _Layer(NamedTuple):
    """A tone of the stack: its style, its words, how long it lasted each month (t,)."""

    css: str
    words: str
    values: FloatArray


def outage_chart(of: OverTime) -> str:
    """Return the outage of a mean site over time, by cause, with what the plan expects of rain."""
    unit, scale = ("h", 60.0) if _most(of) >= 300 else ("min", 1.0)
    field = _Field(of.names, _most(of) / scale)
    layers = [each._replace(values=each.values / scale) for each in _layers(of.minutes)]
    title = f"Outage of a site in each {field.period} by cause, mean of all sites"
    planned = of.planned_min / scale
    parts = [
        text((LEFT, 13), title, "strong", anchor="start"),
        *_key(layers, line_too=bool(np.isfinite(planned).any())),
        *field.scale(unit),
        *field.bars(layers),
        *field.steps(planned),
        *field.names_below(),
    ]
    return drawing(WIDTH, HEIGHT, f"{title}, and the plan's rain", parts)


def _most(of: OverTime) -> float:
    """Return the tallest of bars and line. [min]"""
    line_too = of.planned_min[np.isfinite(of.planned_min)]
    return max(float(of.minutes.sum(axis=1).max(initial=0.0)), float(line_too.max(initial=0.0)))


def _layers(minutes: FloatArray) -> list[_Layer]:
    """Return the layers of the stack, rain first, then the longest; what never was is left out."""
    total = minutes.sum(axis=0)
    others = [k for k in np.argsort(-total, kind="stable").tolist() if k != _RAIN and total[k] > 0]
    own = others if len(others) <= TONES + 1 else others[:TONES]
    found = [_Layer("rain", words("rain"), minutes[:, _RAIN])]
    found += [_Layer(f"tone{n}", words(OUTAGE_CAUSES[k]), minutes[:, k]) for n, k in enumerate(own)]
    if rest := others[len(own) :]:
        told = ", ".join(words(OUTAGE_CAUSES[k]) for k in rest)
        found.append(_Layer(f"tone{TONES}", told, minutes[:, rest].sum(axis=1)))
    return found


def _key(layers: Sequence[_Layer], *, line_too: bool) -> Iterator[str]:
    """Yield what each tone stands for, and the line, in as many rows as it takes."""
    x, y = LEFT, 22.0
    entries = [(each.css, each.words) for each in layers]
    for css, told in [*entries, *([("plan", "rain that the plan expects")] if line_too else [])]:
        wide = 26 + len(told) * _CHARACTER
        if x + wide > WIDTH - RIGHT and x > LEFT:
            x, y = LEFT, y + 14
        if css == "plan":
            yield line((x, y + 5), (x + 20, y + 5), "plan")
        else:
            yield box((x + 4, y), 12, 10, css)
        yield text((x + 23, y + 8.5), told, "small", anchor="start")
        x += wide + 8


class _Field:
    """The field of bars: a slot for each month, or year, and a scale from nothing up."""

    def __init__(self, names: tuple[str, ...], most: float) -> None:
        self.names, self.step = names, _step(most)
        self.top = max(math.ceil(most / self.step - 1e-9), 1) * self.step
        self.wide = (WIDTH - LEFT - RIGHT) / max(len(names), 1)
        self.base = HEIGHT - FOOT

    @property
    def period(self) -> str:
        """What a bar stands for."""
        return "month" if len(self.names[0]) > 4 else "year"

    def x(self, k: float) -> float:
        """Return where a slot begins."""
        return LEFT + k * self.wide

    def y(self, value: float) -> float:
        """Return how high a value stands."""
        return self.base - value / self.top * (self.base - HEAD)

    def scale(self, unit: str) -> Iterator[str]:
        """Yield the lines of the scale with their numbers, and its unit."""
        decimals = max(-math.floor(math.log10(self.step)), 0)
        for n in range(round(self.top / self.step) + 1):
            y = self.y(n * self.step)
            yield line((LEFT, y), (WIDTH - RIGHT, y), "grid" if n else "thin")
            yield text(
                (LEFT - 5, y + 3), amount(n * self.step, "", decimals), "small", anchor="end"
            )
        yield text((LEFT - 5, HEAD - 9), f"[{unit}]", "small", anchor="end")

    def bars(self, layers: Sequence[_Layer]) -> Iterator[str]:
        """Yield the bars, each layer on those before it."""
        gap = min(self.wide * 0.12, 2.0)
        for k in range(len(self.names)):
            below = 0.0
            for each in layers:
                value = float(each.values[k])
                if value > 0:
                    tall = value / self.top * (self.base - HEAD)
                    corner = self.x(k) + gap, self.y(below + value)
                    yield box(corner, self.wide - 2 * gap, tall, each.css)
                below += value

    def steps(self, planned: FloatArray) -> Iterator[str]:
        """Yield the line of the plan, a step each month; light around it, so that bars bear it."""
        if not np.isfinite(planned).all() or not len(planned):
            return
        points = [(self.x(k + side), self.y(value))
                  for k, value in enumerate(planned.tolist()) for side in (0, 1)]  # fmt: skip
        yield path(points, "halo")
        yield path(points, "plan")

    def names_below(self) -> Iterator[str]:
        """Yield a name below some of the bars, as many as fit, and what the axis is."""
        fits = math.ceil((len(self.names[0]) * _SMALL + 6) / self.wide)
        every = next((step for step in _EVERY if step >= fits), _EVERY[-1])
        for k, name in enumerate(self.names):
            if _number(name) % every == 0:
                x = self.x(k + 0.5)
                half = len(name) * _SMALL / 2
                yield line((x, self.base), (x, self.base + 3))
                yield text((min(x, WIDTH - half), self.base + 14), name, "small")
        yield text(((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 5), self.period, "small")


def _number(name: str) -> int:
    """Return the number of a month, or of a year, on from the year nought."""
    year, _, month = name.partition("-")
    return int(year) * 12 + int(month) - 1 if month else int(year)


def _step(most: float) -> float:
    """Return a step of 1, 2 or 5 with noughts of which five at most make the scale.

    >>> [_step(most) for most in (0.7, 23, 0)]
    [0.2, 5.0, 1]
    """
    if most <= 0:
        return 1
    power = 10.0 ** math.floor(math.log10(most / 5))
    return next(round(power * n, 12) for n in (1, 2, 5, 10) if power * n * 5 >= most * (1 - 1e-9))
