"""Monitoring and roll-out, for which each part lays something aside: in parts as whole."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from siteplan.api import plan_project
from siteplan.jobs import products
from siteplan.jobs.parts import spread
from siteplan.jobs.plan import Outcome
from siteplan.planning.operations import levels
from siteplan.planning.operations.near import Nearest
from siteplan.planning.rollout import answer, order

MONITORING = tuple(f"monitoring/sites.{kind}" for kind in ("csv", "json", "schema.json", "prom"))
ROLLOUT = ("rollout.csv", "rollout_periods.csv", "kit_by_wave.csv")
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False, "tables": ("csv",)}
NETWORK = """
[network]
date = 2026-09-01
timezone = "America/Manaus"
[satellite]
longitude_deg = -61
[hub]
lat = -15.8
lon = -47.9
[costs]
recurring_site_month = 25.1
lease_mhz_month = 3100
[[applications]]
name = "records"
profile = "transaction"
[[applications]]
name = "lessons"
profile = "video"
outbound_kbit_s = 1000
"""
WEEKS = """
[rollout]
sites_per_week = 7
start = 2027-01-11
"""
SITES, FAR = 90, 5
#: Ids, names and groups that want to be a formula, a tag, a label or a line of another format.
NAMES = ("=1+1", "</script><b>", 'a"b\\c', "x}", "a,b;c", "Ñandú 北京 𝔘", "-3", "{}", "# EOF", "'")


def wave(k: int) -> str:
    return ("2", "10", "", "b 3")[k // 4 % 4]


def row(k: int, name: str) -> list[str]:
    """Return a site; some stand already, the last see no satellite."""
    rng = np.random.default_rng(k)
    lat, lon = rng.uniform(-9, 0), rng.uniform(-69, -56)
    if k >= SITES - FAR:
        lat, lon = 40.0, 60.0 + k
    stands = ("1.8", "2") if k % 11 == 0 else ("", "")
    apps = ("", "records", "lessons", "records; lessons")[k % 4]
    zone = ("Asia/Kathmandu", "")[k % 2]
    text = f"{name} {k}"
    return [f"{name}~{k}", text, f"{lat}", f"{lon}", name, *stands, wave(k), apps, zone]


@pytest.fixture(scope="module", autouse=True)
def _quick() -> Iterator[None]:
    """What would change the kit is told elsewhere, and takes half of the time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("siteplan.planning.certainty.sensitivity.TABLES_UP_TO", 0)
        yield


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("beside") / "many"
    folder.mkdir()
    (folder / "network.toml").write_text(NETWORK + WEEKS, encoding="utf-8")
    heads = ("site_id", "name", "lat", "lon", "group", "fixed_antenna_m", "fixed_buc_w", "wave",
             "applications", "timezone")  # fmt: skip
    with (folder / "sites.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(heads)
        writer.writerows(row(k, NAMES[k % len(NAMES)]) for k in range(SITES))
    return folder


@pytest.fixture(scope="module")
def whole(project: Path) -> Outcome:
    return plan_project(project, project.parent / "whole", **QUIET)


@pytest.fixture
def in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts of 34 sites, never read back."""
    monkeypatch.setattr(spread, "PART_SITES", 34)
    monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)


def assert_same(one: Path, other: Path, names: tuple[str, ...] = (*MONITORING, *ROLLOUT)) -> None:
    for name in names:
        assert (one / name).read_bytes() == (other / name).read_bytes(), name


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_project_asks_something(whole: Outcome) -> None:
    """Else the rest of this file would say little."""
    assert whole.plan is not None
    built = [site for site in rows_of(whole.folder / "rollout.csv") if not site["note"]]
    assert len({site["wave"] for site in built}) > 3
    assert len(built) < SITES - FAR
    told = json.loads((whole.folder / "monitoring" / "sites.json").read_bytes())
    assert SITES / 3 < len(told["sites"]) < SITES - FAR
    assert any(site["near"] for site in told["sites"])
    assert any(way["maintenance"] for site in told["sites"] for way in site["directions"])


@pytest.mark.parametrize("read_back", [True, False])
def test_parts_give_the_whole(
    project: Path, whole: Outcome, tmp_path: Path, in_parts: None,
    monkeypatch: pytest.MonkeyPatch, read_back: bool,
) -> None:  # fmt: skip
    """To the last byte, read back or from what the parts laid; the last parts see no satellite."""
    if read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", SITES)
    found = plan_project(project, tmp_path / "parts", workers=0, **QUIET)
    assert (found.plan is not None) == read_back
    assert_same(found.folder, whole.folder)
    assert "rollout" not in found.summary


def test_waves_without_weeks_go_the_same_way(project: Path, tmp_path: Path, in_parts: None) -> None:
    folder = tmp_path / "waves"
    shutil.copytree(project, folder)
    (folder / "network.toml").write_text(NETWORK, encoding="utf-8")
    whole = plan_project(folder, tmp_path / "whole", **QUIET)
    parts = plan_project(folder, tmp_path / "parts", workers=0, **QUIET)
    assert_same(parts.folder, whole.folder, ROLLOUT)
    names = [of["period"] for of in rows_of(parts.folder / "rollout_periods.csv")]
    assert names == ["wave 2", "wave 10", "wave b 3", "no wave"]


def test_a_part_whose_rows_are_read_back_in_part_alone(
    project: Path, whole: Outcome, tmp_path: Path, in_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first parts are kept whole before anyone knows how many follow; transits count on."""
    monkeypatch.setattr(products, "READ_BACK_UP_TO", 40)
    found = plan_project(project, tmp_path / "parts", workers=0, **QUIET)
    assert found.plan is None
    assert_same(found.folder, whole.folder)


def test_a_whole_plan_is_monitored_some_sites_at_a_time(
    project: Path, whole: Outcome, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it is beyond so many sites, and without the tables of the sheets."""
    monkeypatch.setattr(levels, "CHUNK_SITES", 20)
    monkeypatch.setattr("siteplan.planning.site.tables.MOST_SITES", 5)
    found = plan_project(project, tmp_path / "pieces", **QUIET)
    assert found.plan is not None
    assert "sun_site" in found.plan.tables
    assert "sun_hour_from" not in found.plan.tables
    assert_same(found.folder, whole.folder)


def test_two_workers_give_what_one_process_gives(
    project: Path, whole: Outcome, tmp_path: Path, in_parts: None
) -> None:
    pytest.importorskip("distributed")
    found = plan_project(project, tmp_path / "parts", workers=2, **QUIET)
    assert found.plan is None
    assert_same(found.folder, whole.folder)


def test_standard_readers_read_what_parts_write(
    project: Path, tmp_path: Path, in_parts: None
) -> None:
    folder = plan_project(project, tmp_path / "parts", workers=0, **QUIET).folder / "monitoring"
    told = json.loads((folder / "sites.json").read_bytes())
    jsonschema.validate(told, json.loads((folder / "sites.schema.json").read_text("utf-8")))
    text = (folder / "sites.prom").read_text(encoding="utf-8")
    families = {f.name: f.samples for f in text_string_to_metric_families(text)}
    infos = [s.labels["site_id"] for s in families["siteplan_site"]]
    assert infos == [site["site_id"] for site in told["sites"]]
    assert len(rows_of(folder / "sites.csv")) == 1 + 2 * len(infos)


@pytest.mark.parametrize("workers", [None, 0])
def test_beyond_a_number_of_sites_monitoring_is_asked_for(
    project: Path, whole: Outcome, tmp_path: Path, in_parts: None,
    monkeypatch: pytest.MonkeyPatch, workers: int | None,
) -> None:  # fmt: skip
    """The summary says so; whoever asks gets the same file."""
    monkeypatch.setattr(products, "MONITORED_UP_TO", 30)
    found = plan_project(project, tmp_path / "out", workers=workers, **QUIET)
    assert not (found.folder / "monitoring").exists()
    assert (
        "No monitoring/: more than 30 sites or rows; --monitoring writes it."
        in found.summary["crew"]
    )
    asked = plan_project(project, tmp_path / "out", workers=workers, monitoring=True, **QUIET)
    assert "monitoring" not in asked.summary["crew"]
    assert_same(asked.folder, whole.folder, MONITORING)


def test_beyond_a_number_of_sites_a_wave_is_built_in_the_order_of_the_list(
    project: Path, tmp_path: Path, in_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rows, report and summary say so, and parts as the whole."""
    for room in (order, answer):
        monkeypatch.setattr(room, "VISITED_UP_TO", 20)
    whole = plan_project(project, tmp_path / "whole", **QUIET)
    parts = plan_project(project, tmp_path / "parts", workers=0, **QUIET)
    assert_same(parts.folder, whole.folder, ROLLOUT)
    rows = rows_of(whole.folder / "rollout.csv")
    built = [site for site in rows if site["wave"] or site["note"] == "in the order of the list"]
    assert {site["note"] for site in built} == {"in the order of the list"}
    assert {site["position"] + site["round"] for site in built} == {""}
    places = [int(site["site_id"].rpartition("~")[2]) for site in built]
    by_wave = {name: [k for k in places if wave(k) == name] for name in ("2", "10", "b 3", "")}
    assert places == [k for own in by_wave.values() for k in own]
    for own in by_wave.values():
        assert own == sorted(own)
    for found in (whole, parts):
        assert found.summary["rollout"].startswith("More than 20 sites are built")
        assert "in the order of the list" in (found.folder / "report.html").read_text("utf-8")


def test_neighbours_of_some_sites_are_those_among_all() -> None:
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-2, 2, 300), 179 + rng.uniform(0, 2, 300)
    ids = np.array([f"S{k}" for k in range(300)], dtype=object)
    nearest = Nearest(ids, lat, lon)
    every = nearest.of(0, 300)
    assert [*nearest.of(0, 7), *nearest.of(7, 200), *nearest.of(207, 93)] == list(every)
    assert nearest.of(300, 0) == ()


def test_what_parts_lay_is_taken_up_again_only_where_it_is_there(
    project: Path, tmp_path: Path, in_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run that failed left parts without what monitoring asks for: they are planned anew."""
    monkeypatch.setattr(products, "MONITORED_UP_TO", 0)
    out = tmp_path / "out"

    def fails(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(products, "write", fails)
        with pytest.raises(KeyboardInterrupt):
            plan_project(project, out, workers=0, **QUIET)
    assert list(tmp_path.glob(".out.parts-*"))
    found = plan_project(project, out, workers=0, monitoring=True, **QUIET)
    assert (found.folder / "monitoring" / "sites.prom").stat().st_size > 0
    assert not list(tmp_path.glob(".out.parts-*"))
