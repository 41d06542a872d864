"""Where points lie: separate x and y, broken reference systems, columns that say another place."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pyproj
import pytest
import shapely

from siteplan.errors import SitesError
from siteplan.inputs.files.tables import read_chunks, read_table

LAT, LON = (4.1234, 5.2345, -6.3456), (-74.1, -75.2, 176.3)
UNKNOWN = r"the reference system of the points is unknown\. Store the layer with its"


def sites(**columns: Any) -> gpd.GeoDataFrame:
    names = {"site_id": ["A", "B", "C"], **columns}
    return gpd.GeoDataFrame(names, geometry=gpd.points_from_xy(LON, LAT), crs=4326)


def saved(data: gpd.GeoDataFrame, path: Path) -> Path:
    data.to_parquet(path) if path.suffix == ".parquet" else data.to_file(path)
    return path


# --- separate x and y (GeoParquet 1.1, encoding "point") ------------------------------------


def struct_file(path: Path, axes: dict[str, list[float | None]], *, gap: bool = False) -> Path:
    """Write points as records of x and y, the third blank if asked for."""
    kind = pa.struct([(axis, pa.float64()) for axis in axes])
    points = [dict(zip(axes, point, strict=True)) for point in zip(*axes.values(), strict=True)]
    column = pa.array([*points[:2], None] if gap else points, kind)
    said = {"encoding": "point", "geometry_types": ["Point"]}
    geo = {"version": "1.1.0", "primary_column": "geometry", "columns": {"geometry": said}}
    table = pa.table({"site_id": ["A", "B", "C"], "geometry": column})
    pq.write_table(table.replace_schema_metadata({b"geo": json.dumps(geo).encode()}), path)
    return path


@pytest.mark.parametrize("order", ["xy", "yx"])
def test_records_of_x_and_y_are_points(tmp_path: Path, order: str) -> None:
    given = {"x": list(LON), "y": list(LAT)}
    path = struct_file(tmp_path / "sites.parquet", {axis: given[axis] for axis in order})
    table = read_table(path)
    assert (table.lon.tolist(), table.lat.tolist()) == (list(LON), list(LAT))
    assert list(table.columns) == ["site_id"]
    assert (table.rejects, dict(table.notes or {})) == ((), {})
    parts = list(read_chunks(path, 2))
    assert [lat for part in parts for lat in part.lat.tolist()] == list(LAT)


def test_a_record_without_a_point_is_a_reject(tmp_path: Path) -> None:
    axes = {"x": list(LON), "y": list(LAT)}
    table = read_table(struct_file(tmp_path / "sites.parquet", axes, gap=True))
    assert table.lat.tolist() == list(LAT[:2])
    assert [(r.row, r.site_id, r.value) for r in table.rejects] == [(4, "C", "nothing")]


def test_a_record_s_height_is_told_as_any_point_s(tmp_path: Path) -> None:
    axes = {"x": list(LON), "y": list(LAT), "z": [1700.0, 0.0, 5.0]}
    table = read_table(struct_file(tmp_path / "sites.parquet", axes))
    assert (table.lon.tolist(), table.lat.tolist()) == (list(LON), list(LAT))
    assert {at: notes[0].key for at, notes in table.notes.items()} == dict.fromkeys(
        (0, 2), "note.input_mended.point_height"
    )


def test_points_as_a_library_writes_them(tmp_path: Path) -> None:
    """geopandas' own GeoArrow encoding, in a projected system."""
    path = tmp_path / "sites.parquet"
    sites().iloc[:2].to_crs(32618).to_parquet(path, geometry_encoding="geoarrow")
    assert pa.types.is_struct(pq.read_schema(path).field("geometry").type)
    table = read_table(path)
    np.testing.assert_allclose(table.lat, LAT[:2], rtol=0, atol=1e-9)
    np.testing.assert_allclose(table.lon, LON[:2], rtol=0, atol=1e-9)


# --- reference systems ----------------------------------------------------------------------


def with_crs(path: Path, crs: Any) -> Path:
    """Write GeoParquet whose metadata say ``crs``, whatever that is."""
    table = pq.read_table(saved(sites(), path))
    told = json.loads(table.schema.metadata[b"geo"])
    told["columns"]["geometry"]["crs"] = crs
    metadata = {**table.schema.metadata, b"geo": json.dumps(told).encode()}
    pq.write_table(table.replace_schema_metadata(metadata), path)
    return path


SITE_GRID = pyproj.CRS.from_wkt('LOCAL_CS["site grid",UNIT["metre",1]]').to_json_dict()


@pytest.mark.parametrize(
    "crs",
    [
        *(None, {}, [1], 5, "nonsense", "EPSG:999999", {"type": "GeographicCRS"}, {"type": "nope"}),
        {"id": {"authority": "EPSG", "code": 4326}},  # a reference to a system, not a system
        pytest.param(SITE_GRID, id="an engineer's own grid"),
        pytest.param(pyproj.CRS("EPSG:5773").to_json_dict(), id="heights alone"),
        pytest.param(pyproj.CRS("EPSG:4978").to_json_dict(), id="axes through the earth's centre"),
    ],
)
def test_geoparquet_of_a_broken_reference_system_is_refused(tmp_path: Path, crs: Any) -> None:
    with pytest.raises(SitesError, match=rf"sites\.parquet: {UNKNOWN}"):
        read_table(with_crs(tmp_path / "sites.parquet", crs))


@pytest.mark.parametrize("code", [4326, 4979, 9707])
def test_whole_reference_systems_are_taken(tmp_path: Path, code: int) -> None:
    """WGS 84 as it is, with heights above the ellipsoid, and with heights above sea level."""
    path = with_crs(tmp_path / "sites.parquet", pyproj.CRS(code).to_json_dict())
    table = read_table(path)
    np.testing.assert_allclose(table.lat, LAT, rtol=0, atol=1e-12)
    np.testing.assert_allclose(table.lon, LON, rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE gpkg_spatial_ref_sys SET definition = 'nonsense', organization = 'NONE',"
        " organization_coordsys_id = 7 WHERE srs_id = 32618",
        "DELETE FROM gpkg_spatial_ref_sys WHERE srs_id = 32618",
        "UPDATE gpkg_geometry_columns SET srs_id = 99999",
        "UPDATE gpkg_geometry_columns SET srs_id = -1",  # undefined Cartesian (GeoPackage 1.3)
        "UPDATE gpkg_geometry_columns SET srs_id = 0",  # undefined geographic
    ],
)
def test_a_geopackage_of_a_broken_reference_system_is_refused(tmp_path: Path, damage: str) -> None:
    path = saved(sites().iloc[:2].to_crs(32618), tmp_path / "sites.gpkg")
    np.testing.assert_allclose(read_table(path).lat, LAT[:2], rtol=0, atol=1e-9)
    with sqlite3.connect(path) as book:
        book.execute(damage)
    book.close()
    with pytest.raises(SitesError, match=rf"sites\.gpkg: {UNKNOWN}"):
        read_table(path)


def geojson(path: Path, name: str) -> Path:
    """Write a point in an old GeoJSON file that names its reference system."""
    point = {"type": "Point", "coordinates": [500_000.0, 442_000.0]}
    feature = {"type": "Feature", "properties": {"site_id": "A"}, "geometry": point}
    crs = {"type": "name", "properties": {"name": name}}
    found = {"type": "FeatureCollection", "crs": crs, "features": [feature]}
    path.write_text(json.dumps(found), encoding="utf-8")
    return path


@pytest.mark.parametrize("name", ["", "nonsense", "EPSG:999999", "urn:ogc:def:crs:EPSG::999999"])
def test_geojson_that_names_no_system_is_not_taken_for_wgs_84(tmp_path: Path, name: str) -> None:
    with pytest.raises(SitesError, match=rf"sites\.geojson: {UNKNOWN}"):
        read_table(geojson(tmp_path / "sites.geojson", name))


def test_geojson_that_names_a_system_is_in_it(tmp_path: Path) -> None:
    """UTM 18N's false easting lies on 75 W."""
    table = read_table(geojson(tmp_path / "sites.geojson", "urn:ogc:def:crs:EPSG::32618"))
    assert table.lon[0] == pytest.approx(-75, abs=1e-9)
    assert 3.9 < table.lat[0] < 4.1


# --- positions that disagree with their geometry --------------------------------------------


@pytest.mark.parametrize("suffix", [".gpkg", ".parquet", ".geojson"])
@pytest.mark.parametrize("names", [("lat", "lon"), ("Latitude", "LNG")])
def test_columns_that_say_another_place_are_noted_and_the_point_is_used(
    tmp_path: Path, suffix: str, names: tuple[str, str]
) -> None:
    """Of six sites those that lie 0.0011 degree off, swapped or with a sign lost."""
    lat, lon = np.array([*LAT, *LAT]), np.array([*LON, *LON])
    told_lat = lat + np.array([0, 0.0011, 0, 0, 0.0009, 0])
    told_lon = lon + np.array([0, 0, 0, 0, 0, -0.0011])
    told_lat[2], told_lon[3] = -lat[2], -lon[3]
    data = gpd.GeoDataFrame(
        {"site_id": list("ABCDEF"), names[0]: told_lat, names[1]: told_lon},
        geometry=gpd.points_from_xy(lon, lat),
        crs=4326,
    )
    table = read_table(saved(data, tmp_path / f"sites{suffix}"))
    np.testing.assert_allclose(table.lat, lat, rtol=0, atol=1e-12)
    np.testing.assert_allclose(table.lon, lon, rtol=0, atol=1e-12)
    assert sorted(table.notes) == [1, 2, 3, 5]
    keys = {note.key for notes in table.notes.values() for note in notes}
    assert keys == {"note.coordinate_doubt.point_apart"}


@pytest.mark.parametrize(
    ("lat", "lon", "told", "apart"),
    [
        (4.1, -74.1, (4.1, 285.9), False),  # counted 0 to 360
        (-17.1, 180.0, (-17.1, -180.0), False),
        (-17.1, 179.9999, (-17.1, -179.9999), False),
        (-17.1, 179.9, (-17.1, -179.9), True),
        (80.1, 10.0, (80.1, 10.004), False),  # 77 m in the far north
        (0.1, 10.0, (0.1, 10.004), True),
        (4.51, -74.25, ("4°30'36\"N", "74°15'W"), False),
        (4.51, -74.25, ("5°30'36\"N", "74°15'W"), True),
        (4.51, -74.25, ("4,51", "-74,25"), False),
        (4.51, -74.25, ("4,61", "-74,25"), True),
        (4.51, -74.25, ("the square", "n/a"), False),  # which says no place at all
        (4.51, -74.25, (-74.25, 4.51), True),
        (4.51, -74.25, (136.8, -1.3), True),  # no place on the earth, and not this one
    ],
)
def test_a_place_in_any_spelling_is_compared(
    tmp_path: Path, lat: float, lon: float, told: tuple[Any, Any], apart: bool
) -> None:
    data = gpd.GeoDataFrame(
        {"site_id": ["A"], "lat": [told[0]], "lon": [told[1]]},
        geometry=[shapely.Point(lon, lat)],
        crs=4326,
    )
    table = read_table(saved(data, tmp_path / "sites.gpkg"))
    assert (table.lat.tolist(), table.lon.tolist()) == ([lat], [lon])
    assert bool(table.notes) is apart
