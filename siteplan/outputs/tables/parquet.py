"""Results in parts: GeoParquet files written one by one, and single tables made from them.

A part is written whole or not at all, so that a run that died can go on from what is there.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import at_decimals
from siteplan.fields import FIELDS
from siteplan.outputs.escaping import harmless_cell
from siteplan.outputs.geopackage import write_layer
from siteplan.outputs.tables.files import arrow_array, arrow_table, csv_column
from siteplan.results import Plan

if TYPE_CHECKING:
    import pyarrow as pa

#: Name of the geometry column, and what GeoParquet 1.1 wants to know of it.
_GEOMETRY = "geometry"
_GEO = {
    "version": "1.1.0",
    "primary_column": _GEOMETRY,
    "columns": {_GEOMETRY: {"encoding": "WKB", "geometry_types": ["Point"]}},
}


def geo_table(plan: Plan) -> pa.Table:
    """Return the results as written, with a geometry column as GeoParquet has it."""
    import pyarrow as pa
    import shapely

    points = shapely.points(plan.columns["lon"], plan.columns["lat"])
    table = arrow_table(plan).append_column(_GEOMETRY, pa.array(shapely.to_wkb(points)))
    return table.replace_schema_metadata({"geo": json.dumps(_GEO)})


def write_part(plan: Plan, path: Path, *, compression: str = "zstd") -> None:
    """Write one part as GeoParquet (OGC:CRS84: longitude, latitude); it appears whole."""
    import pyarrow.parquet as pq

    with_pid = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        pq.write_table(geo_table(plan), with_pid, compression=compression)
        with_pid.replace(path)
    finally:
        with_pid.unlink(missing_ok=True)


def with_columns(
    path: Path, columns: Mapping[str, NDArray[Any]], *, without: Sequence[str], compression: str
) -> None:
    """Write result fields (n,) into a part's rows, in the dictionary's order; it appears whole.

    Parameters
    ----------
    path : Path
        The part.
    columns : mapping of arrays (n,)
        Unrounded, by name.
    without : sequence of str
        Fields of the part that go.
    compression : str
        How it is packed.
    """
    import pyarrow.parquet as pq

    table = pq.read_table(path)
    table = table.drop_columns([name for name in without if name in table.column_names])
    order = {name: k for k, name in enumerate(FIELDS)}
    for name, values in columns.items():
        later = [k for k, known in enumerate(table.column_names)
                 if order.get(known, -1) > order[name]]  # fmt: skip
        written = arrow_array(at_decimals(values, FIELDS[name].decimals))
        table = table.add_column(min(later, default=0), name, written)
    with_pid = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        pq.write_table(table, with_pid, compression=compression)
        with_pid.replace(path)
    finally:
        with_pid.unlink(missing_ok=True)


def schema_of(parts: Sequence[Path]) -> pa.Schema:
    """Return the schema that holds all parts: columns that are blank in one take another's."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    schemas = [pq.read_schema(p) for p in parts]
    whole = pa.unify_schemas(schemas, promote_options="permissive")
    fields = [f.with_type(pa.string()) if pa.types.is_null(f.type) else f for f in whole]
    return pa.schema(fields, metadata=schemas[0].metadata)


def batches(parts: Sequence[Path], schema: pa.Schema) -> Iterator[pa.RecordBatch]:
    """Yield the rows of all parts in order, with one schema."""
    import pyarrow.parquet as pq

    for path in parts:
        table = pq.read_table(path, schema=schema)
        yield from table.replace_schema_metadata(schema.metadata).to_batches()


def join_parquet(parts: Sequence[Path], path: Path) -> None:
    """Write all parts into one GeoParquet file, in bounded memory."""
    import pyarrow.parquet as pq

    schema = schema_of(parts)
    with pq.ParquetWriter(path, schema, compression="zstd") as writer:
        for batch in batches(parts, schema):
            writer.write_batch(batch)


def copy_parts(parts: Sequence[Path], folder: Path) -> None:
    """Put the parts into a folder as they are: together they are one GeoParquet data set."""
    folder.mkdir()
    for path in parts:
        shutil.copyfile(path, folder / path.name)


def join_csv(parts: Sequence[Path], path: Path) -> None:
    """Write all parts into one CSV, in bounded memory; texts no spreadsheet takes for formulas."""
    import pyarrow as pa
    from pyarrow import csv

    whole = schema_of(parts)
    names = [f.name for f in whole if f.name != _GEOMETRY]
    schema = pa.schema([_as_written(whole.field(name)) for name in names])
    options = csv.WriteOptions(quoting_style="needed")
    with csv.CSVWriter(str(path), schema, write_options=options) as writer:
        for batch in batches(parts, whole):
            columns = [csv_column(batch.column(name)) for name in names]
            writer.write_batch(pa.record_batch(columns, schema=schema))


def _as_written(field: pa.Field) -> pa.Field:
    """Return a column as CSV has it: dates and times are texts, its heading is no formula."""
    import pyarrow as pa

    field = field.with_name(harmless_cell(field.name))
    return field.with_type(pa.string()) if pa.types.is_temporal(field.type) else field


def join_geojson(parts: Sequence[Path], path: Path) -> None:
    """Write all parts into one GeoJSON (RFC 7946), in bounded memory."""
    import orjson

    schema = schema_of(parts)
    names = [name for name in schema.names if name != _GEOMETRY]
    with path.open("wb") as file:
        file.write(b'{"type":"FeatureCollection","features":[')
        comma = b""
        for batch in batches(parts, schema):
            for row in batch.select(names).to_pylist():
                point = {"type": "Point", "coordinates": (row["lon"], row["lat"])}
                feature = {"type": "Feature", "geometry": point, "properties": row}
                file.write(comma + orjson.dumps(feature, default=str))
                comma = b","
        file.write(b"]}")


def join_gpkg(parts: Sequence[Path], path: Path) -> None:
    """Write all parts into one GeoPackage, layer ``sites``, in bounded memory."""
    import pyarrow as pa

    schema = schema_of(parts)
    reader = pa.RecordBatchReader.from_batches(
        schema.remove_metadata(), (b.replace_schema_metadata({}) for b in batches(parts, schema))
    )
    write_layer(reader, path, layer="sites", geometry=_GEOMETRY)


def plan_rows(parts: Sequence[Path], rows: NDArray[np.int64], like: Plan) -> Plan:
    """Return some rows of all parts as a plan, with what ``like`` says beside the columns.

    Parameters
    ----------
    parts : sequence of Path
        In order.
    rows : (k,) array
        Rows counted over all parts, rising.
    like : Plan
        Any part's plan: which columns are results, the network, the facts.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    schema = schema_of(parts)
    pieces, first = [], 0
    for path in parts:
        count = pq.read_metadata(path).num_rows
        here = rows[(rows >= first) & (rows < first + count)] - first
        first += count
        if here.size:
            pieces.append(pq.read_table(path, schema=schema).take(pa.array(here)))
    table = pa.concat_tables(pieces)
    values = {name: _numpy(table.column(name)) for name in table.column_names}
    return Plan(
        {k: values[k] for k in like.columns},
        {k: values[k] for k in like.extra},
        like.network,
        like.assumptions,
        like.facts,
    )


def _numpy(column: Any) -> NDArray[Any]:
    """Return a column as numpy: texts as objects, with empty ones for null."""
    import pyarrow as pa

    if pa.types.is_string(column.type):
        column = column.fill_null("")
    return np.asarray(column.to_numpy())


def column_of(parts: Sequence[Path], name: str) -> NDArray[Any]:
    """Return one column over all parts (n,); equal texts of a part are one text in memory."""
    import pyarrow.parquet as pq

    return np.concatenate([_shared(pq.read_table(p, columns=[name]).column(0)) for p in parts])


def _shared(column: Any) -> NDArray[Any]:
    """Return a column as `_numpy` does, each text made once."""
    import pyarrow as pa

    if not pa.types.is_string(column.type):
        return _numpy(column)
    coded = column.fill_null("").combine_chunks().dictionary_encode()
    texts = np.append(np.asarray(coded.dictionary.to_numpy(zero_copy_only=False), dtype=object), "")
    return np.asarray(texts[:-1][coded.indices.to_numpy()], dtype=object)
