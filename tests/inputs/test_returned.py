"""returned.csv: what came back from the sites."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path
from typing import cast

import numpy as np
import pytest

from siteplan.errors import SitesError
from siteplan.inputs.returned import COLUMNS, read_returned
from siteplan.outputs.lists.returned import HEADINGS
from siteplan.outputs.sheets.blocks import ASKED, measured
from siteplan.outputs.shown import SiteValues

IDS = np.array(["A1", "A2", "=3"], dtype=object)


def read(folder: Path, *rows: dict[str, str], head: tuple[str, ...] = COLUMNS):
    lines = [",".join(head)] + [",".join(row.get(key, "") for key in head) for row in rows]
    path = folder / "returned.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_returned(path, IDS)


def test_values_and_gaps(tmp_path: Path) -> None:
    back, rejects = read(
        tmp_path,
        {"site_id": "A2", "lat": "-3.5", "lon": "-60.25", "c_n_db": "9.5", "remarks": "windy"},
        {"site_id": "A1", "azimuth_magnetic_deg": "213", "elevation_deg": "-2"},
    )
    assert rejects == ()
    assert back.site_id.tolist() == ["A2", "A1"]
    np.testing.assert_array_equal(back.lat, [-3.5, np.nan])
    np.testing.assert_array_equal(back.c_n_db, [9.5, np.nan])
    np.testing.assert_array_equal(back.azimuth_magnetic_deg, [np.nan, 213])
    np.testing.assert_array_equal(back.elevation_deg, [np.nan, -2])
    assert back.remarks.tolist() == ["windy", ""]


def test_blank_rows_are_counted_and_passed_over(tmp_path: Path) -> None:
    back, rejects = read(tmp_path, {"site_id": "A1"}, {"site_id": "A2", "c_n_db": "8"})
    assert (len(back), back.blank, rejects) == (1, 1, ())


def test_more_obstacles_of_one_site(tmp_path: Path) -> None:
    back, rejects = read(
        tmp_path,
        {"site_id": "A1", "obstacle_azimuth_deg": "10", "obstacle_elevation_deg": "5"},
        {"site_id": "A1", "c_n_db": "8"},
        {"site_id": "A1", "obstacle_azimuth_deg": "1", "obstacle_elevation_deg": "7"},
    )
    assert rejects == ()
    assert back.site_id.tolist() == ["A1"]
    assert back.c_n_db.tolist() == [8]
    np.testing.assert_allclose(back.obstacles.from_deg, [7.5, 358.5], atol=1e-12)
    assert back.obstacles.elevation_deg.tolist() == [5, 7]


def test_ids_guarded_against_formulas_are_read(tmp_path: Path) -> None:
    back, rejects = read(tmp_path, {"site_id": "'=3", "c_n_db": "8"})
    assert rejects == ()
    assert back.site_id.tolist() == ["=3"]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"site_id": "B9", "c_n_db": "8"}, "the project has no site 'B9'"),
        ({"c_n_db": "8"}, "names no site"),
        ({"site_id": "A1", "lat": "3.5"}, "only one of lat and lon"),
        ({"site_id": "A1", "c_n_db": "99"}, "looks like a placeholder"),
        ({"site_id": "A1", "c_n_db": "45"}, "outside -20 to 40 dB"),
        ({"site_id": "A1", "c_n_db": "good"}, "is not a number"),
        ({"site_id": "A1", "lat": "95", "lon": "3"}, "lat"),
        ({"site_id": "A1", "obstacle_azimuth_deg": "9"}, "both its azimuth and its elevation"),
        ({"site_id": "A1", "rim_angle_deg": "91"}, "outside -90 to 90 deg"),
    ],
)
def test_refused(tmp_path: Path, row: dict[str, str], words: str) -> None:
    back, rejects = read(tmp_path, row, {"site_id": "A2", "c_n_db": "8"})
    assert back.site_id.tolist() == ["A2"]
    assert len(rejects) == 1
    assert rejects[0].reason.startswith("returned.csv: ")
    assert words in rejects[0].reason
    assert rejects[0].fix


def test_second_measurement_of_a_site_is_refused(tmp_path: Path) -> None:
    back, rejects = read(tmp_path, *[{"site_id": "A1", "c_n_db": v} for v in ("8", "9")])
    assert back.c_n_db.tolist() == [8]
    assert "come back already in row 2" in rejects[0].reason


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (("name", "c_n_db"), "no column for site_id"),
        (("site_id", "remarks"), "no column with anything measured"),
    ],
)
def test_unusable(tmp_path: Path, head: tuple[str, ...], words: str) -> None:
    with pytest.raises(SitesError, match=words):
        read(tmp_path, {"site_id": "A1"}, head=head)


def test_no_file_and_an_empty_one(tmp_path: Path) -> None:
    with pytest.raises(SitesError, match="no such file"):
        read_returned(tmp_path / "returned.csv", IDS)
    (tmp_path / "returned.csv").write_bytes(b"\xef\xbb\xbf \n")
    with pytest.raises(SitesError, match=r"the file is empty\. Start it with site_id"):
        read_returned(tmp_path / "returned.csv", IDS)


def test_both_azimuths_and_both_inclinations_come_back(tmp_path: Path) -> None:
    """The blank asks for all four: what they say beside one another, the comparison tells."""
    angles = {"azimuth_true_deg": "200.5", "azimuth_magnetic_deg": "198", "elevation_deg": "41",
              "rim_angle_deg": "-3.5"}  # fmt: skip
    back, rejects = read(tmp_path, {"site_id": "A1", **angles})
    assert rejects == ()
    assert {k: getattr(back, k).tolist() for k in angles} == {
        k: [float(text)] for k, text in angles.items()
    }


def test_the_blank_has_every_column_that_is_read_and_that_the_sheet_asks_for() -> None:
    assert set(HEADINGS) == {*COLUMNS, "name"}
    asked = {column for columns in ASKED.values() for column in columns}
    assert asked <= set(HEADINGS)
    text = resources.files("siteplan.outputs.sheets.templates").joinpath("sheet.html").read_text()
    boxes = set(re.findall(r'big\("([^"]+)"', text))
    assert {"Azimuth on a compass", "Inclinometer on the rim"} < boxes <= set(ASKED)
    kit, none = (measured(cast(SiteValues, Sheet(kit))) for kit in (True, False))
    assert {name for name, _ in kit + none} <= set(ASKED)


class Sheet(dict[str, str]):
    """A site of which every value has a text."""

    def __init__(self, kit: bool) -> None:
        super().__init__()
        self.has_kit = kit

    def __missing__(self, name: str) -> str:
        return f"some {name}"


#: Ids of a project, with their names.
EATEN = {
    "0042": "North Ridge",
    "00042": "South Ridge",
    "0815": "Weir",
    "2E3": "Quarry",
    "4-7": "Ferry",
    "OCT9": "Mast",
    "98765432109876543": "Depot",
    "77": "Gate",
    "077": "Lock",
    "061": "",
}
IDS_EATEN, NAMES_EATEN = (np.array(list(v), object) for v in (EATEN, EATEN.values()))


@pytest.mark.parametrize(
    ("text", "name", "site"),
    [
        ("815", "Weir", "0815"),
        ("815.0", "", "0815"),
        ("815", "  weir ", "0815"),
        ("61", "whatever", "061"),
        ("2000", "Quarry", "2E3"),
        ("2.00E+03", "", "2E3"),
        ("2,000", "", "2E3"),
        ("04-Jul", "", "4-7"),
        ("7-Apr", "Ferry", "4-7"),
        ("2026-07-04", "", "4-7"),
        ("07/04/2026", "", "4-7"),
        ("2026-07-04 00:00:00", "", "4-7"),
        ("09-Oct", "", "OCT9"),
        ("9. Okt", "", "OCT9"),
        ("2026-10-09", "Mast", "OCT9"),
        ("98765432109876500", "", "98765432109876543"),
        ("9.87654E+16", "", "98765432109876543"),
        ("42", "North Ridge", "0042"),
        ("77", "Gate", "77"),
        ("77", "", "77"),
    ],
)
def test_an_id_that_a_spreadsheet_has_eaten_is_the_site_that_it_can_only_be(
    tmp_path: Path, text: str, name: str, site: str
) -> None:
    path = tmp_path / "returned.csv"
    path.write_text(f'site_id,name,c_n_db\n"{text}",{name},9.5\n', encoding="utf-8")
    back, rejects = read_returned(path, IDS_EATEN, NAMES_EATEN)
    assert rejects == ()
    assert back.site_id.tolist() == [site]
    assert back.id_written.tolist() == ["" if text == site else text]


@pytest.mark.parametrize(
    ("text", "name", "words"),
    [
        ("42", "", "the id '42' may be what a spreadsheet has left of '0042' or '00042'"),
        ("42", "East Ridge", "of '0042' or '00042', but the row has another name"),
        ("815", "Dam", "left of '0815', but the row has another name"),
        ("77", "Lock", "left of '077', which has the row's name"),
        ("816", "Weir", "the project has no site '816'"),
        ("Ferry 4", "", "the project has no site 'Ferry 4'"),
    ],
)
def test_an_id_that_may_be_of_another_site_is_refused(
    tmp_path: Path, text: str, name: str, words: str
) -> None:
    path = tmp_path / "returned.csv"
    path.write_text(f"site_id,name,c_n_db\n{text},{name},9.5\n061,,8\n", encoding="utf-8")
    back, (reject,) = read_returned(path, IDS_EATEN, NAMES_EATEN)
    assert back.site_id.tolist() == ["061"]
    assert words in reject.reason


def test_a_blank_row_of_an_eaten_id_is_blank(tmp_path: Path) -> None:
    path = tmp_path / "returned.csv"
    path.write_text("site_id,name,c_n_db\n42,,\n815,Dam,\n061,,8\n", encoding="utf-8")
    back, rejects = read_returned(path, IDS_EATEN, NAMES_EATEN)
    assert (back.site_id.tolist(), back.blank, rejects) == (["061"], 2, ())


def test_an_endless_id_is_of_no_site(tmp_path: Path) -> None:
    """More digits than a decimal number has room for raise an error of the library's."""
    path = tmp_path / "returned.csv"
    path.write_text(f"site_id,azimuth_true_deg\n{'9' * 1_100_000}e99,100\n", encoding="utf-8")
    found, rejects = read_returned(path, np.array(["9"], dtype=object))
    assert len(found) == 0
    assert [reject.key for reject in rejects] == ["site_id"]
