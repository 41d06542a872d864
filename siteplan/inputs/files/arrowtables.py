"""Arrow tables, as both readers of geometry give them, turned into tables of ours."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import SitesError
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import as_texts
from siteplan.inputs.files.points import place
from siteplan.inputs.files.rawtable import Table, without_blank_rows
from siteplan.inputs.headings import unlike_headings

_NOT_WGS84_FIX = "Store the layer with its reference system, or convert it to WGS 84 (EPSG:4326)."


@frozen
class Geometry:
    """Where the points of a table are: their column and reference system (pyproj.CRS)."""

    column: str
    crs: Any


def checked_crs(crs: Any, path: Path) -> Any:
    """Return the reference system, or refuse one that cannot be placed on the Earth."""
    import pyproj

    try:
        found = pyproj.CRS.from_user_input(crs) if crs else None
    except pyproj.exceptions.CRSError:
        found = None
    # Heights alone, an engineer's own grid and axes through the earth's centre place no site.
    if (
        found is None
        or not (found.is_geographic or found.is_projected)
        or "undefined" in found.name.lower()
    ):
        raise SitesError(
            "the reference system of the points is unknown.", where=path.name, fix=_NOT_WGS84_FIX
        )
    return found


def arrow_table(table: Any, geometry: Geometry | None, first: int, path: Path) -> Table:
    """Return an Arrow table as a table of ours, geometry turned into lat and lon.

    Parameters
    ----------
    table : pyarrow.Table or pyarrow.RecordBatch
    geometry : Geometry or None
    first : int
        Number of its first row.
    path : Path
        What messages call it.
    """
    at = [
        i
        for i, name in enumerate(table.schema.names)
        if geometry is None or name != geometry.column
    ]
    headings, written = unlike_headings([table.schema.names[i] for i in at])
    columns = {h: _arrow_values(table.column(i)) for h, i in zip(headings, at, strict=True)}
    row = np.arange(first, first + table.num_rows, dtype=np.int64)
    bare = Table(columns, row, path.name, written=written)
    if geometry is None:
        return without_blank_rows(bare)
    return place(bare, _points(table[geometry.column]), geometry.crs)


def _arrow_values(column: Any) -> NDArray[Any]:
    """Return a column's original values: typed where complete, else objects with None."""
    import pyarrow as pa

    kind = column.type
    if pa.types.is_dictionary(kind):
        return _arrow_values(column.cast(kind.value_type))
    if pa.types.is_floating(kind) or (pa.types.is_integer(kind) and column.null_count == 0):
        return np.asarray(column.to_numpy())
    if pa.types.is_temporal(kind):
        moments = np.asarray(column.to_pandas().astype(object).to_numpy(dtype=object))
        # Hours, minutes and seconds are a text: a GeoPackage has no kind for them.
        return as_texts(moments) if pa.types.is_duration(kind) else moments
    values = np.empty(len(column), dtype=object)
    values[:] = column.to_pylist()
    if pa.types.is_nested(kind) or "binary" in str(kind):
        return _as_texts(values)
    if pa.types.is_string(kind) or pa.types.is_large_string(kind):
        values[column.is_null().to_numpy()] = ""
    return values


def _as_texts(values: NDArray[Any]) -> NDArray[Any]:
    """Return lists, records and bytes as texts: no table that is written has a kind for them."""
    texts = (v.hex() if isinstance(v, bytes) else json.dumps(v, default=str) for v in values)
    cells = ["" if value is None else text for value, text in zip(values, texts, strict=True)]
    return np.array([*cells, None], dtype=object)[:-1]


def _points(column: Any) -> NDArray[Any]:
    """Return a geometry column (WKB, or separate x and y) as shapely geometries."""
    import pyarrow as pa
    import shapely

    column = column.combine_chunks()
    if pa.types.is_struct(column.type):
        axes = [axis for axis in "xyz" if column.type.get_field_index(axis) >= 0]
        values = (column.field(axis).to_numpy(zero_copy_only=False) for axis in axes)
        points: NDArray[Any] = shapely.points(*(np.asarray(v, dtype=np.float64) for v in values))
        points[column.is_null().to_numpy(zero_copy_only=False)] = None
        return points
    if isinstance(column, pa.ExtensionArray):
        column = column.storage
    wkb = np.empty(len(column), dtype=object)
    wkb[:] = column.to_pylist()
    return np.asarray(shapely.from_wkb(wkb, on_invalid="ignore"))
