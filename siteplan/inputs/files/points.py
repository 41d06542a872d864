"""Points give a table its positions on WGS 84 (EPSG:4326); a row without one point is rejected.

Of a polygon a point inside is taken, of a line its middle, each with a note.

Other reference systems are transformed by PROJ.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.inputs.files.cells import as_texts, is_numeric, strip_texts
from siteplan.inputs.files.inside import points_of
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import key_of
from siteplan.model import Note, Reject

_HEIGHT_NOTE = Note.of("note.input_mended.point_height")
#: Some 100 m: more than rounding makes.
_APART_DEG = 1e-3
_APART_NOTE = Note.of("note.coordinate_doubt.point_apart")


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
    import pyproj
    import shapely

    told: Mapping[int, tuple[Note, ...]] = {}
    if (shapely.get_type_id(geometry) > 0).any():
        geographic = pyproj.CRS.from_user_input(crs).is_geographic
        geometry, told = points_of(geometry, geographic=geographic)
    good = (shapely.get_type_id(geometry) == 0) & ~shapely.is_empty(geometry)
    rejects = [_no_point(table, at, geometry[at]) for at in np.flatnonzero(~good).tolist()]
    kept = np.flatnonzero(good)
    x, y = shapely.get_x(geometry[kept]), shapely.get_y(geometry[kept])
    lat, lon = _to_wgs84(x, y, crs)
    notes = _position_notes(table, kept, lat, lon, shapely.get_z(geometry[kept]))
    for k, at in enumerate(kept.tolist() if told else []):
        notes[k] = (*told.get(at, ()), *notes.get(k, ()))
    notes = {k: some for k, some in notes.items() if some}
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
    # As lists: pyproj tries an array of one as a number, of which numpy before 2.4 warns.
    lon, lat = forward.transform(x.tolist(), y.tolist())
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
        given = _given_degrees(*(table.columns[keys[key]][kept] for key in ("lat", "lon")))
        east = np.remainder(given[1] - lon + 180, 360) - 180
        apart: BoolArray = np.hypot(given[0] - lat, east * np.cos(np.radians(lat))) > _APART_DEG
        for at in np.flatnonzero(apart).tolist():
            notes.setdefault(at, []).append(_APART_NOTE)
    return {at: tuple(found) for at, found in notes.items()}


def _given_degrees(lat: NDArray[Any], lon: NDArray[Any]) -> tuple[FloatArray, FloatArray]:
    """Return what columns say beside the points, in any spelling; NaN where it has no reading."""
    from siteplan.inputs.sites.coordinates import parse_coordinates

    read = parse_coordinates(
        *(v if is_numeric(v) else strip_texts(as_texts(v)) for v in (lat, lon))
    )
    unread = np.isnan(read.lat)
    return (
        np.where(unread, _as_degrees(lat), read.lat),
        np.where(unread, _as_degrees(lon), read.lon),
    )


def _as_degrees(values: NDArray[Any]) -> FloatArray:
    """Return plain numbers, NaN elsewhere."""
    import pandas as pd

    return np.asarray(pd.to_numeric(pd.Series(values), errors="coerce"), dtype=np.float64)
