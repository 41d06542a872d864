"""A sample with neighbours, another polarization and a mask: in parts, as a budget, as built."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from siteplan.api import budget_project, plan_project
from siteplan.jobs.parts import spread
from siteplan.results import Plan
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
#: What a plan in parts may tell of otherwise than a whole one.
SUMMARY = ("sites", "served", "verdict", "counts", "fewest", "limits")


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with the mask of 47 CFR for Ku band, and all that interferes."""
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    rule = '\n[regulation]\nmasks = ["47cfr25_ku"]\nsimultaneous_terminals = 3\n'
    others = "".join(
        f"\n[[neighbours]]\nlongitude_deg = {deg}\nuplink_dbw_40khz = -6\n"
        for deg in (-63.5, -58.5)
    )
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8")
    for way in ("outbound", "inbound"):
        text = text.replace(f"\n[{way}]\n", f"\n[{way}]\ncross_polar_level_db = -3\n")
    pointing = "\n[terminal]\npointing_error_deg = 0.2\n"
    path.write_text(text + rule + others + pointing, encoding="utf-8")
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


def test_what_interferes_is_in_the_plan(whole: Plan) -> None:
    for name in ("outbound_ci_db", "inbound_ci_db", "outbound_xpd_db", "neighbour_separation_deg"):
        assert not np.isnan(whole.columns[name][~np.isnan(whole.columns["tx_power_w"])]).any()


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    for by in ("47cfr25_ku", ""):
        here = (whole.columns["power_cut_by"] == by) & ~np.isnan(whole.columns["tx_power_w"])
        i = int(np.flatnonzero(here)[0])
        budget = budget_project(project, str(whole.columns["site_id"][i]))
        assert budget.margin_db == pytest.approx(whole.columns["margin_db"][i], abs=1e-9)
        lines = {line.code: line for line in budget.way("inbound").lines}
        assert {"ci_stations", "ci_hub_satellites", "ci_rain", "ci_all"} <= lines.keys()
        assert ("power_cut_mask" in lines) == (by != "")


def test_a_site_that_is_cut_is_accepted_as_any(project: Path, whole: Plan) -> None:
    """What the crew measures is the outbound carrier: the mask changes nothing of it."""
    c = whole.columns
    i = int(np.flatnonzero((c["power_cut_by"] == "47cfr25_ku") & (c["kit_source"] == "picked"))[0])
    found = as_expected(project, whole, i).columns
    assert found["c_n_difference_db"][0] == pytest.approx(0, abs=ROUNDED_DB)
