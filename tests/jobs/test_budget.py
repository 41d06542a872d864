"""One site's link budget of a project: who is asked for, what is refused, where it is written."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest

import siteplan
from siteplan.cli import main
from siteplan.errors import OutputError, ProjectError
from siteplan.jobs.sheets import refuse_unknown
from siteplan.results import Plan
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "trial"
    folder.mkdir()
    sites = "site_id,name,lat,lon\nMILL-1,Mill,-3.10,-60.02\nMILL-2,,95,-48.49\nFAR,,10,120\n"
    (folder / "sites.csv").write_text(sites)
    (folder / "network.toml").write_text("[satellite]\nlongitude_deg = -61\n")
    return folder


@pytest.fixture(scope="module")
def plan() -> Plan:
    _, site_list, network = siteplan.read_project(SAMPLE)
    return siteplan.plan_sites(site_list, network)


def test_a_site_of_a_folder_has_the_budget_of_the_plan(plan: Plan) -> None:
    site = str(plan.columns["site_id"][6])
    of_plan, of_folder = siteplan.budget(plan, site), siteplan.budget_project(SAMPLE, site)
    assert of_folder.margin_db == pytest.approx(of_plan.margin_db, abs=1e-9)
    for ours, theirs in zip(of_plan.ways, of_folder.ways, strict=True):
        for a, b in zip(ours.lines, theirs.lines, strict=True):
            assert a.values == pytest.approx(b.values, abs=1e-9, nan_ok=True)
            assert (a.label, a.basis, a.source) == (b.label, b.basis, b.source)


def test_a_site_that_is_not_there(plan: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ProjectError, match=r"there is no site 'RC01'.*Is it RC0"):
        siteplan.budget(plan, "RC01")
    assert main(["budget", str(SAMPLE), "RC01"]) == 2
    assert "there is no site 'RC01'" in capsys.readouterr().err


def test_a_name_is_answered_with_its_id(project: Path) -> None:
    """Planners know sites by name: where one has it, its id is told, wherever one asks."""
    read = siteplan.read_project(project)[1].sites
    (name, site), *_ = zip(read.name.tolist(), read.site_id.tolist(), strict=True)
    told = rf"of the id '{name.upper()}'\. The site of this name has the id {site}"
    with pytest.raises(ProjectError, match=told):
        siteplan.budget_project(project, name.upper())
    with pytest.raises(ProjectError, match=told):
        siteplan.sheets_project(project, only=[name.upper()])


@pytest.mark.parametrize(
    ("names", "fix"),
    [
        (["Mill", "mill", "Ford"], "Is it Mill 2"),
        (["mill 2", "mill 2", "Ford"], "2 sites have this name: give the id of one, A or B."),
        (["MILL 2", "Mill  2", "mill 2"], "The site of this name has the id C: give that."),
    ],
)
def test_a_name_that_several_have(names: list[str], fix: str) -> None:
    ids = ["A", "B", "C"] if "2 " in fix or "id C" in fix else ["Mill 2x", "B", "C"]
    with pytest.raises(ProjectError, match=re.escape(fix)):
        refuse_unknown("site", ["mill 2"], ids, "list", names=names)


def test_a_site_whose_row_was_rejected(project: Path) -> None:
    with pytest.raises(ProjectError, match=r"site 'MILL-2' was rejected: row 3, lat = '95'"):
        siteplan.budget_project(project, "MILL-2")


def test_the_command_prints_and_writes(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, page = tmp_path / "b.csv", tmp_path / "b.html"
    asked = ["budget", str(project), "MILL-1", "--csv", str(table), "--page", str(page)]
    assert main(asked) == 0
    told = capsys.readouterr().out
    assert "Link budget of MILL-1 Mill" in told
    assert "Total C/(N0+I0), power sum" in told
    assert f"Written to {page}" in told
    with table.open(encoding="utf-8", newline="") as file:
        written = list(csv.DictReader(file))
    margins = [float(row["site_faded"]) for row in written if row["line"] == "Margin"]
    assert min(margins) == pytest.approx(siteplan.budget_project(project, "MILL-1").margin_db,
                                         abs=1e-4)  # fmt: skip
    assert main(asked) == 0  # ours are replaced


def test_below_the_horizon_is_an_answer(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    site_list = siteplan.read_sites(project / "sites.csv")
    plan = siteplan.plan_sites(site_list, siteplan.read_network(project / "network.toml"))
    budget = siteplan.budget(plan, "FAR")
    assert budget.ways == ()
    assert np.isnan(budget.margin_db)
    assert "below the horizon here: there is no link" in budget.notes[0]
    assert main(["budget", str(project), "FAR"]) == 0
    told = capsys.readouterr().out
    assert "below the horizon" in told
    assert "nan" not in told.lower()


def test_no_file_of_the_users_is_written_over(project: Path, tmp_path: Path) -> None:
    theirs = tmp_path / "mine.csv"
    theirs.write_text("a,b\n")
    budget = siteplan.budget_project(project, "MILL-1")
    for kind in ("csv", "page"):
        with pytest.raises(OutputError, match="it is no link budget"):
            siteplan.write_budget(budget, **{kind: theirs})
    assert theirs.read_text() == "a,b\n"
    with pytest.raises(OutputError, match="the budget cannot be written"):
        siteplan.write_budget(budget, csv=tmp_path / "none" / "b.csv")


def test_one_place_tells_its_budget(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["site", "-3.10", "-60.02", "--satellite", "-61"]
    assert main([*asked, "--budget"]) == 0
    whole = capsys.readouterr().out
    assert "Outbound, hub to site" in whole
    assert "does not place the hub" in whole
    assert main(asked) == 0
    assert "Outbound, hub to site" not in capsys.readouterr().out
