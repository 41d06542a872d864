"""Free columns of any kind reach every table, from a plan whole and in parts alike."""

from __future__ import annotations

import csv
import datetime as dt
import decimal
from pathlib import Path
from typing import Any

import geopandas
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from siteplan.api import check_project, plan_project
from siteplan.jobs.parts import spread

NIGHT = dt.datetime(2026, 7, 1, 23, 30)
#: A column of each kind, its second cell blank, and what the CSV says of it.
KINDS: dict[str, tuple[Any, list[str]]] = {
    "moment": (pa.array([NIGHT, None, NIGHT], pa.timestamp("us")), ["2026-07-01 23:30:00"]),
    "zoned": (
        pa.array([NIGHT, None, NIGHT], pa.timestamp("us", "America/Bogota")),
        ["2026-07-01 18:30:00-05:00"],
    ),
    "day": (pa.array([NIGHT.date(), None, NIGHT.date()]), ["2026-07-01"]),
    "time": (pa.array([NIGHT.time(), None, NIGHT.time()]), ["23:30:00"]),
    "span": (pa.array([5400, None, 5400], pa.duration("s")), ["1:30:00"]),
    "switch": (pa.array([True, None, True]), ["true"]),
    "large": (pa.array([2**63 + 1, None, 2**63 + 1], pa.uint64()), ["9223372036854775809"]),
    "exact": (pa.array([decimal.Decimal("1.50"), None, decimal.Decimal("1.50")]), ["1.50"]),
    "list": (pa.array([["a", "ü"], None, ["a", "ü"]]), ['["a", "\\u00fc"]']),
    "record": (pa.array([{"a": 1}, None, {"a": 1}]), ['{"a": 1}']),
    "bytes": (pa.array([b"x\xff", None, b"x\xff"]), ["78ff"]),
    "nothing": (pa.nulls(3), [""]),
}


@pytest.fixture(scope="module")
def outputs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The folders of one project, planned whole and with a part for each site."""
    folder = tmp_path_factory.mktemp("free")
    project = folder / "trial"
    project.mkdir()
    (project / "network.toml").write_text(
        "[satellite]\nlongitude_deg = -61\n[network]\ndate = 2026-06-01\n", encoding="utf-8"
    )
    sites = {"site_id": ["A", "B", "C"], "lat": [4.1, 5.2, 6.3], "lon": [-74.1, -75.2, -76.3]}
    columns = {name: column for name, (column, _) in KINDS.items()}
    pq.write_table(pa.table({**sites, **columns}), project / "sites.parquet")
    tables = ("csv", "gpkg", "geojson", "parquet")
    for name, workers in (("whole", None), ("parts", 0)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(spread, "PART_SITES", 1)
            plan_project(project, folder / name, tables=tables, workers=workers, with_sheets=False)
    return {name: folder / name for name in ("whole", "parts")}


def rows(folder: Path) -> list[dict[str, str]]:
    with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("way", ["whole", "parts"])
def test_each_kind_is_told_in_the_csv(outputs: dict[str, Path], way: str, name: str) -> None:
    (told,) = KINDS[name][1]
    assert [row[name] for row in rows(outputs[way])] == [told, "", told]


def test_the_tables_are_the_same_whole_and_in_parts(outputs: dict[str, Path]) -> None:
    for file in ("sites.csv", "sites.geojson"):
        assert (outputs["whole"] / file).read_bytes() == (outputs["parts"] / file).read_bytes()
    for read, file in (
        (geopandas.read_file, "sites.gpkg"),
        (geopandas.read_parquet, "sites.parquet"),
    ):
        whole, parts = (read(outputs[way] / file) for way in ("whole", "parts"))
        for table in (whole, parts):  # a column of nothing has no kind of its own
            assert table.pop("nothing").isna().tolist() == [True] * 3
        pd.testing.assert_frame_equal(whole, parts)


def test_moments_stay_moments_in_the_tables_that_know_them(outputs: dict[str, Path]) -> None:
    kept = geopandas.read_parquet(outputs["whole"] / "sites.parquet")
    assert kept["zoned"][0] == pd.Timestamp("2026-07-01 23:30", tz="UTC")
    assert str(kept["zoned"].dtype.tz) == "America/Bogota"
    assert kept["moment"].isna().tolist() == [False, True, False]


def planned_with_beam(folder: Path, cells: list[str], network: str, **options: Any) -> list[Any]:
    """Return the rows of ``sites.csv`` of sites whose table has a column ``beam``."""
    folder.mkdir()
    rows = [f"S{k},{4 + k},-74,{cell}" for k, cell in enumerate(cells)]
    (folder / "sites.csv").write_text("\n".join(["site_id,lat,lon,Beam", *rows]), encoding="utf-8")
    (folder / "network.toml").write_text(f"[satellite]\nlongitude_deg = -61\n{network}", "utf-8")
    plan_project(folder, folder / "out", with_map=False, with_sheets=False, tables="csv", **options)
    with (folder / "out" / "sites.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_a_column_beam_is_the_user_s_own_where_no_beam_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Steel beams of a roof, say: carried through, in parts too where some parts name none."""
    monkeypatch.setattr(spread, "PART_SITES", 1)
    cells = ["oak", "", "steel"]
    for name, workers in (("whole", None), ("parts", 0)):
        rows = planned_with_beam(tmp_path / name, cells, "", workers=workers)
        assert [row["input_beam"] for row in rows] == cells
        assert "beam" not in rows[0]
        assert not any("input_mended" in row["flags"] for row in rows)
    assert "input_beam" not in planned_with_beam(tmp_path / "blank", ["", ""], "")[0]


def test_a_column_beam_is_ours_where_beams_are_named(tmp_path: Path) -> None:
    beams = '[[beams]]\nname = "oak"\n[[beams]]\nname = "elm"\n'
    rows = planned_with_beam(tmp_path / "named", ["elm", "", "steel"], beams)
    assert [row["beam"] for row in rows] == ["elm", "oak", "oak"]
    assert "input_beam" not in rows[0]
    assert "input_mended" in rows[2]["flags"]
    assert "Beam 'steel' is no beam of the network" in rows[2]["flag_notes"]


def test_check_tells_whose_a_column_beam_is(tmp_path: Path) -> None:
    for name, cells, network, taken in (
        ("own", ["oak", ""], "", "free"),
        ("blank", ["", ""], "", "beam"),
        ("ours", ["oak", ""], '[[beams]]\nname = "oak"\n', "beam"),
    ):
        planned_with_beam(tmp_path / name, cells, network)
        columns = {c.heading: c.taken_as for c in check_project(tmp_path / name).columns}
        assert columns["Beam"] == taken, name
