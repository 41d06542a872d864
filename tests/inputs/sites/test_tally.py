"""How each column of a file was understood, told once for all chunks."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from siteplan.inputs.sites.read import iter_site_lists, read_sites, sites_from_frame
from siteplan.inputs.sites.tally import filled_cells
from siteplan.model import ColumnRead

_TEXT = "site_id,lat,lon,beds,Altitude (m)\n1,1.5,36.5,,10\n2,1.6,36.6, ,\n3,1.7,36.7,12,\n"
_READ = (
    ColumnRead("site_id", "site_id", 3, 0, "1"),
    ColumnRead("lat", "lat", 3, 0, "1.5"),
    ColumnRead("lon", "lon", 3, 0, "36.5"),
    ColumnRead("beds", "free", 1, 2, "12"),
    ColumnRead("Altitude (m)", "altitude_m", 1, 2, "10"),
)


def test_each_column_is_counted_and_named(tmp_path: Path) -> None:
    (tmp_path / "sites.csv").write_text(_TEXT)
    assert read_sites(tmp_path / "sites.csv").columns == _READ


def test_chunks_carry_the_columns_of_the_whole_file(tmp_path: Path) -> None:
    (tmp_path / "sites.csv").write_text(_TEXT)
    assert {found.columns for found in iter_site_lists(tmp_path / "sites.csv", 2)} == {_READ}


def test_nothing_of_any_kind_is_blank() -> None:
    cells = np.array(["", "  ", None, np.nan, np.datetime64("NaT"), 0, False, "0"], dtype=object)
    assert filled_cells(cells).tolist() == [False] * 5 + [True] * 3
    assert filled_cells(np.array([1.0, np.nan])).tolist() == [True, False]


def spelled(**columns: list[str]) -> list[str]:
    """Return what is said once of columns of numbers."""
    place = {"site_id": ["A", "B"], "lat": ["1.25", "2.25"], "lon": ["30.12", "31.13"]}
    remarks = sites_from_frame(place | columns).remarks
    return [note.sentence for note in remarks if "read as points" in note.sentence or
            "without it" in note.sentence]  # fmt: skip


@pytest.mark.parametrize(
    ("columns", "told"),
    [
        ({"lat": ["6,80", "-2.52"]}, ["Column 'lat': decimal commas were read as points, as in"
         " '6,80'."]),
        ({"Availability": ["99.5", "99,8"]}, ["Column 'Availability': decimal commas were read as"
         " points, as in '99,8'."]),
        ({"cable_m": ["30", "1,650"]}, []),
        ({"Elev. (m)": ["", "183 m"]}, ["Column 'Elev. (m)': numbers with their unit were read"
         " without it, as in '183 m'."]),
        ({"cable_ft": ["", "18 m"]}, []),
        ({"cable_m": ["", "18 ft"]}, []),
        ({"remark": ["6,80", "183 m"]}, []),
        ({"lat": ["6.80", "-2.52"], "cable_m": ["30", "40"]}, []),
    ],
)  # fmt: skip
def test_a_spelling_that_changes_nothing_is_told_once_of_its_column(
    columns: dict[str, list[str]], told: list[str]
) -> None:
    assert spelled(**columns) == told


def test_no_row_is_noted_for_a_comma_or_a_unit_of_ours() -> None:
    place = {"site_id": ["A"], "lat": ["6,80"], "lon": ["30,12"], "cable_m": ["18,5 m"]}
    found = sites_from_frame(place)
    assert (found.sites.cable_m.tolist(), dict(found.sites.notes)) == ([18.5], {})
    assert len(found.remarks) == 4
