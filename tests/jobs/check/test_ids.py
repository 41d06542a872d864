"""A copy of the list with an id in every row: the list itself stays, byte for byte."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from siteplan.errors import OutputError
from siteplan.jobs.check.ids import write_ids
from siteplan.jobs.check.project import check_project
from siteplan.jobs.opened import read_sites

NETWORK = "[satellite]\nlongitude_deg = 30\n"


def project(folder: Path, name: str, content: bytes) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "network.toml").write_text(NETWORK)
    (folder / name).write_bytes(content)
    return folder


def ids_of(path: Path) -> list[str]:
    found = read_sites(path)
    assert found.made_ids == {}
    return [str(site) for site in found.sites.site_id]


def test_a_csv_keeps_its_lines_its_delimiter_and_its_order(tmp_path: Path) -> None:
    text = (
        'Clinics of the district\n\nname;lat;lon;note\nÉcole;-6,1234;35,7123;"a;b"\n'
        "\nMill;x;35,8;=1+1\nQuay;-6,3456;35,9123\nMill;-6,4567;36,0123;c;surplus\n"
    )
    folder = project(tmp_path / "p", "sites.csv", text.encode("utf-8-sig"))
    before = (folder / "sites.csv").read_bytes()
    checked = check_project(folder)
    written = write_ids(checked)
    assert written.path == folder / "sites_with_ids.csv"
    assert written.count == 3
    lines = written.path.read_text(encoding="utf-8-sig").splitlines()
    assert lines == [
        "Clinics of the district",
        "",
        "site_id;name;lat;lon;note",
        'École;École;-6,1234;35,7123;"a;b"',
        "",
        "Mill;Mill;x;35,8;=1+1",
        "Quay;Quay;-6,3456;35,9123",
        ";Mill;-6,4567;36,0123;c;surplus",
    ]
    assert ids_of(written.path) == checked.opened.site_list.sites.site_id.tolist()
    assert (folder / "sites.csv").read_bytes() == before


def test_blank_ids_are_filled_and_given_ones_stay(tmp_path: Path) -> None:
    text = (
        "Site ID,name,lat,lon\nK1,Ford,-6.1234,35.7123\n,Mill,-6.2234,35.8123\nn/a,Hill,-6.3,35.9\n"
    )
    folder = project(tmp_path / "p", "sites.csv", text.encode())
    written = write_ids(check_project(folder))
    assert written.path is not None
    assert ids_of(written.path) == ["K1", "Mill", "Hill"]


def test_nothing_is_written_over(tmp_path: Path) -> None:
    folder = project(tmp_path / "p", "sites.csv", b"name,lat,lon\nFord,-6.1234,35.7123\n")
    first, second = (write_ids(check_project(folder)).path for _ in range(2))
    assert first is not None
    assert second is not None
    assert (first.name, second.name) == ("sites_with_ids.csv", "sites_with_ids_2.csv")
    # A copy in the project is no second list of sites.
    assert check_project(folder).opened.project.sites_path.name == "sites.csv"


def test_a_list_with_all_its_ids_needs_no_copy(tmp_path: Path) -> None:
    folder = project(tmp_path / "p", "sites.csv", b"id,lat,lon\nA,-6.1234,35.7123\n")
    written = write_ids(check_project(folder))
    assert (written.path, written.count) == (None, 0)
    assert written.told.startswith("Every row has an id")
    assert {path.name for path in folder.iterdir()} == {"sites.csv", "network.toml"}


def test_a_workbook_keeps_its_sheets_and_formulas(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    page = book.active
    page.title = "Sites"
    page.append(["Survey of March"])
    page.append(["name", "lat", "lon", "beds"])
    page.append(["Ford", -6.1234, 35.7123, "=1+2"])
    page.append(["Mill", -6.2234, 35.8123, 4])
    book.create_sheet("Other")["A1"] = "kept"
    folder = project(tmp_path / "p", "notes.txt", b"")
    book.save(folder / "sites.xlsx")
    before = (folder / "sites.xlsx").read_bytes()
    written = write_ids(check_project(folder))
    assert written.path == folder / "sites_with_ids.xlsx"
    copy = openpyxl.load_workbook(written.path)
    assert [[cell.value for cell in row] for row in copy["Sites"].iter_rows()] == [
        ["Survey of March", None, None, None, None],
        ["name", "lat", "lon", "beds", "site_id"],
        ["Ford", -6.1234, 35.7123, "=1+2", "Ford"],
        ["Mill", -6.2234, 35.8123, 4, "Mill"],
    ]
    assert copy["Other"]["A1"].value == "kept"
    assert ids_of(written.path) == ["Ford", "Mill"]
    assert (folder / "sites.xlsx").read_bytes() == before


def test_points_become_csv(tmp_path: Path) -> None:
    features = ",".join(
        f'{{"type": "Feature", "properties": {{"name": "{name}", "site_id": {site}, "beds": 3}},'
        f' "geometry": {{"type": "Point", "coordinates": [{lon}, -6.1234]}}}}'
        for name, site, lon in (("Ford", "null", 35.7123), ("Mill", '"K2"', 35.8123))
    )
    text = f'{{"type": "FeatureCollection", "features": [{features}]}}'
    folder = project(tmp_path / "p", "sites.geojson", text.encode())
    written = write_ids(check_project(folder))
    assert written.path == folder / "sites_with_ids.csv"
    again = read_sites(written.path)
    assert again.sites.site_id.tolist() == ["Ford", "K2"]
    assert again.sites.lon.tolist() == [35.7123, 35.8123]
    assert again.sites.extra["beds"].tolist() == ["3", "3"]


def test_a_folder_that_cannot_be_written_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = project(tmp_path / "p", "sites.csv", b"name,lat,lon\nFord,-6.1234,35.7123\n")
    checked = check_project(folder)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("siteplan.outputs.tables.with_ids.write_records", refuse)
    with pytest.raises(OutputError, match="the copy with ids cannot be written: Permission denied"):
        write_ids(checked)
