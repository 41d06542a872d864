"""obstructions.csv: what is read, what is refused and why."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from siteplan.errors import SitesError
from siteplan.inputs.obstructions import read_obstructions

IDS = np.array(["A1", "A2"], dtype=object)
HEAD = "site_id,azimuth_deg,azimuth_from_deg,azimuth_to_deg,elevation_deg,height_m,distance_m,kind"


def read(folder: Path, *rows: str, head: str = HEAD):
    path = folder / "obstructions.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return read_obstructions(path, IDS, tree_growth_m_year=0.6)


def test_sector_and_profile(tmp_path: Path) -> None:
    found, rejects = read(
        tmp_path, "A1,,350,20,,12,30,old oak tree", "A2,90,,,14.5,,,mast", "A1,1,,,3,,,"
    )
    assert rejects == ()
    assert found.site_id.tolist() == ["A1", "A2", "A1"]
    # One azimuth stands for 2.5 degrees to either side, through north where it must.
    np.testing.assert_allclose(found.from_deg, [350, 87.5, 358.5], atol=1e-12)
    np.testing.assert_allclose(found.to_deg, [20, 92.5, 3.5], atol=1e-12)
    np.testing.assert_array_equal(found.elevation_deg, [np.nan, 14.5, 3])
    np.testing.assert_array_equal(found.height_m, [12, np.nan, np.nan])
    # Only the tree grows where its row does not say.
    np.testing.assert_array_equal(found.growth_m_per_year, [0.6, 0, 0])
    assert found.source_row.tolist() == [2, 3, 4]


def test_given_growth_wins(tmp_path: Path) -> None:
    found, _ = read(
        tmp_path,
        "A1,10,12,30,pine tree,0.2",
        head="site_id,azimuth_deg,height_m,distance_m,kind,growth_m_per_year",
    )
    assert found.growth_m_per_year.tolist() == [0.2]


@pytest.mark.parametrize(
    ("row", "key", "words"),
    [
        ("B9,10,,,5,,,", "site_id", "the project has no site 'B9'"),
        (",10,,,5,,,", "site_id", "names no site"),
        ("A1,,,,5,,,", "azimuth_deg", "no azimuth is given"),
        ("A1,,10,,5,,,", "azimuth_from_deg", "only one end"),
        ("A1,5,10,20,5,,,", "azimuth_deg", "both an azimuth and a sector"),
        ("A1,10,,,,,,", "elevation_deg", "not said how high"),
        ("A1,10,,,,8,,", "elevation_deg", "not said how high"),
        ("A1,10,,,5,8,20,", "elevation_deg", "both an elevation angle and a height"),
        ("A1,400,,,5,,,", "azimuth_deg", "outside 0 to 360 deg"),
        ("A1,10,,,95,,,", "elevation_deg", "outside 0 to 90 deg"),
        ("A1,10,,,,8,0,", "distance_m", "looks like a placeholder"),
        ("A1,10,,,high,,,", "elevation_deg", "is not a number"),
    ],
)
def test_refused(tmp_path: Path, row: str, key: str, words: str) -> None:
    found, rejects = read(tmp_path, row, "A2,90,,,14.5,,,mast")
    assert len(found) == 1
    assert len(rejects) == 1
    assert rejects[0].row == 2
    assert rejects[0].key == key
    assert rejects[0].reason.startswith("obstructions.csv: ")
    assert words in rejects[0].reason
    assert rejects[0].fix


def test_all_round(tmp_path: Path) -> None:
    found, _ = read(tmp_path, "A1,,0,360,6,,,hills")
    assert (found.from_deg[0], found.to_deg[0]) == (0, 359.999)


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("azimuth_deg,elevation_deg", "no column for site_id"),
        ("site_id,elevation_deg", "no column for azimuth_deg"),
        ("site_id,azimuth_from_deg,elevation_deg", "no column for azimuth_deg"),
        ("site_id,azimuth_deg,height_m", "no column for elevation_deg"),
        ("site_id,azimuth_deg,bearing,elevation_deg", "two columns may be azimuth_deg"),
        ("site_id,azimuth_deg,azimuth_deg,elevation_deg", "two columns are called 'azimuth_deg'"),
    ],
)
def test_unusable(tmp_path: Path, head: str, words: str) -> None:
    with pytest.raises(SitesError, match=words):
        read(tmp_path, "A1,10,5", head=head)


def test_every_row_ends_somewhere(tmp_path: Path) -> None:
    rows = ["A1,10,,,5,,,", "B1,10,,,5,,,", "A2,,5,,1,,,", "A2,1,,,1,,,wall"]
    found, rejects = read(tmp_path, *rows)
    assert len(found) + len(rejects) == len(rows)


def test_an_empty_file_is_told_its_heading(tmp_path: Path) -> None:
    (tmp_path / "obstructions.csv").write_text("", encoding="utf-8")
    with pytest.raises(SitesError, match="Start it with site_id,azimuth_deg"):
        read_obstructions(tmp_path / "obstructions.csv", IDS, tree_growth_m_year=0.5)


def test_a_heading_alone_is_no_obstacle(tmp_path: Path) -> None:
    found, rejects = read(tmp_path)
    assert (len(found), rejects) == (0, ())


def test_an_id_that_a_spreadsheet_has_eaten_is_told_with_what_it_may_be(tmp_path: Path) -> None:
    path = tmp_path / "obstructions.csv"
    path.write_text("site_id,azimuth_deg,elevation_deg\n31,10,5\n2.00E+05,10,5\n")
    ids = np.array(["0031", "2E5", "32"], dtype=object)
    _, rejects = read_obstructions(path, ids, tree_growth_m_year=0.5)
    assert [reject.reason.rpartition("left of ")[2] for reject in rejects] == ["'0031'", "'2E5'"]
