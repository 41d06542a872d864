"""Filled contours of a grid as valid polygons: holes, islands, gaps and the antimeridian right."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
#: Any shapely geometry (the package carries no types).
Geometry = Any


def between(
    lat: FloatArray, lon: FloatArray, values: FloatArray, low: float, high: float
) -> Geometry:
    """Return where a surface lies between two levels.

    Parameters
    ----------
    lat, lon : (r,), (c,) arrays
        Nodes [deg], rising.
    values : (r, c) array
        The surface; NaN where there is none. Cells with one NaN corner are cut across it,
        cells with more are left out.
    low, high : float
        Levels; infinite for an open end.

    Returns
    -------
    shapely.MultiPolygon
        Valid, in (lon, lat) as the nodes run, with holes.
    """
    import contourpy

    maker = contourpy.contour_generator(
        lon,
        lat,
        np.ma.masked_invalid(values),
        name="serial",
        corner_mask=True,
        fill_type=contourpy.FillType.OuterOffset,
    )
    filled: Any = maker.filled(low, high)  # this fill type gives two lists
    points, offsets = filled
    return polygons_only([_polygon(p, o) for p, o in zip(points, offsets, strict=True)])


def _polygon(points: FloatArray, offsets: NDArray[np.uint32]) -> Geometry:
    """Return a polygon from its outer ring and its holes, one after another."""
    import shapely

    rings = [points[a:b] for a, b in itertools.pairwise(offsets.tolist())]
    return shapely.Polygon(rings[0], rings[1:])


def polygons_only(geometry: Any) -> Geometry:
    """Return the polygons of geometries as one valid MultiPolygon; lines and points go."""
    import shapely

    parts = shapely.get_parts(np.atleast_1d(np.asarray(geometry, dtype=object)))
    broken = ~shapely.is_valid(parts)
    parts[broken] = shapely.make_valid(parts[broken])
    while (shapely.get_type_id(parts) > 3).any():
        parts = shapely.get_parts(parts)
    parts = parts[(shapely.get_type_id(parts) == 3) & (shapely.area(parts) > 0)]
    whole = shapely.MultiPolygon(list(parts))
    # Polygons that are valid one by one may still overlap or share an edge.
    return whole if whole.is_valid else _union(parts)


def _union(parts: NDArray[Any]) -> Geometry:
    import shapely

    found = shapely.get_parts(shapely.union_all(parts))
    return shapely.MultiPolygon([p for p in found if p.geom_type == "Polygon"])


def cut(geometry: Geometry, by: Geometry) -> Geometry:
    """Return the polygons of ``geometry`` inside ``by`` (None: all of them)."""
    import shapely

    return geometry if by is None else polygons_only(shapely.intersection(geometry, by))


def on_grid(geometry: Geometry, step_deg: float) -> Geometry:
    """Return polygons with coordinates on whole steps, valid: what collapses goes."""
    import shapely

    return polygons_only(shapely.set_precision(geometry, step_deg))


def split(geometry: Geometry) -> Geometry:
    """Return polygons cut at the antimeridian, longitudes in [-180, 180] (RFC 7946, 3.1.9)."""
    import shapely

    west, _, east, _ = shapely.bounds(geometry)
    if np.isnan(west) or (west >= -180 and east <= 180):
        return geometry
    parts = []
    for turn in range(int(np.floor((west + 180) / 360)), int(np.ceil((east + 180) / 360))):
        world = shapely.box(-180 + 360 * turn, -90, 180 + 360 * turn, 90)
        piece = shapely.intersection(geometry, world)
        parts.append(shapely.transform(piece, lambda xy, t=turn: np.subtract(xy, (360 * t, 0))))
    return polygons_only(parts)


def right_handed(geometry: Geometry) -> Geometry:
    """Return polygons with outer rings anticlockwise and holes clockwise (RFC 7946, 3.1.6)."""
    import shapely

    return shapely.orient_polygons(geometry, exterior_cw=False)


def ground_area(geometry: Geometry) -> float:
    """Return the area of polygons in (lon, lat) on a sphere of radius 1.

    By Lambert's cylindrical projection, which keeps areas; edges are taken straight there.
    """
    import shapely

    def flattened(xy: FloatArray) -> FloatArray:
        return np.column_stack([np.radians(xy[:, 0]), np.sin(np.radians(xy[:, 1]))])

    return float(shapely.area(shapely.transform(geometry, flattened)))
