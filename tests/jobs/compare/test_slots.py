"""Satellites compared, end to end: rows that are plain plans, reasons, files, exit codes."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import compare_satellites, plan_project
from siteplan.cli import main
from siteplan.jobs.compare import slots as job
from siteplan.jobs.opened import open_project
from siteplan.jobs.plan import plan_checked
from siteplan.planning.compare.slots import slot_of

FROZEN = Path(__file__).parents[2] / "frozen" / "inputs"
TABLES = {"compare.csv", "compare_sites.csv", "compare.html", "repointing.csv", "map.html"}
NETWORK = '[network]\ndate = 2026-09-01\n[satellite]\nname = "Ours"\nlongitude_deg = -61\n'
HUB = "[hub]\nlat = -15.8\nlon = -47.9\n"


def make(folder: Path, network: str = NETWORK, *rows: str) -> Path:
    """A project of two sites, or of the rows given."""
    folder.mkdir(parents=True)
    sites = rows or ("A,First,-3.10,-60.02", "B,Second,-1.45,-48.49")
    (folder / "sites.csv").write_text("\n".join(["site_id,name,lat,lon", *sites]) + "\n")
    (folder / "network.toml").write_text(network)
    return folder


def satellites(folder: Path, *rows: str, head: str = "name,longitude_deg") -> Path:
    path = folder / "satellites.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def clinics(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """A sample compared with three satellites, one of them unseen by the hub."""
    folder = tmp_path_factory.mktemp("clinics")
    project = folder / "river_clinics"
    shutil.copytree(FROZEN / "river_clinics", project)
    file = satellites(folder, "East,30.5W,", "Beyond,100E,", "West,-70,51",
                      head="name,longitude_deg,satellite_eirp_dbw")  # fmt: skip
    outcome = compare_satellites(project, file, folder / "out")
    return {"project": project, "outcome": outcome, "folder": folder}


def plain_plan(project: Path, folder: Path, *changes: tuple[str, str]) -> Any:
    """The plan of a copy of the project whose network.toml was edited by hand."""
    other = folder / "by_hand"
    shutil.copytree(project, other)
    text = (project / "network.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (other / "network.toml").write_text(text, encoding="utf-8")
    found = open_project(other)
    found.check()
    return plan_checked(found.site_list, found.network, name="x", around=found.around,
                        with_tables=False)  # fmt: skip


@pytest.mark.parametrize(
    ("row", "changes"),
    [
        (0, ()),
        (1, (("longitude_deg = -61.0", "longitude_deg = -30.5"),)),
        (3, (("longitude_deg = -61.0", "longitude_deg = -70.0"),
             ("satellite_eirp_dbw = 50", "satellite_eirp_dbw = 51"))),
    ],
)  # fmt: skip
def test_a_row_is_a_plain_plan_at_that_longitude(
    clinics: dict[str, Any], tmp_path: Path, row: int, changes: tuple[tuple[str, str], ...]
) -> None:
    of = clinics["outcome"].comparison
    plan = plain_plan(clinics["project"], tmp_path, *changes)
    expected = slot_of(of.slots[row].name, plan, own=row == 0, remarks=of.slots[row].remarks)
    assert of.slots[row] == expected
    sites = of.sites[row]
    for name in ("elevation_deg", "azimuth_true_deg", "margin_db", "antenna_m", "buc_w"):
        assert np.array_equal(getattr(sites, name), plan.columns[name], equal_nan=True), name


def test_a_satellite_that_the_hub_does_not_see_is_a_row_with_the_reason(
    clinics: dict[str, Any],
) -> None:
    of = clinics["outcome"].comparison
    assert [slot.name for slot in of.slots] == [
        *("Vitoria-Regia 2 (as planned)", "East", "Beyond", "West")
    ]
    assert "The hub does not see the satellite at 100 deg" in of.slots[2].reason
    assert of.sites[2] is None
    assert of.repointing[2] is None
    rows = rows_of(clinics["folder"] / "out" / "compare" / "compare.csv")
    blank = {k: v for k, v in rows[2].items() if k not in ("name", "longitude_deg", "sites")}
    assert {k for k, v in blank.items() if v} == {"reason", "remarks"}
    page = (clinics["folder"] / "out" / "compare" / "compare.html").read_text(encoding="utf-8")
    assert "The hub does not see the satellite at 100 deg" in page


def test_tables_hold_a_row_a_satellite_and_one_a_site(clinics: dict[str, Any]) -> None:
    folder = clinics["folder"] / "out" / "compare"
    assert {p.name for p in folder.iterdir()} == {*TABLES, "repointing", ".siteplan.json"}
    of, n = clinics["outcome"].comparison, 62
    rows = rows_of(folder / "compare.csv")
    for row, slot in zip(rows, of.slots, strict=True):
        assert (row["name"], float(row["longitude_deg"])) == (slot.name, slot.longitude_deg)
        if slot.reason:
            continue
        assert int(row["with_kit"]) + int(row["without_kit"]) == int(row["sites"]) == n
        dishes = {k: int(v) for k, v in row.items() if re.fullmatch(r"antenna_[\d_]+_m", k)}
        assert sum(dishes.values()) == slot.with_kit
        assert float(row["cost"]) == pytest.approx(slot.cost, abs=0.005)
        assert float(row["worst_margin_db"]) == pytest.approx(slot.worst_margin_db, abs=0.051)
    sites = rows_of(folder / "compare_sites.csv")
    assert len(sites) == 3 * n
    best = dict(zip(of.site_id.tolist(), of.best.tolist(), strict=True))
    assert all(row["best_slot"] == best[row["site_id"]] for row in sites)
    turns = rows_of(folder / "repointing.csv")
    assert len(turns) == 2 * n
    assert {row["satellite"] for row in turns} == {"East", "West"}
    assert {row["dish_fits"] for row in turns} >= {"yes", "no", ""}
    assert {row["horizon_clear"] for row in turns} >= {"clear", ""}


def test_the_best_of_a_site_has_the_least_kit(clinics: dict[str, Any]) -> None:
    of = clinics["outcome"].comparison
    known = [k for k, sites in enumerate(of.sites) if sites is not None]
    for i, best in enumerate(of.best.tolist()):
        tried = [
            (s.antenna_m[i], s.buc_w[i], -round(s.margin_db[i], 6), k)
            for k in known
            if (s := of.sites[k]) is not None and s.served[i]
        ]
        assert best == (of.slots[min(tried)[3]].name if tried else "none")
    assert sum(of.best_counts.values()) == 62


def test_the_map_has_the_layer_and_the_plan_has_not(clinics: dict[str, Any]) -> None:
    text = (clinics["folder"] / "out" / "compare" / "map.html").read_text(encoding="utf-8")
    assert '"best_slot"' in text
    assert '"opens_on":"best_slot"' in text
    assert "none" in clinics["outcome"].comparison.best.tolist()
    assert "No satellite serves it" in text
    plan_project(clinics["project"], clinics["folder"] / "plan", with_sheets=False)
    plain = (clinics["folder"] / "plan" / "map.html").read_text(encoding="utf-8")
    assert "best_slot" not in plain
    assert "best_slot" not in (clinics["folder"] / "plan" / "sites.csv").read_text("utf-8")


def test_a_later_plan_leaves_the_comparison_alone(clinics: dict[str, Any]) -> None:
    out = clinics["folder"] / "out"
    before = (out / "compare" / "compare.csv").read_bytes()
    plan_project(clinics["project"], out, with_map=False, with_sheets=False)
    assert (out / "compare" / "compare.csv").read_bytes() == before
    assert (out / "sites.csv").is_file()


def test_a_plan_a_satellite_and_the_sites_read_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = {"plans": 0, "reads": 0}
    plans, reads = job.plan_checked, job.opened

    def planned(*args: Any, **more: Any) -> Any:
        calls["plans"] += 1
        return plans(*args, **more)

    def opened(*args: Any) -> Any:
        calls["reads"] += 1
        return reads(*args)

    monkeypatch.setattr(job, "plan_checked", planned)
    monkeypatch.setattr(job, "opened", opened)
    compare_satellites(
        make(tmp_path / "trial"), satellites(tmp_path, "One,-60", "Two,-62"), tmp_path / "out"
    )
    assert calls == {"plans": 3, "reads": 1}


def test_one_that_no_site_sees_is_a_row_too(tmp_path: Path) -> None:
    done = compare_satellites(
        make(tmp_path / "trial"), satellites(tmp_path, "Beyond,120"), tmp_path / "out"
    )
    assert "below the horizon of every one of the 2 sites" in done.comparison.slots[1].reason
    assert done.sheets == 0
    assert not (tmp_path / "out" / "compare" / "repointing").exists()
    assert len(rows_of(tmp_path / "out" / "compare" / "repointing.csv")) == 0


def test_beams_of_the_project_and_of_a_satellite(tmp_path: Path) -> None:
    beam = '[[beams]]\nname = "{}"\nlat = -3.1\nlon = {}\nmajor_deg = 1.0\nminor_deg = 1.0\n'
    project = make(tmp_path / "trial", NETWORK + beam.format("ours", -60.0))
    (tmp_path / "b.toml").write_text(beam.format("theirs", -48.5))
    file = satellites(tmp_path, "Same,-61,", "Spot,-60,b.toml", head="name,longitude_deg,beams")
    of = compare_satellites(project, file, tmp_path / "out").comparison
    ours, same, spot = of.slots
    assert (ours.outside_beam, same.outside_beam, spot.outside_beam) == (1, 1, 1)
    assert [k for s in of.sites if s is not None for k in np.flatnonzero(s.served)] == [0, 0, 1]
    assert of.best.tolist() == ["Ours (as planned)", "Spot"]
    turns = of.repointing
    assert turns[1] is not None
    assert turns[2] is not None
    assert turns[1].fits.tolist() == ["yes", ""]
    assert turns[2].fits.tolist() == ["outside_beam", ""]
    plan = plain_plan(project, tmp_path)
    assert slot_of(ours.name, plan, own=True) == ours


def test_an_area_leaves_sites_outside_without_kit(tmp_path: Path) -> None:
    square = [[[-65, -10], [-55, -10], [-55, 5], [-65, 5], [-65, -10]]]
    shape = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon",
             "coordinates": square}}  # fmt: skip
    (tmp_path / "area.geojson").write_text(json.dumps(shape))
    file = satellites(tmp_path, "Zone,-61,area.geojson", head="name,longitude_deg,area")
    of = compare_satellites(make(tmp_path / "trial"), file, tmp_path / "out").comparison
    assert (of.slots[1].with_kit, of.slots[1].outside_beam) == (1, 1)


def test_names_alike_are_told_apart(tmp_path: Path) -> None:
    file = satellites(tmp_path, "Ours (as planned),-60", "Ours,-62")
    of = compare_satellites(make(tmp_path / "trial"), file, tmp_path / "out").comparison
    assert len({slot.name for slot in of.slots}) == 3


def test_too_many_sheets_are_left_out_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(job, "SHEETS_UP_TO", 3)
    project, out = make(tmp_path / "trial"), tmp_path / "out" / "compare"
    file = satellites(tmp_path, "One,-60", "Two,-62")
    assert compare_satellites(project, file, tmp_path / "out").sheets == 0
    assert not (out / "repointing").exists()
    assert "No sheets: there would be 4." in (out / "compare.html").read_text(encoding="utf-8")
    assert len(rows_of(out / "repointing.csv")) == 4
    satellites(tmp_path, "One,-60")
    assert compare_satellites(project, file, tmp_path / "out").sheets == 2
    assert [p.name for p in (out / "repointing").iterdir()] == ["One.html"]


# --- the command ----------------------------------------------------------------------------


def test_the_command_ends_as_others_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    project = make(tmp_path / "trial", NETWORK + HUB)
    file = satellites(tmp_path, "Near,60W", "Far,100E")
    out = ["--output", str(tmp_path / "out")]
    assert main(["compare", str(project), "--satellites", str(file), *out]) == 0
    shown = capsys.readouterr().out
    assert "3 satellites for 2 sites" in shown
    assert "No plan with Far: The hub does not see" in shown
    assert "2 sheets to turn dishes by" in shown
    with (project / "sites.csv").open("a") as more:
        more.write("C,Third,north,1\n")
    assert main(["compare", str(project), "--satellites", str(file), *out, "--quiet"]) == 1
    assert capsys.readouterr().out == ""
    satellites(tmp_path, "Near,x")
    assert main(["compare", str(project), "--satellites", str(file), *out]) == 2
    assert "satellites.csv, row 2, longitude_deg = 'x'" in capsys.readouterr().err
    assert (tmp_path / "out" / "compare" / "compare.csv").is_file(), "the last good one stays"


@pytest.mark.parametrize("more", [[], ["new", "--satellites", "s.csv"]])
def test_exactly_one_of_both_is_asked_for(
    more: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["compare", "trial", *more])
    told = capsys.readouterr().err
    assert "siteplan compare PROJECT --satellites FILE" in told
    assert "siteplan compare OLD NEW" in told


def test_the_file_of_satellites_is_not_overwritten(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    project, out = make(tmp_path / "trial"), tmp_path / "out"
    (out / "compare").mkdir(parents=True)
    file = satellites(out / "compare", "Near,60W")
    command = ["compare", str(project), "--satellites", str(file), "--output", str(out)]
    assert main(command) == 2
    assert "satellites.csv is read from there" in capsys.readouterr().err


def test_too_many_sites_for_a_map_are_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the console and on the page; what each site's best satellite is stands in the table."""
    monkeypatch.setattr(job, "MAP_TABLE_SITES", 1)
    project, file = make(tmp_path / "two"), satellites(tmp_path, "East,-45")
    out = tmp_path / "out"
    assert main(["compare", str(project), "--satellites", str(file), "--output", str(out)]) == 0
    assert "no map: 2 sites are too many" in " ".join(capsys.readouterr().out.split())
    assert not (out / "compare" / "map.html").exists()
    assert "No map: more than 1 sites" in (out / "compare" / "compare.html").read_text("utf-8")
    assert all(row["best_slot"] for row in rows_of(out / "compare" / "compare_sites.csv"))
