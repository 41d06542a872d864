"""Reading vector files, GeoJSON and GeoPackage: a layer of points, one a site."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from siteplan.errors import SitesError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.arrowtables import Geometry, arrow_table, checked_crs
from siteplan.inputs.files.rawtable import Table

#: The reference system that an old GeoJSON file names before its features (GeoJSON 2008).
_NAMED_CRS = re.compile(r'"crs"\s*:\s*\{[^{}]*\{[^{}]*"name"\s*:\s*"([^"]*)"')
_HEAD = 65_536


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

    with told_plainly("vector", path), _in_peace():
        layer = _pick_layer(path, pyogrio.list_layers(path))
        meta, table = pyogrio.read_arrow(path, layer=layer, max_features=0)
        name = _geometry_name(meta, table.schema.names)
        found = Geometry(name, _crs(meta, path)) if name else None
        first = 2
        with pyogrio.open_arrow(path, layer=layer, batch_size=rows or 65_536) as (_, stream):
            for batch in _batches(stream, rows):
                yield arrow_table(batch, found, first, path)
                first += batch.num_rows


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
    if path.suffix.lower() == ".geojson":
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
