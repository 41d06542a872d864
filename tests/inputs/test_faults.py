"""What is wrong with a file is said plainly: damaged, cut short, of another encoding, forbidden."""

from __future__ import annotations

import csv
import datetime as dt
import decimal
import io
import json
import re
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import shapely

from siteplan.errors import ProjectError, SiteplanError, SitesError
from siteplan.inputs.area import read_area
from siteplan.inputs.faults import READERS, told_plainly
from siteplan.inputs.files.shapes import read_shapes
from siteplan.inputs.kinds import rows_in
from siteplan.inputs.project import find_project
from siteplan.inputs.sites.read import iter_site_lists, read_sites

Writer = Callable[[Path, str], Path]
NO_WORKBOOK = r"sites\.xlsx: this is no \.xlsx workbook\. Open it in a spreadsheet"
NO_PARQUET = r"sites\.parquet: the file cannot be read as Parquet\. Export it again\."
NO_GEOMETRY = r"sites\.parquet: what it says about its geometry cannot be read\. Export it again"


def refused(path: Path, message: str) -> None:
    """Both ways of reading a table say the same."""
    with pytest.raises(SitesError, match=message):
        read_sites(path)
    with pytest.raises(SitesError, match=message):
        list(iter_site_lists(path, 10))


@pytest.mark.parametrize("reader", READERS)
def test_the_most_specific_row_stands_first(reader: str) -> None:
    rows = READERS[reader]()
    for at, row in enumerate(rows):
        assert issubclass(row.kind, SiteplanError)
        for later in rows[at + 1 :]:
            assert not any(issubclass(cls, row.caught) for cls in later.caught)


def test_an_error_without_a_row_is_a_defect_and_passes(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError, match="division"), told_plainly("csv", tmp_path):
        print(1 / 0)
    with pytest.raises(MemoryError, match="spent"), told_plainly("workbook", tmp_path):
        raise MemoryError("spent")
    with pytest.raises(SitesError, match="ours"), told_plainly("workbook", tmp_path):
        raise SitesError("ours")


def test_gaps_are_filled_when_the_error_comes(tmp_path: Path) -> None:
    at = {"line": 1}

    def read() -> None:
        with told_plainly("csv", tmp_path / "a.csv", at):
            at["line"] = 7
            raise csv.Error("bad")

    with pytest.raises(SitesError, match=r"^a\.csv: line 7 cannot be read as CSV \(bad\)\. Look"):
        read()


def without_middle(data: bytes) -> bytes:
    third = len(data) // 3
    return data[:third] + b"\0" * third + data[2 * third :]


def half(data: bytes) -> bytes:
    return data[: len(data) // 2]


@pytest.mark.parametrize("damage", [half, without_middle, lambda data: b""])
@pytest.mark.parametrize("suffix", [".xlsx", ".geojson", ".gpkg", ".kml", ".parquet"])
def test_damaged_files(
    tmp_path: Path, suffix: str, damage: Callable[[bytes], bytes], write: Writer
) -> None:
    path = write(tmp_path, suffix)
    path.write_bytes(damage(path.read_bytes()))
    refused(path, rf"sites\{suffix}: .*(Export it again|export it again|Open it in a spreadsheet)")


@pytest.mark.parametrize("suffix", [".gpkg", ".parquet"])
def test_rows_of_damaged_files(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"sites{suffix}"
    path.write_bytes(b"\0" * 500)
    with pytest.raises(SitesError, match=r"cannot be read"):
        rows_in(path)


@pytest.mark.parametrize("suffix", [".geojson", ".gpkg", ".kml", ".parquet"])
def test_damaged_shapes(tmp_path: Path, suffix: str, write: Writer) -> None:
    path = write(tmp_path, suffix)
    path.write_bytes(half(path.read_bytes()))
    with pytest.raises(ProjectError, match=rf"sites\{suffix}: it cannot be read as a vector file"):
        read_shapes(path)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le"])
def test_utf_16_cut_in_the_middle_of_a_letter(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "sites.csv"
    text = "site_id,lat,lon\n" + "".join(f"A{i},1.23,{i}.45\n" for i in range(90))
    path.write_bytes(text.encode(encoding)[:-1])
    refused(path, r"sites\.csv: the text cannot be decoded\. Save it as CSV, UTF-8\.")


def test_nul_bytes_in_a_csv_are_no_internal_error(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_bytes(b"site_id,lat,lon\nA,1.23,4.56\n\0\0\0,2.34,5.67\nC,3.45,\0\n")
    found = read_sites(path)
    assert len(found.sites) + len(found.rejects) == found.rows_read == 3


def test_a_cell_beyond_all_measure(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_bytes(b"site_id,lat,lon\nA,1," + b"2" * 10_000_001 + b"\n")
    refused(path, r"sites\.csv: line 2 cannot be read as CSV \(field larger")


def test_a_long_heading_is_read(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_text(f"site_id,lat,lon,{'x' * 200_000}\nA,1.23,4.56,free\n")
    assert len(read_sites(path).sites) == 1


def repacked(path: Path, part: str, old: bytes, new: bytes) -> None:
    """Change a part of a workbook; what is changed must be there."""
    source = zipfile.ZipFile(io.BytesIO(path.read_bytes()))
    with zipfile.ZipFile(path, "w") as out:
        for name in source.namelist():
            data = source.read(name)
            assert name != part or old in data
            out.writestr(name, data.replace(old, new) if name == part else data)


def test_a_workbook_with_a_wrong_attribute(tmp_path: Path, write: Writer) -> None:
    path = write(tmp_path, ".xlsx")
    repacked(path, "xl/workbook.xml", b'sheetId="1"', b'sheetId="one"')
    refused(path, NO_WORKBOOK)


def test_a_workbook_whose_stream_is_broken(tmp_path: Path, write: Writer) -> None:
    path = write(tmp_path, ".xlsx")
    with zipfile.ZipFile(path) as book:
        info = book.getinfo("xl/worksheets/sheet1.xml")
    data = bytearray(path.read_bytes())
    start = info.header_offset + 30 + len(info.filename)
    data[start : start + 40] = b"\xff" * 40
    path.write_bytes(data)
    refused(path, NO_WORKBOOK)


def test_geojson_in_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "sites.geojson"
    point = {"type": "Point", "coordinates": [30.21, 1.23]}
    feature = {"type": "Feature", "properties": {"site_id": "Å"}, "geometry": point}
    text = json.dumps({"type": "FeatureCollection", "features": [feature]}, ensure_ascii=False)
    path.write_bytes(text.encode("cp1252"))
    refused(path, r"sites\.geojson: the text cannot be decoded\. Export it again as UTF-8\.")


@pytest.mark.parametrize("encoding", ["x-nowhere", "shift_jis", "utf-7"])
def test_kml_in_an_encoding_that_is_not_read(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "sites.kml"
    path.write_text(f'<?xml version="1.0" encoding="{encoding}"?><kml/>')
    refused(path, r"sites\.kml: its encoding is not read\. Save it as UTF-8\.")


def test_parquet_with_a_damaged_page(tmp_path: Path) -> None:
    path = tmp_path / "sites.parquet"
    table = pa.table({"site_id": [f"A{i}" for i in range(200)], "lat": [1.0] * 200})
    pq.write_table(table, path, compression="snappy")
    data = bytearray(path.read_bytes())
    data[30:400] = b"\xff" * 370
    path.write_bytes(data)
    refused(path, NO_PARQUET)


@pytest.mark.parametrize(
    "said",
    [
        b"",
        b"\xff",
        b"[]",
        b"{}",
        b'{"primary_column": "gone", "columns": {"gone": {"encoding": "WKB"}}}',
        b'{"primary_column": "lat", "columns": {"lat": {"encoding": "WKB"}}}',
        b'{"primary_column": "lat", "columns": {"lat": "WKB"}}',
    ],
)
def test_parquet_that_says_nonsense_about_its_geometry(tmp_path: Path, said: bytes) -> None:
    path = tmp_path / "sites.parquet"
    table = pa.table({"lat": [1.23], "lon": [4.56]}).replace_schema_metadata({b"geo": said})
    pq.write_table(table, path)
    refused(path, NO_GEOMETRY)


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".kml"])
def test_files_that_may_not_be_read(
    tmp_path: Path, suffix: str, monkeypatch: pytest.MonkeyPatch, write: Writer
) -> None:
    path = write(tmp_path, suffix)

    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", forbidden)
        patch.setattr(openpyxl, "load_workbook", forbidden)
        patch.setattr("xml.etree.ElementTree.iterparse", forbidden)
        with pytest.raises(SitesError, match=r"cannot be read \(Permission denied\)") as caught:
            read_sites(path)
    assert str(caught.value).startswith(str(path))
    assert caught.value.fix == "Check its permissions."


def test_a_folder_that_may_not_be_read(tmp_path: Path) -> None:
    with (
        pytest.raises(ProjectError, match=r"the folder cannot be read \(Permission denied\)"),
        told_plainly("folder", tmp_path),
    ):
        raise PermissionError(13, "Permission denied")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".geojson", ".gpkg", ".kml", ".parquet"])
def test_what_may_not_be_read_is_no_damaged_file(
    tmp_path: Path, suffix: str, monkeypatch: pytest.MonkeyPatch, write: Writer
) -> None:
    path = write(tmp_path, suffix)
    path.write_bytes(b"PAR1 to a library, a file without permission is a bad one")
    real = Path.open

    def forbidden(self: Path, *given: Any, **more: Any) -> Any:
        if self == path:
            raise PermissionError(13, "Permission denied")
        return real(self, *given, **more)

    monkeypatch.setattr(Path, "open", forbidden)
    told = rf"^{re.escape(str(path))}: it cannot be read \(Permission denied\)\. Check its perm"
    with pytest.raises(SitesError, match=told):
        read_sites(path)
    if suffix not in (".csv", ".xlsx"):
        with pytest.raises(ProjectError, match=told):
            read_shapes(path)


@pytest.mark.parametrize("name", ["x" * 300, "a/" * 3_000 + "b"])
def test_a_name_that_no_file_can_have(tmp_path: Path, name: str) -> None:
    with pytest.raises(
        ProjectError, match=r"cannot be read \(File name too long\)\. Check the path"
    ):
        find_project(tmp_path / name)
    with pytest.raises(SitesError, match=r"cannot be read \(File name too long\)\. Check the path"):
        read_sites(tmp_path / f"{name}.csv")


def point(**properties: Any) -> str:
    place = {"type": "Point", "coordinates": [30.21, 1.23]}
    return json.dumps({"type": "Feature", "properties": properties, "geometry": place})


def collection(*features: str) -> str:
    return '{"type": "FeatureCollection", "features": [' + ",".join(features) + "]}"


def test_properties_of_any_kind_are_carried_as_text(tmp_path: Path) -> None:
    path = tmp_path / "sites.geojson"
    path.write_text(
        collection(
            point(
                site_id="A", tags=["mast", "well"], owner={"unit": 3, "since": None}, n=1, ok=True
            ),
            point(site_id="B", tags=[], owner="ward", n="x", ok=None),
        )
    )
    found = read_sites(path)
    assert found.sites.site_id.tolist() == ["A", "B"]
    extra = {name: list(map(str, values)) for name, values in found.sites.extra.items()}
    assert [json.loads(text) for text in extra["tags"]] == [["mast", "well"], []]
    assert json.loads(extra["owner"][0]) == {"unit": 3, "since": None}
    assert "ward" in extra["owner"][1]
    assert extra["n"] == ["1", "x"]


@pytest.mark.parametrize("suffix", [".geojson", ".parquet"])
def test_brackets_in_brackets_in_brackets(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"sites{suffix}"
    deep = "[" * 5_000 + "]" * 5_000
    path.write_text(collection(point(site_id="A")[:-1] + f', "more": {deep}}}'))
    if suffix == ".parquet":
        table = pa.table({"lat": [1.23], "lon": [4.56]})
        pq.write_table(table.replace_schema_metadata({b"geo": deep}), path)
    refused(path, NO_GEOMETRY if suffix == ".parquet" else r"sites\.geojson: the file cannot be")


@pytest.mark.parametrize(
    "column",
    [
        pa.array(["POINT (1 2)"]),
        pa.array([[1.0, 2.0]]),
        pa.array([{"x": 1.0}]),
        pa.array([{"x": "1", "y": "2"}]),
        pa.array([dt.timedelta(1)]),
        pa.array([decimal.Decimal("1.5")]),
    ],
)
def test_a_column_that_is_called_geometry_and_is_none(tmp_path: Path, column: pa.Array) -> None:
    path = tmp_path / "sites.parquet"
    geo = {"primary_column": "geometry", "columns": {"geometry": {"encoding": "WKB"}}}
    table = pa.table({"site_id": ["A"], "geometry": column})
    pq.write_table(table.replace_schema_metadata({b"geo": json.dumps(geo)}), path)
    refused(path, NO_GEOMETRY)
    with pytest.raises(
        ProjectError, match=r"^sites\.parquet: it cannot be read as a vector file\."
    ):
        read_shapes(path)


def ring(*corners: tuple[float, float]) -> str:
    place = {"type": "Polygon", "coordinates": [corners]}
    return json.dumps({"type": "Feature", "properties": {}, "geometry": place})


def test_a_ring_that_is_not_closed(tmp_path: Path) -> None:
    path = tmp_path / "area.geojson"
    path.write_text(collection(ring((1, 1), (1, 2), (2, 2), (2, 1))))
    with pytest.raises(
        ProjectError, match=r"^area\.geojson: a shape .* closed .* \(close its rings\)"
    ):
        read_area(path)


def test_a_ring_the_whole_way_round(tmp_path: Path) -> None:
    path = tmp_path / "area.geojson"
    path.write_text(
        collection(ring((-180, 60), (-90, 62), (0, 60), (90, 62), (179, 60), (-180, 60)))
    )
    assert read_area(path).bounds == (-180, 60, 179, 62)


@pytest.mark.parametrize("geo", [b'{"crs": 4}', b"[[]]", b"null"])
def test_an_overlay_whose_metadata_are_odd(tmp_path: Path, geo: bytes) -> None:
    path = tmp_path / "overlay.parquet"
    table = pa.table({"geometry": [shapely.Point(1, 2).wkb]})
    pq.write_table(table.replace_schema_metadata({b"geo": geo}), path)
    with pytest.raises(
        ProjectError, match=r"^overlay\.parquet: it cannot be read as a vector file\."
    ):
        read_shapes(path)


def test_what_a_sentence_quotes_can_be_shown(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    zone, lat = "Europe/\x1b[31m" + "O" * 5_000, "x\x07" * 5_000
    rows = f'site_id,lat,lon,timezone\nA,1.23,4.56,"{zone}"\nB,{lat},4.56,\n'
    path.write_text(rows)
    found = read_sites(path)
    told = [note.sentence for note in found.sites.notes[0]]
    told += [found.rejects[0].value, found.rejects[0].advice]
    assert all(text.isprintable() and len(text) < 3_500 for text in told)
    assert r"Europe/\x1b[31mOOO" in " ".join(told) or "Europe/[31mOOO" in " ".join(told)


def test_an_endless_cell_is_no_angle(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_text("site_id,lat,lon\nA," + "9 " * 100_000 + ",4.56\nB,1.23,4.56\n")
    found = read_sites(path)
    assert found.rejects[0].reason == "lat is too long for an angle"


def test_numbers_at_the_end_of_their_range_are_no_angles(tmp_path: Path) -> None:
    path = tmp_path / "sites.parquet"
    most = float(np.finfo(np.float64).max)
    pq.write_table(
        pa.table({"site_id": ["A", "B"], "lat": [most, 1.23], "lon": [4.56, 5.67]}), path
    )
    found = read_sites(path)
    assert (len(found.sites), found.rejects[0].key) == (1, "lat")


def test_a_database_with_a_damaged_page(tmp_path: Path, write: Writer) -> None:
    path = write(tmp_path, ".gpkg")
    data = path.read_bytes()
    with sqlite3.connect(path) as base:
        (page,) = base.execute("SELECT rootpage FROM sqlite_master WHERE name='sites'").fetchone()
    base.close()
    at = (page - 1) * 4096
    path.write_bytes(data[: at + 8] + b"\xff" * 300 + data[at + 308 :])
    refused(path, r"sites\.gpkg: the file cannot be read\. Check that it is a whole \.gpkg file")


@pytest.mark.parametrize("text", ['"', '\n"', '""', ","])
def test_a_file_of_a_mark_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "sites.csv"
    path.write_text(text)
    refused(path, r"^sites\.csv: ")
