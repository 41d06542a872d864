"""Costs, applications, deviations and the worst month: what every answer for a site has alike.

One network has all of these keys. Coverage, one place, a budget, what-if and what came back rest
on the plan's own functions: each is held against the plan.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import (
    asbuilt_outputs,
    budget_project,
    coverage_project,
    plan_one,
    plan_sites,
    read_project,
)
from siteplan.cli import main
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.cost.life import FIELDS as OVER_THE_YEARS
from siteplan.planning.coverage import cover
from siteplan.planning.coverage.grid import make_grid
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected

NETWORK = """
[network]
date = 2026-06-01
availability_basis = "worst_month"
availability_pct = 99.0
applications = ["meters"]
[satellite]
longitude_deg = -61
[hub]
lat = -15.8
lon = -47.9
power_control_db = 5
[outbound]
satellite_eirp_dbw = 49
adaptive = true
[inbound]
adaptive = true
[[antennas]]
diameter_m = 0.98
price = 500
[[antennas]]
diameter_m = 1.2
price = 700
[[antennas]]
diameter_m = 1.8
price = 1500
[[bucs]]
rated_w = 1
price = 300
[[bucs]]
rated_w = 3
price = 900
[[mounts]]
kind = "pole"
price = 150
[[mounts]]
kind = "ground"
price = 200
[[applications]]
name = "meters"
profile = "scada"
availability_pct = 99.3
inbound_kbit_s = 120
outbound_kbit_s = 400
activity = 0.4
[[applications]]
name = "calls"
profile = "voice"
availability_pct = 99.5
[costs]
modem = 800
lnb = 90
cable = 1.5
visit = 300
installation_ground = 400
installation_pole = 350
ballast = 0
hub_capex = 9000
lease_mhz_month = 1000
recurring_site_month = 20
line_fixed = 100
line_per_km = 2
[rules]
pick = "cost"
[uncertainty]
eirp_db = 1
rain_pct = 50
"""
SITES = """site_id,lat,lon,applications,line_km,availability_pct
S1,-3.10,-60.02,,40,
S2,-8.76,-63.90,calls,300,
S3,-1.46,-48.49,meters;calls,,98.5
S4,-20.10,-55.30,,10,
S5,-12.00,-66.00,,,99.5
"""


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("keys") / "river"
    folder.mkdir()
    (folder / "network.toml").write_text(NETWORK, encoding="utf-8")
    (folder / "sites.csv").write_text(SITES, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def read(project: Path) -> tuple[Sites, Network]:
    _, site_list, network = read_project(project)
    return site_list.sites, network


@pytest.fixture(scope="module")
def plan(project: Path) -> Plan:
    _, site_list, network = read_project(project)
    return plan_sites(site_list, network)


def test_the_keys_count(plan: Plan, read: tuple[Sites, Network]) -> None:
    """Each moves something, so that the comparisons below tell."""
    sites, network = read
    c = plan.columns
    assert set(c["kit_source"].tolist()) == {"picked"}
    assert not np.isnan(c["life_cost"]).any()
    smallest = network.rules.model_copy(update={"pick": "smallest"})
    other = make_plan(sites, network.model_copy(update={"rules": smallest})).columns
    assert (other["antenna_m"] < c["antenna_m"]).any()
    assert c["availability_target_pct"].tolist() == [99.3, 99.5, 98.5, 99.3, 99.5]
    assert c["target_source"].tolist() == [
        *("application meters", "application calls", "sites table", "application meters"),
        "sites table",
    ]
    expected = 100 - 0.30 * (100 - c["availability_target_pct"]) ** 1.15  # ITU-R P.841-4
    np.testing.assert_allclose(c["annual_target_pct"], expected, atol=1e-9)
    sure = network.uncertainty.model_copy(update={"eirp_db": 0.5, "rain_pct": 30.0})
    surer = make_plan(sites, network.model_copy(update={"uncertainty": sure})).columns
    assert (surer["margin_spread_db"] < c["margin_spread_db"]).all()


def test_one_place_has_what_it_has_in_the_list(project: Path, plan: Plan) -> None:
    """All but its name, and what hub and lease cost when nobody shares them."""
    alone = {"site_id", "capex", "monthly_cost", "life_cost", "most_sensitive"}
    alone |= {"line_month", "line_life_cost", "cheaper_by", "breakeven_months", "target_source"}
    alone |= {"certainty", "certainty_next"}
    one = plan_one("-20.10", "-55.30", network=project / "network.toml").columns
    assert alone <= set(plan.columns)
    for name, values in plan.columns.items():
        if name in alone or name not in one:
            continue
        found = one[name][0]
        if isinstance(found, str):
            assert found == values[3], name
        elif name != "source_row":
            assert found == pytest.approx(values[3], abs=1e-9, nan_ok=True), name
    assert one["most_sensitive"][0] == plan.columns["most_sensitive"][3] != ""
    assert one["target_source"][0] == "application meters"


def test_the_page_of_one_place_tells_them(
    project: Path, plan: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["site", "-20.10", "-55.30", "--network", str(project / "network.toml")]
    assert main(asked) == 0
    told = capsys.readouterr().out
    c = plan.columns
    for label, text in (
        ("Chance of margin", f"{c['margin_confidence_pct'][3]:.1f} %"),
        ("Spread of the margin", f"{c['margin_spread_db'][3]:.2f} dB"),
        ("Most sensitive to", c["most_sensitive"][3]),
        ("Availability in the worst month", f"{c['worst_month_availability_pct'][3]:.3f} %"),
        ("Chance of a bad year", f"{c['year_risk_pct'][3]:.1f} %"),
        ("Availability target", "99.300 %"),
        ("Target of an average year", f"{c['annual_target_pct'][3]:.4f} %"),
        ("Cost of the site", f"{c['site_cost'][3]:.2f}"),
    ):
        assert any(line[2:].startswith(f"{label} ") and line.endswith(f" {text}")
                   for line in told.splitlines() if line.startswith("  ")), label  # fmt: skip
    assert "\nCost as the only site\n" in told


@pytest.mark.parametrize("site", ["S1", "S2", "S3", "S4", "S5"])
def test_a_budget_has_the_plans_pair_target_and_margin(
    project: Path, plan: Plan, site: str
) -> None:
    i = plan.columns["site_id"].tolist().index(site)
    found, c = budget_project(project, site), plan.columns
    assert (found.antenna_m, found.buc_w) == (c["antenna_m"][i], c["buc_w"][i])
    assert found.availability_basis == "worst_month"
    assert found.availability_target_pct == c["availability_target_pct"][i]
    assert found.margin_db == pytest.approx(c["margin_db"][i], abs=1e-9)
    for way in found.ways:
        # Shares of the average year's outage, which the plan used.
        outage = 100 - c["annual_target_pct"][i]
        assert way.site_pct + way.hub_pct == pytest.approx(outage, abs=2e-3)
        assert way.margin_db == pytest.approx(c[f"{way.direction}_margin_db"][i], abs=1e-9)


def in_words_of_a_year(network: Network) -> Network:
    """The same network with its target, the highest of its applications, told as a year's."""
    year = 100 - 0.30 * (100 - 99.3) ** 1.15
    told = {"availability_basis": "year", "availability_pct": year, "applications": ()}
    return network.model_copy(update={"network": network.network.model_copy(update=told)})


def test_coverage_is_that_of_the_annual_target(read: tuple[Sites, Network]) -> None:
    """And each point is what a plan gives a site with the reference kit."""
    network, grid = read[1], make_grid((-8, -66, 0, -58), 4.0)
    plain = in_words_of_a_year(network)
    rules = network.rules.model_copy(update={"pick": "smallest"})
    found = cover.cover(grid, network)
    again = cover.cover(grid, plain.model_copy(update={"rules": rules}))
    for name, values in found.columns.items():
        np.testing.assert_allclose(values, again.columns[name], rtol=1e-9, err_msg=name)
    lat, lon = (x.ravel() for x in np.meshgrid(grid.lat, grid.lon, indexing="ij"))
    stands = Sites.at(lat, lon, fixed_antenna_m=np.full(lat.size, 1.2),
                      fixed_buc_w=np.full(lat.size, 3.0))  # fmt: skip
    plan = make_plan(stands, network).columns
    for name in ("required_antenna_m", "rain_rate_mm_h"):
        ours = np.asarray(found.columns[name]).ravel()
        np.testing.assert_allclose(ours, plan[name], rtol=1e-6, err_msg=name)
    # Of the whole outage: less than at a share of it.
    ours = np.asarray(found.columns["downlink_attenuation_db"]).ravel()
    assert np.all(ours < plan["downlink_attenuation_db"])


def test_coverage_of_the_project_tells_its_target(project: Path, tmp_path: Path) -> None:
    covered = coverage_project(project, tmp_path / "out", step_deg=6.0).covered
    assert "worst month" in covered.coverage.note
    assert "99.3" in covered.coverage.note


def test_what_if_is_that_of_the_kit_that_was_picked(read: tuple[Sites, Network]) -> None:
    """As of kit that stands, whatever picked it; the law of the month travels with the tables."""
    sites, network = read
    plan = make_plan(sites, network, with_tables=True)
    stands = replace(
        sites,
        fixed_antenna_m=plan.columns["antenna_m"],
        fixed_buc_w=plan.columns["buc_w"],
        applications=np.full(5, "", dtype=object),
        availability_pct=plan.columns["availability_target_pct"],
    )
    rules = network.rules.model_copy(update={"pick": "smallest"})
    general = network.network.model_copy(update={"applications": ()})
    bare = network.model_copy(update={"rules": rules, "network": general, "applications": ()})
    other = make_plan(stands, bare, with_tables=True)
    for name in ("whatif_site_margin_db", "whatif_clear_db", "budget_db"):
        np.testing.assert_allclose(plan.tables[name], other.tables[name], atol=1e-9, err_msg=name)
    assert plan.facts.month_law[:2] == (0.30, 1.15)
    assert plan.facts.whatif_p_pct == other.facts.whatif_p_pct
    assert plan.facts.whatif_hub_db == other.facts.whatif_hub_db


def test_what_came_back_as_planned_is_accepted(project: Path, plan: Plan) -> None:
    """Its kit is the cheapest pair that was planned, though a cheaper one may fit no more."""
    built = as_expected(project, plan, 1, 3)
    assert built.columns["site_id"].tolist() == ["S2", "S4"]
    np.testing.assert_allclose(built.columns["c_n_difference_db"], 0, atol=ROUNDED_DB)
    for of in (built.planned, built.replanned):
        for name in ("antenna_m", "buc_w", "margin_db", "annual_target_pct", "own_mhz"):
            ours, theirs = of.columns[name], plan.columns[name][[1, 3]]
            if name == "own_mhz" or of is built.planned:
                np.testing.assert_allclose(ours, theirs, atol=1e-9, err_msg=name)
            else:
                np.testing.assert_allclose(ours, theirs, atol=1e-6, err_msg=name)
        for name in ("availability_target_pct", "hop_delay_ms", "worst_month_availability_pct"):
            np.testing.assert_allclose(
                of.columns[name], plan.columns[name][[1, 3]], atol=1e-6, err_msg=name
            )
        assert of.columns["target_source"].tolist() == ["application calls", "application meters"]


def test_some_of_the_sites_do_not_share_hub_and_lease(
    project: Path, plan: Plan, tmp_path: Path
) -> None:
    """What came back is told without costs that rest on all sites; the map has no word of them."""
    as_expected(project, plan, 1, 3)
    built, folder = asbuilt_outputs(project, project.parent / "returned.csv", tmp_path / "out")
    assert set(OVER_THE_YEARS) & set(plan.columns)
    plans = built.planned, built.replanned, built.awaited
    for of in plans:
        assert of is not None
        assert not set(OVER_THE_YEARS) & set(of.columns)
        assert of.facts.costs is None
        assert "site_cost" in of.columns
    text = (folder / "map.html").read_text(encoding="utf-8")
    assert '"life_cost"' not in text
    with (folder / "asbuilt.csv").open(encoding="utf-8-sig", newline="") as file:
        assert not set(OVER_THE_YEARS) & set(next(csv.reader(file)))


def test_kit_that_stands_costs_nothing_more(read: tuple[Sites, Network]) -> None:
    """By cost too: the sheet, the list and the bill have only what is still to be bought."""
    sites, network = read
    stands: dict[str, Any] = {"fixed_antenna_m": np.full(5, 1.8), "fixed_buc_w": np.full(5, 3.0)}
    plan = make_plan(replace(sites, **stands), network).columns
    assert set(plan["kit_source"].tolist()) == {"installed"}
    assert (plan["own_mhz"] > 0).all()
    assert set(plan["most_sensitive"].tolist()) == {""}
