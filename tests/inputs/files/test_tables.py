"""Files in, tables of text out. Reprojection is checked against pyproj called directly."""

import datetime as dt
import json
import warnings

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pyproj
import pytest
import shapely

from siteplan.errors import SitesError
from siteplan.inputs.files.cells import PANDAS_FROM_CELLS, as_texts
from siteplan.inputs.files.tables import read_chunks, read_table, split
from siteplan.inputs.sites.read import read_sites

HEAD = "site_id,name,lat,lon,remark\n"
ROWS = "A1,Café,-1.2921,36.8219,x\nA2,Bar,-4.05,39.66,y\n"
POINTS = [(36.8219, -1.2921), (39.66, -4.05)]


def write(folder, text, name="sites.csv", encoding="utf-8"):
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_encodings(tmp_path, encoding):
    table = read_table(write(tmp_path, HEAD + ROWS, encoding=encoding))
    assert list(table.columns) == ["site_id", "name", "lat", "lon", "remark"]
    assert table.columns["name"].tolist() == ["Café", "Bar"]
    assert not table.notes


def test_cp1252_is_read_and_said(tmp_path):
    table = read_table(write(tmp_path, HEAD + ROWS, encoding="cp1252"))
    assert table.columns["name"].tolist() == ["Café", "Bar"]
    assert "Windows-1252" in table.remarks[0].sentence
    assert not table.notes


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_ends(tmp_path, mark, end):
    text = (HEAD + ROWS).replace(",", mark).replace("\n", end)
    table = read_table(write(tmp_path, text))
    assert table.columns["lon"].tolist() == ["36.8219", "39.66"]
    assert table.row.tolist() == [2, 3]


def test_decimal_commas_with_semicolons(tmp_path):
    table = read_table(write(tmp_path, "site_id;lat;lon\nA1;-1,2921;36,8219\n"))
    assert table.columns["lat"].tolist() == ["-1,2921"]


def test_a_column_without_a_heading_is_called_by_its_place(tmp_path):
    table = read_table(write(tmp_path, "site_id,,lat,lon, ,\nA1,x,1,2,,\n"))
    assert list(table.columns) == ["site_id", "column_2", "lat", "lon", "column_5", "column_6"]
    assert table.columns["column_2"].tolist() == ["x"]


@pytest.mark.parametrize("n", [PANDAS_FROM_CELLS - 1, PANDAS_FROM_CELLS, 3 * PANDAS_FROM_CELLS])
def test_cells_of_any_kind_become_texts_however_many(n):
    kinds = [
        ("x", "x"), (1.0, "1"), (1.5, "1.5"), (None, ""), (np.nan, ""), (7, "7"), (pd.NaT, ""),
        (dt.date(2026, 3, 1), "2026-03-01"),
    ]  # fmt: skip
    for some in (kinds, kinds[:1], kinds[1:3], kinds[3:4], kinds[:1] + kinds[3:4]):
        values = np.empty(n, dtype=object)
        values[:] = [some[k % len(some)][0] for k in range(n)]
        found = as_texts(values)
        assert found.tolist() == [some[k % len(some)][1] for k in range(n)]


def test_title_lines_blank_lines_and_sep_line(tmp_path):
    table = read_table(write(tmp_path, "List of sites\n\n" + HEAD + "\n" + ROWS + "\n,,,,\n"))
    assert table.row.tolist() == [5, 6]
    table = read_table(write(tmp_path, "sep=,\n" + HEAD + ROWS))
    assert table.row.tolist() == [2, 3]


def test_quoted_cells_keep_everything(tmp_path):
    text = HEAD + '"A1","Foo, ""bar""\nbaz",1.5,2.5," x "\nA2,B,1,2,\n'
    table = read_table(write(tmp_path, text))
    assert table.columns["name"].tolist() == ['Foo, "bar"\nbaz', "B"]
    assert table.columns["remark"].tolist() == [" x ", ""]
    assert table.row.tolist() == [2, 3]


def test_long_rows_are_rejects_and_short_rows_are_filled(tmp_path):
    table = read_table(write(tmp_path, "id,lat,lon\nA1,-1,29,36,82\nA2,1,2,,\nA3,1\n"))
    assert table.columns["id"].tolist() == ["A2", "A3"]
    assert table.columns["lon"].tolist() == ["2", ""]
    assert [(r.row, r.reason) for r in table.rejects] == [(2, "the row has 5 cells, the heading 3")]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the file is empty"),
        (" \n,,\n", "the file is empty"),
        (HEAD, "no rows of sites"),
        (HEAD + "\n,,,,\n", "no rows of sites"),
        (HEAD + 'A1,"Foo,1,2,\nA2,Bar,3,4,\n', "quote opened in line 2 is never closed"),
        (HEAD + 'A1,"Foo,1,2,\nA2,Bar,3,4,\nA3,"Baz,5,6,\n', "seems to hold whole rows"),
    ],
)
def test_unusable_csv(tmp_path, text, message):
    with pytest.raises(SitesError, match=message):
        read_table(write(tmp_path, text))


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("sites.xls", "Save it as .xlsx"),
        ("sites.txt", "Rename it .csv"),
        ("sites.dwg", "Known kinds: .csv"),
        ("nothing.csv", "no such file"),
    ],
)
def test_kinds_that_are_not_read(tmp_path, name, message):
    if name != "nothing.csv":
        write(tmp_path, "x", name)
    with pytest.raises(SitesError, match=message):
        read_table(tmp_path / name)


@pytest.mark.parametrize("kind", ["xlsx", "gpkg", "geojson", "kml", "parquet"])
def test_a_file_of_garbage_is_refused_in_our_words(tmp_path, kind):
    with pytest.raises(SitesError, match=f"sites.{kind}: .*(Export|export|Open|Check)"):
        read_table(write(tmp_path, "garbage", f"sites.{kind}"))


def workbook(folder, *sheets):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    path = folder / "sites.xlsx"
    book.save(path)
    return path


def test_workbook_cells_keep_full_precision(tmp_path):
    value = 36.821946123456789
    rows = [
        ["site_id", "lat", "lon", "open", "day"],
        [7, dt.time(12, 34, 56), value, True, dt.datetime(2026, 3, 1)],
        [None] * 5,
        ["8", dt.timedelta(hours=36, minutes=49, seconds=12.5), -value, None, None],
    ]
    table = read_table(workbook(tmp_path, ("Sites", rows)))
    assert table.columns["site_id"].tolist() == ["7", "8"]
    assert table.columns["lat"].tolist() == ["12:34:56", "36:49:12.5"]
    assert [float(text) for text in table.columns["lon"]] == [value, -value]
    assert table.columns["open"].tolist() == ["TRUE", ""]
    assert table.columns["day"].tolist() == ["2026-03-01", ""]
    assert table.row.tolist() == [2, 4]


def test_workbook_takes_the_sheet_with_positions(tmp_path):
    sites = ("Data", [["Title"], [], ["id", "lat", "lon"], ["A", 1.5, 2.5]])
    table = read_table(workbook(tmp_path, ("Read me", [["Hello"]]), sites))
    assert table.columns["lat"].tolist() == ["1.5"]
    assert table.row.tolist() == [4]


def test_workbook_with_two_tables_of_sites_is_refused(tmp_path):
    rows = [["lat", "lon"], [1, 2]]
    with pytest.raises(SitesError, match=r"several sheets .*'North', 'South'"):
        read_table(workbook(tmp_path, ("North", rows), ("South", rows)))


def test_empty_workbook(tmp_path):
    with pytest.raises(SitesError, match="the workbook is empty"):
        read_table(workbook(tmp_path, ("Sheet", [])))


def frame(crs="EPSG:4326", points=POINTS):
    shapes = [shapely.Point(p) for p in points]
    return gpd.GeoDataFrame(
        {"site_id": ["A1", "A2"], "count": [1, 2], "remark": ["x", None]},
        geometry=gpd.GeoSeries(shapes, crs="EPSG:4326").to_crs(crs),
    )


def save(data, folder, kind):
    path = folder / f"sites.{kind}"
    if kind == "parquet":
        data.to_parquet(path)
    else:
        data.to_file(path, driver={"gpkg": "GPKG", "geojson": "GeoJSON"}[kind])
    return path


@pytest.mark.parametrize("kind", ["gpkg", "geojson", "parquet"])
def test_vector_files(tmp_path, kind):
    table = read_table(save(frame(), tmp_path, kind))
    np.testing.assert_allclose(table.lon, [36.8219, 39.66], rtol=0, atol=1e-12)
    np.testing.assert_allclose(table.lat, [-1.2921, -4.05], rtol=0, atol=1e-12)
    assert table.columns["count"].tolist() == [1, 2]
    assert table.columns["remark"].tolist() == ["x", ""]
    assert table.row.tolist() == [2, 3]


@pytest.mark.parametrize("kind", ["gpkg", "parquet"])
@pytest.mark.parametrize("crs", ["EPSG:32737", "EPSG:3857", "EPSG:4258"])
def test_other_reference_systems_are_transformed(tmp_path, kind, crs):
    """Against pyproj's own transformation of the stored numbers, within 1e-9 degree."""
    data = frame(crs)
    back = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    lon, lat = back.transform(data.geometry.x.to_numpy(), data.geometry.y.to_numpy())
    table = read_table(save(data, tmp_path, kind))
    np.testing.assert_allclose(table.lat, lat, rtol=0, atol=1e-9)
    np.testing.assert_allclose(table.lon, lon, rtol=0, atol=1e-9)


@pytest.mark.parametrize("kind", ["gpkg", "parquet"])
def test_shapes_that_are_no_point_are_rejects(tmp_path, kind):
    data = frame()
    line = shapely.MultiPoint([(0, 0), (1, 1)])
    more = gpd.GeoDataFrame(
        {"site_id": ["B1", "B2", "B3", "B4"]},
        geometry=[line, None, shapely.Point(), shapely.MultiPoint([(3.5, 4.5)])],
        crs="EPSG:4326",
    )
    table = read_table(save(pd.concat([data, more], ignore_index=True), tmp_path, kind))
    assert table.columns["site_id"].tolist() == ["A1", "A2", "B4"]
    assert [(r.row, r.site_id, r.value) for r in table.rejects] == [
        (4, "B1", "MultiPoint"),
        (5, "B2", "nothing"),
        (6, "B3", "nothing"),
    ]


@pytest.mark.parametrize("kind", ["gpkg", "parquet"])
def test_unknown_reference_system_is_refused(tmp_path, kind):
    data = frame().set_crs(None, allow_override=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # that the file gets no reference system
        path = save(data, tmp_path, kind)
    with pytest.raises(SitesError, match="reference system of the points is unknown"):
        read_table(path)


def test_of_many_layers_ten_are_told(tmp_path):
    path = tmp_path / "sites.gpkg"
    names = [f"layer{k:02d}" for k in range(12)]
    for name in names:
        frame().to_file(path, layer=name, driver="GPKG")
    with pytest.raises(SitesError, match="has 12 layers: ") as caught:
        read_table(path)
    assert f"12 layers: {', '.join(names[:10])}. Keep" in str(caught.value)


def test_geopackage_with_several_layers(tmp_path):
    path = tmp_path / "sites.gpkg"
    frame().to_file(path, layer="north", driver="GPKG")
    frame().to_file(path, layer="south", driver="GPKG")
    with pytest.raises(SitesError, match="2 layers: north, south"):
        read_table(path)
    frame().iloc[:1].to_file(path, layer="sites", driver="GPKG")
    assert len(read_table(path)) == 1


def test_plain_parquet_keeps_types(tmp_path):
    path = tmp_path / "sites.parquet"
    data = pd.DataFrame({"lat": [1.5, 2.5], "lon": [3.5, 4.5], "n": [2**60, 1], "t": ["a", None]})
    data.to_parquet(path)
    table = read_table(path)
    assert table.lat is None
    assert table.columns["n"].tolist() == [2**60, 1]
    assert table.columns["lat"].dtype == np.float64
    assert table.columns["t"].tolist() == ["a", ""]


def test_geojson_with_mixed_properties(tmp_path):
    features = [
        {"type": "Feature", "properties": properties, "geometry": geometry}
        for properties, geometry in [
            ({"id": 1, "tag": "a"}, {"type": "Point", "coordinates": [10.25, 50.5]}),
            ({"id": "x2", "other": None}, {"type": "Point", "coordinates": [11, 51, 340]}),
            ({"id": 3}, None),
        ]
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    table = read_table(write(tmp_path, text, "sites.geojson"))
    assert table.columns["id"].tolist() == ["1", "x2"]
    assert table.lat.tolist() == [50.5, 51.0]
    assert "height of the point was not used" in table.notes[1][0].sentence
    assert [r.row for r in table.rejects] == [4]


KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder>
<Placemark><name>Hill &amp; Co</name><description>old</description>
 <ExtendedData><Data name="site_id"><value>A1</value></Data>
 <Data name="structure"><value>wall</value></Data></ExtendedData>
 <Point><coordinates>36.8219,-1.2921,1700</coordinates></Point></Placemark></Folder>
<Placemark><name>Track</name><LineString><coordinates>1,2 3,4</coordinates></LineString></Placemark>
<Placemark><name>Second</name><ExtendedData><SchemaData><SimpleData name="site_id">A2</SimpleData>
 </SchemaData></ExtendedData>
 <MultiGeometry><Point><coordinates> 39.66,-4.05 </coordinates></Point></MultiGeometry></Placemark>
<Placemark><name>Nowhere</name></Placemark>
<Placemark><name>Bad</name><Point><coordinates>x,y</coordinates></Point></Placemark>
</Document></kml>"""


def test_kml(tmp_path):
    table = read_table(write(tmp_path, KML, "sites.KML"))
    assert table.columns["site_id"].tolist() == ["A1", "", "A2"]
    assert table.columns["name"].tolist() == ["Hill & Co", "Track", "Second"]
    assert table.columns["structure"].tolist() == ["wall", "", ""]
    assert table.lon.tolist() == [36.8219, 2.0, 39.66]
    assert table.lat.tolist() == [-1.2921, 3.0, -4.05]
    assert [r.row for r in table.rejects] == [5, 6]


def test_kml_without_placemarks(tmp_path):
    with pytest.raises(SitesError, match="no placemark"):
        read_table(write(tmp_path, "<kml/>", "sites.kml"))


@pytest.mark.parametrize("rows", [1, 3, 7, 100])
@pytest.mark.parametrize("kind", ["csv", "gpkg", "parquet", "xlsx", "geojson"])
def test_chunks_together_are_the_whole(tmp_path, kind, rows):
    count = 10
    data = gpd.GeoDataFrame(
        {"site_id": [f"A{i}" for i in range(count)], "n": range(count)},
        geometry=[shapely.Point(i / 7, i / 3) for i in range(count)],
        crs="EPSG:4326",
    )
    path = tmp_path / f"sites.{kind}"
    if kind in ("csv", "xlsx"):
        plain = pd.DataFrame(data.drop(columns="geometry"))
        plain = plain.assign(lat=data.geometry.y, lon=data.geometry.x)
        plain.to_csv(path, index=False) if kind == "csv" else plain.to_excel(path, index=False)
    else:
        save(data, tmp_path, kind)
    whole, parts = read_table(path), list(read_chunks(path, rows))
    assert all(len(part) <= rows for part in parts)
    np.testing.assert_array_equal(np.concatenate([p.row for p in parts]), whole.row)
    for name, values in whole.columns.items():
        np.testing.assert_array_equal(np.concatenate([p.columns[name] for p in parts]), values)
    if whole.lat is not None:
        np.testing.assert_array_equal(np.concatenate([p.lat for p in parts]), whole.lat)


def test_split_puts_each_reject_beside_its_rows(tmp_path):
    text = "id,lat,lon\nA1,1,2\nA2,1,2,3\nA3,1,2\nA4,1,2\nA5,1,2,3\n"
    parts = list(split(read_table(write(tmp_path, text)), 2))
    assert [p.row.tolist() for p in parts] == [[2, 4], [5]]
    assert [[r.row for r in p.rejects] for p in parts] == [[3], [6]]


def test_chunks_must_have_rows(tmp_path):
    with pytest.raises(ValueError, match="1 or more"):
        next(read_chunks(write(tmp_path, HEAD + ROWS), 0))


def test_texts_that_a_spreadsheet_guards_are_texts_in_any_column(tmp_path):
    """Bare and in quotes, a heading too; a formula that is no text stays as it is."""
    text = (
        '="site_id",name,lat,="lon",alt,altitude_m\n'
        '="0042","=""Weir, upper""",="-1.25",36.5,="",="1600"\n'
        '"=""0043""",="Say ""go""",-1.35,36.6,=A2,1500\n'
    )
    table = read_table(write(tmp_path, text))
    assert {name: values.tolist() for name, values in table.columns.items()} == {
        "site_id": ["0042", "0043"],
        "name": ["Weir, upper", 'Say "go"'],
        "lat": ["-1.25", "-1.35"],
        "lon": ["36.5", "36.6"],
        "alt": ["", "=A2"],
        "altitude_m": ["1600", "1500"],
    }


def test_guarded_ids_are_the_sites_own(tmp_path):
    rows = "".join(f'="{k:04d}",Dam {k},1.2{k}5,36.{k}25\n' for k in range(1, 4))
    found = read_sites(write(tmp_path, "site_id,name,lat,lon\n" + rows))
    assert found.sites.site_id.tolist() == ["0001", "0002", "0003"]
    assert found.sites.lat.tolist() == [1.215, 1.225, 1.235]
