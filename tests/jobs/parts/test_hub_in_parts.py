"""A sample with the hub's amplifier, a second hub and antennas to compare: in every job alike."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import budget_project, plan_project
from siteplan.jobs import products
from siteplan.jobs.parts import spread
from siteplan.planning.coverage.cover import piece_at
from siteplan.planning.setting import setting
from siteplan.results import Plan
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
#: 18 W leave 1.8 dB of the 10 dB asked for: the link differs from the one without.
HUB = """hpa_w = 18
carriers = 2
diversity_km = 9
diversity_bearing_deg = 120
antennas_m = [4.5, 9]
redundancy = "1:2"
"""
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False}


def project_with(folder: Path, hub: str) -> Path:
    """Write the sample with keys of the hub added, and limits off axis."""
    shutil.copytree(SAMPLE, folder)
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8").replace("\n[hub]\n", f"\n[hub]\n{hub}")
    rule = '\n[regulation]\nmasks = ["47cfr25_ku"]\n'
    path.write_text(text + rule, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return project_with(tmp_path_factory.mktemp("sample") / "river", HUB)


@pytest.fixture(scope="module")
def whole(project: Path) -> Plan:
    plan = plan_project(project, project.parent / "whole", **QUIET).plan
    assert plan is not None
    return plan


def hub_of(folder: Path) -> dict[str, Any]:
    found = json.loads((folder / "hub.json").read_text(encoding="utf-8"))
    assert list(found) == ["gateways"]
    (one,) = found["gateways"]
    return dict(one)


def test_the_keys_count(project: Path, whole: Plan, tmp_path: Path) -> None:
    """Else the rest of this file would say little."""
    plain = plan_project(project_with(tmp_path / "plain", ""), tmp_path / "out", **QUIET).plan
    assert plain is not None
    moved = np.abs(whole.columns["outbound_margin_db"] - plain.columns["outbound_margin_db"])
    assert (moved > 0.01).sum() > 10
    (hub,) = whole.facts.hubs
    assert hub.control_by == "amplifier"
    assert 0 < hub.control_db < hub.control_asked_db
    assert hub.mask == "47cfr25_ku"
    assert hub.amplifiers == 3


@pytest.mark.parametrize("read_back", [True, False])
def test_parts_give_the_whole_bit_for_bit(
    project: Path, whole: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, read_back: bool
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 25)
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert (parts.plan is not None) == read_back
    one, other = project.parent / "whole", tmp_path / "parts"
    assert (one / "hub.json").read_bytes() == (other / "hub.json").read_bytes()
    assert (one / "sites.csv").read_bytes() == (other / "sites.csv").read_bytes()
    assert parts.summary["hubs"] == [hub.to_json() for hub in whole.facts.hubs]
    if parts.plan is not None:
        for name, values in whole.columns.items():
            np.testing.assert_array_equal(parts.plan.columns[name], values, err_msg=name)
        assert parts.plan.facts.hubs == whole.facts.hubs
        assert parts.plan.facts.remedies == whole.facts.remedies


def test_the_file_says_what_the_plan_says(project: Path, whole: Plan) -> None:
    told = hub_of(project.parent / "whole")
    (hub,) = whole.facts.hubs
    given = ~np.isnan(whole.columns["antenna_m"]) & ~np.isnan(whole.columns["buc_w"])
    for way in ("outbound", "inbound"):
        share = np.round(whole.columns[f"{way}_hub_outage_pct"][given], 4)
        assert told[f"{way}_pct"] == pytest.approx(np.median(share), abs=1e-9)
        assert told[f"{way}_most_pct"] == pytest.approx(share.max(), abs=1e-9)
    own = next(row for row in told["antennas"] if row["own"])
    margins = np.round(whole.columns["inbound_margin_db"][given], 2)
    assert own["median_db"] == pytest.approx(np.median(margins), abs=1e-9)
    assert own["worst_db"] == pytest.approx(margins.min(), abs=1e-9)
    assert told["sites"] == given.sum()
    assert told["hpa_w"] == hub.hpa_w == 18


def test_an_antenna_that_is_compared_buys_what_a_plan_with_it_gives(
    project: Path, whole: Plan, tmp_path: Path
) -> None:
    """The sites keep their kit: it stands installed in the other plan."""
    other = tmp_path / "larger"
    shutil.copytree(project, other)
    path = other / "network.toml"
    text = path.read_text(encoding="utf-8").replace("antenna_m = 6.3", "antenna_m = 9")
    path.write_text(text, encoding="utf-8")
    columns = dict(whole.columns)
    given = ~np.isnan(columns["antenna_m"]) & ~np.isnan(columns["buc_w"])
    _install(other / "sites.csv", columns, given)
    plan = plan_project(other, tmp_path / "out", **QUIET).plan
    assert plan is not None
    found = plan.columns["inbound_margin_db"][given]
    (row,) = [row for row in hub_of(project.parent / "whole")["antennas"] if row["antenna_m"] == 9]
    assert row["median_db"] == pytest.approx(np.median(found), abs=0.011)
    assert row["worst_db"] == pytest.approx(found.min(), abs=0.011)


def _install(path: Path, columns: dict[str, Any], given: Any) -> None:
    """Write the kit of a plan into its sites table, as installed."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    place = {name: k for k, name in enumerate(columns["site_id"].tolist())}
    for row in rows:
        k = place[row["site_id"]]
        for key, name in (("fixed_antenna_m", "antenna_m"), ("fixed_buc_w", "buc_w")):
            row[key] = f"{columns[name][k]:g}" if given[k] else row.get(key, "")
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    c = whole.columns
    for i in (0, 5, 33):
        budget = budget_project(project, str(c["site_id"][i]))
        assert budget.margin_db == pytest.approx(c["margin_db"][i], abs=1e-9)
        way = budget.way("outbound")
        control = next(line for line in way.lines if line.code == "power_control")
        assert control.values[2] == pytest.approx(whole.facts.hubs[0].control_db, abs=1e-6)


def test_coverage_takes_the_same_hub(whole: Plan) -> None:
    """A point with the reference kit is a site with it: the hub's end is the plan's."""
    at = piece_at(np.array([-3.1]), np.array([-60.0]), setting(whole.network))
    plain = whole.network.model_copy(
        update={"hub": whole.network.hub.model_copy(update={"hpa_w": None, "diversity_km": None})}
    )
    other = piece_at(np.array([-3.1]), np.array([-60.0]), setting(plain))
    assert at["required_antenna_m"] != other["required_antenna_m"]


def test_a_site_is_accepted_as_any(project: Path, whole: Plan) -> None:
    """What the crew measures is the outbound carrier of the plan, whatever limits the hub."""
    c = whole.columns
    i = int(np.flatnonzero(c["kit_source"] == "picked")[0])
    found = as_expected(project, whole, i).columns
    assert found["c_n_difference_db"][0] == pytest.approx(0, abs=ROUNDED_DB)


def test_one_place_has_the_margin_of_a_site(project: Path, whole: Plan) -> None:
    from siteplan.api import plan

    c = whole.columns
    i = int(np.flatnonzero(c["kit_source"] == "picked")[3])
    table = plan([(float(c["lat"][i]), float(c["lon"][i]))], project / "network.toml")
    (hub,) = table.attrs["summary"]["hubs"]
    assert hub["control_db"] == pytest.approx(whole.facts.hubs[0].control_db, abs=1e-6)
    assert hub["sites"] == 1
