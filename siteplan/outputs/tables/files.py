"""Results as tables: CSV, GeoPackage, GeoJSON, GeoDataFrame, and the rejects.

Written into the output folder; read by spreadsheets, desktop GIS and other programs, so no value
is ever converted here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from numpy.typing import NDArray

from siteplan.arrays import at_decimals
from siteplan.errors import OutputError
from siteplan.fields import lookup
from siteplan.model import Reject
from siteplan.outputs.escaping import CsvWriter, harmless_cell, harmless_column
from siteplan.outputs.geopackage import write_layer
from siteplan.results import Plan

if TYPE_CHECKING:
    import geopandas
    import pyarrow as pa

#: Headings of rejects.csv: the attributes of ``Reject``.
REJECT_COLUMNS = ("row", "site_id", "key", "value", "reason", "fix")


def rounded(plan: Plan) -> dict[str, NDArray[Any]]:
    """Return the columns of a plan as they are written: rounded to the dictionary's decimals.

    Raises
    ------
    OutputError
        If a column is not in the dictionary of fields.
    """
    columns: dict[str, NDArray[Any]] = {}
    for name, values in plan.columns.items():
        field = lookup(name)
        if field is None:
            raise OutputError(
                f"the result {name!r} is not in the dictionary of fields.",
                fix="Add it to siteplan/fields/fields.csv.",
            )
        columns[name] = at_decimals(values, field.decimals)
    return columns | dict(plan.extra)


def arrow_table(plan: Plan) -> pa.Table:
    """Return the columns as written in an Arrow table; NaN becomes null."""
    import pyarrow as pa

    return pa.table({name: arrow_array(values) for name, values in rounded(plan).items()})


def arrow_array(values: NDArray[Any]) -> pa.Array:
    """Return one column as an Arrow array; mixed objects become texts, NaN becomes null."""
    import pyarrow as pa

    if values.dtype.kind == "f":
        return pa.array(values, from_pandas=True)
    if values.dtype.kind != "O":
        return pa.array(values)
    try:
        return pa.array(values, from_pandas=True)
    except OverflowError:  # whole numbers beyond those with a sign
        return pa.array(values, pa.uint64(), from_pandas=True)
    except (pa.ArrowInvalid, pa.ArrowTypeError):
        return pa.array([None if v is None else str(v) for v in values])


def write_csv(plan: Plan, path: Path) -> None:
    """Write the results as CSV (UTF-8, comma, decimal point); unknown numbers are blank."""
    import pyarrow as pa
    from pyarrow import csv

    columns = {k: csv_column(arrow_array(values)) for k, values in rounded(plan).items()}
    # Names as a list: two that differ by the apostrophe alone are two columns.
    table = pa.table(list(columns.values()), names=[harmless_cell(name) for name in columns])
    csv.write_csv(table, str(path), csv.WriteOptions(include_header=True, quoting_style="needed"))


def csv_column(column: pa.Array) -> pa.Array:
    """Return a column as CSV has it: no formulas, moments as texts; numbers stay numbers."""
    import pyarrow as pa

    if pa.types.is_temporal(column.type):
        return moment_texts(column)
    return harmless_column(column)


def moment_texts(column: pa.Array) -> pa.Array:
    """Return dates and times as texts such as ``2026-03-01 08:00:00-05:00``, null for none."""
    import pyarrow as pa

    return pa.array([None if v is None else str(v) for v in column.to_pylist()], pa.string())


def frame(plan: Plan) -> geopandas.GeoDataFrame:
    """Return the results as a GeoDataFrame of points, EPSG:4326, unrounded."""
    import geopandas
    import pandas as pd

    table = pd.DataFrame({**plan.columns, **plan.extra})
    points = geopandas.points_from_xy(plan.columns["lon"], plan.columns["lat"])
    return geopandas.GeoDataFrame(table, geometry=points, crs="EPSG:4326")


def write_gpkg(plan: Plan, path: Path) -> None:
    """Write the results as a GeoPackage, one layer ``sites`` of points in EPSG:4326."""
    import pyarrow as pa
    import shapely

    # A column of nothing has no kind in a GeoPackage: it is one of texts.
    blank = pa.array([None] * len(plan), pa.string())
    kinds = {name: arrow_array(values) for name, values in rounded(plan).items()}
    table = pa.table({k: blank if pa.types.is_null(v.type) else v for k, v in kinds.items()})
    points = shapely.points(plan.columns["lon"], plan.columns["lat"])
    table = table.append_column("geom", pa.array(shapely.to_wkb(points)))
    write_layer(table, path, layer="sites", geometry="geom")


def write_geojson(plan: Plan, path: Path) -> None:
    """Write the results as GeoJSON (RFC 7946); unknown numbers are null."""
    import orjson

    columns = {k: arrow_array(v).to_pylist() for k, v in rounded(plan).items()}
    names = list(columns)
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": (lon, lat)},
            "properties": dict(zip(names, row, strict=True)),
        }
        for lon, lat, row in zip(
            columns["lon"], columns["lat"], zip(*columns.values(), strict=True), strict=True
        )
    ]
    collection = {"type": "FeatureCollection", "features": features}
    path.write_bytes(orjson.dumps(collection, default=str))


def write_rejects(rejects: Sequence[Reject], path: Path) -> None:
    """Write the rejected rows as CSV; the file is there even if nothing was rejected.

    Of a project's workbook each has the cell where it stands in a last column.
    """
    columns = (*REJECT_COLUMNS, *(["cell"] if any(r.cell for r in rejects) else []))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(columns)
        writer.writerows([getattr(r, c) for c in columns] for r in rejects)


def write_json(data: Mapping[str, Any], path: Path) -> None:
    """Write a mapping as indented JSON (UTF-8); NaN becomes null."""
    import orjson

    options = orjson.OPT_INDENT_2 | orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_APPEND_NEWLINE
    path.write_bytes(orjson.dumps(data, option=options))
