"""Shapes from any vector file, on WGS 84, with longitudes that run on across the antimeridian."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import ProjectError
from siteplan.inputs.faults import refuse_missing, told_plainly

FloatArray = NDArray[np.float64]

#: An edge longer than this [deg of longitude] is taken to go the other way round the Earth.
_HALF_TURN = 180.0
_NAME_COLUMNS = ("name", "label", "title")
_CRS_FIX = "Store the layer with its reference system, or convert it to WGS 84 (EPSG:4326)."


class Shapes(NamedTuple):
    """Single geometries (shapely) in (lon, lat) [deg] and the name of each ('' for none)."""

    shapes: list[Any]
    names: list[str]


def read_shapes(path: Path) -> Shapes:
    """Read all layers of a vector file.

    Parameters
    ----------
    path : Path
        Anything that GDAL reads as vectors, or GeoParquet.

    Returns
    -------
    Shapes
        Points, lines and polygons one by one; each continuous in longitude. An edge of more
        than 180 degrees is taken to cross the antimeridian, unless the shape would vanish.

    Raises
    ------
    ProjectError
        No such file, not a vector file, no reference system, or coordinates that are none.
    """
    refuse_missing(path, ProjectError)
    found = Shapes([], [])
    for table in _layers(path):
        _check_places(table.geometry, path)
        names = _names(table)
        for geometry, name in zip(table.geometry, names, strict=True):
            singles = _singles(geometry)
            found.shapes.extend(continuous(single) for single in singles)
            found.names.extend([name] * len(singles))
    return found


class Valued(NamedTuple):
    """Geometries as they stand (shapely), in (lon, lat) [deg], and all columns beside them."""

    shapes: list[Any]
    columns: dict[str, list[Any]]


def read_valued(path: Path) -> Valued:
    """Read all layers of a vector file with their columns; a layer without one leaves it None.

    Parameters
    ----------
    path : Path
        As `read_shapes`.

    Raises
    ------
    ProjectError
        As `read_shapes`.
    """
    refuse_missing(path, ProjectError)
    found = Valued([], {})
    for table in _layers(path):
        _check_places(table.geometry, path)
        before, after = len(found.shapes), len(found.shapes) + len(table)
        found.shapes.extend(table.geometry)
        for name in map(str, table.columns.drop(table.geometry.name)):
            values = found.columns.setdefault(name, [None] * before)
            values.extend([None] * (before - len(values)) + table[name].tolist())
        for values in found.columns.values():
            values.extend([None] * (after - len(values)))
    return found


def _layers(path: Path) -> list[Any]:
    """Return each layer that has geometry as a GeoDataFrame on WGS 84."""
    import geopandas
    import pyogrio

    with told_plainly("shapes", path), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if path.suffix.lower() in (".parquet", ".geoparquet"):
            table = geopandas.read_parquet(path)
            return [_on_wgs84(table.set_geometry(table.geometry.force_2d()), path)]
        names = [name for name, kind in pyogrio.list_layers(path) if kind is not None]
        tables = [pyogrio.read_dataframe(path, layer=name, force_2d=True) for name in names]
        return [_on_wgs84(table, path) for table in tables if hasattr(table, "geometry")]


def _on_wgs84(table: Any, path: Path) -> Any:
    if table.crs is None or table.crs.is_engineering:
        raise ProjectError("its reference system is unknown.", where=path.name, fix=_CRS_FIX)
    return table.to_crs("EPSG:4326")


def _check_places(geometry: Any, path: Path) -> None:
    """Raise where coordinates are not on the Earth."""
    import shapely

    xy = shapely.get_coordinates(geometry.to_numpy())
    beyond = ~np.isfinite(xy).all(axis=1) | (np.abs(xy[:, 1]) > 90) | (np.abs(xy[:, 0]) > 360)
    if beyond.any():
        lon, lat = xy[beyond][0]
        raise ProjectError(
            f"lon {lon:g}, lat {lat:g} is no place on the Earth.", where=path.name, fix=_CRS_FIX
        )


def _names(table: Any) -> list[str]:
    """Return what the file calls its shapes."""
    columns = {str(c).lower(): c for c in table.columns}
    key = next((columns[c] for c in _NAME_COLUMNS if c in columns), None)
    if key is None:
        return [""] * len(table)
    given = table[key].notna()
    return [str(v)[:200] if ok else "" for v, ok in zip(table[key], given, strict=True)]


def _singles(geometry: Any) -> list[Any]:
    """Return the points, lines and polygons in a geometry."""
    import shapely

    parts = np.atleast_1d(np.asarray(geometry, dtype=object))
    parts = parts[~(shapely.is_missing(parts) | shapely.is_empty(parts))]
    while len(parts) and (shapely.get_type_id(parts) > 3).any():
        parts = shapely.get_parts(parts)
    return list(parts)


def continuous(shape: Any) -> Any:
    """Return a single geometry whose longitudes run on past 180 instead of jumping."""
    import shapely

    west, _, east, _ = shapely.bounds(shape)
    if not east - west > _HALF_TURN:
        return shape
    try:
        turned = shapely.transform(shape, _unwrapped)
    except shapely.errors.GEOSException:
        return shape  # a ring the whole way round: with longitudes that run on, it has no end
    ring = shape.geom_type == "Polygon"
    if ring and not shapely.area(turned) > 1e-9 * shapely.area(shape):
        return shape  # the whole way round: the edges along the antimeridian are its own
    return turned


def _unwrapped(xy: FloatArray) -> FloatArray:
    return np.column_stack([np.unwrap(xy[:, 0], period=360), xy[:, 1]])


def side_by_side(shapes: Sequence[Any]) -> list[Any]:
    """Return shapes moved by whole turns so that together they span the least longitude.

    The westernmost begins in [-180, 180).
    """
    import shapely

    if not len(shapes):
        return []
    bounds = shapely.bounds(np.asarray(shapes, dtype=object))
    west = np.mod(bounds[:, 0] + 180, 360) - 180
    start = _after_widest_gap(west, bounds[:, 2] - bounds[:, 0])
    turns = np.round((start + np.mod(west - start, 360) - bounds[:, 0]) / 360)
    return [
        s if t == 0 else shapely.transform(s, lambda xy, t=t: np.add(xy, (360 * t, 0)))
        for s, t in zip(shapes, turns, strict=True)
    ]


def _after_widest_gap(west: FloatArray, width: FloatArray) -> float:
    """Return the western end of the shape that comes after the widest empty arc."""
    order = np.argsort(west)
    start, end = west[order], np.maximum.accumulate(west[order] + width[order])
    gaps = np.append(start[1:], start[0] + 360) - end
    # What reaches past 180 may cover the beginning of the turn again.
    gaps[:-1] = np.where(start[1:] < end[-1] - 360, 0, gaps[:-1])
    return float(start[(int(np.argmax(gaps)) + 1) % len(start)])
