"""Each site's class in each layer: bounds, labels, and what the page needs to draw them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence, Set
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import FLAGS, lookup
from siteplan.outputs.map import looks
from siteplan.outputs.map.colors import ramp_colors
from siteplan.outputs.map.dataset import factorized
from siteplan.outputs.map.layers import Kind, Layer, layers_of
from siteplan.outputs.map.looks import row
from siteplan.outputs.shown import amount, range_labels, words

#: One character a site; the position in this text is the class.
CODES = "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: More sizes than this are classed in steps; more names are gathered under the last.
MOST_CLASSES = 9

#: Digits that a bound may need to tell classes of like numbers apart, and the part of the values
#: that fewer digits may move to another class.
_MOST_DIGITS, _MOVED = 10, 0.1

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
    stopped = flagged(flags, {f.code for f in FLAGS.values() if f.severity == "stop"})
    classers: Mapping[Kind, Callable[[Layer, NDArray[Any]], Classed]] = {
        "verdict": lambda layer, v: _verdict(
            v, stopped, _kitless(columns), bounds_db=bounds_db, reserve_db=reserve_db
        ),
        "steps": _steps,
        "sizes": _sizes,
        "names": _names,
        "flags": _flags,
    }
    beamless = bool(flagged(flags, {"outside_beam"}).any())
    return [
        _spec(layer, *classers[layer.kind](layer, columns[layer.field]), beamless=beamless)
        for layer in layers_of(columns)
    ]


def _spec(
    layer: Layer,
    codes: NDArray[np.int64],
    rows: list[dict[str, Any]],
    bounds: list[float],
    *,
    beamless: bool,
) -> dict[str, Any]:
    """Return a layer; where some site is in no beam, that is a reason to have no value too."""
    unseen = "not in view, or in no beam" if beamless else "not in view"
    blank = looks.blank(layer.blank.replace("not in view", unseen))
    coded = np.frombuffer(CODES.encode(), dtype=np.uint8)[np.where(codes < 0, len(rows), codes)]
    return {
        "field": layer.field,
        "kind": layer.kind,
        "bounds": bounds,
        "classes": [*rows, blank],
        "codes": coded.tobytes().decode(),
    }


def flagged(flags: NDArray[Any], wanted: Set[str]) -> NDArray[np.bool_]:
    """Return where ``flags`` (n,) hold one of those that are ``wanted``."""
    codes, texts = factorized(flags)
    found = np.array([bool(wanted & set(text.split(";"))) for text in texts] + [False])
    return np.asarray(found[:-1][codes]) if len(texts) else np.zeros(len(flags), dtype=bool)


def binned(values: NDArray[np.float64], bounds: Sequence[float]) -> NDArray[np.int64]:
    """Return the class of each value: 0 below the first bound, -1 for NaN.

    A value on a bound belongs to the class above it.
    """
    codes = np.searchsorted(np.asarray(bounds, dtype=np.float64), values, side="right")
    return np.where(np.isnan(values), -1, codes).astype(np.int64)


# --- margin ---------------------------------------------------------------------------------


def _kitless(columns: Mapping[str, NDArray[Any]]) -> bool:
    """Return whether some site has a margin of a pair that was only tried: it is given none."""
    pair = [columns[name] for name in ("antenna_m", "buc_w") if name in columns]
    known = ~np.isnan(np.asarray(columns["margin_db"], dtype=np.float64))
    return any(bool((known & np.isnan(of)).any()) for of in pair)


def _verdict(
    margin_db: NDArray[np.float64],
    stopped: NDArray[np.bool_],
    kitless: bool,
    *,
    bounds_db: Sequence[float],
    reserve_db: float,
) -> Classed:
    """Class the margin on the network's bounds, and dress the classes from worst to best.

    Sites that a flag stops although their margin holds come last, in a class of their own. Where
    some sites get no kit a class waits for them: with another target the page counts them there.
    """
    bounds = [float(b) for b in bounds_db]
    failing = sum(lower < 0 for lower in [-math.inf, *bounds])
    passing = len(bounds) + 1 - failing
    labels = range_labels(bounds, "dB")
    notes = [_verdict_note(upper, reserve_db) for upper in [*bounds, math.inf]]
    styles = [*looks.failing_styles(failing), *looks.passing_styles(passing)]
    rows = [
        row(label + note, *style[:3], outline=style[3], mark=style[4])
        for label, note, style in zip(labels, notes, styles, strict=True)
    ]
    # Past six decimals a margin is noise: the plan classes it so too.
    codes = binned(np.round(margin_db, 6), bounds)
    in_spite = stopped & (np.round(margin_db, 6) >= 0)
    if kitless:
        none = row("No kit planned", looks.NAMES[-1], "octagon", 8.0, outline=2.4, mark="level")
        rows.append({**none, "kitless": True})
    if in_spite.any():
        codes = np.where(in_spite, len(rows), codes)
        label = "Margin holds, but a flag stops it"
        stop = row(label, looks.FAILING[1], "octagon", 9.0, outline=2.4, mark="level")
        rows.append({**stop, "stop": True})
    return codes, rows, bounds


def _verdict_note(upper_db: float, reserve_db: float) -> str:
    if upper_db <= 0:
        return ": fails"
    return ", under the reserve" if upper_db <= reserve_db else ""


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


def quantile_bounds(values: NDArray[np.float64], *, decimals: int, classes: int = 5) -> list[float]:
    """Return bounds inside the range of ``values`` that part them into classes of like numbers.

    Of as few digits as leave no class empty and move no more than a tenth of the values to another
    one; values are told apart by their decimals. Fewer where many are the same, none where all are.
    """
    rising = np.sort(np.round(values[np.isfinite(values)], decimals))
    steps = np.flatnonzero(np.diff(rising)) + 1
    if not steps.size:
        return []
    wanted = np.arange(1, classes) * len(rising) / classes
    cuts = np.unique(steps[np.argmin(np.abs(steps[None, :] - wanted[:, None]), axis=1)])
    bounds: list[float] = []
    for cut, after in zip(cuts.tolist(), [*cuts.tolist()[1:], len(rising)], strict=True):
        before = int(np.searchsorted(rising, bounds[-1])) if bounds else 0
        bounds.append(_bound(rising, cut, (before, after), decimals))
    return bounds


def _bound(rising: NDArray[np.float64], cut: int, between: tuple[int, int], decimals: int) -> float:
    """Return the shortest number that about ``cut`` of the values lie under.

    More than the first of ``between``, fewer than the second.
    """
    for digits in range(1, _MOST_DIGITS):
        bound = _to_digits(float(rising[cut]), digits, decimals)
        below = int(np.searchsorted(rising, bound))
        if between[0] < below < between[1] and abs(below - cut) <= _MOVED * len(rising):
            return bound
    return float(rising[cut])


def _to_digits(value: float, digits: int, decimals: int) -> float:
    """Return a number to so many digits, of no more than some decimals.

    >>> _to_digits(12_345.678, 2, 2), _to_digits(0.01234, 2, 2)
    (12000.0, 0.01)
    """
    whole = math.floor(math.log10(abs(value))) + 1 if value else 0
    return round(value, min(digits - whole, decimals))


def _nice_step(raw: float) -> float:
    power: float = 10.0 ** math.floor(math.log10(raw))
    return power * next(m for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9))


def _steps(layer: Layer, values: NDArray[Any]) -> Classed:
    known = lookup(layer.field)
    unit, decimals = (known.unit, known.decimals or 0) if known else ("", 1)
    numbers = np.asarray(values, dtype=np.float64)
    bounds = list(layer.bounds) or (
        quantile_bounds(numbers, decimals=decimals)
        if layer.alike
        else nice_bounds(numbers, smallest_step=10.0**-decimals)
    )
    labels = range_labels(bounds, unit)
    return binned(numbers, bounds), _ordered_rows(layer, labels), bounds


def _sizes(layer: Layer, values: NDArray[Any]) -> Classed:
    known = lookup(layer.field)
    numbers = np.asarray(values, dtype=np.float64)
    sizes = np.unique(numbers[np.isfinite(numbers)])
    if len(sizes) > MOST_CLASSES:
        return _steps(layer, values)
    codes = np.searchsorted(sizes, numbers)
    labels = [amount(size, known.unit if known else "") for size in sizes]
    return np.where(np.isnan(numbers), -1, codes), _ordered_rows(layer, labels), []


def _ordered_rows(layer: Layer, labels: list[str]) -> list[dict[str, Any]]:
    """Return rows from low to high, the end that needs care darker and larger."""
    colors = ramp_colors(layer.ramp, len(labels))
    radii = [float(r) for r in np.linspace(8.5, 4.5, len(labels))]
    if layer.care == "high":
        colors, radii = colors[::-1], radii[::-1]
    return [
        row(label, color, "circle", radius)
        for label, color, radius in zip(labels, colors, radii, strict=True)
    ]


# --- flags ----------------------------------------------------------------------------------

#: Rows of the flags by the worst of them: severity, label, shape, radius and mark.
_FLAG_ROWS = (
    ("stop", "Stop: not served as planned", "octagon", 9.0, "cross"),
    ("warn", "Decide: before going there", "triangle", 8.0, ""),
    ("note", "Know: nothing to decide", "diamond", 6.0, ""),
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
    colors = [looks.FAILING[1], *ramp_colors(layer.ramp, len(order) - 1)]
    rows = [
        row(label, color, shape, radius, outline=2.4 if mark else 1.2, mark=mark)
        for (_, label, shape, radius, mark), color in zip(_FLAG_ROWS, colors, strict=True)
    ]
    return np.array([*worst, 0])[:-1][codes], rows, []


# --- names ----------------------------------------------------------------------------------


def _names(layer: Layer, values: NDArray[Any]) -> Classed:
    codes, names = factorized(values)
    fixed = {name: place for place, name in enumerate(layer.order)}
    order = sorted(
        (k for k, name in enumerate(names) if name),
        key=lambda k: (fixed.get(names[k], len(fixed)), names[k]),
    )
    place = np.full(len(names) + 1, -1, dtype=np.int64)
    place[order] = np.minimum(np.arange(len(order)), len(looks.NAME_SHAPES) - 1)
    labels = [words(names[k]) for k in order]
    if len(labels) > len(looks.NAME_SHAPES):
        labels = [*labels[: len(looks.NAME_SHAPES) - 1], "others"]
    look = [fixed.get(names[k], at) for at, k in enumerate(order)]
    rows = [
        row(
            label,
            layer.ramp[k % len(layer.ramp)],
            looks.NAME_SHAPES[k % len(looks.NAME_SHAPES)],
            6.5,
        )
        for label, k in zip(labels, look, strict=False)
    ]
    return place[codes], rows, []
