"""Areas and overlays from vector files: kinds, reference systems, the antimeridian, bad files."""

from __future__ import annotations

import json

import geopandas
import numpy as np
import pytest
import shapely

from siteplan.errors import ProjectError
from siteplan.inputs.area import read_area
from siteplan.inputs.files.shapes import continuous, read_shapes, side_by_side
from siteplan.inputs.overlays import read_overlays
from siteplan.network import OverlayFile


def square(west, south, east, north):
    return [[west, south], [east, south], [east, north], [west, north], [west, south]]


def geojson(path, *geometries, names=()):
    features = [
        {"type": "Feature", "properties": {"name": name}, "geometry": g}
        for g, name in zip(geometries, names or [None] * len(geometries), strict=True)
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def polygon(*rings):
    return {"type": "Polygon", "coordinates": list(rings)}


# --- kinds of files -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a.geojson", "a.gpkg", "a.shp", "a.fgb", "a.parquet"])
def test_an_area_from_any_kind_of_file(tmp_path, name):
    table = geopandas.GeoDataFrame(
        {"Name": ["one"]}, geometry=[shapely.box(5, 40, 8, 42)], crs="EPSG:4326"
    )
    path = tmp_path / name
    table.to_parquet(path) if name.endswith("parquet") else table.to_file(path)
    assert read_area(path).bounds == pytest.approx((5, 40, 8, 42), abs=1e-9)


def test_an_area_from_kml(tmp_path):
    """OGC KML 2.3: longitude, latitude, and a height that does not matter."""
    corners = "5,40,9 8,40,9 8,42,9 5,42,9 5,40,9"
    (tmp_path / "a.kml").write_text(
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>one</name><Polygon>'
        f"<outerBoundaryIs><LinearRing><coordinates>{corners}</coordinates></LinearRing>"
        "</outerBoundaryIs></Polygon></Placemark></kml>"
    )
    assert read_area(tmp_path / "a.kml").bounds == (5, 40, 8, 42)
    assert read_shapes(tmp_path / "a.kml").names == ["one"]


@pytest.mark.parametrize("name", ["a.geojson", "a.gpkg", "a.parquet", "a.kml"])
def test_heights_of_shapes_are_left_out(tmp_path, name):
    path, line = tmp_path / name, shapely.LineString([(5, 40, 900), (8, 42, 950)])
    table = geopandas.GeoDataFrame({"name": ["one"]}, geometry=[line], crs="EPSG:4326")
    if name.endswith("kml"):
        path.write_text(
            '<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><LineString><coordinates>'
            "5,40,900 8,42,950</coordinates></LineString></Placemark></kml>"
        )
    elif name.endswith("parquet"):
        table.to_parquet(path)
    else:
        table.to_file(path)
    (found,) = read_shapes(path).shapes
    assert not shapely.has_z(found)
    np.testing.assert_allclose(shapely.get_coordinates(found), [(5, 40), (8, 42)], atol=1e-9)


def test_of_a_long_name_of_a_shape_200_letters_stay(tmp_path):
    names = ["x" * 199, "y" * 200, "z" * 201]
    path = geojson(tmp_path / "a.geojson", *[polygon(square(0, 0, 1, 1))] * 3, names=names)
    assert read_shapes(path).names == [name[:200] for name in names]


def test_a_projected_file_is_brought_to_wgs84(tmp_path):
    """UTM 32N's false easting lies on 9 E (EPSG:32632)."""
    box = shapely.box(400_000, 5_000_000, 600_000, 5_100_000)
    geopandas.GeoDataFrame(geometry=[box], crs="EPSG:32632").to_file(tmp_path / "utm.gpkg")
    west, south, east, north = read_area(tmp_path / "utm.gpkg").bounds
    assert (west + east) / 2 == pytest.approx(9, abs=1e-6)
    assert 45 < south < north < 46.2


def test_holes_islands_and_several_features_stay(tmp_path):
    path = geojson(
        tmp_path / "a.geojson",
        polygon(square(0, 0, 4, 4), square(1, 1, 2, 2)),
        {"type": "MultiPolygon", "coordinates": [[square(6, 0, 7, 1)], [square(8, 0, 9, 1)]]},
        {"type": "Point", "coordinates": [100, 0]},
    )
    area = read_area(path)
    assert area.is_valid
    assert area.area == pytest.approx(16 - 1 + 2, abs=1e-9)
    assert area.bounds[2] == 9, "points do not count"


def test_a_crossing_outline_is_mended(tmp_path):
    bow = [[0, 0], [2, 2], [2, 0], [0, 2], [0, 0]]
    area = read_area(geojson(tmp_path / "a.geojson", polygon(bow)))
    assert area.is_valid
    assert area.area == pytest.approx(2, abs=1e-9)


# --- the antimeridian -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "rings",
    [
        [square(177, -19, 180, -16), square(-180, -19, -178, -16)],  # split, as RFC 7946 asks
        [square(177, -19, -178, -16)],  # jumps at 180
        [square(177, -19, 182, -16)],  # runs on
        [square(-183, -19, -178, -16)],  # runs on westwards
    ],
)
def test_fiji_is_one_area_however_it_is_written(tmp_path, rings):
    area = read_area(geojson(tmp_path / "fiji.geojson", *(polygon(ring) for ring in rings)))
    assert area.bounds == pytest.approx((177, -19, 182, -16), abs=1e-9)
    assert area.area == pytest.approx(15, abs=1e-9)
    assert len(area.geoms) == 1


def test_the_whole_world_stays_the_whole_world(tmp_path):
    area = read_area(geojson(tmp_path / "a.geojson", polygon(square(-180, -80, 180, 80))))
    assert area.bounds == (-180, -80, 180, 80)


def test_a_wide_outline_in_small_steps_is_not_turned():
    ring = shapely.segmentize(shapely.box(-170, 0, 170, 10), 5)
    assert continuous(ring).bounds == (-170, 0, 170, 10)


def test_holes_go_with_their_outline():
    ring = shapely.Polygon(square(170, 0, -170, 10), [square(-179, 4, -178, 5)])
    moved = continuous(ring)
    assert moved.bounds == (170, 0, 190, 10)
    assert moved.area == pytest.approx(199, abs=1e-9)


def test_shapes_are_put_side_by_side_the_short_way():
    lons = [179.0, -179.0, 175.0, -170.0]
    moved = side_by_side([shapely.Point(lon, 0) for lon in lons])
    assert [p.x for p in moved] == [179, 181, 175, 190]
    assert side_by_side([]) == []
    wide = side_by_side([shapely.box(-100, 0, 100, 1), shapely.box(90, 0, 120, 1)])
    assert shapely.MultiPolygon(wide).bounds == (-100, 0, 120, 1)


@pytest.mark.parametrize("seed", range(5))
def test_no_shape_moves_but_by_whole_turns_and_the_span_is_least(seed):
    """Against every possible cut, one by one."""
    lon = np.random.default_rng(seed).uniform(-180, 180, 12)
    moved = np.array([p.x for p in side_by_side([shapely.Point(x, 0) for x in lon])])
    np.testing.assert_allclose(np.mod(moved - lon + 1, 360), 1, atol=1e-9)
    spans = [np.ptp(np.mod(lon - start + 1e-9, 360)) for start in lon]
    assert np.ptp(moved) == pytest.approx(min(spans), abs=1e-6)


# --- bad files ------------------------------------------------------------------------------


def test_a_missing_file(tmp_path):
    with pytest.raises(ProjectError, match=r"nowhere\.geojson: there is no such file\. Check"):
        read_area(tmp_path / "nowhere.geojson")


@pytest.mark.parametrize("name", ["a.geojson", "a.gpkg", "a.kml", "a.parquet", "a.docx"])
def test_a_file_that_is_no_vector_file(tmp_path, name):
    (tmp_path / name).write_bytes(b"not a map \x00\xff at all")
    with pytest.raises(ProjectError, match=rf"{name}: it cannot be read as a vector file"):
        read_area(tmp_path / name)


def test_a_file_without_polygons(tmp_path):
    path = geojson(tmp_path / "a.geojson", {"type": "Point", "coordinates": [1, 2]})
    with pytest.raises(ProjectError, match="there is no polygon in it"):
        read_area(path)


def test_an_empty_file(tmp_path):
    with pytest.raises(ProjectError, match="there is no polygon in it"):
        read_area(geojson(tmp_path / "a.geojson"))


def test_an_unknown_reference_system(tmp_path):
    table = geopandas.GeoDataFrame(geometry=[shapely.box(0, 0, 1, 1)], crs="EPSG:4326")
    table.to_file(tmp_path / "a.shp")
    (tmp_path / "a.prj").unlink()
    with pytest.raises(ProjectError, match="its reference system is unknown"):
        read_area(tmp_path / "a.shp")


def test_metres_in_a_file_that_says_degrees(tmp_path):
    path = geojson(tmp_path / "a.geojson", polygon(square(400_000, 5e6, 6e5, 5.1e6)))
    with pytest.raises(ProjectError, match="is no place on the Earth"):
        read_area(path)


# --- overlays -------------------------------------------------------------------------------


def test_overlays_named_and_found(tmp_path):
    (tmp_path / "overlays").mkdir()
    line = {"type": "LineString", "coordinates": [[170, 0], [-170, 5]]}
    first = geojson(tmp_path / "overlays" / "roads.geojson", line, names=["<b>Road</b>"])
    second = geojson(
        tmp_path / "overlays" / "towns.geojson", {"type": "Point", "coordinates": [1, 2]}
    )
    empty = geojson(tmp_path / "overlays" / "empty.geojson")
    named = [OverlayFile(file="overlays/roads.geojson", name="Our roads", color="green")]
    found = read_overlays(tmp_path, named, [empty, first, second])
    assert [o.name for o in found] == ["Our roads", "towns"]
    assert [o.color for o in found] == ["green", ""]
    assert found[0].labels == ("<b>Road</b>",)
    assert found[0].shapes[0].bounds == (170, 0, 190, 5)
    assert found[1].labels == ("",)


def test_a_missing_overlay_is_an_error(tmp_path):
    with pytest.raises(ProjectError, match=r"gone\.kml: there is no such file"):
        read_overlays(tmp_path, [OverlayFile(file="gone.kml")], [])


def test_all_layers_of_a_file_are_read(tmp_path):
    path = tmp_path / "two.gpkg"
    for name, shape in (("a", shapely.Point(0, 0)), ("b", shapely.LineString([(0, 0), (1, 1)]))):
        geopandas.GeoDataFrame(geometry=[shape], crs="EPSG:4326").to_file(path, layer=name)
    assert {s.geom_type for s in read_shapes(path).shapes} == {"Point", "LineString"}
