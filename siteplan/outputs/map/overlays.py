"""The user's own layers as the page draws them: simplified, in whole steps, text as text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.basemap.make import encoded
from siteplan.model import Overlay

#: Colours by name, on the bright page and on the dark one: Okabe and Ito's, darkened until they
#: keep 3:1 on white, lightened until they keep it on dark land (WCAG 2.2, 1.4.11).
COLORS = {
    "blue": ("#0072b2", "#56b4e9"),
    "vermilion": ("#c24e00", "#e8731a"),
    "green": ("#00805d", "#00b383"),
    "purple": ("#a8467f", "#d98cb8"),
    "grey": ("#5a5a5a", "#a6a6a6"),
    "black": ("#111111", "#eeeeee"),
}
#: Grid of the coordinates [deg], some 110 m, and what simplifying starts from.
STEP_DEG = 0.001
#: Vertices of all overlays together that a page holds; beyond, lines get coarser.
MOST_VERTICES = 60_000
#: Labels of one overlay that a page holds.
MOST_LABELS = 400


def embedded(overlays: Sequence[Overlay]) -> list[dict[str, Any]]:
    """Return the overlays for the page.

    Returns
    -------
    list of dict
        Name, colours by mode of the page, and ``rings`` (filled), ``lines``, ``points`` as texts
        of whole steps; ``labels`` as [lon, lat, text].
    """
    tolerance = STEP_DEG
    while True:
        made = [_embedded(overlay, k, tolerance) for k, overlay in enumerate(overlays)]
        if sum(size for _, size in made) <= MOST_VERTICES or tolerance > 1:
            return [layer for layer, _ in made]
        tolerance *= 2


def _embedded(overlay: Overlay, place: int, tolerance_deg: float) -> tuple[dict[str, Any], int]:
    """Return one overlay for the page and how many vertices it has."""
    import shapely

    color = overlay.color or list(COLORS)[place % len(COLORS)]
    shapes = np.asarray(overlay.shapes, dtype=object)
    kinds = shapely.get_type_id(shapes)
    rings = _steps(shapely.get_rings(shapes[kinds == 3]), tolerance_deg)
    lines = _steps(shapes[(kinds == 1) | (kinds == 2)], tolerance_deg)
    points = np.rint(shapely.get_coordinates(shapes[kinds == 0]) / STEP_DEG).astype(np.int64)
    layer = {
        "name": overlay.name,
        "colors": dict(zip(("bright", "dark"), COLORS[color], strict=True)),
        "step_deg": STEP_DEG,
        "rings": [encoded(ring) for ring in rings if len(ring) > 2],
        "lines": [encoded(line) for line in lines],
        "points": encoded(points) if len(points) else "",
        "labels": _labels(overlay),
    }
    return layer, sum(map(len, (*rings, *lines))) + len(points)


def _steps(shapes: NDArray[Any], tolerance_deg: float) -> list[NDArray[np.int64]]:
    """Return lines in whole steps, each point once."""
    import shapely

    found = []
    for shape in shapely.simplify(shapes, tolerance_deg, preserve_topology=False):
        steps = np.rint(shapely.get_coordinates(shape) / STEP_DEG).astype(np.int64)
        moved = np.any(np.diff(steps, axis=0) != 0, axis=1)
        if len(steps):
            found.append(steps[np.concatenate([[True], moved])])
    return found


def _labels(overlay: Overlay) -> list[list[Any]]:
    """Return the names of the shapes and where to write them."""
    named = [(s, t) for s, t in zip(overlay.shapes, overlay.labels, strict=True) if t]
    spots = ((s.representative_point(), t) for s, t in named[:MOST_LABELS])
    return [[round(p.x, 4), round(p.y, 4), text] for p, text in spots]
