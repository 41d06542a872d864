"""siteplan availability, end to end; and monitoring/ of a whole plan and of one in parts."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from siteplan.api import availability_outputs, availability_project, plan_project
from siteplan.cli import main
from siteplan.errors import OutputError, SitesError
from siteplan.jobs.parts import spread

SAMPLE = Path(__file__).parents[2] / "frozen" / "inputs" / "river_clinics"
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False, "with_report": False}
LOG = """site_id,from,to,cause,counted
RC001,2025-01-03T00:00Z,2025-01-03T09:00Z,rain,
RC001,2025-01-03 05:00,2025-01-03 08:00,power,
RC002,2025-06-01T00:00Z,,equipment,
RC999,2025-06-01T00:00Z,2025-06-02T00:00Z,rain,
RC003,2025-06-01T00:00Z,2025-06-02T00:00Z,maintenance,no
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "outages.csv"
    path.write_text(LOG, encoding="utf-8")
    return path


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_command_writes_and_tells(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    output = tmp_path / "out"
    span = ["--from", "2025-01-01T00:00Z", "--until", "2025-12-31T00:00Z"]
    code = main(["availability", str(SAMPLE), str(log), *span, "--output", str(output)])
    assert code == 1  # a row was rejected
    told = capsys.readouterr().out
    assert "RC999" in told
    assert "Written to" in told
    found = rows(output / "availability" / "availability.csv")
    whole = {r["site_id"]: r for r in found if (r["month"], r["cause"]) == ("all", "all")}
    assert len(whole) == 62
    # Manaus: 05:00 to 08:00 is 09:00 to 12:00 UTC, which touches the rain.
    assert (whole["RC001"]["outage_min"], whole["RC001"]["outages"]) == ("720", "1")
    assert float(whole["RC002"]["outage_min"]) == 213 * 1440
    assert (whole["RC003"]["outage_min"], whole["RC003"]["apart_min"]) == ("0", "1440")
    rejects = rows(output / "availability" / "availability_rejects.csv")
    assert [r["site_id"] for r in rejects] == ["RC999"]


def test_quiet_prints_nothing(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(
        [*("availability", str(SAMPLE), str(log), "--until", "2026-01-01"),
         *("--output", str(tmp_path / "out"), "--quiet")]
    )  # fmt: skip
    assert capsys.readouterr().out == ""


def test_without_until_an_open_end_is_a_reject(log: Path) -> None:
    found = availability_project(SAMPLE, log)
    assert [(r.site_id, r.key) for r in found.rejects] == [("RC002", "to"), ("RC999", "site_id")]


def test_a_later_plan_leaves_it_alone(log: Path, tmp_path: Path) -> None:
    output = tmp_path / "out"
    _, folder = availability_outputs(SAMPLE, log, output, until="2026-01-01")
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    plan_project(SAMPLE, output, **QUIET)
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_the_log_is_not_written_over(tmp_path: Path) -> None:
    inside = tmp_path / "out" / "availability" / "availability.csv"
    inside.parent.mkdir(parents=True)
    inside.write_text(LOG, encoding="utf-8")
    with pytest.raises(OutputError, match=r"availability"):
        availability_outputs(SAMPLE, inside, tmp_path / "out", until="2026-01-01")


def test_a_log_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(SitesError, match=r"nowhere.csv"):
        availability_project(SAMPLE, tmp_path / "nowhere.csv")


def test_parts_give_the_same_monitoring(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    project = tmp_path / "river"
    shutil.copytree(SAMPLE, project)
    whole = plan_project(project, tmp_path / "whole", **QUIET)
    monkeypatch.setattr(spread, "PART_SITES", 20)
    parts = plan_project(project, tmp_path / "parts", workers=0, **QUIET)
    assert whole.plan is not None
    for name in ("sites.json", "sites.csv", "sites.prom", "sites.schema.json"):
        own = (tmp_path / "whole" / "monitoring" / name).read_bytes()
        assert (tmp_path / "parts" / "monitoring" / name).read_bytes() == own
    found = json.loads((tmp_path / "whole" / "monitoring" / "sites.json").read_bytes())
    kit = [r for r in rows(tmp_path / "whole" / "sites.csv") if r["antenna_m"] and r["buc_w"]]
    assert [site["site_id"] for site in found["sites"]] == [r["site_id"] for r in kit]
    assert parts.folder == tmp_path / "parts"


def test_a_plan_without_kit_has_no_monitoring(tmp_path: Path) -> None:
    project = tmp_path / "none"
    project.mkdir()
    (project / "sites.csv").write_text("site_id,lat,lon\nA,-3,-60\n", encoding="utf-8")
    text = "[satellite]\nlongitude_deg = -61\n[outbound]\nsatellite_eirp_dbw = 5\n"
    (project / "network.toml").write_text(text, encoding="utf-8")
    plan_project(project, tmp_path / "out", **QUIET)
    assert not (tmp_path / "out" / "monitoring").exists()
