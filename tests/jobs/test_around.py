"""Obstructions from the project folder into plan, rejects, exit codes; what the samples show."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import numpy as np
import pytest

from siteplan.api import asbuilt_project, plan_project, plan_sites
from siteplan.cli import main
from siteplan.jobs.opened import open_project
from siteplan.results import Plan
from tests.samples import FROZEN, LIVE


def planned(name: str) -> Plan:
    found = open_project(LIVE / name)
    assert found.rejects == ()
    return plan_sites(found.site_list, found.network, around=found.around, with_tables=True)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "small"
    folder.mkdir()
    (folder / "network.toml").write_text("[satellite]\nlongitude_deg = 13\n", encoding="utf-8")
    (folder / "sites.csv").write_text("site_id,lat,lon\nA1,46,7\nA2,46.5,400\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("name", "blocked", "tight"),
    [
        ("river_clinics", {"RC003"}, {"RC032"}),
        ("fjord_substations", {"FS-09", "FS-40"}, {"FS-12", "FS-44"}),
    ],
)
def test_samples_show_what_their_readmes_say(name: str, blocked: set[str], tight: set[str]) -> None:
    plan = planned(name)
    ids, flags = plan.columns["site_id"], plan.columns["flags"]
    for code, wanted in (("blocked", blocked), ("sky_tight", tight)):
        assert {i for i, f in zip(ids, flags, strict=True) if code in f.split(";")} == wanted
        text = (LIVE / name / "README.md").read_text(encoding="utf-8")
        assert all(site in text for site in wanted)
    surveyed = ~np.isnan(plan.columns["clearance_deg"])
    assert (surveyed == ~np.isnan(plan.tables["horizon_deg"][:, 0])).all()


def test_unknown_sites_are_rejected_and_told(project: Path, tmp_path: Path) -> None:
    text = "site_id,azimuth_deg,elevation_deg\nA1,170,60\nNOPE,170,60\nA2,170,60\n"
    (project / "obstructions.csv").write_text(text, encoding="utf-8")
    outcome = plan_project(project, tmp_path / "out", with_map=False, with_sheets=False)
    # A2 is a rejected site: its obstacle is passed over, not rejected a second time.
    assert [(r.site_id, r.key) for r in outcome.rejects] == [("A2", "lon"), ("NOPE", "site_id")]
    with (tmp_path / "out" / "rejects.csv").open(encoding="utf-8") as file:
        assert [row["site_id"] for row in csv.DictReader(file)] == ["A2", "NOPE"]
    assert "blocked" in outcome.plan.columns["flags"][0].split(";")


def test_exit_code_tells_of_rejected_obstacles(project: Path) -> None:
    (project / "sites.csv").write_text("site_id,lat,lon\nA1,46,7\n", encoding="utf-8")
    assert main(["check", str(project)]) == 0
    text = "site_id,azimuth_deg,elevation_deg\nNOPE,170,60\n"
    (project / "obstructions.csv").write_text(text, encoding="utf-8")
    assert main(["check", str(project)]) == 1


def test_what_came_back_in_the_sample(tmp_path: Path) -> None:
    """Each mistake that the sample's file makes on purpose is found."""
    folder = tmp_path / "fjord_substations"
    shutil.copytree(FROZEN / "fjord_substations", folder)
    found = asbuilt_project(folder, LIVE / folder.name / "returned.csv")
    causes = dict(zip(found.columns["site_id"], found.columns["causes"], strict=True))
    assert causes == {
        "FS-01": "",
        "FS-02": "moved",
        "FS-03": "mispointed",
        "FS-04": "magnetic_bearing",
        "FS-05": "offset_reading",
        "FS-06": "wrong_skew",
        "FS-07": "wet_cable;low_voltage",
        "FS-08": "blocked",
        "FS-10": "unexplained",
        "FS-11": "",
        "FS-12": "",
    }
    assert found.rejects == ()
    counts = {"accepted": 5, "accepted but not served": 0, "not accepted": 5, "incomplete": 1}
    assert found.counts == counts | {"nothing to accept": 0}
