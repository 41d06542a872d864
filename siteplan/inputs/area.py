"""The area that coverage is worked out for, from a file of polygons."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from siteplan.errors import ProjectError
from siteplan.inputs.files.shapes import read_shapes, side_by_side


def read_area(path: Path) -> Any:
    """Read the polygons of a file as one area.

    Parameters
    ----------
    path : Path
        Any vector file; lines and points in it do not count.

    Returns
    -------
    shapely.Polygon or shapely.MultiPolygon
        Valid, in (lon, lat) [deg] on WGS 84; longitudes run on past 180 where the area lies
        across the antimeridian, whether the file splits it there or not.

    Raises
    ------
    ProjectError
        If the file cannot be read or holds no polygon.
    """
    import shapely

    found = [s for s in read_shapes(path).shapes if s.geom_type == "Polygon"]
    valid = [shapely.make_valid(shape) for shape in found]
    area = shapely.union_all(side_by_side(valid)) if valid else None
    polygons = [p for p in shapely.get_parts([area]) if p.geom_type == "Polygon"] if valid else []
    if not polygons:
        raise ProjectError(
            "there is no polygon in it.",
            where=path.name,
            fix="Give a file with the outline of the area as a polygon.",
        )
    return shapely.MultiPolygon(polygons)
