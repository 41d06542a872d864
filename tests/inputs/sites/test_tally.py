"""How each column of a file was understood, told once for all chunks."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from siteplan.inputs.sites.read import iter_site_lists, read_sites
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
