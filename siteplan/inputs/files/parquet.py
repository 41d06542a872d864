"""Reading Parquet files, and GeoParquet by its metadata (OGC GeoParquet 1.1)."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from siteplan.errors import SitesError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.arrowtables import Geometry, arrow_table, checked_crs
from siteplan.inputs.files.rawtable import Table


def parquet_chunks(path: Path, rows: int | None) -> Iterator[Table]:
    """Yield the rows of a Parquet or GeoParquet file.

    Parameters, yields and raises as :func:`vector_chunks`; GeoParquet by its metadata
    (OGC GeoParquet 1.1: no ``crs`` means OGC:CRS84).
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    with told_plainly("parquet", path), pq.ParquetFile(path) as file:
        with told_plainly("geoparquet", path):
            found = _geometry(file.schema_arrow, path)
        if rows is None:
            yield arrow_table(file.read(), found, 2, path)
            return
        first = 2
        for batch in file.iter_batches(batch_size=rows):
            yield arrow_table(pa.Table.from_batches([batch]), found, first, path)
            first += batch.num_rows
        if first == 2:
            yield arrow_table(file.read(), found, 2, path)


def parquet_rows(path: Path) -> int:
    """Return how many rows a Parquet file has, without reading them.

    Raises
    ------
    SitesError
        Unreadable file.
    """
    import pyarrow.parquet as pq

    with told_plainly("parquet", path):
        return int(pq.read_metadata(path).num_rows)


def _geometry(schema: Any, path: Path) -> Geometry | None:
    """Return where the geometry of a schema (pyarrow.Schema) is, None where it has none."""
    metadata: Mapping[bytes, bytes] = schema.metadata or {}
    if b"geo" not in metadata:
        return None
    geo = json.loads(metadata[b"geo"])
    name = geo["primary_column"]
    column = geo["columns"][name]
    if column.get("encoding") not in ("WKB", "point"):
        raise SitesError(
            f"geometry encoding {column.get('encoding')} is not read.",
            where=path.name,
            fix="Store the points as WKB.",
        )
    if not _holds_points(schema.field(name).type):
        raise TypeError("the column holds no geometry")
    return Geometry(name, checked_crs(column.get("crs", "OGC:CRS84"), path))


def _holds_points(kind: Any) -> bool:
    """Whether a column's type (pyarrow.DataType) is that of WKB, or of separate x and y."""
    import pyarrow as pa

    if isinstance(kind, pa.ExtensionType):
        kind = kind.storage_type
    if pa.types.is_dictionary(kind):
        kind = kind.value_type
    if pa.types.is_struct(kind):
        axes = [f.type for f in (kind.field(k) for k in range(kind.num_fields)) if f.name in "xyz"]
        return len(axes) >= 2 and all(map(pa.types.is_floating, axes))
    return "binary" in str(kind)
