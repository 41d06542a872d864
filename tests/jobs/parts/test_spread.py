"""Very large plans in parts give the rows of a small one, in one process or several."""

from __future__ import annotations

import csv
import datetime as dt
import json
from pathlib import Path

import geopandas
import numpy as np
import pytest

from siteplan.api import Outcome, plan_project, read_network
from siteplan.cli import main
from siteplan.errors import NetworkError, OutputError, SitesError
from siteplan.inputs.kinds import rows_in
from siteplan.inputs.project import Project, find_project
from siteplan.jobs import asked, products
from siteplan.jobs.parts import part as parts
from siteplan.jobs.parts import spread as bulk

NETWORK = (
    "[network]\ndate = 2026-06-01\n[satellite]\nlongitude_deg = 10\n[hub]\nlat = 48\nlon = 11\n"
)
ROWS = 230


def write_project(folder: Path, rows: int = ROWS) -> Project:
    rng = np.random.default_rng(4)
    lat, lon = rng.uniform(-40, 65, rows), rng.uniform(-80, 90, rows)
    names = ["=cmd()", "-3 road", "plain", "née"]
    folder.mkdir()
    with (folder / "sites.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["site_id", "name", "lat", "lon", "beds"])
        for k in range(rows):
            bad = k == 17
            writer.writerow(
                [f"P{k:04d}", names[k % 4], "north" if bad else f"{lat[k]:.5f}", f"{lon[k]:.5f}",
                 k if k > 100 else ""]
            )  # fmt: skip
    (folder / "network.toml").write_text(NETWORK)
    return find_project(folder)


@pytest.fixture
def small_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bulk, "PART_SITES", 50)


@pytest.fixture
def large(monkeypatch: pytest.MonkeyPatch, small_parts: None) -> None:
    """Take every plan for too large to be read back from its parts."""
    monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)


def in_parts(project: Project, out: Path, **options: object) -> Outcome:
    """Plan in parts in this process, without map and sheets unless they are asked for."""
    usual: dict[str, object] = {"with_map": False, "with_sheets": False}
    return plan_project(project.folder, out, workers=0, **{**usual, **options})


@pytest.mark.parametrize("read_back", [True, False])
def test_the_fewest_kinds_are_those_of_the_whole_plan(
    tmp_path: Path, small_parts: None, monkeypatch: pytest.MonkeyPatch, read_back: bool
) -> None:
    """Counts of patterns add up, whether the sites are read back or not."""
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    project = write_project(tmp_path / "trial")
    parts = in_parts(project, tmp_path / "out")
    whole = plan_project(project.folder, tmp_path / "whole", with_map=False, with_sheets=False)
    assert (parts.plan is not None) == read_back
    assert whole.plan is not None
    assert len(whole.summary["fewest"]) == 3
    assert whole.summary["fewest"][0]["of"] == ROWS - 1
    assert parts.summary["fewest"] == whole.summary["fewest"]
    if parts.plan is not None:
        assert parts.plan.facts.fits == whole.plan.facts.fits
        assert parts.plan.facts.pairs == whole.plan.facts.pairs
        for name in ("pair_margin_db", "whatif_clear_db"):
            np.testing.assert_allclose(parts.plan.tables[name], whole.plan.tables[name], rtol=1e-12)


def test_of_pairs_that_not_all_parts_have_the_rest_travels() -> None:
    from siteplan.jobs.parts.part import _with_same_pairs

    a, b, c = (1.2, 1.0), (1.2, 2.0), (1.8, 1.0)
    tables = [
        {"pair_margin_db": np.array([[1.0, 2.0]])},
        {"pair_margin_db": np.array([[3.0, 4.0]])},
    ]
    shared, kept = _with_same_pairs([(a, b), (b, c)], tables)
    assert shared == (b,)
    assert [own["pair_margin_db"].tolist() for own in kept] == [[[2.0]], [[3.0]]]


def test_parts_give_the_rows_of_a_small_plan(tmp_path: Path, large: None) -> None:
    project = write_project(tmp_path / "trial")
    out = tmp_path / "out"
    outcome = in_parts(project, out, tables=("parquet", "csv", "gpkg"), with_map=True)
    assert outcome.plan is None
    assert main(["plan", str(project.folder), "--output", str(tmp_path / "whole"), "--quiet",
                 "--no-map", "--no-sheets"]) == 1  # fmt: skip
    with (tmp_path / "whole" / "sites.csv").open(encoding="utf-8", newline="") as file:
        whole = {r["site_id"]: r for r in csv.DictReader(file)}
    with (out / "sites.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == ROWS - 1
    assert outcome.summary["sites"] + len(outcome.rejects) == ROWS
    assert {"margin_db", "antenna_m", "elevation_deg", "beds", "name"} <= set(rows[0])
    assert rows == list(whole.values())
    # GeoParquet has longitudes first (OGC:CRS84).
    systems = {"sites.parquet": ("OGC", "CRS84"), "sites.gpkg": ("EPSG", "4326")}
    for name, system in systems.items():
        read = geopandas.read_parquet if name.endswith("parquet") else geopandas.read_file
        frame = read(out / name)
        assert frame["site_id"].tolist() == [r["site_id"] for r in rows]
        assert frame.crs.to_authority() == system
        np.testing.assert_allclose(frame.geometry.y, frame["lat"], atol=1e-6)
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert sum(summary["counts"]["margin_class"].values()) == ROWS - 1
    whole_summary = json.loads((tmp_path / "whole" / "summary.json").read_text(encoding="utf-8"))
    assert summary["verdict"] == whole_summary["verdict"]
    assert summary["verdict"]["sites"] == ROWS - 1
    assert (out / "map.html").exists()
    assert not list(tmp_path.glob(".out.parts-*"))


def test_the_map_says_what_it_leaves_out(
    tmp_path: Path, large: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(products, "MAP_SITES", 120)
    project = write_project(tmp_path / "trial")
    outcome = in_parts(project, tmp_path / "out", with_map=True)
    assert outcome.summary["map"].startswith(f"120 of {ROWS - 1} sites: ")
    page = (tmp_path / "out" / "map.html").read_text(encoding="utf-8")
    assert outcome.summary["map"] in page
    # The strip counts all sites, whichever the map shows.
    assert outcome.summary["verdict"]["sites"] == ROWS - 1
    assert f'"verdict":{{"sites":{ROWS - 1},' in page


def test_a_run_that_died_goes_on(
    tmp_path: Path, small_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = write_project(tmp_path / "trial")
    done: list[str] = []
    real = parts.plan_of

    def dying(task: parts.Task) -> object:
        if len(done) == 2:
            raise OSError("the power went")
        done.append(task.path.name)
        return real(task)

    monkeypatch.setattr(parts, "plan_of", dying)
    with pytest.raises(OSError, match="the power went"):
        in_parts(project, tmp_path / "out")
    assert len(list(tmp_path.glob(".out.parts-*/part-*.json"))) == 2
    again: list[str] = []
    monkeypatch.setattr(parts, "plan_of", lambda t: again.append(t.path.name) or real(t))
    outcome = in_parts(project, tmp_path / "out")
    assert not set(again) & set(done)
    assert outcome.summary["sites"] == ROWS - 1
    alone = in_parts(project, tmp_path / "alone")
    np.testing.assert_array_equal(outcome.plan.tables["sun_site"], alone.plan.tables["sun_site"])


def test_a_part_that_lost_its_rows_is_planned_again(
    tmp_path: Path, small_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = write_project(tmp_path / "trial")

    def broken(*_: object) -> None:
        raise OSError("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(products, "write", broken)
        with pytest.raises(OutputError, match="the disk is full"):
            in_parts(project, tmp_path / "out")
    lost = sorted(tmp_path.glob(".out.parts-*/part-*.parquet"))[1]
    lost.unlink()
    assert in_parts(project, tmp_path / "out").summary["sites"] == ROWS - 1


@pytest.mark.parametrize(
    "changed", ["sites.csv", "obstructions.csv", "terrain.tif", "dish.csv", "format"]
)
def test_parts_of_other_inputs_are_dropped(
    changed: str, tmp_path: Path, small_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the rows rest on tells one run's parts from another's."""
    project = write_project(tmp_path / "trial")
    for name in ("obstructions.csv", "terrain.tif"):
        (project.folder / name).write_text("x")
    (project.folder / "dish.csv").write_text("angle_deg,rx_gain_dbi,tx_gain_dbi\n0,9,9\n1,1,1")
    with (project.folder / "network.toml").open("a") as file:
        file.write('\n[[antennas]]\ndiameter_m = 2\npattern = "file"\npattern_file = "dish.csv"\n')
    project = find_project(project.folder)

    def order_of() -> parts.Order:
        return parts.Order(read_network(project.network_path), dt.date(2026, 6, 1), (), "trial")

    order = order_of()
    before = bulk._fingerprint(project, order)
    assert bulk._fingerprint(project, order) == before
    if changed == "format":
        monkeypatch.setattr(bulk, "FORMAT", parts.FORMAT + 1)
    else:
        with (project.folder / changed).open("a") as file:
            file.write("2" if changed == "dish.csv" else "y")
    assert bulk._fingerprint(project, order_of()) != before


def test_stale_parts_are_removed(tmp_path: Path, small_parts: None) -> None:
    project = write_project(tmp_path / "trial")
    stale = tmp_path / ".out.parts-0123456789abcdef"
    stale.mkdir()
    (stale / "part-000000.json").write_text("{}")
    in_parts(project, tmp_path / "out")
    assert not stale.exists()


@pytest.mark.parametrize(
    ("error", "reason"),
    [(OSError("the medium is gone"), "the medium is gone"), (OSError(28, "No space"), "No space")],
)
def test_parts_that_cannot_be_kept_say_why_and_what_to_do(
    error: OSError, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, small_parts: None
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise error

    project = write_project(tmp_path / "trial")
    monkeypatch.setattr(bulk, "_drop_stale", refused)
    with pytest.raises(OutputError, match="cannot write") as caught:
        in_parts(project, tmp_path / "out")
    assert str(caught.value) == (
        f"{tmp_path / 'out'}: cannot write the outputs: {reason}. Check the disk and the"
        " permissions, or choose another folder with --output."
    )


def test_nothing_to_plan(tmp_path: Path) -> None:
    project = write_project(tmp_path / "trial")
    (project.folder / "sites.csv").write_text("site_id,lat,lon\nA,x,1\n")
    with pytest.raises(SitesError, match="no site is left: 1 of 1 rows rejected"):
        in_parts(project, tmp_path / "out")
    (project.folder / "sites.csv").write_text("site_id,lat,lon\nA,1.25,-170.25\n")
    with pytest.raises(NetworkError, match="below the horizon of every one of the 1 sites"):
        in_parts(project, tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("kind", ["csv", "parquet", "gpkg"])
def test_rows_are_counted_without_reading(tmp_path: Path, kind: str) -> None:
    project = write_project(tmp_path / "trial", 30)
    frame = geopandas.GeoDataFrame(
        {"site_id": range(30)}, geometry=geopandas.points_from_xy(range(30), range(30)),
        crs="EPSG:4326",
    )  # fmt: skip
    path = tmp_path / f"sites.{kind}"
    if kind == "csv":
        path = project.sites_path
    elif kind == "parquet":
        frame.to_parquet(path)
    else:
        frame.to_file(path)
    assert rows_in(path) == 30 + (kind == "csv")  # with its heading


def test_several_processes_give_the_same_rows(
    tmp_path: Path, small_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A table of very many rows is planned on all processors, also from Python."""
    project = write_project(tmp_path / "trial")
    one = in_parts(project, tmp_path / "one")
    monkeypatch.setattr(asked, "IN_PARTS_FROM_ROWS", ROWS)
    monkeypatch.setattr(bulk.os, "cpu_count", lambda: 2)
    two = plan_project(project.folder, tmp_path / "two", with_map=False, with_sheets=False)
    assert one.summary == two.summary
    a, b = (geopandas.read_parquet(tmp_path / n / "sites.parquet") for n in ("one", "two"))
    assert a.equals(b)


def test_what_if_and_budget_of_interference_are_the_same_in_parts(
    tmp_path: Path, small_parts: None
) -> None:
    """The tables that the map reads, and the hub's curves with what its rain turns over."""
    project = write_project(tmp_path / "trial")
    with (project.folder / "network.toml").open("a", encoding="utf-8") as file:
        file.write("[outbound]\ncross_polar_level_db = 0\n[inbound]\ncross_polar_level_db = 3\n")
        file.write("[[neighbours]]\nlongitude_deg = 12\nuplink_dbw_40khz = 8\n")
        file.write("[[neighbours]]\nlongitude_deg = 7\n")
    whole = plan_project(project.folder, tmp_path / "whole", with_map=False, with_sheets=False).plan
    parts = in_parts(project, tmp_path / "out").plan
    assert whole is not None
    assert parts is not None
    assert len(whole.facts.whatif_hub_db) == 3
    assert parts.facts.whatif_hub_db == whole.facts.whatif_hub_db
    for name in ("whatif_site_margin_db", "whatif_clear_db", "budget_db"):
        table = whole.tables[name]
        assert np.isfinite(table).any()
        np.testing.assert_allclose(parts.tables[name], table, rtol=0, atol=1e-9)
    assert whole.tables["budget_db"].shape == (ROWS - 1, 2, 5)


def test_what_is_told_of_the_whole_plan_is_the_same_in_parts(
    tmp_path: Path, small_parts: None
) -> None:
    """Tuning, fewest kinds, what it would take and the bill, read back from parts."""
    project = write_project(tmp_path / "trial")
    with (project.folder / "network.toml").open("a", encoding="utf-8") as file:
        file.write("[terminal]\nrx_lo_ghz = 10.75\n[[antennas]]\ndiameter_m = 1.2\nprice = 400\n")
    whole = plan_project(project.folder, tmp_path / "whole", with_map=False, with_sheets=False).plan
    parts = in_parts(project, tmp_path / "out").plan
    assert whole is not None
    assert parts is not None
    for name in ("tuning", "fewest", "fits", "pairs", "remedies", "bill", "told_once", "remarks"):
        told = repr(getattr(parts.facts, name))  # NaN is not itself, its text is
        assert told == repr(getattr(whole.facts, name)), name
        assert len(told) > 4, name
