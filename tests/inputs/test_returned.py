"""returned.csv: what came back from the sites."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from siteplan.errors import SitesError
from siteplan.inputs.returned import COLUMNS, read_returned

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
        (
            {"site_id": "A1", "azimuth_true_deg": "9", "azimuth_magnetic_deg": "9"},
            "both a true and a magnetic azimuth",
        ),
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
