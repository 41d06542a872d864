"""Satellites to compare: what is read of CSV, workbook and TOML, what is refused and why."""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import siteplan
from siteplan.errors import NetworkError, SiteplanError
from siteplan.inputs.satellites import KEYS, MOST, files_of, read_satellites


def csv(folder: Path, *lines: str, name: str = "satellites.csv") -> Path:
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def toml(folder: Path, text: str) -> Path:
    return csv(folder, text, name="satellites.toml")


def test_a_table_of_commas(tmp_path: Path) -> None:
    one, other = read_satellites(
        csv(
            tmp_path,
            "name,longitude_deg,satellite_eirp_dbw,satellite_g_t_db_k,sfd_dbw_m2,neighbours_deg",
            "East Star,-30.5,49,2.5,-91,-33;27W",
            "West Star,70W,,,,",
        )
    )
    assert (one.name, one.longitude_deg) == ("East Star", -30.5)
    assert one.levels == {
        "satellite_eirp_dbw": 49,
        "satellite_g_t_db_k": 2.5,
        "sfd_dbw_m2": -91,
    }
    assert one.neighbours_deg == (-33, -27)
    assert one.where == "satellites.csv, row 2"
    assert (other.longitude_deg, other.levels, other.neighbours_deg) == (-70, {}, None)


@pytest.mark.parametrize(
    ("text", "longitude"),
    [("61W", -61), ("61° W", -61), ("-61", -61), ("299", -61), ("W61", -61), ("12.5 E", 12.5)],
)
def test_longitudes_are_read_as_elsewhere(tmp_path: Path, text: str, longitude: float) -> None:
    (found,) = read_satellites(csv(tmp_path, "satellite,position", f"One,{text}"))
    assert found.longitude_deg == pytest.approx(longitude, abs=1e-9)


def test_semicolons_decimal_commas_and_units(tmp_path: Path) -> None:
    (found,) = read_satellites(
        csv(
            tmp_path,
            "Satellite;Orbital position;EIRP (dBW);neighbours;inbound_satellite_g_t_db_k",
            "One;61,5 W;48,5 dBW;64W 58,5W;n/a",
        )
    )
    assert found.longitude_deg == pytest.approx(-61.5, abs=1e-9)
    assert found.levels == {"satellite_eirp_dbw": 48.5}
    assert found.neighbours_deg == pytest.approx((-64, -58.5), abs=1e-9)


def book(folder: Path, sheets: dict[str, list[list[object]]]) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    made.save(folder / "satellites.xlsx")
    return folder / "satellites.xlsx"


OFFERS: list[list[object]] = [
    ["Offers of both operators"],
    [],
    ["Satellite", "Longitude (deg E)", "EIRP (dBW)", "Neighbours", None],
    ["East Star", -61.5, 50.25, "-64; -58", None],
    [None, None, None, None, None],
    [7, "67W", None, -70, None],
]


@pytest.mark.parametrize("others", [{}, {"Notes": [["asked in May"], ["name", "place"]]}])
def test_a_sheet_of_a_workbook(tmp_path: Path, others: dict[str, list[list[object]]]) -> None:
    one, other = read_satellites(book(tmp_path, {**others, "Offers": OFFERS}))
    assert (one.name, one.longitude_deg, one.neighbours_deg) == ("East Star", -61.5, (-64, -58))
    assert one.levels == {"satellite_eirp_dbw": 50.25}
    assert (other.name, other.longitude_deg, other.neighbours_deg) == ("7", -67, (-70,))
    assert other.where == "satellites.xlsx, row 6"


@pytest.mark.parametrize(
    ("sheets", "words"),
    [
        ({"Notes": [["asked in May"]]}, r"no sheet has the headings name,longitude_deg\."),
        ({"A": OFFERS, "B": OFFERS}, r"several sheets have these headings: 'A', 'B'\. Keep"),
        ({"A": [["lon", "remarks"], [5, "x"]]}, r"column 'remarks' is no key"),
        ({"A": [["lon"], ["far"]]}, r"satellites\.xlsx, row 2, longitude_deg = 'far'"),
    ],
)
def test_workbooks_that_cannot_be_used(
    tmp_path: Path, sheets: dict[str, list[list[object]]], words: str
) -> None:
    with pytest.raises(SiteplanError, match=words):
        read_satellites(book(tmp_path, sheets))


def test_toml_has_the_same_keys(tmp_path: Path) -> None:
    one, other = read_satellites(
        toml(
            tmp_path,
            '[[satellites]]\nname = "One"\nlongitude_deg = "61W"\nneighbours_deg = [-64, "58W"]\n'
            'outbound_satellite_eirp_dbw = 51\nbeams = "beams.toml"\n'
            "[[satellites]]\nlongitude_deg = 13",
        )
    )
    assert one.longitude_deg == -61
    assert one.neighbours_deg == (-64, -58)
    assert one.levels == {"outbound_satellite_eirp_dbw": 51}
    assert files_of((one, other), tmp_path) == (tmp_path / "beams.toml",)
    assert one.where == "satellites.toml, [[satellites]] no. 1"
    assert (other.name, other.neighbours_deg) == ("Satellite at 13° E", None)


#: What files of people who are in a hurry are made of.
PIECES = [
    *("name,longitude_deg,eirp\n", "name;lon;sfd\n", "A,61W,50\n", "B;-70;-90\n", "\n", '"'),
    *("[[satellites]]\n", "longitude_deg = ", "name = 'x'\n", "'61W'\n", "299\n", "[1, 2]\n"),
    *("neighbours_deg = [1, 'x']\n", "=1+1,#REF!,nan\n", "\udcff\udcfe", "\x00", "ｎａｍｅ,經度\n"),
    *("1e999\n", "inf\n", "{ a = 1 }\n", "1979-05-27\n", "A,12°30'E,48 dBW,,,,,,,\n"),
]

FAULTS = [
    ("One,abc", r"row 2, longitude_deg = 'abc' cannot be read as an angle.* -180 to 360.*61W"),
    ("One,361", r"longitude_deg = '361' is no orbital position"),
    ("One,12N", r"longitude_deg = '12N' is no orbital position"),
    ("One,", r"row 2, longitude_deg is missing\. Give it: -61, 61W or 299"),
    ("One,10,99", r"satellite_eirp_dbw = '99' is out of range\. Give 0 to 80 dBW"),
    ("One,10,strong", r"satellite_eirp_dbw = 'strong' is not a number\. Give 0 to 80 dBW"),
    ("One,10,48,51", r"satellite_g_t_db_k = '51' is out of range\. Give -30 to 40 dB/K"),
    ("One,10,48,1,-20", r"sfd_dbw_m2 = '-20' is out of range\. Give -130 to -50 dBW/m2"),
    ("One,10,48,1,-90,here", r"neighbours_deg = 'here' cannot be read as an angle"),
    ("One,10,,,,,,c.shp", r"eirp_contours = 'c.shp' needs attribute\. Name the column"),
    ("One,10,,,,,,,,value", r"attribute = 'value' goes with contours\. Name their file"),
    ("One,10,,,,,a.kml,,b.toml", r"area = 'a.kml' stands beside beams\. Put it into that file"),
]


@pytest.mark.parametrize(("row", "words"), FAULTS, ids=[row for row, _ in FAULTS])
def test_a_fault_names_row_key_value_and_remedy(tmp_path: Path, row: str, words: str) -> None:
    head = (
        "name,longitude_deg,satellite_eirp_dbw,satellite_g_t_db_k,sfd_dbw_m2,neighbours_deg,area,"
        "eirp_contours,beams,attribute"
    )
    with pytest.raises(NetworkError, match=words) as found:
        read_satellites(csv(tmp_path, head, row))
    assert found.value.exit_code == 2
    assert "satellites.csv, row 2" in str(found.value)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    rows = "name,longitude_deg,eirp", "One,x,1000", "one,12,48"
    with pytest.raises(NetworkError, match="row 2, longitude_deg") as found:
        read_satellites(csv(tmp_path, *rows))
    lines = str(found.value).splitlines()
    assert len(lines) == 3
    assert "row 2, satellite_eirp_dbw = '1000'" in lines[1]
    assert "row 3, name = 'one' is that of satellites.csv, row 2 too" in lines[2]


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("s.csv", "", r"s\.csv: the file is empty\. Start it with name,longitude_deg"),
        ("s.csv", "name,longitude_deg\n", r"s\.csv: there is no satellite in it"),
        ("s.csv", "name,lon,position\nA,1,2\n", r"two columns may be longitude_deg: 'lon'"),
        ("s.csv", "name,lon,eirp_db\nA,1,2\n", r"column 'eirp_db' is no key .*satellite_eirp_dbw"),
        ("s.csv", "name,lon\nA,1,2,3\n", r"row 2: the row has 4 cells"),
        ("s.ods", "x", r"files of kind '\.ods' hold no satellites\. Give a \.csv or \.xlsx"),
        ("s.xlsx", "x", r"s\.xlsx.*workbook"),
        ("s.toml", "", r"there is no satellite in it"),
        ("s.toml", "[satellites]\nlongitude_deg = 1\n", r"Write \[\[satellites\]\]"),
        ("s.toml", "[[satellite]]\nlongitude_deg = 1\n", r"\[satellite\] is no table of it"),
        ("s.toml", "[[satellites]]\nlongitud = 1\n", r"no\. 1: longitud is an unknown key.*longit"),
        ("s.toml", "[[satellites]]\nlongitude_deg = 1,5\n", r"line 2 is not valid TOML"),
        ("s.toml", "[[satellites]]\nlongitude_deg = true\n", r"longitude_deg = 'TRUE' cannot be"),
        ("s.toml", "[[satellites]]\nlongitude_deg = 1\nname = 7\n", r"name = '7' must be text"),
    ],
)
def test_files_that_cannot_be_used(tmp_path: Path, name: str, text: str, words: str) -> None:
    with pytest.raises(SiteplanError, match=words):
        read_satellites(csv(tmp_path, text.removesuffix("\n"), name=name) if text else
                        _empty(tmp_path / name))  # fmt: skip


def _empty(path: Path) -> Path:
    path.write_bytes(b"")
    return path


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    for name in ("gone.csv", "gone.toml"):
        with pytest.raises(SiteplanError, match="there is no such file"):
            read_satellites(tmp_path / name)


def test_too_many_satellites_are_refused(tmp_path: Path) -> None:
    rows = [f"S{k},{k}" for k in range(MOST + 1)]
    with pytest.raises(NetworkError, match=f"{MOST + 1} satellites. Keep {MOST} at most"):
        read_satellites(csv(tmp_path, "name,longitude_deg", *rows))
    assert len(read_satellites(csv(tmp_path, "name,longitude_deg", *rows[1:]))) == MOST


def test_a_name_of_controls_is_told_in_one_line(tmp_path: Path) -> None:
    (found,) = read_satellites(csv(tmp_path, "name,longitude_deg", '"a\x1b[31m\nb",12'))
    assert "\x1b" not in found.name
    assert "\n" not in found.name


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    name=st.sampled_from(["s.csv", "s.toml"]),
    rows=st.lists(st.sampled_from(PIECES), min_size=1, max_size=14),
)
def test_whatever_stands_in_it_is_read_or_told(
    tmp_path_factory: pytest.TempPathFactory, name: str, rows: list[str]
) -> None:
    """No library's error reaches the user, and what is read lies in its ranges."""
    path = tmp_path_factory.mktemp("any") / name
    path.write_bytes("".join(rows).encode("utf-8", "surrogateescape"))
    try:
        found = read_satellites(path)
    except SiteplanError as error:
        told: str | None = str(error)
    else:
        told = None
        assert all(-180 <= of.longitude_deg <= 360 for of in found)
        assert all(of.name for of in found)
    assert told is None or name in told


def test_the_page_tells_every_key_and_no_other() -> None:
    page = (Path(siteplan.__file__).parent / "planning" / "README.md").read_text(encoding="utf-8")
    table = page.partition("**Satellites compared.**")[2].partition("Files are looked for")[0]
    rows = [row.split("|")[1] for row in table.splitlines() if row.startswith("| `")]
    assert sorted(re.findall(r"`(\w+)`", " ".join(rows))) == sorted(KEYS)
