"""A sample with applications, costs over the years, kit by cost, and waves: in parts as whole."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import budget_project, plan_one, plan_project, read_network
from siteplan.jobs import products
from siteplan.jobs.parts import spread
from siteplan.jobs.plan import Outcome
from siteplan.planning.coverage import cover
from siteplan.planning.coverage.grid import make_grid
from siteplan.results import Plan

SAMPLE = Path(__file__).parents[2] / "frozen" / "inputs" / "river_clinics"
MORE = """
[[applications]]
name = "records"
profile = "transaction"
[[applications]]
name = "calls"
profile = "voice"
sessions = 2
[[applications]]
name = "lessons"
profile = "video"
outbound_kbit_s = 1000

[rollout]
sites_per_week = 7
start = 2027-01-11
"""
COSTS = """
hub_capex = 50000
lease_mhz_month = 3100
recurring_site_month = 25
spectrum_fee_site_year = 60
power_kwh = 0.3
line_month = 700
line_fixed = 100
line_per_km = 2
"""
SUMMARY = ("sites", "served", "verdict", "counts", "fewest", "capacity", "cost", "life_cost")
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False}


def changed(text: str) -> str:
    """Return the sample's network with the keys of this file: it has prices of kit already."""
    text = text.replace("\n[costs]\n", f"\n[costs]{COSTS}")
    text = text.replace("\n[network]\n", '\n[network]\napplications = ["records"]\n')
    return f'{text}\n[rules]\npick = "cost"\n{MORE}'


def with_columns(path: Path) -> None:
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    for k, row in enumerate(rows):
        row["applications"] = ("", "calls", "records; calls", "lessons")[k % 4]
        row["line_cost_month"] = str(300 + 5 * k) if k % 5 == 0 else ""
        row["line_km"] = str(10 + 7 * k) if k % 3 == 0 else ""
        row["wave"] = str(1 + k // 25)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    path = folder / "network.toml"
    path.write_text(changed(path.read_text(encoding="utf-8")), encoding="utf-8")
    with_columns(folder / "sites.csv")
    return folder


@pytest.fixture(scope="module")
def outcome(project: Path) -> Outcome:
    return plan_project(project, project.parent / "whole", **QUIET)


@pytest.fixture(scope="module")
def whole(outcome: Outcome) -> Plan:
    assert outcome.plan is not None
    return outcome.plan


def test_the_keys_count(whole: Plan) -> None:
    """Else the rest of this file would say little."""
    costs, c = whole.facts.costs, whole.columns
    assert costs is not None
    assert costs.known > 40
    assert 0 < costs.line_cheaper < costs.lined
    assert len(set(c["buc_w"][~np.isnan(c["buc_w"])].tolist())) > 1
    load = whole.facts.capacity.pools[0].load  # type: ignore[union-attr]
    assert {d.name for d in load.demands} == {"records", "calls", "lessons"}


@pytest.mark.parametrize("read_back", [True, False])
def test_parts_give_the_whole(
    project: Path,
    outcome: Outcome,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    read_back: bool,
) -> None:
    """The table of sites, the lease, the roll-out and what the summary tells, to the last byte."""
    monkeypatch.setattr(spread, "PART_SITES", 25)
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert (parts.plan is not None) == read_back
    names = ["sites.csv", "lease.csv", *ROLLOUT]
    for name in names:
        assert (parts.folder / name).read_bytes() == (outcome.folder / name).read_bytes(), name
    for key in SUMMARY:
        assert parts.summary[key] == outcome.summary[key], key
    page = (parts.folder / "report.html").read_text(encoding="utf-8")
    assert "Cost over the years" in page
    assert "Roll-out" in page
    if parts.plan is not None:
        assert parts.plan.facts.costs == outcome.plan.facts.costs  # type: ignore[union-attr]
        for name, values in parts.plan.columns.items():
            np.testing.assert_array_equal(values, outcome.plan.columns[name], err_msg=name)


ROLLOUT = ("rollout.csv", "rollout_periods.csv", "kit_by_wave.csv")


def test_the_parts_of_the_lease_add_up(whole: Plan) -> None:
    c, costs = whole.columns, whole.network.costs
    here = ~np.isnan(c["monthly_cost"])
    own = 25 + 60 / 12 + 0.3 * c["buc_dc_w"] * 730.5 / 1000
    lease = np.sum(c["monthly_cost"][here] - own[here])
    capacity = whole.facts.capacity
    assert capacity is not None
    assert lease == pytest.approx((costs.lease_mhz_month or 0) * capacity.leased_mhz, rel=1e-9)


def test_one_place_is_planned_as_in_the_list(project: Path, whole: Plan) -> None:
    """Sites of the network's own applications get the kit that the list has for them."""
    c = whole.columns
    usual = (c["applications"] == "records") & (c["kit_source"] == "picked")
    i = int(np.flatnonzero(usual & (c["altitude_source"] != "given"))[0])
    one = plan_one(
        str(c["lat"][i]),
        str(c["lon"][i]),
        network=project / "network.toml",
        availability_pct=float(c["availability_target_pct"][i]),
    ).columns
    for name in ("margin_db", "antenna_m", "buc_w", "own_mhz", "hop_delay_ms", "capex"):
        if name != "capex":
            assert one[name][0] == pytest.approx(c[name][i], abs=1e-9), name


def test_a_budget_is_that_of_the_pair_that_was_picked(project: Path, whole: Plan) -> None:
    i = int(np.flatnonzero(whole.columns["kit_source"] == "picked")[3])
    found = budget_project(project, str(whole.columns["site_id"][i]))
    assert (found.antenna_m, found.buc_w) == tuple(
        whole.columns[name][i] for name in ("antenna_m", "buc_w")
    )
    assert found.margin_db == pytest.approx(whole.columns["margin_db"][i], abs=1e-9)


def test_coverage_has_the_target_of_applications_and_its_own_kit(project: Path) -> None:
    """Its reference kit stands at every point: what is picked elsewhere changes nothing."""
    network = read_network(project / "network.toml")
    grid = make_grid((-8, -70, 0, -58), 4.0)
    rules = network.rules.model_copy(update={"pick": "smallest"})
    general = network.network.model_copy(update={"applications": (), "availability_pct": 99.7})
    found = cover.cover(grid, network)
    for other in ({"rules": rules}, {"network": general}):
        again = cover.cover(grid, network.model_copy(update=other))
        for name, values in found.columns.items():
            np.testing.assert_array_equal(values, again.columns[name], err_msg=name)
