"""A sample with traffic, lease, a level and spared power: in parts, as a budget, as built."""

from __future__ import annotations

import csv
import json
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
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
MORE = """
[traffic]
outbound_kbit_s = 300
activity = 0.3
growth_pct = 15
sites_growth_pct = 5
years = 6

[lease]
guard_pct = 6
"""
#: What a plan in parts may tell of otherwise than a whole one.
SUMMARY = ("sites", "served", "verdict", "counts", "fewest", "limits", "capacity")
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False}


def with_traffic(path: Path) -> None:
    """Give each third site a rate of its own inbound, one with its unit, one that is no rate."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    for k, row in enumerate(rows):
        row["inbound_kbit_s"] = str(100 + 7 * k) if k % 3 == 0 else ""
    rows[1]["inbound_kbit_s"], rows[2]["inbound_kbit_s"] = "0.5 Mbit/s", "-3"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with the keys of capacity, of a level and of power that is spared."""
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8")
    keys = {"outbound": "level_db = 1.5", "inbound": "clear_sky_reduction_db = 2"}
    for way, key in keys.items():
        text = text.replace(f"\n[{way}]\n", f"\n[{way}]\n{key}\ncross_polar_level_db = 3\n")
    path.write_text(text + MORE, encoding="utf-8")
    with_traffic(folder / "sites.csv")
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
    found = whole.facts.capacity
    assert found is not None
    (pool,) = found.pools
    # Each third of 62, and the one with its unit; those that get no kit are not counted.
    assert 22 - pool.load.left_out <= pool.load.told[1] <= 22
    assert pool.overflows
    assert not found.traffic_assumed
    spared = whole.columns["power_cut_by"] == "clear_sky_reduction"
    assert spared.sum() + (whole.columns["power_cut_by"] == "share").sum() > 20
    assert "power_share" in ";".join(whole.columns["flags"])


@pytest.mark.parametrize("read_back", [True, False])
def test_parts_give_the_whole(
    project: Path,
    outcome: Outcome,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    read_back: bool,
) -> None:
    """The table of sites, the lease and what the summary tells of it, to the last byte."""
    monkeypatch.setattr(spread, "PART_SITES", 25)
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert (parts.plan is not None) == read_back
    for name in ("sites.csv", "lease.csv"):
        assert (parts.folder / name).read_bytes() == (outcome.folder / name).read_bytes(), name
    for key in SUMMARY:
        assert parts.summary[key] == outcome.summary[key], key
    assert "Capacity and lease" in (parts.folder / "report.html").read_text(encoding="utf-8")
    if parts.plan is not None:
        for name, values in parts.plan.columns.items():
            np.testing.assert_array_equal(values, outcome.plan.columns[name], err_msg=name)


def test_the_lease_is_that_of_the_sites(whole: Plan, outcome: Outcome) -> None:
    """Worked anew from the table of sites: offered traffic, carriers, the strongest terminal."""
    c = whole.columns
    kit = ~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"])
    with (outcome.folder / "lease.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    inbound = [row for row in rows if row["direction"] == "inbound"]
    strongest = np.nanmax(c["power_equivalent_mhz"][kit])
    occupied = whole.network.inbound.occupied_mhz
    each = max(strongest, occupied * 1.06)
    assert float(inbound[0]["power_equivalent_mhz"]) == pytest.approx(strongest, abs=1e-6)
    assert float(inbound[0]["leased_mhz"]) == pytest.approx(each, abs=1e-6)
    (out,) = [row for row in rows if row["direction"] == "outbound"]
    power = whole.network.outbound.occupied_mhz * 10**0.15
    assert float(out["leased_mhz"]) == pytest.approx(power, abs=1e-6)
    assert float(out["balance_db"]) == 1.5
    total = rows[-1]
    assert total["direction"] == "all"
    assert int(total["number"]) == len(rows) - 1
    sum_mhz = power + len(inbound) * each
    assert sum_mhz - 1e-6 <= float(total["leased_mhz"]) < sum_mhz + 0.1
    told = json.loads((outcome.folder / "summary.json").read_text(encoding="utf-8"))["capacity"]
    assert told["leased_mhz"] == float(total["leased_mhz"])


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    for by in ("share", "clear_sky_reduction"):
        here = (whole.columns["power_cut_by"] == by) & ~np.isnan(whole.columns["tx_power_w"])
        for i in np.flatnonzero(here)[:1].tolist():
            budget = budget_project(project, str(whole.columns["site_id"][i]))
            assert budget.margin_db == pytest.approx(whole.columns["margin_db"][i], abs=1e-9)
            out = {line.code: line for line in budget.way("outbound").lines}
            back = {line.code: line for line in budget.way("inbound").lines}
            assert out["level"].values == (1.5, 1.5, 1.5)
            assert {"power_spared", "power_cut"} <= back.keys()
            lowered = back["power_spared"].values[0]
            total = lowered + back["power_cut"].values[0]
            assert total == pytest.approx(whole.columns["power_cut_db"][i], abs=1e-9)
            told = whole.network.inbound.ci_db
            if lowered:
                assert back["ci_moved"].values[0] == pytest.approx(told - lowered, abs=1e-9)
            moved = whole.network.outbound.ci_db + 1.5
            assert out["ci_moved"].values[0] == pytest.approx(moved, abs=1e-9)


def test_one_place_is_planned_as_in_the_list(project: Path, whole: Plan) -> None:
    c = whole.columns
    given = (c["kit_source"] == "picked") & (c["altitude_source"] != "given")
    i = int(np.flatnonzero(given)[0])
    one = plan_one(
        str(c["lat"][i]),
        str(c["lon"][i]),
        network=project / "network.toml",
        availability_pct=float(c["availability_target_pct"][i]),
    ).columns
    for name in ("margin_db", "antenna_m", "power_cut_db", "power_equivalent_mhz"):
        assert one[name][0] == pytest.approx(c[name][i], abs=1e-9), name


def test_coverage_has_the_level(project: Path) -> None:
    """A stronger carrier asks for no larger antenna anywhere, and for a smaller one somewhere."""
    network = read_network(project / "network.toml")
    out = network.outbound.model_copy(update={"level_db": -4.0})
    weaker = network.model_copy(update={"outbound": out})
    grid = make_grid((-8, -70, 0, -58), 2.0)
    strong, weak = (cover.cover(grid, n).columns["required_antenna_m"] for n in (network, weaker))
    both = ~np.isnan(strong) & ~np.isnan(weak)
    assert np.all(strong[both] <= weak[both] + 1e-6)
    assert np.any(strong[both] < weak[both] - 0.05)


def test_a_site_is_accepted_at_the_level_that_it_is_planned_with(
    project: Path, whole: Plan
) -> None:
    c = whole.columns
    i = int(np.flatnonzero(c["kit_source"] == "picked")[0])
    found = as_expected(project, whole, i).columns
    assert found["c_n_difference_db"][0] == pytest.approx(0, abs=ROUNDED_DB)
