"""Layers of the map: how each field is classed, coloured and drawn.

A layer is one line in ``LAYERS``. Every class has a colour and a second cue, because some
readers do not see the colour, and print and sunlight take it from everyone:

* the margin's classes differ in shape. What fails is a large dark octagon with a cross (the
  outline that people already read as 'stop'), the shortest passing class is a triangle, and
  the shapes get rounder and smaller as the margin grows, so trouble is what the eye finds;
* ordered numbers differ in size, the end that needs care being the larger and the darker;
* names differ in shape.

Ramps rise steadily in lightness (CIE L*), so that they keep their order in grey.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import lookup
from siteplan.outputs.colors import ramp_colors
from siteplan.outputs.dataset import factorized

Kind = Literal["verdict", "steps", "sizes", "names"]

#: One character a site; the position in this text is the class.
CODES = "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: More sizes than this are classed in steps; more names are gathered under the last.
MOST_CLASSES = 9

#: Ramps, the end that needs care first; each rises in lightness.
_FAILING = ("#4d0711", "#a3142a")
_PASSING = ("#dd6a17", "#eeb52f", "#b4dcf0", "#eef7fc")
_DUSK = ("#35104f", "#86377a", "#d5696c", "#f5be82", "#fbf1cc")
_RAIN = ("#0c2257", "#1f6aa8", "#63b3bd", "#c0e2b6", "#f6f3c8")
_SIZE = ("#083a2b", "#2a875a", "#86c47d", "#e4f1c6")
#: Okabe and Ito's colours for names, darkest last so that the usual case stays light.
_NAMES = ("#56b4e9", "#e69f00", "#009e73", "#cc79a7", "#f0e442", "#0072b2", "#d55e00", "#444444")
_BLANK = "#ffffff"

_PASS_SHAPES = ("triangle", "diamond", "square", "down", "pentagon", "hexagon", "bar")
_NAME_SHAPES = ("circle", "square", "triangle", "diamond", "down", "hexagon", "pentagon", "bar")


@dataclass(frozen=True, slots=True)
class Layer:
    """One way to colour the sites.

    ``kind`` is ``verdict`` (the margin on the network's own classes), ``steps`` (a number in
    round steps), ``sizes`` (a number that takes few values) or ``names``. ``care`` says which
    end of a number needs care; ``blank`` labels the sites that have no value; ``bounds`` fixes
    the steps, which otherwise follow the data.
    """

    field: str
    kind: Kind
    ramp: tuple[str, ...] = ()
    care: Literal["low", "high"] = "high"
    blank: str = "No value"
    bounds: tuple[float, ...] = ()


#: The layers in the order of the keys 1, 2, 3 and so on.
LAYERS: tuple[Layer, ...] = (
    Layer("margin_db", "verdict", blank="No margin: satellite not in view"),
    # Under 10 degrees most rules want a reason; the rest is common practice, no source.
    Layer("elevation_deg", "steps", _DUSK, "low", "Satellite below the horizon", (10, 20, 30, 45)),
    Layer("rain_rate_mm_h", "steps", _RAIN),
    Layer("antenna_m", "sizes", _SIZE, blank="Nothing fits, or not in view"),
    Layer("mount", "names", _NAMES, blank="No mount chosen"),
)

#: What a classer returns: the class of each site (-1: no value), the rows, the bounds.
Classed = tuple[NDArray[np.int64], list[dict[str, Any]], list[float]]


def layer_specs(
    columns: Mapping[str, NDArray[Any]], *, bounds_db: Sequence[float], reserve_db: float
) -> list[dict[str, Any]]:
    """Return what the page needs of each layer whose field is in ``columns``.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
        Result fields, unrounded: a site is classed by the value that the plan computed.
    bounds_db : sequence of float
        Bounds of the margin classes [dB], rising.
    reserve_db : float
        The planner's reserve [dB], named in the labels of the classes under it.
    """
    classers: Mapping[Kind, Callable[[Layer, NDArray[Any]], Classed]] = {
        "verdict": lambda layer, v: _verdict(v, bounds_db=bounds_db, reserve_db=reserve_db),
        "steps": _steps,
        "sizes": _sizes,
        "names": _names,
    }
    return [
        _spec(layer, *classers[layer.kind](layer, columns[layer.field]))
        for layer in LAYERS
        if layer.field in columns
    ]


def _spec(
    layer: Layer, codes: NDArray[np.int64], rows: list[dict[str, Any]], bounds: list[float]
) -> dict[str, Any]:
    blank = _row(layer.blank, _BLANK, "blank", 6.5)
    coded = np.frombuffer(CODES.encode(), dtype=np.uint8)[np.where(codes < 0, len(rows), codes)]
    return {
        "field": layer.field,
        "kind": layer.kind,
        "bounds": bounds,
        "classes": [*rows, {**blank, "blank": True}],
        "codes": coded.tobytes().decode(),
    }


def _row(
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


def binned(values: NDArray[np.float64], bounds: Sequence[float]) -> NDArray[np.int64]:
    """Return the class of each value: 0 below the first bound, -1 for NaN.

    A value on a bound belongs to the class above it.
    """
    codes = np.searchsorted(np.asarray(bounds, dtype=np.float64), values, side="right")
    return np.where(np.isnan(values), -1, codes).astype(np.int64)


def _range_labels(bounds: Sequence[float], unit: str) -> list[str]:
    if not bounds:
        return ["All values"]
    texts = [f"{bound:g}" for bound in bounds]
    inner = [f"{low} to {high} {unit}" for low, high in itertools.pairwise(texts)]
    rows = [f"below {texts[0]} {unit}", *inner, f"{texts[-1]} {unit} or more"]
    return [row.replace(" deg", "°") for row in rows]


# --- margin ---------------------------------------------------------------------------------


def _verdict(
    margin_db: NDArray[np.float64], *, bounds_db: Sequence[float], reserve_db: float
) -> Classed:
    """Class the margin on the network's bounds, and dress the classes from worst to best."""
    bounds = [float(b) for b in bounds_db]
    failing = sum(lower < 0 for lower in [-math.inf, *bounds])
    passing = len(bounds) + 1 - failing
    labels = _range_labels(bounds, "dB")
    notes = [_verdict_note(upper, reserve_db) for upper in [*bounds, math.inf]]
    styles = [*_failing_styles(failing), *_passing_styles(passing)]
    rows = [
        _row(label + note, *style[:3], outline=style[3], mark=style[4])
        for label, note, style in zip(labels, notes, styles, strict=True)
    ]
    # Past six decimals a margin is noise: the plan classes it so too.
    return binned(np.round(margin_db, 6), bounds), rows, bounds


def _verdict_note(upper_db: float, reserve_db: float) -> str:
    if upper_db <= 0:
        return ": fails"
    return ", under the reserve" if upper_db <= reserve_db else ""


_Style = tuple[str, str, float, float, str]


def _failing_styles(count: int) -> list[_Style]:
    colors = ramp_colors(_FAILING, count)
    radii = np.linspace(9.5, 8.0, count)
    marks = ["cross", *["stroke"] * (count - 1)][:count]
    return [
        (color, "octagon", float(radius), 2.4, mark)
        for color, radius, mark in zip(colors, radii, marks, strict=True)
    ]


def _passing_styles(count: int) -> list[_Style]:
    if count == 0:
        return []
    shapes = [*_PASS_SHAPES[: count - 1], "circle"]
    radii = np.linspace(7.5, 5.0, count)
    return [
        (color, shape, float(radius), 1.2, "")
        for color, shape, radius in zip(ramp_colors(_PASSING, count), shapes, radii, strict=True)
    ]


# --- numbers --------------------------------------------------------------------------------


def nice_bounds(values: NDArray[np.float64], *, smallest_step: float, most: int = 6) -> list[float]:
    """Return at most ``most`` round bounds (steps of 1, 2 or 5) inside the range of ``values``.

    Empty where all values are the same, or all NaN.
    """
    finite = values[np.isfinite(values)]
    if finite.size == 0 or finite.min() == finite.max():
        return []
    low, high = float(finite.min()), float(finite.max())
    step = max(_nice_step((high - low) / most), smallest_step)
    first, last = math.floor(low / step), math.ceil(high / step)
    bounds = [float(f"{k * step:.6g}") for k in range(first, last + 1)]
    return [bound for bound in bounds if low < bound < high]


def _nice_step(raw: float) -> float:
    power: float = 10.0 ** math.floor(math.log10(raw))
    return power * next(m for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9))


def _steps(layer: Layer, values: NDArray[Any]) -> Classed:
    known = lookup(layer.field)
    unit, decimals = (known.unit, known.decimals or 0) if known else ("", 1)
    numbers = np.asarray(values, dtype=np.float64)
    bounds = list(layer.bounds) or nice_bounds(numbers, smallest_step=10.0**-decimals)
    labels = _range_labels(bounds, unit)
    return binned(numbers, bounds), _ordered_rows(layer, labels), bounds


def _sizes(layer: Layer, values: NDArray[Any]) -> Classed:
    known = lookup(layer.field)
    numbers = np.asarray(values, dtype=np.float64)
    sizes = np.unique(numbers[np.isfinite(numbers)])
    if len(sizes) > MOST_CLASSES:
        return _steps(layer, values)
    codes = np.searchsorted(sizes, numbers)
    labels = [f"{size:g} {known.unit if known else ''}".strip() for size in sizes]
    return np.where(np.isnan(numbers), -1, codes), _ordered_rows(layer, labels), []


def _ordered_rows(layer: Layer, labels: list[str]) -> list[dict[str, Any]]:
    """Return rows from low to high, the end that needs care darker and larger."""
    colors = ramp_colors(layer.ramp, len(labels))
    radii = [float(r) for r in np.linspace(8.5, 4.5, len(labels))]
    if layer.care == "high":
        colors, radii = colors[::-1], radii[::-1]
    return [
        _row(label, color, "circle", radius)
        for label, color, radius in zip(labels, colors, radii, strict=True)
    ]


# --- names ----------------------------------------------------------------------------------


def _names(layer: Layer, values: NDArray[Any]) -> Classed:
    codes, names = factorized(values)
    order = sorted((k for k, name in enumerate(names) if name), key=lambda k: names[k])
    place = np.full(len(names) + 1, -1, dtype=np.int64)
    place[order] = np.minimum(np.arange(len(order)), len(_NAME_SHAPES) - 1)
    labels = [names[k].replace("_", " ") for k in order]
    if len(labels) > len(_NAME_SHAPES):
        labels = [*labels[: len(_NAME_SHAPES) - 1], "others"]
    rows = [
        _row(label, layer.ramp[k % len(layer.ramp)], _NAME_SHAPES[k], 6.5)
        for k, label in enumerate(labels)
    ]
    return place[codes], rows, []
