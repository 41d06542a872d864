"""Layers of the map: how each field is classed, coloured and drawn.

A layer is one line in ``LAYERS``. Every class has a colour and a second cue, because some
readers do not see the colour, and print and sunlight take it from everyone:

* the margin's classes differ in shape. What fails is a large dark octagon with a cross (the
  outline that people already read as 'stop'), the shortest passing class is a triangle, and
  the shapes get rounder and smaller as the margin grows, so trouble is what the eye finds;
* ordered numbers differ in size, the end that needs care being the larger and the darker;
* names differ in shape.

In every layer a site that is not served as planned has a heavy octagon around it, and in the
margin's a site that a flag stops in spite of its margin has a class of its own.

Ramps rise steadily in lightness (CIE L*), so that they keep their order in grey.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import FLAGS, lookup
from siteplan.outputs.map.colors import ramp_colors
from siteplan.outputs.map.dataset import factorized
from siteplan.words import class_labels

Kind = Literal["verdict", "steps", "sizes", "names", "flags"]

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
_POWER = ("#3a0a45", "#8f3d96", "#cf8fd0", "#f3e0f2")
#: Okabe and Ito's colours for names, darkest last so that the usual case stays light.
_NAMES = ("#56b4e9", "#e69f00", "#009e73", "#cc79a7", "#f0e442", "#0072b2", "#d55e00", "#444444")
#: Accepted, incomplete, not accepted.
_VERDICTS = ("#56b4e9", "#e69f00", "#a3142a")
_BLANK = "#ffffff"
#: Ramp of the fields that have no layer of their own.
_PLAIN = ("#3b2a14", "#7d5a2b", "#bd9355", "#e3cf9f", "#f7f0dc")

_PASS_SHAPES = ("triangle", "diamond", "square", "down", "pentagon", "hexagon", "bar")
_NAME_SHAPES = ("circle", "square", "triangle", "diamond", "down", "hexagon", "pentagon", "bar")


@dataclass(frozen=True, slots=True)
class Layer:
    """One way to colour the sites.

    ``kind`` is ``verdict`` (the margin on the network's own classes), ``steps`` (a number in
    round steps), ``sizes`` (a number that takes few values), ``names`` or ``flags`` (the worst
    of them). ``care`` says which end of a number needs care; ``blank`` labels the sites that
    have no value; ``bounds`` fixes the steps, which otherwise follow the data.
    """

    field: str
    kind: Kind
    ramp: tuple[str, ...] = ()
    care: Literal["low", "high"] = "high"
    blank: str = "No value"
    bounds: tuple[float, ...] = ()


#: The layers in the order of the keys 1, 2, 3 and so on; those whose field a plan has not got
#: are left out.
LAYERS: tuple[Layer, ...] = (
    Layer("margin_db", "verdict", blank="No margin: satellite not in view"),
    # Under 10 degrees most rules want a reason; the rest is common practice, no source.
    Layer("elevation_deg", "steps", _DUSK, "low", "Satellite below the horizon", (10, 20, 30, 45)),
    Layer("rain_rate_mm_h", "steps", _RAIN),
    Layer("antenna_m", "sizes", _SIZE, blank="Nothing fits, or not in view"),
    Layer("mount", "names", _NAMES, blank="No mount chosen"),
    Layer("flags", "flags", _PASSING),
    Layer("buc_w", "sizes", _POWER, blank="Nothing fits, or not in view"),
    Layer("limiting_direction", "names", _NAMES[1:], blank="Satellite not in view"),
    Layer(
        "availability_achieved_pct",
        "steps",
        _DUSK,
        "low",
        "Under 50 %, or not in view",
        (99, 99.5, 99.9, 99.99),
    ),
    Layer("cable_class", "names", _NAMES, blank="No cable picked"),
    Layer("cable_loss_high_db", "steps", _SIZE, blank="No cable picked"),
    Layer("clearance_deg", "steps", _DUSK, "low", "No horizon known", (0, 2, 5, 10)),
    # What came back from the sites, against the plan.
    Layer("verdict", "names", _VERDICTS, blank="Not come back"),
    Layer("pointing_error_deg", "steps", _RAIN, blank="Not measured", bounds=(0.2, 0.5, 1, 2)),
    Layer("c_n_difference_db", "steps", _DUSK, "low", "Not measured", (-3, -2, -1, 0, 1)),
    Layer("moved_m", "steps", _SIZE, blank="Not measured", bounds=(10, 30, 100, 1000)),
)

#: Any field that starts so is a layer too: how far the emission stays under its limit.
_OFF_AXIS = "off_axis_"


def layers_of(columns: Mapping[str, NDArray[Any]]) -> list[Layer]:
    """Return the layers whose fields are in ``columns``: those listed, and off-axis figures."""
    listed = [layer for layer in LAYERS if layer.field in columns]
    off_axis = [
        Layer(name, "steps", _DUSK, "low")
        for name, values in columns.items()
        if name.startswith(_OFF_AXIS) and np.asarray(values).dtype.kind == "f"
    ]
    return listed + off_axis


def stop_flagged(flags: NDArray[Any]) -> NDArray[np.bool_]:
    """Return where ``flags`` (n,) hold one that says the site cannot be served as planned."""
    codes, texts = factorized(flags)
    stops = {flag.code for flag in FLAGS.values() if flag.severity == "stop"}
    found = np.array([bool(stops & set(text.split(";"))) for text in texts] + [False])
    return np.asarray(found[:-1][codes]) if len(texts) else np.zeros(len(flags), dtype=bool)


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
    flags = columns.get("flags", np.full(len(next(iter(columns.values()), ())), "", dtype=object))
    stopped = stop_flagged(flags)
    classers: Mapping[Kind, Callable[[Layer, NDArray[Any]], Classed]] = {
        "verdict": lambda layer, v: _verdict(
            v, stopped, bounds_db=bounds_db, reserve_db=reserve_db
        ),
        "steps": _steps,
        "sizes": _sizes,
        "names": _names,
        "flags": _flags,
    }
    return [
        _spec(layer, *classers[layer.kind](layer, columns[layer.field]))
        for layer in layers_of(columns)
    ]


def plain_look() -> dict[str, Any]:
    """Return what the page needs to class any other field by itself: colours and shapes."""
    return {
        "ramps": {str(k): ramp_colors(_PLAIN, k)[::-1] for k in range(1, 8)},
        "colors": list(_NAMES),
        "shapes": list(_NAME_SHAPES),
        "blank": {**_row("No value", _BLANK, "blank", 6.5), "blank": True},
    }


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
    return class_labels(bounds, unit) if bounds else ["All values"]


# --- margin ---------------------------------------------------------------------------------


def _verdict(
    margin_db: NDArray[np.float64],
    stopped: NDArray[np.bool_],
    *,
    bounds_db: Sequence[float],
    reserve_db: float,
) -> Classed:
    """Class the margin on the network's bounds, and dress the classes from worst to best.

    Sites that a flag stops although their margin holds come last, in a class of their own.
    """
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
    codes = binned(np.round(margin_db, 6), bounds)
    in_spite = stopped & (np.round(margin_db, 6) >= 0)
    if not in_spite.any():
        return codes, rows, bounds
    label = "Margin holds, but a flag stops it"
    stop = _row(label, _FAILING[1], "octagon", 9.0, outline=2.4, mark="level")
    return np.where(in_spite, len(rows), codes), [*rows, {**stop, "stop": True}], bounds


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


# --- flags ----------------------------------------------------------------------------------

#: Rows of the flags by the worst of them: severity, label, shape, radius and mark.
_FLAG_ROWS = (
    ("stop", "Stop: cannot be served as planned", "octagon", 9.0, "cross"),
    ("warn", "Check: decide before going", "triangle", 7.5, ""),
    ("note", "Note: know it", "diamond", 6.0, ""),
    ("", "No flag", "circle", 5.0, ""),
)


def _flags(layer: Layer, values: NDArray[Any]) -> Classed:
    """Class sites by the worst of their flags."""
    codes, texts = factorized(values)
    order = [severity for severity, *_ in _FLAG_ROWS]
    worst = [
        min(order.index(FLAGS[c].severity if c in FLAGS else "") for c in text.split(";"))
        for text in texts
    ]
    colors = [_FAILING[1], *ramp_colors(layer.ramp, len(order) - 1)]
    rows = [
        _row(label, color, shape, radius, outline=2.4 if mark else 1.2, mark=mark)
        for (_, label, shape, radius, mark), color in zip(_FLAG_ROWS, colors, strict=True)
    ]
    return np.array([*worst, 0])[:-1][codes], rows, []


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
