"""The tables of a comparison: read back, blanks where nothing is known, no formulas."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from siteplan.outputs.compare.slot_tables import write_repointing, write_sites, write_slots
from tests.outputs.compare.compared import comparison, many
from tests.outputs.conftest import HOSTILE_NAMES


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_columns_that_say_nothing_are_left_out(tmp_path: Path) -> None:
    of, _ = comparison(refused=("Beyond",))
    write_slots(of, tmp_path / "compare.csv")
    rows = rows_of(tmp_path / "compare.csv")
    assert not {"cost", "hub_elevation_deg", "outside_beam"} & set(rows[0])
    assert rows[3]["served"] == rows[3]["antenna_area_m2"] == rows[3]["antenna_1_2_m"] == ""
    assert rows[3]["reason"] == "The hub does not see it."
    assert [row["as_planned"] for row in rows] == ["yes", "", "", ""]
    write_slots(comparison()[0], tmp_path / "compare.csv")
    assert "reason" not in rows_of(tmp_path / "compare.csv")[0]


def test_each_site_is_read_back(tmp_path: Path) -> None:
    of, _ = comparison()
    write_sites(of, tmp_path / "s.csv")
    write_repointing(of, tmp_path / "r.csv")
    sites, turns = rows_of(tmp_path / "s.csv"), rows_of(tmp_path / "r.csv")
    assert (len(sites), len(turns)) == (18, 12)
    for k, row in enumerate(sites):
        found, i = of.sites[k // 6], k % 6
        assert found is not None
        assert (row["site_id"], row["satellite"]) == (of.site_id[i], of.slots[k // 6].name)
        for name, half in (("elevation_deg", 0.0051), ("margin_db", 0.051), ("skew_deg", 0.051)):
            value = float(getattr(found, name)[i])
            read = float(row[name]) if row[name] else np.nan
            assert read == pytest.approx(value, abs=half, nan_ok=True)
        assert row["served"] == ("yes" if found.served[i] else "no")
    for k, row in enumerate(turns):
        turn, i = of.repointing[1 + k // 6], k % 6
        assert turn is not None
        read = float(row["azimuth_change_deg"]) if row["azimuth_change_deg"] else np.nan
        assert read == pytest.approx(float(turn.azimuth_deg[i]), abs=0.0051, nan_ok=True)
        assert (row["dish_fits"], row["horizon_clear"]) == (turn.fits[i], turn.horizon[i])
        assert row["mount_fits"] == turn.mount[i]
        for name, half in (("expected_c_n_db", 0.051), ("tx_power_w", 0.0051)):
            read = float(row[name]) if row[name] else np.nan
            assert read == pytest.approx(float(getattr(turn, name)[i]), abs=half, nan_ok=True)


def test_no_cell_is_a_formula(tmp_path: Path) -> None:
    names = [*HOSTILE_NAMES, "+1+cmd", "@SUM(A1)", "\t=1"]
    of, _ = comparison(many(13, names), [("=cmd('calc')", -40.0), ("-2+3", -50.0)])
    for write in (write_slots, write_sites, write_repointing):
        write(of, tmp_path / "t.csv")
        with (tmp_path / "t.csv").open(encoding="utf-8", newline="") as file:
            for row in csv.reader(file):
                for cell in row:
                    numeric = cell.replace(".", "").removeprefix("-").isdigit()
                    assert numeric or not cell.lstrip().startswith(("=", "+", "@", "-"))
    assert rows_of(tmp_path / "t.csv")[0]["satellite"] == "'=cmd('calc')"
