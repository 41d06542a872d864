"""A plan is the same whole and in parts: columns, flags, rejects, exit codes, every file."""

from __future__ import annotations

import re
import shutil
import sys
import warnings
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
import pytest

from siteplan.api import (
    ClusterError,
    NetworkError,
    OutputError,
    ProjectError,
    plan_project,
    read_network,
)
from siteplan.cli import main
from siteplan.inputs.project import find_project
from siteplan.jobs import asked, products
from siteplan.jobs import plan as plan_job
from siteplan.jobs.asked import Job
from siteplan.jobs.parts import spread
from tests.samples import FROZEN

ROOT = Path(__file__).parent.parent.parent
TABLES = ("csv", "gpkg", "geojson", "parquet")
PROJECTS = ("river_clinics", "fjord_substations", "hills")
NETWORK_FILE = FROZEN / "river_clinics" / "network.toml"
NETWORK = "[satellite]\nlongitude_deg = 13\n[network]\ndate = 2026-06-01\n"

sys.path.insert(0, str(ROOT / "tests"))
from compare_outputs import differences, write_terrain  # noqa: E402


@pytest.fixture(scope="module")
def projects(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both samples and one with terrain, each with obstacles that must be rejected."""
    folder = tmp_path_factory.mktemp("projects")
    for name in PROJECTS[:2]:
        shutil.copytree(FROZEN / name, folder / name)
    shutil.copytree(FROZEN / "fjord_substations", folder / "hills")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PendingDeprecationWarning)  # rasterio's own
        write_terrain(folder / "hills" / "terrain.tif")
    for name in PROJECTS:
        path = folder / name / "obstructions.csv"
        lines = path.read_text(encoding="utf-8").splitlines()
        columns = lines[0].split(",")
        wrong = ["NOPE" if c == "site_id" else "10" if "azimuth" in c else "" for c in columns]
        path.write_text("\n".join([*lines, ",".join(wrong)]) + "\n", encoding="utf-8")
    return folder


#: What both comparisons ask for.
OPTIONS: dict[str, Any] = {
    "tables": TABLES,
    "coverage_step_deg": 2,
    "map_options": {"plain": True},
}


class Whole(NamedTuple):
    """A project planned whole: where it lies, where its outputs do, and the outcome."""

    project: Path
    folder: Path
    outcome: Any


@pytest.fixture(scope="module", params=PROJECTS)
def whole(
    projects: Path, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Whole:
    """Each project planned whole, once for all comparisons."""
    folder = tmp_path_factory.mktemp("whole")
    project = projects / request.param
    return Whole(project, folder, plan_project(project, folder / "output", **OPTIONS))


@pytest.fixture(autouse=True)
def small_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 13)


def same_arrays(a: Any, b: Any) -> None:
    assert list(a) == list(b)
    for name in a:
        assert a[name].dtype == b[name].dtype, name
        np.testing.assert_array_equal(a[name], b[name], err_msg=name)


def test_parts_are_the_whole(whole: Whole, tmp_path: Path) -> None:
    """Names, order, types and values are equal, exactly; so is every file that is written."""
    parts = plan_project(whole.project, tmp_path / "output", workers=0, **OPTIONS)
    for what in ("columns", "extra", "tables"):
        same_arrays(getattr(whole.outcome.plan, what), getattr(parts.plan, what))
    assert whole.outcome.plan.facts == parts.plan.facts
    assert whole.outcome.rejects == parts.rejects
    assert whole.outcome.rejects[-1].site_id == "NOPE"
    assert whole.outcome.summary == parts.summary
    assert {"blocked", "sky_tight"} <= set(parts.summary["counts"]["flags"])
    assert list(differences(whole.folder, tmp_path)) == []


def test_parts_too_many_to_read_back_have_the_same_rows(
    whole: Whole, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    parts = plan_project(whole.project, tmp_path / "output", workers=0, **OPTIONS)
    assert parts.plan is None
    assert whole.outcome.rejects == parts.rejects
    assert ("cost" in parts.summary) == (whole.project.name == "river_clinics")
    assert whole.outcome.summary.get("cost") == parts.summary.get("cost")
    for key in ("counts", "worst", "sites", "rows_read", "rejected", "source", "assumed", "link"):
        assert whole.outcome.summary[key] == parts.summary[key]
    names = {p.name for p in (tmp_path / "output").iterdir()}
    crew = {"sheets", "sites.kml", "sites.gpx", "kit.csv", "sun.csv", "sun", "returned_blank.csv"}
    assert {p.name for p in (whole.folder / "output").iterdir()} - names == crew
    told = parts.summary["crew"]
    assert "No sheets" in told
    assert "without what-if questions" in told
    lost = {line.split("output/")[1].split("/")[0]
            for line in differences(whole.folder, tmp_path)}  # fmt: skip
    assert lost == crew | {"map.html", "report.html", "summary.json"}
    report = (tmp_path / "output" / "report.html").read_text("utf-8")
    left_out = "what would help single sites is left out here."
    assert left_out in report
    assert left_out not in (whole.folder / "output" / "report.html").read_text("utf-8")


def test_exit_codes_are_the_same(projects: Path, tmp_path: Path) -> None:
    """The one rejected obstacle tells, in parts too."""
    command = ["plan", str(projects / "river_clinics"), "--quiet", "--no-map", "--no-sheets"]
    assert main([*command, "--output", str(tmp_path / "a")]) == 1
    assert main([*command, "--output", str(tmp_path / "b"), "--workers", "0"]) == 1
    good = ["plan", str(FROZEN / "river_clinics"), *command[2:]]
    assert main([*good, "--output", str(tmp_path / "c"), "--workers", "0"]) == 0


def test_obstacles_of_rejected_sites_are_passed_over_in_parts(tmp_path: Path) -> None:
    """An obstacle may name a site of any part, and one that was rejected itself."""
    folder = tmp_path / "p"
    folder.mkdir()
    rows = [f"A{k},46,{7 + k / 100}" for k in range(30)]
    rows[20] = "A20,46,400"
    (folder / "sites.csv").write_text("site_id,lat,lon\n" + "\n".join(rows) + "\n")
    (folder / "network.toml").write_text(NETWORK)
    obstacles = ["A29,170,60", "A20,170,60", "A1,170,60", "NOPE,170,60"]
    text = "site_id,azimuth_deg,elevation_deg\n" + "\n".join(obstacles) + "\n"
    (folder / "obstructions.csv").write_text(text)
    options: Any = {"with_map": False, "with_sheets": False}
    parts = plan_project(folder, tmp_path / "out", workers=0, **options)
    assert [(r.site_id, r.key) for r in parts.rejects] == [("A20", "lon"), ("NOPE", "site_id")]
    whole = plan_project(folder, tmp_path / "whole", **options)
    same_arrays(whole.plan.columns, parts.plan.columns)
    blocked = [s for s, f in zip(*(parts.plan.columns[k] for k in ("site_id", "flags")),
                                 strict=True) if "blocked" in f.split(";")]  # fmt: skip
    assert blocked == ["A1", "A29"]


def test_terrain_counts_over_all_parts(projects: Path, tmp_path: Path) -> None:
    """One site inside the file, in the last part, is enough; none is refused before any work."""
    folder = tmp_path / "p"
    folder.mkdir()
    shutil.copy(projects / "hills" / "terrain.tif", folder)
    (folder / "network.toml").write_text(NETWORK)
    rows = [f"A{k},40,{7 + k / 100}" for k in range(30)]
    heading = "site_id,lat,lon\n"
    (folder / "sites.csv").write_text(heading + "\n".join([*rows, "A30,60,7"]) + "\n")
    options: Any = {"with_map": False, "with_sheets": False}
    whole = plan_project(folder, tmp_path / "whole", **options)
    parts = plan_project(folder, tmp_path / "out", workers=0, **options)
    same_arrays(whole.plan.columns, parts.plan.columns)
    assert parts.summary["counts"]["flags"]["outside_terrain"] == 30
    (folder / "sites.csv").write_text(heading + "\n".join(rows) + "\n")
    for workers in (None, 0):
        with pytest.raises(ProjectError, match="none of the 30 sites lies in it"):
            plan_project(folder, tmp_path / "none", workers=workers, **options)
    assert not list(tmp_path.glob(".none.parts-*"))


@pytest.mark.parametrize("workers", [None, 0])
@pytest.mark.parametrize(
    ("options", "error", "words"),
    [
        ({"tables": ("csv", "xls")}, OutputError, "xls is no kind of table"),
        ({"tables": ""}, OutputError, "nothing is no kind of table"),
        ({"map_options": {"tiles": "ftp://x"}}, OutputError, "address of the tiles"),
        ({"map_options": {"tile": "x"}}, OutputError, "the map has no option 'tile'"),
        ({"coverage_step_deg": 50}, NetworkError, "a step of 50 deg is out of range"),
        ({"coverage_step_deg": 0.01}, NetworkError, "more than 4,000,000"),
    ],
)
def test_bad_options_are_refused_at_any_size(
    workers: int | None,
    options: dict[str, Any],
    error: type[Exception],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Before any site is planned."""
    monkeypatch.setattr("siteplan.planning.plan.make_plan", None)
    folder = tmp_path / "wide"
    folder.mkdir()
    (folder / "sites.csv").write_text("site_id,lat,lon\nA,40,0\nB,60,40\n")
    (folder / "network.toml").write_text(NETWORK)
    with pytest.raises(error, match=words):
        plan_project(folder, tmp_path / "out", workers=workers, **options)
    assert [path for path in tmp_path.iterdir() if path.name != ".siteplan-lock-out"] == [folder]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (
            {"workers": -1},
            "--workers: there cannot be -1 workers. Give 1 or more, or 0 for this process alone.",
        ),
        *(
            (
                {"scheduler": text},
                f"--scheduler: '{text}' is no address of a scheduler."
                " Give one such as tcp://10.0.0.5:8786.",
            )
            for text in ("", "somewhere")
        ),
        (
            {"scheduler": "tcp://127.0.0.1:9", "workers": 2},
            "--workers, --scheduler: workers on this machine and a cluster are both asked for."
            " Choose one of them.",
        ),
    ],
)
def test_workers_that_cannot_be(options: dict[str, Any], words: str, tmp_path: Path) -> None:
    from siteplan.api import coverage_project

    for job in (plan_project, coverage_project):
        with pytest.raises(ClusterError, match=f"^{re.escape(words)}$"):
            job(FROZEN / "river_clinics", tmp_path / "out", **options)
    assert list(tmp_path.iterdir()) == []


def test_sheets_of_too_many_in_parts_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(products, "READ_BACK_UP_TO", 61)
    command = ["plan", str(FROZEN / "river_clinics"), "--output", str(tmp_path / "o"), "--quiet"]
    assert main([*command, "--workers", "0", "--sheets"]) == 2
    told = capsys.readouterr().err
    assert "more than 61 sites writes no sheets" in told
    assert "siteplan sheets PROJECT --only" in told
    assert [path.name for path in tmp_path.iterdir()] == [".siteplan-lock-o"]
    assert main([*command, "--workers", "0", "--no-sheets", "--no-map"]) == 0


def test_tables_of_a_whole_plan(tmp_path: Path) -> None:
    """What an earlier plan wrote and this one does not is gone."""
    out = tmp_path / "out"
    command = ["plan", str(FROZEN / "river_clinics"), "--output", str(out), "--quiet",
               "--no-map", "--no-sheets"]  # fmt: skip
    assert main([*command, "--tables", "parquet,csv"]) == 0
    assert sorted(p.name for p in out.glob("sites.*")) == [
        "sites.csv", "sites.gpx", "sites.kml", "sites.parquet",
    ]  # fmt: skip
    assert main(command) == 0
    assert sorted(p.name for p in out.glob("sites.*")) == [
        "sites.csv", "sites.geojson", "sites.gpkg", "sites.gpx", "sites.kml",
    ]  # fmt: skip


def test_python_chooses_as_the_command_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A table of very many rows goes in parts either way."""
    monkeypatch.setattr(asked, "IN_PARTS_FROM_ROWS", 60)
    monkeypatch.setattr(spread.os, "cpu_count", lambda: 1)
    folder = FROZEN / "river_clinics"
    plan_project(folder, tmp_path / "python" / "output", with_map=False, with_sheets=False)
    command = ["plan", str(folder), "--output", str(tmp_path / "command" / "output")]
    assert main([*command, "--quiet", "--no-map", "--no-sheets"]) == 0
    assert (tmp_path / "python" / "output" / "sites.parquet").is_file()
    assert list(differences(tmp_path / "python", tmp_path / "command")) == []


def test_one_list_of_outputs() -> None:
    names = [name for product in products.PRODUCTS for name in product.names]
    assert len(names) == len(set(names)) == len(products.OUTPUT_NAMES)
    from siteplan.jobs import crew
    from siteplan.outputs.coverage.files import OUTPUT_NAMES as COVERAGE_NAMES

    assert set(crew.OUTPUT_NAMES) | set(COVERAGE_NAMES) <= set(names)


@pytest.mark.parametrize(("sites", "tables"), [(100_000, True), (100_001, False)])
def test_the_map_s_tables_come_up_to_100_000_sites(
    sites: int, tables: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Asked(Exception):  # noqa: N818 - it stops the plan once that is known
        pass

    class Many:
        def __len__(self) -> int:
            return sites

    def planned(*_: Any, with_tables: bool, **__: Any) -> None:
        raise Asked(with_tables)

    found: Any = SimpleNamespace(
        site_list=SimpleNamespace(sites=Many()), around=None, check=lambda: None
    )
    monkeypatch.setattr(plan_job, "opened", lambda *_: found)
    monkeypatch.setattr(plan_job, "plan_checked", planned)
    job = Job(
        find_project(FROZEN / "river_clinics"), read_network(NETWORK_FILE), asked.Asked(), tmp_path
    )
    with pytest.raises(Asked, match=str(tables)):
        plan_job._as_a_whole(job)
