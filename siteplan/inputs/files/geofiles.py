"""Reading vector files, GeoJSON, GeoPackage, GPX and shapefiles: a layer of points, one a site."""

from __future__ import annotations

import codecs
import io
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import SitesError
from siteplan.inputs.encoding.find import Encoding, encoding_of
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.arrowtables import Geometry, arrow_table, checked_crs
from siteplan.inputs.files.rawtable import Table

#: The reference system that an old GeoJSON file names before its features (GeoJSON 2008).
_NAMED_CRS = re.compile(r'"crs"\s*:\s*\{[^{}]*\{[^{}]*"name"\s*:\s*"([^"]*)"')
_HEAD = 65_536
#: Geometries that a GeoJSON file may be of alone.
_SHAPES = (
    *("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"),
    "GeometryCollection",
)
_JSON = (".geojson", ".json")
#: JSON beyond this is not looked through before GDAL reads it [bytes].
_MOST_JSON = 64 << 20
_NOT_GEOJSON_FIX = (
    'A list of sites in GeoJSON is {"type": "FeatureCollection", "features": [...]} (RFC 7946):'
    " export it as GeoJSON, or save a table as .csv."
)


def vector_chunks(path: Path, rows: int | None, *, encoding: str | None = None) -> Iterator[Table]:
    """Yield the rows of a GeoJSON, GeoPackage or GPX file, or of a shapefile.

    Parameters
    ----------
    path : Path
    rows : int or None
        Rows a chunk; None for the whole file at once.
    encoding : str, optional
        Of a shapefile's texts, in GDAL's words.

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

    if path.suffix.lower() in _JSON:
        _refuse_other_json(path)
    with told_plainly("vector", path), _in_peace():
        with told_plainly("vector_head", path):
            layer = _pick_layer(path, pyogrio.list_layers(path))
            asked = {"layer": layer, "encoding": encoding}
            meta, table = pyogrio.read_arrow(path, **asked, max_features=0)
        name = _geometry_name(meta, table.schema.names)
        found = Geometry(name, _crs(meta, path)) if name else None
        first = 2
        with pyogrio.open_arrow(path, **asked, batch_size=rows or 65_536) as (_, stream):
            for batch in _batches(stream, rows):
                yield arrow_table(batch, found, first, path)
                first += batch.num_rows


def read_shapefile(path: Path) -> Table:
    """Read the points of a shapefile, its texts in the encoding that they turn out to have.

    Raises
    ------
    SitesError
        As `vector_chunks`, a part of it missing, or an encoding that cannot be told.
    """
    beside = {p.suffix.lower() for p in path.parent.glob(f"{path.stem}.*")}
    missing = [suffix for suffix in (".shx", ".dbf") if suffix not in beside]
    if missing:
        what = f"the files beside it are missing: {', '.join(path.stem + m for m in missing)}."
        fix = "A shapefile is .shp, .shx, .dbf and .prj together: copy all of them, or pack a .zip."
        raise SitesError(what, where=path.name, fix=fix)
    if ".cpg" in beside:
        return next(vector_chunks(path, None))
    encoding = _dbf_encoding(path)
    table = next(vector_chunks(path, None, encoding="ISO-8859-1"))
    columns = {
        str(_decoded(np.array([name], dtype=object), encoding)[0]): _decoded(values, encoding)
        for name, values in table.columns.items()
    }
    return replace(table, columns=columns, remarks=encoding.remarks)


def _dbf_encoding(path: Path) -> Encoding:
    """Return the encoding of the texts in a shapefile's table, which need not say it."""
    named = next(p for p in path.parent.glob(f"{path.stem}.*") if p.suffix.lower() == ".dbf")
    with told_plainly("vector", path):
        data = named.read_bytes()
    # The header's length and that of a record stand in bytes 8 to 11 (dBASE III).
    start, length = (int.from_bytes(data[k : k + 2], "little") for k in (8, 10))
    body = data[start:].removesuffix(b"\x1a")
    records = (body[k : k + length] for k in range(0, len(body), max(length, 1)))
    text = b"\n".join(re.sub(rb" {2,}", b"\t", record) for record in records)
    return encoding_of(io.BytesIO(text), path)


def _decoded(values: NDArray[Any], encoding: Encoding) -> NDArray[Any]:
    """Return texts (n,) that were read byte by byte in their own encoding; others as they are."""
    if values.dtype.kind != "O" or not all(isinstance(value, str) for value in values):
        return values
    texts = (value.encode("latin-1").decode(encoding.name, encoding.errors) for value in values)
    return np.array([*texts, None], dtype=object)[:-1]


def _refuse_other_json(path: Path) -> None:
    """Refuse JSON that is no GeoJSON, with what it is instead.

    Raises
    ------
    SitesError
        Naming what is missing.
    """
    import orjson

    with told_plainly("vector", path):
        data = path.read_bytes() if path.stat().st_size <= _MOST_JSON else b""
    try:
        found = orjson.loads(data.removeprefix(codecs.BOM_UTF8)) if data else None
    except orjson.JSONDecodeError:
        return  # GDAL tells what it makes of it: a feature a line, or nothing
    what = _why_no_geojson(found) if data else ""
    if what:
        raise SitesError(what, where=path.name, fix=_NOT_GEOJSON_FIX)


def _why_no_geojson(found: Any) -> str:
    """Return why JSON is no GeoJSON list of features, '' where it is one, or GDAL's to read."""
    if not isinstance(found, dict):
        whole = "a list" if isinstance(found, list) else "a single value"
        return f"this is JSON, but no GeoJSON: it is {whole}."
    kind: Any = found.get("type")
    if kind == "Topology" or "spatialReference" in found or "geometryType" in found:
        return ""  # TopoJSON, and the JSON of map servers
    if kind != "FeatureCollection":
        known = kind in ("Feature", *_SHAPES)
        return "" if known else f"this is JSON, but no GeoJSON: its type is {_shown(kind)}."
    if not isinstance(found.get("features"), list):
        return "this is JSON, but no GeoJSON list of features: 'features' is no list."
    return ""


def _shown(kind: Any) -> str:
    return f"'{kind[:60]}'" if isinstance(kind, str) else "not given"


def vector_rows(path: Path) -> int:
    """Return how many rows a vector file has, without reading them.

    Raises
    ------
    SitesError
        Unreadable file.
    """
    import pyogrio

    with told_plainly("vector", path):
        return int(pyogrio.read_info(path, force_feature_count=True)["features"])


@contextmanager
def _in_peace() -> Iterator[None]:
    """Pass over what GDAL warns of: the reading is right, or its rows are refused in our words.

    It warns of moments with an offset from UTC, reference systems, and geometries that are none.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        yield


def _crs(meta: Mapping[str, Any], path: Path) -> Any:
    """Return the reference system; GDAL takes an unknown one of GeoJSON for WGS 84."""
    if path.suffix.lower() in _JSON:
        with path.open(encoding="utf-8", errors="replace") as file:
            named = _NAMED_CRS.search(file.read(_HEAD).partition('"features"')[0])
        if named:
            checked_crs(named[1] or None, path)
    return checked_crs(meta.get("crs"), path)


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
    if path.suffix.lower() == ".gpx":
        return _waypoints(path)
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


def _waypoints(path: Path) -> str:
    """Return the layer of waypoints of a GPX file; tracks and routes are no sites."""
    import pyogrio

    if pyogrio.read_info(path, layer="waypoints", force_feature_count=True)["features"]:
        return "waypoints"
    fix = "Mark each site as a waypoint: tracks and routes are not read."
    raise SitesError("it has no waypoint.", where=path.name, fix=fix)


def _geometry_name(meta: Mapping[str, Any], names: list[str]) -> str | None:
    if not meta.get("geometry_type"):
        return None
    name = meta.get("geometry_name") or "wkb_geometry"
    return name if name in names else next((n for n in ("geom", "geometry") if n in names), None)
