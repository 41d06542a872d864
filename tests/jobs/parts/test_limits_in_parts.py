"""A sample under an off-axis mask: in parts and as a whole, as a budget, and as it was built."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import numpy as np
import pytest

from siteplan.api import asbuilt_project, budget_project, plan_project
from siteplan.inputs.returned import COLUMNS
from siteplan.jobs.parts import spread
from siteplan.results import Plan

SAMPLE = Path(__file__).parents[2] / "frozen" / "inputs" / "river_clinics"
#: What a plan in parts may tell of otherwise than a whole one.
SUMMARY = ("sites", "served", "verdict", "counts", "fewest", "limits")


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with the mask of 47 CFR for Ku band, three terminals at once."""
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    rule = '\n[regulation]\nmasks = ["47cfr25_ku"]\nsimultaneous_terminals = 3\n'
    with (folder / "network.toml").open("a", encoding="utf-8") as file:
        file.write(rule)
    return folder


@pytest.fixture(scope="module")
def whole(project: Path) -> Plan:
    plan = plan_project(project, project.parent / "whole", with_map=False, with_sheets=False).plan
    assert plan is not None
    return plan


def test_the_sample_is_cut(whole: Plan) -> None:
    """Else the rest of this file would say little."""
    flags = [set(x.split(";")) for x in whole.columns["flags"].tolist()]
    assert sum("power_cut" in x for x in flags) > 20
    assert sum("off_axis_exceeded" in x for x in flags) > 3
    assert sum(not {"power_cut", "off_axis_exceeded"} & x for x in flags) > 3


def test_parts_give_the_whole_bit_for_bit(
    project: Path, whole: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 25)
    quiet = {"with_map": False, "with_sheets": False}
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **quiet)
    assert parts.plan is not None
    assert list(parts.plan.columns) == list(whole.columns)
    for name, values in whole.columns.items():
        np.testing.assert_array_equal(parts.plan.columns[name], values, err_msg=name)
    assert parts.plan.facts.remedies == whole.facts.remedies
    rows = [
        (folder / "sites.csv").read_bytes() for folder in (project.parent / "whole", parts.folder)
    ]
    assert rows[0] == rows[1]
    again = plan_project(project, tmp_path / "again", **quiet).summary
    assert {k: parts.summary[k] for k in SUMMARY} == {k: again[k] for k in SUMMARY}


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    for by in ("47cfr25_ku", ""):
        here = (whole.columns["power_cut_by"] == by) & ~np.isnan(whole.columns["tx_power_w"])
        i = int(np.flatnonzero(here)[0])
        budget = budget_project(project, str(whole.columns["site_id"][i]))
        assert budget.margin_db == pytest.approx(whole.columns["margin_db"][i], abs=1e-9)
        lines = {line.code: line for line in budget.way("inbound").lines}
        assert ("power_cut_mask" in lines) == (by != "")


def test_a_site_that_is_cut_is_accepted_as_any(project: Path, whole: Plan) -> None:
    """What the crew measures is the outbound carrier: the mask changes nothing of it."""
    c = whole.columns
    i = int(np.flatnonzero((c["power_cut_by"] == "47cfr25_ku") & (c["kit_source"] == "picked"))[0])
    row = {
        "site_id": c["site_id"][i], "lat": c["lat"][i], "lon": c["lon"][i],
        "c_n_db": round(float(c["expected_c_n_db"][i]), 1),
    }  # fmt: skip
    path = project.parent / "returned.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        writer.writerow(row)
    found = asbuilt_project(project, path).columns
    assert found["c_n_difference_db"][0] == pytest.approx(0, abs=0.06)
