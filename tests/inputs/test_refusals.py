"""What a person reads about tables beside the sites, and about files: the whole sentence."""

from __future__ import annotations

import csv
import re
import zipfile
import zlib
from pathlib import Path
from xml.etree.ElementTree import ParseError

import numpy as np
import pyarrow as pa
import pytest
from openpyxl.utils.exceptions import InvalidFileException
from pyogrio.errors import (
    CRSError,
    DataLayerError,
    DataSourceError,
    FeatureError,
    FieldError,
    GeometryError,
)
from shapely.errors import GEOSException

from siteplan.errors import NetworkError, ProjectError, SiteplanError, SitesError
from siteplan.inputs.faults import READERS, told_plainly
from siteplan.inputs.headings import plain_heading
from siteplan.inputs.obstructions import read_obstructions
from siteplan.inputs.project import find_project
from siteplan.inputs.returned import read_returned

IDS = np.array(["A1", "A2", "A3"], dtype=object)
Row = dict[str, str]


def whole(text: str) -> str:
    """Return the pattern of a text, nothing more and nothing less."""
    return f"^{re.escape(text)}$"


def table(folder: Path, name: str, rows: list[Row]) -> Path:
    """Write rows as a CSV file."""
    path = folder / name
    headings = list(dict.fromkeys(key for row in rows for key in row))
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, headings, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


SITE_FIX = "Write the site_id as in the sites table."
AZIMUTH_FIX = "Give azimuth_deg, or azimuth_from_deg and azimuth_to_deg, from true north."
HIGH_FIX = "Give elevation_deg, or height_m and distance_m."
PLACEHOLDER_FIX = "Leave the cell empty, or give the value."
GOOD = {"site_id": "A1", "azimuth_deg": "10", "elevation_deg": "5"}

#: What differs from a good row of obstructions; the column, its value, the reason and the fix.
OBSTRUCTIONS = [
    ({"site_id": "B9"}, "site_id", "B9", "the project has no site 'B9'", SITE_FIX),
    ({"site_id": ""}, "site_id", "", "the row names no site", SITE_FIX),
    ({"azimuth_deg": ""}, "azimuth_deg", "", "no azimuth is given", AZIMUTH_FIX),
    ({"azimuth_deg": "", "azimuth_from_deg": "9"}, "azimuth_from_deg", "",
     "only one end of the sector is given", "Give both."),
    ({"azimuth_deg": "", "azimuth_to_deg": "9"}, "azimuth_from_deg", "",
     "only one end of the sector is given", "Give both."),
    ({"azimuth_from_deg": "8", "azimuth_to_deg": "9"}, "azimuth_deg", "",
     "both an azimuth and a sector are given", "Give one of them."),
    ({"elevation_deg": ""}, "elevation_deg", "", "it is not said how high the obstacle stands",
     HIGH_FIX),
    ({"elevation_deg": "", "height_m": "5"}, "elevation_deg", "",
     "it is not said how high the obstacle stands", HIGH_FIX),
    ({"elevation_deg": "", "distance_m": "5"}, "elevation_deg", "",
     "it is not said how high the obstacle stands", HIGH_FIX),
    ({"height_m": "5", "distance_m": "9"}, "elevation_deg", "",
     "both an elevation angle and a height are given", "Give the angle, or height and distance."),
    ({"azimuth_deg": "361"}, "azimuth_deg", "361", "azimuth_deg '361' is outside 0 to 360 deg",
     "Give 0 to 360 deg, or leave the cell empty."),
    ({"azimuth_deg": "-1"}, "azimuth_deg", "", "azimuth_deg -1 looks like a placeholder",
     PLACEHOLDER_FIX),
    ({"elevation_deg": "9999"}, "elevation_deg", "",
     "elevation_deg 9999 looks like a placeholder", PLACEHOLDER_FIX),
    ({"elevation_deg": "x"}, "elevation_deg", "x", "elevation_deg 'x' is not a number",
     "Give 0 to 90 deg, or leave the cell empty."),
    ({"site_id": "B9", "azimuth_deg": ""}, "site_id", "B9",
     "the project has no site 'B9'; no azimuth is given", f"{SITE_FIX} {AZIMUTH_FIX}"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "key", "value", "reason", "fix"), OBSTRUCTIONS)
def test_an_obstruction_is_refused_in_these_words(
    tmp_path: Path, change: Row, key: str, value: str, reason: str, fix: str
) -> None:
    """The bad row stands among good ones, which stay."""
    rows = [GOOD, {**GOOD, **change}, {**GOOD, "site_id": "A2"}, {**GOOD, **change}]
    path = table(tmp_path, "around.csv", rows)
    found, rejects = read_obstructions(path, IDS, tree_growth_m_year=0.5)
    assert found.site_id.tolist() == ["A1", "A2"]
    assert found.source_row.tolist() == [2, 4]
    assert [(r.row, r.site_id, r.key, r.value, r.reason, r.fix) for r in rejects] == [
        (row, rows[1]["site_id"], key, value, f"around.csv: {reason}", fix) for row in (3, 5)
    ]


def test_a_row_that_is_too_long_is_told_with_its_file(tmp_path: Path) -> None:
    path = tmp_path / "around.csv"
    path.write_text("site_id,azimuth_deg,elevation_deg\nA1,1,2,3\nA1,1,2\n")
    found, (reject,) = read_obstructions(path, IDS, tree_growth_m_year=0.5)
    assert len(found) == 1
    assert reject.reason == "around.csv: the row has 4 cells, the heading 3"
    back = tmp_path / "back.csv"
    back.write_text("site_id,c_n_db\nA1,1,2\nA2,3\n")
    returned, (reject,) = read_returned(back, IDS)
    assert returned.site_id.tolist() == ["A2"]
    assert reject.reason == "back.csv: the row has 3 cells, the heading 2"


#: Every heading that is taken for a column of the obstructions, ours beside it.
TAKEN = {
    "site_id": "id site",
    "azimuth_deg": "azimuth bearing_deg bearing azimuth_true_deg",
    "azimuth_from_deg": "from_deg azimuth_from azimuth_start_deg",
    "azimuth_to_deg": "to_deg azimuth_to azimuth_end_deg",
    "elevation_deg": "elevation angle_deg top_deg elevation_angle_deg",
    "height_m": "height",
    "distance_m": "distance",
    "kind": "type obstacle",
    "growth_m_per_year": "growth growth_m_a growth_m_year",
}


def test_every_heading_of_the_obstructions(tmp_path: Path) -> None:
    by_angle = {"site_id": "A1", "azimuth_deg": "10", "elevation_deg": "5"}
    by_height = {"site_id": "A1", "azimuth_from_deg": "350", "azimuth_to_deg": "20",
                 "height_m": "12", "distance_m": "30", "kind": "palm",
                 "growth_m_per_year": "0.25"}  # fmt: skip
    for key, others in TAKEN.items():
        row = by_height if key in by_height and key != "site_id" else by_angle
        for heading in (key, *others.split()):
            renamed = {heading if name == key else name: text for name, text in row.items()}
            found, rejects = read_obstructions(
                table(tmp_path, "a.csv", [renamed]), IDS, tree_growth_m_year=0.5
            )
            assert rejects == (), heading
            got = [found.from_deg[0], found.to_deg[0], found.elevation_deg[0], found.height_m[0],
                   found.distance_m[0], found.growth_m_per_year[0]]  # fmt: skip
            nan = float("nan")
            truth = (
                [350, 20, nan, 12, 30, 0.25] if row is by_height else [7.5, 12.5, 5, nan, nan, 0]
            )
            np.testing.assert_array_equal(got, truth, err_msg=heading)
            assert found.kind.tolist() == [row.get("kind", "")], heading
            assert plain_heading(heading) == heading


@pytest.mark.parametrize(
    ("kind", "grows"),
    [
        *((word, True) for word in ("tree", "Trees", "old oak tree", "forest", "a wood", "WOODS",
                                    "hedge", "palm", "palms", "bush", "bushes")),
        *((word, False) for word in ("street", "wooden mast", "bushel", "wall", "")),
    ],
)  # fmt: skip
def test_what_grows(tmp_path: Path, kind: str, grows: bool) -> None:
    path = table(tmp_path, "a.csv", [{**GOOD, "kind": kind}])
    found, _ = read_obstructions(path, IDS, tree_growth_m_year=0.7)
    assert found.growth_m_per_year.tolist() == [0.7 if grows else 0]


@pytest.mark.parametrize(("text", "metres"), [("12 m", 12), ("12 ft", 3.6576), ("12 feet", 3.6576)])
def test_units_of_an_obstruction(tmp_path: Path, text: str, metres: float) -> None:
    row = {"site_id": "A1", "azimuth_deg": "10°", "height_m": text, "distance_m": text,
           "growth_m_per_year": "0.5 m"}  # fmt: skip
    found, rejects = read_obstructions(
        table(tmp_path, "a.csv", [row, {**row, "azimuth_deg": "20 deg"}]), IDS,
        tree_growth_m_year=0,
    )  # fmt: skip
    assert rejects == ()
    for values in (found.height_m, found.distance_m):
        np.testing.assert_allclose(values, [metres, metres], rtol=1e-15)
    assert found.growth_m_per_year.tolist() == [0.5, 0.5]
    assert found.from_deg.tolist() == [7.5, 17.5]


MEASURED = {"site_id": "A1", "c_n_db": "8"}
#: What differs from a good row that came back; the column, its value, the reason and the fix.
RETURNED = [
    ({"site_id": "B9"}, "site_id", "B9", "the project has no site 'B9'", SITE_FIX),
    ({"site_id": ""}, "site_id", "", "the row names no site", SITE_FIX),
    ({"lat": "3.5"}, "lat", "", "only one of lat and lon came back", "Give both, or neither."),
    ({"lon": "3.5"}, "lat", "", "only one of lat and lon came back", "Give both, or neither."),
    ({"c_n_db": "99"}, "c_n_db", "", "c_n_db 99 looks like a placeholder", PLACEHOLDER_FIX),
    ({"c_n_db": "good"}, "c_n_db", "good", "c_n_db 'good' is not a number",
     "Give -20 to 40 dB, or leave the cell empty."),
    ({"lat": "95.5", "lon": "100.5"}, "lat", "95.5", "lat 95.5 is outside -90 to 90",
     "Write decimal degrees, WGS 84."),
    ({"obstacle_azimuth_deg": "9"}, "obstacle_azimuth_deg", "",
     "an obstacle needs both its azimuth and its elevation", "Give both, or neither."),
    ({"obstacle_elevation_deg": "9"}, "obstacle_azimuth_deg", "",
     "an obstacle needs both its azimuth and its elevation", "Give both, or neither."),
    ({"rim_angle_deg": "95"}, "rim_angle_deg", "95",
     "rim_angle_deg '95' is outside -90 to 90 deg", "Give -90 to 90 deg, or leave the cell empty."),
]  # fmt: skip


@pytest.mark.parametrize(("change", "key", "value", "reason", "fix"), RETURNED)
def test_a_measured_row_is_refused_in_these_words(
    tmp_path: Path, change: Row, key: str, value: str, reason: str, fix: str
) -> None:
    """The bad row stands among good ones, which stay with their own values."""
    rows = [{**MEASURED, "site_id": "A2"}, {**MEASURED, "lat": "", "lon": "", **change},
            {"site_id": "A3", "c_n_db": "9.5", "lat": "1.5", "lon": "2.25"}]  # fmt: skip
    back, rejects = read_returned(table(tmp_path, "back.csv", rows), IDS)
    assert [(r.row, r.site_id, r.key, r.value, r.reason, r.fix) for r in rejects] == [
        (3, rows[1]["site_id"], key, value, f"back.csv: {reason}", fix)
    ]
    assert back.site_id.tolist() == ["A2", "A3"]
    assert back.c_n_db.tolist() == [8, 9.5]
    np.testing.assert_array_equal(back.lat, [np.nan, 1.5])
    np.testing.assert_array_equal(back.lon, [np.nan, 2.25])
    assert back.source_row.tolist() == [2, 4]


def test_a_site_that_came_back_twice_is_told_in_these_words(tmp_path: Path) -> None:
    rows = [{"site_id": name, "c_n_db": "8"} for name in ("A2", "A1", "A1", "A2")]
    back, rejects = read_returned(table(tmp_path, "back.csv", rows), IDS)
    assert back.site_id.tolist() == ["A2", "A1"]
    assert [(r.row, r.key, r.value, r.reason, r.fix) for r in rejects] == [
        (row, "site_id", name, f"back.csv: the site has come back already in row {first}",
         "Keep the row that holds.")
        for row, name, first in ((4, "A1", 3), (5, "A2", 2))
    ]  # fmt: skip


COLUMNS_OF_OBSTRUCTIONS = "Known columns: " + ", ".join(TAKEN) + "."


@pytest.mark.parametrize(
    ("read", "headings", "told"),
    [
        ("obstructions", ["azimuth_deg", "elevation_deg"],
         f"no column for site_id. {COLUMNS_OF_OBSTRUCTIONS}"),
        ("obstructions", ["id", "azimuth_from_deg", "height_m"],
         "no column for azimuth_deg (or azimuth_from_deg and azimuth_to_deg) and elevation_deg"
         f" (or height_m and distance_m). {COLUMNS_OF_OBSTRUCTIONS}"),
        ("obstructions", ["id", "azimuth_to_deg", "distance_m"],
         "no column for azimuth_deg (or azimuth_from_deg and azimuth_to_deg) and elevation_deg"
         f" (or height_m and distance_m). {COLUMNS_OF_OBSTRUCTIONS}"),
        ("obstructions", ["id", "azimuth_deg", "Bearing", "elevation_deg"],
         "two columns may be azimuth_deg: 'azimuth_deg' and 'Bearing'. Keep one of them."),
        ("returned", ["name", "c_n_db"],
         "no column for site_id. Fill in the blank of the outputs."),
    ],
)  # fmt: skip
def test_headings_are_refused_in_these_words(
    tmp_path: Path, read: str, headings: list[str], told: str
) -> None:
    path = table(tmp_path, "t.csv", [dict.fromkeys(headings, "1")])
    reading = {
        "returned": lambda: read_returned(path, IDS),
        "obstructions": lambda: read_obstructions(path, IDS, tree_growth_m_year=0.5),
    }
    with pytest.raises(SitesError, match=whole(f"t.csv: {told}")):
        reading[read]()


def test_files_that_are_missing_or_empty_are_told_in_these_words(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    with pytest.raises(SitesError, match=whole(f"{path}: there is no such file. Check the path.")):
        read_returned(path, IDS)
    for nothing in (b"", b"\xef\xbb\xbf \n"):
        path.write_bytes(nothing)
        start = "t.csv: the file is empty. Start it with "
        with pytest.raises(SitesError, match=whole(f"{start}site_id and what was measured.")):
            read_returned(path, IDS)
        with pytest.raises(SitesError, match=whole(f"{start}site_id,azimuth_deg,elevation_deg.")):
            read_obstructions(path, IDS, tree_growth_m_year=0.5)


DENIED = PermissionError(13, "Permission denied")
BUSY, NONE = OSError(16, "Busy"), FileNotFoundError(2, "No such file")
NOT_TEXT = UnicodeDecodeError("utf-8", b"\xff", 0, 1, "why")
MALFORMED = ParseError("bad")
MALFORMED.position = (7, 3)

CHECK, DECODED = "Check its permissions.", "the text cannot be decoded."
BOOK = ("this is no .xlsx workbook. Open it in a spreadsheet and save it as .xlsx or CSV, without"
        " a password.")  # fmt: skip
GEO = "what it says about its geometry cannot be read. Export it again as GeoParquet."
WHOLE = "the file cannot be read. Check that it is a whole .ext file, or export it again."
SHAPES = ("it cannot be read as a vector file. Check that it is a whole vector file (GeoJSON,"
          " GeoPackage, KML, Shapefile, ...).")  # fmt: skip
LAYER, SOURCE = DataLayerError("x"), DataSourceError("x")

#: What a library raised in a reader, the kind of our error, whether it names the whole path, and
#: what it says.
RAISED = [
    ("folder", DENIED, ProjectError, True,
    f"the folder cannot be read (Permission denied). {CHECK}"),
    ("folder", BUSY, ProjectError, True, "the folder cannot be read (Busy). Check the path."),
    ("toml", RecursionError("x"), NetworkError, False, "brackets or keys stand in one another too"
     " deep to be read. Compare it with the README's examples."),
    ("toml", ValueError("x"), NetworkError, False,
    "a number in it has too many digits. Shorten it."),
    ("network", NONE, NetworkError, True, "there is no such file. Check the path."),
    *(("network", error, NetworkError, True,
       f"it cannot be read ({error.strerror}). Check the path.") for error in (DENIED, BUSY)),
    ("csv", NOT_TEXT, SitesError, False, f"{DECODED} Save it as CSV, UTF-8."),
    ("csv", csv.Error("bad"), SitesError, False, "line 7 cannot be read as CSV (bad). Look for a"
     " stray quote, or save the file anew as CSV, UTF-8."),
    *((reader, DENIED, SitesError, True, f"it cannot be read (Permission denied). {CHECK}")
      for reader in ("csv", "workbook", "kml", "zip", "vector_head")),
    ("project_workbook", DENIED, ProjectError, True,
     f"it cannot be read (Permission denied). {CHECK}"),
    ("workbook", NONE, SitesError, True, f"there is no such file. {CHECK}"),
    ("project_workbook", NONE, ProjectError, True, f"there is no such file. {CHECK}"),
    *(("project_workbook", error, ProjectError, False, BOOK)
      for error in (zipfile.BadZipFile("x"), KeyError("x"), BUSY)),
    ("vector_head", NOT_TEXT, SitesError, False, f"{DECODED} Export it again as UTF-8."),
    *(("vector_head", error, SitesError, False, WHOLE)
      for error in (SOURCE, UnboundLocalError("x"), BUSY)),
    *(("zip", error, SitesError, False,
       "this zip archive cannot be read. Pack it anew, without a password.")
      for error in (zipfile.BadZipFile("x"), zlib.error("x"), RuntimeError("x"), EOFError("x"),
                    BUSY)),
    *((reader, BUSY, SitesError, True, f"it cannot be read (Busy). {CHECK}")
      for reader in ("csv", "kml")),
    *(("workbook", error, SitesError, False, BOOK)
      for error in (zipfile.BadZipFile("x"), zlib.error("x"), InvalidFileException("x"),
                    KeyError("x"), IndexError("x"), ValueError("x"), TypeError("x"),
                    SyntaxError("x"), EOFError("x"), ZeroDivisionError("x"), BUSY)),
    *(("vector", error, SitesError, False, WHOLE)
      for error in (LAYER, SOURCE, FeatureError("x"), FieldError("x"), GeometryError("x"),
                    CRSError("x"), pa.ArrowNotImplementedError("x"), GEOSException("x"), BUSY)),
    ("vector", NOT_TEXT, SitesError, False, f"{DECODED} Export it again as UTF-8."),
    ("parquet", NOT_TEXT, SitesError, False, f"{DECODED} Export it again."),
    *(("parquet", error, SitesError, False, "the file cannot be read as Parquet. Export it again.")
      for error in (pa.ArrowInvalid("x"), pa.ArrowNotImplementedError("x"), BUSY,
                    GEOSException("x"))),
    *(("geoparquet", error, SitesError, False, GEO)
      for error in (ValueError("x"), KeyError("x"), IndexError("x"), TypeError("x"),
                    AttributeError("x"), RecursionError("x"))),
    ("kml", MALFORMED, SitesError, False, "this is no well-formed KML (line 7). Export it again;"
     " a zipped one is called .kmz."),
    *(("kml", error, SitesError, False, "its encoding is not read. Save it as UTF-8.")
      for error in (LookupError("x"), ValueError("x"), NOT_TEXT)),
    *(("shapes", error, ProjectError, False, SHAPES) for error in (LAYER, SOURCE, BUSY, NOT_TEXT,
                                                                   ValueError("x"), KeyError("x"))),
    ("shapes", GEOSException("a ring is open"), ProjectError, False, "a shape in it is not well"
     " formed (a ring is open). Mend it (close its rings), or export the file again."),
]  # fmt: skip


@pytest.mark.parametrize(("reader", "error", "kind", "in_full", "told"), RAISED)
def test_an_error_of_a_library_is_told_in_these_words(
    reader: str, error: Exception, kind: type[SiteplanError], in_full: bool, told: str
) -> None:
    path = Path("/some/where/file.ext")
    pattern = whole(f"{path if in_full else path.name}: {told}")
    with (
        pytest.raises(SiteplanError, match=pattern) as caught,
        told_plainly(reader, path, {"line": 7}),
    ):
        raise error
    assert type(caught.value) is kind


def test_every_reader_and_every_row_is_among_them() -> None:
    asked = {(reader, told) for reader, _, _, _, told in RAISED}
    for reader, rows in READERS.items():
        for row in rows():
            start = row.what.partition("{")[0]
            assert any(of == reader and told.startswith(start) for of, told in asked), row


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (("network.toml",), "{root}: there is no table of sites. Put one of sites.csv, sites.xlsx,"
         " sites.geojson, sites.gpkg, sites.kml, sites.parquet,"
         " sites.xlsm, sites.json, sites.kmz, sites.gpx, sites.shp, sites.zip there."),
        (("network.toml", "obstructions.csv"), "{root}: there is no table of sites. Put one of"
         " sites.csv, sites.xlsx, sites.geojson, sites.gpkg, sites.kml, sites.parquet,"
         " sites.xlsm, sites.json, sites.kmz, sites.gpx, sites.shp, sites.zip there."),
        (("network.toml", "a.csv", "b.csv"), "{root}: there is no table of sites. Put one of"
         " sites.csv, sites.xlsx, sites.geojson, sites.gpkg, sites.kml, sites.parquet,"
         " sites.xlsm, sites.json, sites.kmz, sites.gpx, sites.shp, sites.zip there."),
        (("network.toml", "list.CSV"), "{root}: there is no table of sites. Rename list.CSV to"
         " sites.csv?"),
        (("network.toml", "Sites.ods"), "{root}: there is no table of sites. Save Sites.ods as"
         " sites.xlsx."),
        (("network.toml", "sites.csv", "sites.kml"), "{root}: there are 2 tables of sites:"
         " sites.csv, sites.kml. Keep one, and rename or move the others."),
        (("sites.csv",), "{root}: there is no network.toml. Make one with two lines: [satellite]"
         " and longitude_deg = 13.0 (yours)."),
        (("sites.csv", "a.toml"), "{root}: there is no network.toml. Rename a.toml to"
         " network.toml?"),
        (("sites.csv", "a.toml", "b.toml"), "{root}: there is no network.toml. Make one with two"
         " lines: [satellite] and longitude_deg = 13.0 (yours)."),
        (("sites.csv", "network.toml", "Network.toml"), "{root}: there are several of"
         " network.toml: Network.toml, network.toml. Keep one."),
        (("sites.csv", "network.toml", "terrain.tif", "Terrain.TIFF"), "{root}: there are several"
         " of terrain.tif: Terrain.TIFF, terrain.tif. Keep one."),
    ],
)  # fmt: skip
def test_a_project_is_refused_in_these_words(
    tmp_path: Path, make: tuple[str, ...], told: str
) -> None:
    for name in make:
        (tmp_path / name).touch()
    if len(list(tmp_path.iterdir())) < len(make):
        pytest.skip("this file system does not tell capitals apart")
    with pytest.raises(ProjectError, match=whole(told.format(root=tmp_path))):
        find_project(tmp_path)


def test_a_path_that_is_no_folder_is_told_in_these_words(tmp_path: Path) -> None:
    file, gone = tmp_path / "sites.csv", tmp_path / "gone"
    file.touch()
    what = "a project is a folder or a workbook, and this is another file."
    told = f"{file}: {what} Give its folder: {tmp_path}"
    with pytest.raises(ProjectError, match=whole(told)):
        find_project(file)
    told = (
        f"{gone}: there is no such folder. Check the path, or make a project with 'siteplan new'."
    )
    with pytest.raises(ProjectError, match=whole(told)):
        find_project(gone)


@pytest.mark.parametrize("name", ["terrain.tif", "terrain.tiff", "Terrain.TIF"])
def test_terrain_by_either_name(tmp_path: Path, name: str) -> None:
    for other in ("sites.csv", "network.toml", name, "Obstructions.CSV"):
        (tmp_path / other).touch()
    found = find_project(tmp_path)
    assert found.terrain_path == tmp_path / name
    assert found.obstructions_path == tmp_path / "Obstructions.CSV"
