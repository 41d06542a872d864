"""What a person reads about a file of sites, a layer or an area: the whole sentence."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import shapely

from siteplan.errors import ProjectError, SitesError
from siteplan.inputs.area import read_area
from siteplan.inputs.files.shapes import continuous, read_shapes
from siteplan.inputs.files.tables import read_chunks, read_table
from siteplan.inputs.sites.read import sites_from_frame

QUOTE_FIX = "Put quotes around a cell that holds the delimiter (a decimal comma?)."
HEAD = "site_id,name,lat,lon\n"
STORE = "Store the layer with its reference system, or convert it to WGS 84 (EPSG:4326)."


def whole(text: str) -> str:
    """Return the pattern of a text, nothing more and nothing less."""
    return f"^{re.escape(text)}$"


def points(count: int = 2, crs: int | None = 4326) -> gpd.GeoDataFrame:
    names = [f"A{k}" for k in range(count)]
    places = gpd.points_from_xy(10.25 + np.arange(count), 50.5 + np.arange(count))
    return gpd.GeoDataFrame({"site_id": names}, geometry=places, crs=crs)


def workbook(*sheets: str) -> Callable[[Path], None]:
    """Return what writes a workbook of sheets that look like tables of sites."""

    def make(path: Path) -> None:
        book = openpyxl.Workbook()
        book.remove(book.active)
        for name in sheets:
            sheet = book.create_sheet(name)
            if name != "blank":
                sheet.append(["lat", "lon"])
        book.save(path)

    return make


def layers(*names: str) -> Callable[[Path], None]:
    """Return what writes a GeoPackage of layers of points."""

    def make(path: Path) -> None:
        for name in names:
            points().to_file(path, layer=name)

    return make


def encoded(path: Path) -> None:
    """Write GeoParquet of an encoding that is not read."""
    geo = {"primary_column": "g", "columns": {"g": {"encoding": "polygon"}}}
    table = pa.table({"g": pa.array([b""], pa.binary())})
    pq.write_table(table.replace_schema_metadata({b"geo": json.dumps(geo).encode()}), path)


Make = Callable[[Path], object] | str | None
#: A name, what is in the file, and what is said of it.
FILES: list[tuple[str, Make, str]] = [
    ("sites.dwg", "x", "files of kind '.dwg' are not read. Known kinds: .csv, .xlsx, .geojson,"
     " .gpkg, .kml, .parquet, .xlsm, .json, .kmz, .gpx, .shp, .zip."),
    ("sites.XLS", "x", "files of kind '.xls' are not read. Save it as .xlsx."),
    ("sites.xlsm", "x",
     "this is no .xlsx workbook. Open it in a spreadsheet and save it as .xlsx or CSV,"
     " without a password."),
    ("sites.ods", "x", "files of kind '.ods' are not read. Save it as .xlsx or .csv."),
    ("sites.txt", "x", "files of kind '.txt' are not read. Rename it .csv."),
    ("sites.tsv", "x", "files of kind '.tsv' are not read. Rename it .csv; tabs are understood."),
    ("sites.json", "x",
     "the file cannot be read. Check that it is a whole .json file, or export it again."),
    ("sites.kmz", "x", "this zip archive cannot be read. Pack it anew, without a password."),
    ("sites.zip", "x", "this zip archive cannot be read. Pack it anew, without a password."),
    ("sites.shp", "x",
     "the files beside it are missing: sites.shx, sites.dbf. A shapefile is .shp, .shx, .dbf and"
     " .prj together: copy all of them, or pack a .zip."),
    ("sites.csv", None, "there is no such file. Check the path."),
    *(("sites.csv", text, "the file is empty. Put site_id,lat,lon in it.")
      for text in ("", " \r\n", ";;\n\t|,\n", "\ufeff\n")),
    ("sites.csv", HEAD, "it has no rows of sites. Put a row for each site in it."),
    ("sites.csv", HEAD + 'A1,"Foo,1,2\nA2,Bar,3,4\n',
     "a quote opened in line 2 is never closed. Close it, or take it out."),
    ("sites.csv", HEAD + 'A1,x,1,2\nA2,"Foo,1,2\nA3,Bar,3,4\nA4,"Baz,5,6\n',
     "a quoted cell in row 3 runs over 3 lines and seems to hold whole rows. Look for a quote that"
     " is not closed."),
    ("sites.xlsx", workbook("blank"), "the workbook is empty. Fill in a sheet of sites."),
    ("sites.xlsx", workbook("North", "blank", "South"), "several sheets look like tables of sites:"
     " 'North', 'South'. Keep or show one of them; hidden sheets are not read."),
    ("sites.gpkg", layers("north", "south"), "it has 2 layers: north, south. Keep one layer of"
     " points, or call the right one 'sites'."),
    ("sites.gpkg", layers(*(f"l{k:02d}" for k in range(11))), "it has 11 layers: "
     + ", ".join(f"l{k:02d}" for k in range(10))
     + ". Keep one layer of points, or call the right one 'sites'."),
    ("sites.kml", "<kml/>", "it has no placemark. Put each site as a point."),
    ("sites.parquet", encoded, "geometry encoding polygon is not read. Store the points as WKB."),
    ("sites.geojson", json.dumps({
        "type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "x"}},
        "features": []}), f"the reference system of the points is unknown. {STORE}"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "make", "told"), FILES)
def test_a_file_of_sites_is_refused_in_these_words(
    tmp_path: Path, name: str, make: Make, told: str
) -> None:
    path = tmp_path / name
    if isinstance(make, str):
        path.write_text(make, encoding="utf-8", newline="")
    elif make is not None:
        make(path)
    where = name if make is not None else str(path)
    with pytest.raises(SitesError, match=whole(f"{where}: {told}")):
        read_table(path)
    with pytest.raises(SitesError, match=whole(f"{where}: {told}")):
        list(read_chunks(path, 5))


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_forgotten_quote_is_told_whatever_ends_a_line(tmp_path: Path, end: str) -> None:
    text = HEAD + 'A1,"Foo,1,2\nA2,Bar,3,4\nA3,"Baz,5,6\n'
    path = tmp_path / "sites.csv"
    path.write_bytes(text.replace("\n", end).encode())
    told = (
        "sites.csv: a quoted cell in row 2 runs over 3 lines and seems to hold whole rows."
        " Look for a quote that is not closed."
    )
    with pytest.raises(SitesError, match=whole(told)):
        read_table(path)


@pytest.mark.parametrize("inside", ["x,1,2,3", "x\u2028,1,2,3", "x\ny,1,2\nz,,", "\n,,"])
def test_a_quoted_cell_that_holds_no_row_is_kept(tmp_path: Path, inside: str) -> None:
    """Commas in its first line, or fewer than a row has in the others, are its own."""
    path = tmp_path / "sites.csv"
    path.write_text(f'{HEAD}A1,"{inside}",1,2\n', encoding="utf-8", newline="")
    assert read_table(path).columns["name"].tolist() == [inside]


FORM = "For example {'lat': [-1.3, -4.0], 'lon': [36.8, 39.7]}."
GIVE = "Give a DataFrame, a mapping of columns, or pairs (lat, lon)."


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ([], "it has no rows of sites. Give at least one site."),
        ({"lat": [], "lon": []}, "it has no rows of sites. Give at least one site."),
        ({}, f"a mapping must hold one column of values for each heading. {FORM}"),
        ({"lat": 1}, f"a mapping must hold one column of values for each heading. {FORM}"),
        ({"lat": [1, 2], "lon": [1]},
         "the columns have unequal lengths: 'lat' 2, 'lon' 1. Fill up the short."),
        ("sites", f"str is no table of sites. {GIVE}"),
        (7, f"int is no table of sites. {GIVE}"),
        ([(1, 2), (1, 2, 3)], f"item 1 is no pair (lat, lon). {GIVE}"),
        (points(crs=None), "the geometry has no reference system."
         " Set it, for example with set_crs('EPSG:4326')."),
    ],
)  # fmt: skip
def test_a_table_in_memory_is_refused_in_these_words(data: object, told: str) -> None:
    with pytest.raises(SitesError, match=whole(f"mine: {told}")):
        sites_from_frame(data, source="mine")


def test_a_row_that_is_too_long_is_told_in_these_words(tmp_path: Path) -> None:
    long = "x" * 250
    (tmp_path / "sites.csv").write_text(
        f"id,lat,lon\nA1,-1,29,36,82\nA2,1,2,\nA3,1,2, ,{long}\nA4,1\n"
    )
    table = read_table(tmp_path / "sites.csv")
    assert table.columns["id"].tolist() == ["A2", "A4"]
    assert [(r.row, r.value, r.reason, r.fix) for r in table.rejects] == [
        (2, "A1 | -1 | 29 | 36 | 82", "the row has 5 cells, the heading 3", QUOTE_FIX),
        (4, f"A3 | 1 | 2 |   | {long}"[:200], "the row has 5 cells, the heading 3", QUOTE_FIX),
    ]
    book = openpyxl.Workbook()
    for row in (["id", "lat", "lon"], ["A1", 1, 2], ["A2", 1, 2, 3]):
        book.active.append(row)
    book.save(tmp_path / "sites.xlsx")
    assert read_table(tmp_path / "sites.xlsx").columns["column_4"].tolist() == ["", "3"]


def test_a_row_without_a_point_is_told_in_these_words(tmp_path: Path) -> None:
    """Of six rows the middle ones, each with its own id; a point that PROJ cannot place, too."""
    mixed = shapely.GeometryCollection([shapely.LineString([(0, 0), (1, 1)])] * 2)
    shapes = [shapely.Point(5e5, 4e5), mixed, None, shapely.Point(),
              shapely.MultiPoint([(5e5, 4e5), (6e5, 4e5)]), shapely.Point(9e99, 9e99)]  # fmt: skip
    data = gpd.GeoDataFrame({"site_id": list("ABCDEF")}, geometry=shapes, crs=32618)
    data.to_parquet(tmp_path / "sites.parquet")
    table = read_table(tmp_path / "sites.parquet")
    assert table.columns["site_id"].tolist() == ["A"]
    fix = "A site is one point: give its position."
    assert [(r.row, r.site_id, r.key, r.value, r.reason, r.fix) for r in table.rejects] == [
        *((row, site, "geometry", kind, f"the geometry is {kind}, not a point", fix)
          for row, site, kind in ((3, "B", "GeometryCollection"), (4, "C", "nothing"),
                                  (5, "D", "nothing"), (6, "E", "MultiPoint"))),
        (7, "F", "geometry", "", "the point has no position on WGS 84 in its reference system",
         "Check the coordinates and the reference system of the layer."),
    ]  # fmt: skip


def geojson(path: Path, *geometries: dict[str, object]) -> Path:
    features = [{"type": "Feature", "properties": {}, "geometry": g} for g in geometries]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_an_area_is_refused_in_these_words(tmp_path: Path) -> None:
    gone = tmp_path / "gone.geojson"
    with pytest.raises(
        ProjectError, match=whole(f"{gone}: there is no such file. Check the path.")
    ):
        read_area(gone)
    point = geojson(tmp_path / "a.geojson", {"type": "Point", "coordinates": [1, 2]})
    told = "there is no polygon in it. Give a file with the outline of the area as a polygon."
    with pytest.raises(ProjectError, match=whole(f"a.geojson: {told}")):
        read_area(point)
    points().to_file(tmp_path / "b.shp")
    (tmp_path / "b.prj").unlink()
    told = f"b.shp: its reference system is unknown. {STORE}"
    with pytest.raises(ProjectError, match=whole(told)):
        read_area(tmp_path / "b.shp")


@pytest.mark.parametrize(
    ("lon", "lat", "beyond"),
    [(360, 90, False), (-360, -90, False), (360.5, 0, True), (-360.5, 0, True),
     (0, 90.5, True), (0, -90.5, True), (400000, 5e6, True)],
)  # fmt: skip
def test_places_on_the_earth_and_beyond(
    tmp_path: Path, lon: float, lat: float, beyond: bool
) -> None:
    """The second point of two; the first is a good one."""
    path = geojson(tmp_path / "a.geojson", {"type": "Point", "coordinates": [1, 2]},
                   {"type": "Point", "coordinates": [lon, lat]})  # fmt: skip
    if not beyond:
        assert len(read_shapes(path).shapes) == 2
        return
    told = f"a.geojson: lon {lon:g}, lat {lat:g} is no place on the Earth. {STORE}"
    with pytest.raises(ProjectError, match=whole(told)):
        read_shapes(path)


def test_nested_collections_are_taken_apart(tmp_path: Path) -> None:
    """A collection in a collection beside plain shapes: each single one, none lost."""
    point = {"type": "Point", "coordinates": [1, 2]}
    line = {"type": "LineString", "coordinates": [[3, 4], [5, 6]]}
    many = {"type": "MultiPoint", "coordinates": [[7, 8], [9, 10]]}
    inner = {"type": "GeometryCollection", "geometries": [many, line]}
    outer = {"type": "GeometryCollection", "geometries": [point, inner]}
    found = read_shapes(geojson(tmp_path / "a.geojson", point, outer, many))
    kinds = [shape.geom_type for shape in found.shapes]
    assert sorted(kinds) == ["LineString"] + ["Point"] * 6
    assert found.names == [""] * 7


def test_only_what_spans_more_than_half_the_earth_is_turned() -> None:
    for west, east, turned in ((-100, 80, False), (-100, 80.5, True), (20, 170, False),
                               (-170, -20, False), (179, -179, True)):  # fmt: skip
        line = shapely.LineString([(west, 0), (east, 10)])
        bounds = continuous(line).bounds
        assert (bounds != line.bounds) is turned, (west, east)
        assert bounds[2] - bounds[0] <= 180


@pytest.mark.parametrize(("heading", "taken"), [("NAME", True), ("Label", True), ("title", True),
                                                ("names", False)])  # fmt: skip
def test_names_of_shapes(tmp_path: Path, heading: str, taken: bool) -> None:
    data = gpd.GeoDataFrame(
        {heading: ["one", None, "x" * 250]}, geometry=gpd.points_from_xy([1, 2, 3], [4, 5, 6]),
        crs=4326,
    )  # fmt: skip
    data.to_file(tmp_path / "a.gpkg")
    named = ["one", "", "x" * 200] if taken else ["", "", ""]
    assert read_shapes(tmp_path / "a.gpkg").names == named
