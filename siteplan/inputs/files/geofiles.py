"""Reading files with geometry: GeoJSON, GeoPackage, KML, Parquet and GeoParquet.

Points give latitude and longitude on WGS 84 (EPSG:4326); other reference systems are
transformed by PROJ. A geometry that is no single point cannot be a site: its row is rejected.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.errors import SitesError
from siteplan.inputs.files.rawtable import Table, without_blank_rows
from siteplan.inputs.headings import check_headings, key_of
from siteplan.model import Note, Reject

_HEIGHT_NOTE = Note.of("note.input_mended.point_height")
_APART_NOTE = Note.of("note.coordinate_doubt.point_apart")
_NOT_WGS84_FIX = "Store the layer with its reference system, or convert it to WGS 84 (EPSG:4326)."


@dataclass(frozen=True, slots=True)
class _Layer:
    """Where the points of a file are: layer, geometry column, reference system."""

    layer: str | None
    geometry: str | None
    crs: Any


def vector_chunks(path: Path, rows: int | None) -> Iterator[Table]:
    """Yield the rows of a GeoJSON or GeoPackage file.

    Parameters
    ----------
    path : Path
    rows : int or None
        Rows a chunk; None for the whole file at once.

    Yields
    ------
    Table
        With ``lat`` and ``lon`` [deg] where the layer has geometry.

    Raises
    ------
    SitesError
        Unreadable file, no or several layers of points, unknown reference system.
    """
    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError

    try:
        layer = _pick_layer(path, pyogrio.list_layers(path))
        meta, table = pyogrio.read_arrow(path, layer=layer, max_features=0)
        geometry = _geometry_name(meta, table.schema.names)
        found = _Layer(layer, geometry, _checked_crs(meta.get("crs"), path) if geometry else None)
        first = 2
        with pyogrio.open_arrow(path, layer=layer, batch_size=rows or 65_536) as (_, stream):
            for batch in _batches(stream, rows):
                yield _arrow_table(batch, found, first, path)
                first += batch.num_rows
    except (DataSourceError, DataLayerError):
        raise SitesError(
            "the file cannot be read.",
            where=path.name,
            fix=f"Check that it is a whole {path.suffix} file, or export it again.",
        ) from None


def _batches(stream: Any, rows: int | None) -> Iterator[Any]:
    """Yield tables of ``rows`` rows; at least one, even of no rows."""
    import pyarrow as pa

    reader = pa.RecordBatchReader.from_stream(stream)
    if rows is None:
        yield reader.read_all()
        return
    count, held = 0, []
    empty = True
    for batch in reader:
        held.append(batch)
        count += batch.num_rows
        while count >= rows:
            table = pa.Table.from_batches(held, reader.schema)
            yield table.slice(0, rows)
            held, count, empty = table.slice(rows).to_batches(), count - rows, False
    if count or empty:
        yield pa.Table.from_batches(held, reader.schema)


def _pick_layer(path: Path, layers: NDArray[Any]) -> str | None:
    """Return the layer of sites: the only one, the one called sites, or the only one of points."""
    names = [str(name) for name, _ in layers]
    points = [str(name) for name, kind in layers if kind and "Point" in str(kind)]
    if len(names) == 1:
        return names[0]
    if "sites" in names:
        return "sites"
    if len(points) == 1:
        return points[0]
    what = f"it has {len(names)} layers: {', '.join(names[:10])}." if names else "it has no layer."
    raise SitesError(
        what, where=path.name, fix="Keep one layer of points, or call the right one 'sites'."
    )


def _geometry_name(meta: Mapping[str, Any], names: list[str]) -> str | None:
    if not meta.get("geometry_type"):
        return None
    name = meta.get("geometry_name") or "wkb_geometry"
    return name if name in names else next((n for n in ("geom", "geometry") if n in names), None)


def _checked_crs(crs: Any, path: Path) -> Any:
    """Return the reference system, or refuse one that cannot be placed on the Earth."""
    import pyproj

    try:
        found = pyproj.CRS.from_user_input(crs) if crs else None
    except pyproj.exceptions.CRSError:
        found = None
    unplaced = found is None or found.is_engineering or "undefined" in found.name.lower()
    if unplaced:
        raise SitesError(
            "the reference system of the points is unknown.", where=path.name, fix=_NOT_WGS84_FIX
        )
    return found


def parquet_chunks(path: Path, rows: int | None) -> Iterator[Table]:
    """Yield the rows of a Parquet or GeoParquet file.

    Parameters, yields and raises as :func:`vector_chunks`; GeoParquet by its metadata
    (OGC GeoParquet 1.1: no ``crs`` means OGC:CRS84).
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        file = pq.ParquetFile(path)
    except (pa.ArrowInvalid, OSError):
        raise SitesError(
            "the file cannot be read as Parquet.", where=path.name, fix="Export it again."
        ) from None
    with file:
        found = _geoparquet_layer(file.schema_arrow.metadata or {}, path)
        if rows is None:
            yield _arrow_table(file.read(), found, 2, path)
            return
        first = 2
        for batch in file.iter_batches(batch_size=rows):
            yield _arrow_table(pa.Table.from_batches([batch]), found, first, path)
            first += batch.num_rows
        if first == 2:
            yield _arrow_table(file.read(), found, 2, path)


def _geoparquet_layer(metadata: Mapping[bytes, bytes], path: Path) -> _Layer:
    if b"geo" not in metadata:
        return _Layer(None, None, None)
    geo = json.loads(metadata[b"geo"])
    name = geo["primary_column"]
    column = geo["columns"][name]
    if column.get("encoding") not in ("WKB", "point"):
        raise SitesError(
            f"geometry encoding {column.get('encoding')} is not read.",
            where=path.name,
            fix="Store the points as WKB.",
        )
    return _Layer(None, name, _checked_crs(column.get("crs", "OGC:CRS84"), path))


def _arrow_table(table: Any, layer: _Layer, first: int, path: Path) -> Table:
    """Return an Arrow table as a table of ours, geometry turned into lat and lon."""
    names = [name for name in table.schema.names if name != layer.geometry]
    check_headings(names, path.name)
    columns = {name: _arrow_values(table[name]) for name in names}
    row = np.arange(first, first + table.num_rows, dtype=np.int64)
    bare = Table(columns, row, path.name)
    if layer.geometry is None:
        return without_blank_rows(bare)
    geometry = _points(table[layer.geometry])
    return place(bare, geometry, layer.crs)


def _arrow_values(column: Any) -> NDArray[Any]:
    """Return a column's original values: typed where complete, else objects with None."""
    import pyarrow as pa

    kind = column.type
    if pa.types.is_dictionary(kind):
        return _arrow_values(column.cast(kind.value_type))
    if pa.types.is_floating(kind) or (pa.types.is_integer(kind) and column.null_count == 0):
        return np.asarray(column.to_numpy())
    if pa.types.is_temporal(kind):
        return np.asarray(column.to_pandas().astype(object).to_numpy(dtype=object))
    values = np.empty(len(column), dtype=object)
    values[:] = column.to_pylist()
    if pa.types.is_string(kind) or pa.types.is_large_string(kind):
        values[column.is_null().to_numpy()] = ""
    return values


def _points(column: Any) -> NDArray[Any]:
    """Return a geometry column (WKB, or separate x and y) as shapely geometries."""
    import pyarrow as pa
    import shapely

    column = column.combine_chunks()
    if pa.types.is_struct(column.type):
        x, y = (np.asarray(column.field(axis).to_numpy(zero_copy_only=False)) for axis in "xy")
        points: NDArray[Any] = shapely.points(x, y)
        points[column.is_null().to_numpy(zero_copy_only=False)] = None
        return points
    if isinstance(column, pa.ExtensionArray):
        column = column.storage
    wkb = np.empty(len(column), dtype=object)
    wkb[:] = column.to_pylist()
    return np.asarray(shapely.from_wkb(wkb, on_invalid="ignore"))


def place(table: Table, geometry: NDArray[Any], crs: Any) -> Table:
    """Give a table the positions of its points; reject the rows without a point.

    Parameters
    ----------
    table : Table
        Of n rows.
    geometry : array (n,) of shapely geometries
    crs : pyproj.CRS
        Their reference system.

    Returns
    -------
    Table
        With ``lat`` and ``lon`` [deg], WGS 84.
    """
    import shapely

    kinds = shapely.get_type_id(geometry)
    single = (kinds == 4) & (shapely.get_num_geometries(geometry) == 1)
    if single.any():
        geometry = np.where(single, shapely.get_geometry(geometry, 0), geometry)
        kinds = np.where(single, 0, kinds)
    good = (kinds == 0) & ~shapely.is_empty(geometry)
    rejects = [_no_point(table, at, geometry[at]) for at in np.flatnonzero(~good).tolist()]
    kept = np.flatnonzero(good)
    x, y = shapely.get_x(geometry[kept]), shapely.get_y(geometry[kept])
    lat, lon = _to_wgs84(x, y, crs)
    notes = _position_notes(table, kept, lat, lon, shapely.get_z(geometry[kept]))
    lost = ~(np.isfinite(lat) & np.isfinite(lon))
    rejects += [_lost(table, kept[at]) for at in np.flatnonzero(lost).tolist()]
    placed = replace(table.take(kept), lat=lat, lon=lon, notes=notes)
    placed = placed.take(np.flatnonzero(~lost))
    return replace(placed, rejects=(*table.rejects, *rejects))


def _row_id(table: Table, at: int) -> str:
    names = [name for name in table.columns if key_of(name) == "site_id"]
    return str(table.columns[names[0]][at] or "") if names else ""


def _no_point(table: Table, at: int, geometry: Any) -> Reject:
    kind = "nothing" if geometry is None or geometry.is_empty else geometry.geom_type
    fix = "A site is one point: give its position."
    reason = f"the geometry is {kind}, not a point"
    return Reject(int(table.row[at]), _row_id(table, at), "geometry", kind, reason, fix)


def _lost(table: Table, at: int) -> Reject:
    reason = "the point has no position on WGS 84 in its reference system"
    fix = "Check the coordinates and the reference system of the layer."
    return Reject(int(table.row[at]), _row_id(table, at), "geometry", "", reason, fix)


def _to_wgs84(x: FloatArray, y: FloatArray, crs: Any) -> tuple[FloatArray, FloatArray]:
    """Return latitude and longitude [deg] of points (k,)."""
    import pyproj

    if pyproj.CRS.from_user_input(crs).equals("EPSG:4326", ignore_axis_order=True):
        return y, x
    forward = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    lon, lat = forward.transform(x, y)
    return np.asarray(lat, dtype=np.float64), np.asarray(lon, dtype=np.float64)


def _position_notes(
    table: Table, kept: IntArray, lat: FloatArray, lon: FloatArray, z: FloatArray
) -> dict[int, tuple[Note, ...]]:
    """Return notes on heights left out and on lat and lon columns that disagree."""
    keys = {key_of(name): name for name in table.columns}
    notes: dict[int, list[Note]] = {}
    if "altitude_m" not in keys and "altitude_ft" not in table.columns:
        for at in np.flatnonzero(np.nan_to_num(z) != 0).tolist():
            notes.setdefault(at, []).append(_HEIGHT_NOTE)
    if {"lat", "lon"} <= set(keys):
        given = [_as_degrees(table.columns[keys[key]][kept]) for key in ("lat", "lon")]
        apart: BoolArray = np.hypot(given[0] - lat, given[1] - lon) > 1e-3
        for at in np.flatnonzero(apart).tolist():
            notes.setdefault(at, []).append(_APART_NOTE)
    return {at: tuple(found) for at, found in notes.items()}


def _as_degrees(values: NDArray[Any]) -> FloatArray:
    """Return plain numbers, NaN elsewhere."""
    import pandas as pd

    return np.asarray(pd.to_numeric(pd.Series(values), errors="coerce"), dtype=np.float64)
