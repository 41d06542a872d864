"""Sites that come as polygons and lines, and in files that only wrap another."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import geopandas as gpd
import openpyxl
import pytest
import shapely

from siteplan.errors import SitesError
from siteplan.inputs.files.tables import read_table
from siteplan.inputs.project import find_project
from siteplan.inputs.sites.read import read_sites, sites_from_frame

INSIDE = (
    "The shape is a polygon: a point inside was taken. Give the point where the dish is to stand."
)
MIDDLE = "The shape is a line: its middle was taken. Give the point where the dish is to stand."
#: A yard like a C, whose centre of gravity lies outside of it.
YARD = shapely.Polygon(
    [
        *((20, 5), (20.3, 5), (20.3, 5.05), (20.05, 5.05)),
        *((20.05, 5.25), (20.3, 5.25), (20.3, 5.3), (20, 5.3)),
    ]
)


def frame(*shapes: Any, crs: str = "EPSG:4326") -> gpd.GeoDataFrame:
    ids = [f"P{k}" for k in range(len(shapes))]
    return gpd.GeoDataFrame({"site_id": ids}, geometry=list(shapes), crs=crs)


@pytest.mark.parametrize("kind", ["gpkg", "geojson", "parquet", "memory"])
def test_a_polygon_gives_a_point_inside_and_a_line_its_middle(tmp_path: Path, kind: str) -> None:
    bend = shapely.LineString([(21, 5), (21, 6), (22, 6)])
    data = frame(YARD, bend, shapely.Point(22.25, 5.75), shapely.MultiPolygon([YARD]))
    if kind == "memory":
        found = sites_from_frame(data)
    else:
        path = tmp_path / f"sites.{kind}"
        data.to_parquet(path) if kind == "parquet" else data.to_file(path)
        found = read_sites(path)
    assert found.rejects == ()
    points = shapely.points(found.sites.lon, found.sites.lat)
    assert shapely.contains(YARD, points[[0, 3]]).all()
    assert not shapely.contains(YARD, YARD.centroid)
    assert (points[1].x, points[1].y) == (21.0, 6.0)
    told = {k: [note.sentence for note in notes] for k, notes in found.sites.notes.items()}
    assert [told[k][0] for k in (0, 1, 3)] == [INSIDE, MIDDLE, INSIDE]
    assert all(INSIDE not in told.get(2, []) for _ in told)


def test_a_polygon_in_metres_gives_a_point_inside_on_wgs84() -> None:
    there = gpd.GeoSeries([YARD], crs=4326).to_crs(32634)
    found = sites_from_frame(frame(*there, crs="EPSG:32634")).sites
    assert YARD.contains(shapely.Point(found.lon[0], found.lat[0]))


def test_shapes_across_the_antimeridian_are_no_way_round_the_earth() -> None:
    island = shapely.Polygon([(179.9, -17), (-179.7, -17), (-179.7, -16.6), (179.9, -16.6)])
    road = shapely.LineString([(179.75, -17), (-179.75, -17)])
    found = sites_from_frame(frame(island, road)).sites
    assert abs(found.lon[0]) > 179.7
    assert abs(abs(found.lon[1]) - 180) < 1e-9
    assert found.lat[1] == -17


def test_a_bow_tie_and_a_line_of_several_pieces_have_a_point_of_their_own() -> None:
    tie = shapely.Polygon([(0.5, 1), (1.5, 2), (1.5, 1), (0.5, 2)])
    pieces = shapely.MultiLineString([[(3, 4), (3, 4.25)], [(5, 6), (7, 6)]])
    found = sites_from_frame(frame(tie, pieces)).sites
    assert shapely.make_valid(tie).intersects(shapely.Point(found.lon[0], found.lat[0]))
    assert (found.lon[1], found.lat[1]) == (6.0, 6.0)


def test_shapes_without_one_meaning_are_rejected() -> None:
    two = shapely.MultiPoint([(1, 2), (3, 4)])
    empty = shapely.Polygon()
    both = shapely.GeometryCollection([shapely.Point(8.5, 9.5), YARD])
    found = sites_from_frame(frame(two, empty, both))
    assert [(r.site_id, r.value) for r in found.rejects] == [
        ("P0", "MultiPoint"),
        ("P1", "nothing"),
    ]
    assert (found.sites.lon.tolist(), found.sites.lat.tolist()) == ([8.5], [9.5])


RING = "<LinearRing><coordinates>{}</coordinates></LinearRing>"
SQUARE = RING.format("30,-2 30.4,-2 30.4,-1.6 30,-1.6 30,-2")
HOLE = RING.format("30.1,-1.95 30.3,-1.95 30.3,-1.65 30.1,-1.65 30.1,-1.95")
#: A placemark's shape, and where its site lies: a box (west, south, east, north).
KML_SHAPES = {
    "polygon": (
        f"<Polygon><innerBoundaryIs>{HOLE}</innerBoundaryIs>"
        f"<outerBoundaryIs>{SQUARE}</outerBoundaryIs></Polygon>",
        (30, -2, 30.4, -1.6),
    ),
    "line": (
        "<LineString><coordinates>\n30,-2,9\n30,-1,8 </coordinates></LineString>",
        (30, -1.5, 30, -1.5),
    ),
    "track": (
        "<Track><when>x</when><coord>30 -2 5</coord><coord>31 -2 5</coord></Track>",
        (30.5, -2, 30.5, -2),
    ),
    "both": (
        f"<MultiGeometry><Polygon><outerBoundaryIs>{SQUARE}</outerBoundaryIs></Polygon>"
        "<Point><coordinates>30.25,-1.75</coordinates></Point></MultiGeometry>",
        (30.25, -1.75, 30.25, -1.75),
    ),
    "model": (
        "<Model><Location><longitude>30.5</longitude><latitude>-1.5</latitude></Location></Model>",
        (30.5, -1.5, 30.5, -1.5),
    ),
}


def kml(*shapes: str) -> str:
    each = (f"<Placemark><name>K{k}</name>{s}</Placemark>" for k, s in enumerate(shapes))
    return f"<kml xmlns='http://www.opengis.net/kml/2.2'><Document>{''.join(each)}</Document></kml>"


@pytest.mark.parametrize("name", KML_SHAPES)
@pytest.mark.parametrize("suffix", [".kml", ".kmz"])
def test_shapes_of_placemarks(tmp_path: Path, name: str, suffix: str) -> None:
    shape, (west, south, east, north) = KML_SHAPES[name]
    path = tmp_path / f"sites{suffix}"
    if suffix == ".kmz":
        pack(
            path, {"files/photo.png": b"x", "doc.kml": kml(shape).encode(), "other.kml": b"<kml/>"}
        )
    else:
        path.write_text(kml(shape))
    found = read_sites(path)
    assert found.rejects == ()
    assert west <= found.sites.lon[0] <= east
    assert south <= found.sites.lat[0] <= north
    if name == "polygon":
        hole = shapely.box(30.1, -1.95, 30.3, -1.65)
        assert not hole.contains(shapely.Point(found.sites.lon[0], found.sites.lat[0]))
    assert found.source == path.name


@pytest.mark.parametrize(
    "shape",
    [
        "<Polygon><outerBoundaryIs/></Polygon>",
        "<Polygon><outerBoundaryIs>" + RING.format("1,2 3,4") + "</outerBoundaryIs></Polygon>",
        "<LineString><coordinates>1,2</coordinates></LineString>",
        "<LineString><coordinates>a,b c,d</coordinates></LineString>",
        "<Track><coord>1</coord></Track>",
    ],
)
def test_a_shape_that_is_none_is_a_reject(tmp_path: Path, shape: str) -> None:
    path = tmp_path / "sites.kml"
    path.write_text(kml(shape, "<Point><coordinates>1.5,2.5</coordinates></Point>"))
    found = read_table(path)
    assert [(r.row, r.value) for r in found.rejects] == [(2, "nothing")]
    assert found.columns["name"].tolist() == ["K1"]


def pack(path: Path, members: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


CSV = b"site_id,lat,lon\nQ1,1.2345,30.4567\n"


def test_a_zip_with_one_table_is_read(tmp_path: Path) -> None:
    """What a system packs beside it is passed over; the messages name the archive."""
    members = {
        "a/readme.txt": b"x",
        "a/List.CSV": CSV,
        "__MACOSX/a/._List.CSV": b"x",
        ".x.csv": b"x",
    }
    found = read_sites(pack(tmp_path / "sites.zip", members))
    assert (found.source, found.sites.site_id.tolist()) == ("sites.zip", ["Q1"])


@pytest.mark.parametrize(
    ("members", "told"),
    [
        ({"readme.txt": b"x"}, r"sites\.zip: there is no table of sites in it \(\.csv, \.xlsx, .*"),
        ({"a.csv": CSV, "b/c.csv": CSV}, r"sites\.zip: there are 2 tables in it: a\.csv, c\.csv\."),
        ({"a.csv": CSV + b'"Q2,1,2'}, r"sites\.zip, a\.csv: a quote opened in line 3"),
    ],
)
def test_a_zip_that_is_not_read_says_why(
    tmp_path: Path, members: dict[str, bytes], told: str
) -> None:
    with pytest.raises(SitesError, match=f"^{told}"):
        read_sites(pack(tmp_path / "sites.zip", members))


def test_a_member_cannot_leave_the_folder(tmp_path: Path) -> None:
    folder = tmp_path / "project"
    folder.mkdir()
    found = read_sites(pack(folder / "sites.zip", {"../../out.csv": CSV}))
    assert found.sites.site_id.tolist() == ["Q1"]
    assert [path.name for path in tmp_path.rglob("*")] == ["project", "sites.zip"]


def test_a_damaged_member_is_told(tmp_path: Path) -> None:
    path = pack(tmp_path / "sites.zip", {"a.csv": CSV})
    data = path.read_bytes()
    path.write_bytes(data.replace(b"30.4567", b"30.4568"))
    with pytest.raises(SitesError, match="this zip archive cannot be read"):
        read_sites(path)


def shapefile(folder: Path, name: str, encoding: str, **options: Any) -> Path:
    folder.mkdir(exist_ok=True)
    data = gpd.GeoDataFrame(
        {"site_id": ["1", "2"], "name": [name, "Plain"]},
        geometry=gpd.points_from_xy([12.25, 12.75], [48.25, 48.75]),
        crs=4326,
    )
    data.to_file(folder / "sites.shp", encoding=encoding, **options)
    return folder / "sites.shp"


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize(
    ("encoding", "said"), [("UTF-8", True), ("UTF-8", False), ("ISO-8859-1", False)]
)
def test_a_shapefile_keeps_its_letters(
    tmp_path: Path, packed: bool, encoding: str, said: bool
) -> None:
    """Bare and packed, whether or not a file beside it says the encoding."""
    path = shapefile(tmp_path / "shapes", "Mühlhöhe Süd", encoding)
    if not said:
        path.with_suffix(".cpg").unlink()
    if packed:
        parts = {f"layer/{p.name}": p.read_bytes() for p in path.parent.iterdir()}
        path = pack(tmp_path / "sites.zip", parts)
    found = read_sites(path)
    assert found.sites.name.tolist() == ["Mühlhöhe Süd", "Plain"]
    assert found.sites.lat.tolist() == [48.25, 48.75]
    named = [remark.sentence for remark in found.remarks]
    assert ["Windows-1252" in text for text in named] == [True] * (encoding == "ISO-8859-1")


def test_a_shapefile_without_its_parts_is_told(tmp_path: Path) -> None:
    path = shapefile(tmp_path / "shapes", "Plain", "UTF-8")
    path.with_suffix(".shx").unlink()
    with pytest.raises(SitesError, match=r"missing: sites\.shx\. A shapefile is \.shp, \.shx"):
        read_sites(path)


def test_a_member_without_a_name_is_passed_over(tmp_path: Path) -> None:
    """As damage leaves it in an archive's list; the library asks for its last letter."""
    path = pack(tmp_path / "sites.zip", {"a.csv": CSV, "b": b""})
    data = path.read_bytes()
    at = data.rindex(b"PK\x01\x02")
    head = data[at : at + 28] + b"\0\0" + data[at + 30 : at + 46]
    end = bytearray(data[at + 47 :])
    end[12:16] = (int.from_bytes(end[12:16], "little") - 1).to_bytes(4, "little")
    path.write_bytes(data[:at] + head + bytes(end))
    assert "" in zipfile.ZipFile(path).namelist()
    assert read_sites(path).sites.site_id.tolist() == ["Q1"]


def test_a_shapefile_whose_reference_system_is_no_text(tmp_path: Path) -> None:
    """The library's own error over such a .prj is one of its code, not of the file."""
    path = shapefile(tmp_path / "shapes", "Plain", "UTF-8")
    prj = path.with_suffix(".prj")
    prj.write_bytes(prj.read_bytes().replace(b"WGS", b"W\xffS"))
    with pytest.raises(SitesError, match=r"cannot be (read|decoded).*(whole|again)"):
        read_sites(path)


def test_a_shapefile_is_found_in_a_project_among_its_parts(tmp_path: Path) -> None:
    path = shapefile(tmp_path / "project", "Plain", "UTF-8")
    (path.parent / "network.toml").write_text("[satellite]\nlongitude_deg = 10\n")
    assert find_project(path.parent).sites_path == path


def test_a_gpx_file_gives_its_waypoints(tmp_path: Path) -> None:
    way = '<wpt lat="{}" lon="{}"><name>{}</name></wpt>'
    track = '<trk><trkseg><trkpt lat="1" lon="2"/><trkpt lat="1.5" lon="2"/></trkseg></trk>'
    head, path = (
        '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">',
        tmp_path / "sites.gpx",
    )
    path.write_text(head + way.format(-3.25, 36.75, "Ford") + track + "</gpx>")
    found = read_sites(path).sites
    assert (found.name.tolist(), found.lat.tolist(), found.lon.tolist()) == (
        ["Ford"],
        [-3.25],
        [36.75],
    )
    path.write_text(head + track + "</gpx>")
    with pytest.raises(SitesError, match=r"it has no waypoint\. Mark each site as a waypoint"):
        read_sites(path)


def test_a_workbook_with_macros_is_read(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for line in (["site_id", "lat", "lon"], ["W1", 4.125, 7.375]):
        book.active.append(line)
    book.save(tmp_path / "book.xlsx")
    path = (tmp_path / "book.xlsx").rename(tmp_path / "sites.xlsm")
    assert read_sites(path).sites.lat.tolist() == [4.125]


POINT = {"type": "Point", "coordinates": [9.625, 45.125]}
FEATURE = {"type": "Feature", "properties": {"site_id": "J1"}, "geometry": POINT}


@pytest.mark.parametrize("name", ["sites.json", "sites.geojson"])
@pytest.mark.parametrize(
    ("data", "told"),
    [
        (
            {"type": "featurecollection", "features": {"0": FEATURE}},
            "its type is 'featurecollection'",
        ),
        ({"type": "FeatureCollection", "features": {"0": FEATURE}}, "'features' is no list"),
        ({"type": "FeatureCollection"}, "'features' is no list"),
        ([{"lat": 45.125, "lon": 9.625}], "it is a list"),
        ({"sites": [FEATURE]}, "its type is not given"),
        (17, "it is a single value"),
    ],
)
def test_json_that_is_no_geojson_is_told_at_once(
    tmp_path: Path, name: str, data: Any, told: str
) -> None:
    path = tmp_path / name
    path.write_text(json.dumps(data))
    with pytest.raises(SitesError, match=f"this is JSON, but no GeoJSON.*{told}") as caught:
        read_sites(path)
    assert "as .csv" in caught.value.fix
    assert "geojson" not in caught.value.fix.replace("GeoJSON", "")


@pytest.mark.parametrize("name", ["sites.json", "sites.geojson"])
def test_geojson_by_either_name_is_read(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_text("\ufeff" + json.dumps({"type": "FeatureCollection", "features": [FEATURE]}))
    found = read_sites(path).sites
    assert (found.site_id.tolist(), found.lat.tolist()) == (["J1"], [45.125])
    path.write_text("\n".join(json.dumps(FEATURE | {"properties": {"site_id": k}}) for k in "AB"))
    assert read_sites(path).sites.site_id.tolist() == ["A", "B"]
