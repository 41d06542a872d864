"""A point for a shape that is none: inside a polygon, in the middle of a line."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.inputs.files.shapes import continuous
from siteplan.model import Note

#: Types of shapely geometries, by number: lines and rings, polygons, and several of one kind.
_POINT, _LINES, _POLYGONS = 0, (1, 2, 5), (3, 6)
_MANY_POINTS, _COLLECTION = 4, 7
_INSIDE = Note.of("note.coordinate_mended.point_inside")
_MIDDLE = Note.of("note.coordinate_mended.line_middle")


def points_of(
    geometry: NDArray[Any], *, geographic: bool
) -> tuple[NDArray[Any], dict[int, tuple[Note, ...]]]:
    """Return one point for each shape that has one that can be meant, and notes on those found.

    Parameters
    ----------
    geometry : array (n,) of shapely geometries
    geographic : bool
        The shapes are in longitude and latitude [deg], which jump at the antimeridian.

    Returns
    -------
    points : array (n,)
        The points; other shapes, such as several points, stay as they are.
    notes : dict of int to tuple of Note
        By position: that the point was taken inside a polygon, or in the middle of a line.
    """
    import shapely

    out = np.array([*geometry, None], dtype=object)[:-1]
    notes: dict[int, tuple[Note, ...]] = {}
    kinds = shapely.get_type_id(geometry)
    for at in np.flatnonzero((kinds > _POINT) & ~shapely.is_empty(geometry)).tolist():
        shape = geometry[at]
        if kinds[at] in (_MANY_POINTS, _COLLECTION):
            out[at] = _only_point(shape)
            continue
        point, note = _point_in(continuous(shape) if geographic else shape, int(kinds[at]))
        if point is not None:
            out[at] = _on_the_globe(point) if geographic else point
            notes[at] = (note,)
    return out, notes


def _only_point(shape: Any) -> Any:
    """Return the one point among the parts of a shape, else the shape."""
    import shapely

    parts = shapely.get_parts(shape)
    points = parts[shapely.get_type_id(parts) == _POINT]
    return points[0] if len(points) == 1 else shape


def _point_in(shape: Any, kind: int) -> tuple[Any, Note]:
    """Return the point inside of a polygon or in the middle of a line, None where there is none."""
    import shapely

    if kind in _LINES:
        parts = shapely.get_parts(shape)
        longest = parts[int(np.argmax(shapely.length(parts)))]
        return shapely.line_interpolate_point(longest, 0.5, normalized=True), _MIDDLE
    whole = shape if shapely.is_valid(shape) else shapely.make_valid(shape)
    point = shapely.point_on_surface(whole)
    found = None if shapely.is_empty(point) or not np.isfinite([point.x, point.y]).all() else point
    return found, _INSIDE


def _on_the_globe(point: Any) -> Any:
    """Return a point whose longitude had run on past 180 as it is written."""
    import shapely

    if -180 <= point.x <= 180:
        return shapely.Point(point.x, point.y)
    return shapely.Point((point.x + 180) % 360 - 180, point.y)
