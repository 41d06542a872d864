"""A sample with targets of the worst month: in parts, as a site, a budget, on the map, as built."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html

from siteplan.api import asbuilt_project, budget_project, plan_one, plan_project
from siteplan.inputs.network.read import read_network
from siteplan.inputs.returned import COLUMNS
from siteplan.jobs.parts import spread
from siteplan.outputs.budgets import under_title
from siteplan.outputs.console.plan import show_summary
from siteplan.outputs.console.site import show_site
from siteplan.outputs.map.payload import payload
from siteplan.outputs.report.files import page
from siteplan.outputs.sheets.files import sheet_html
from siteplan.planning.coverage.cover import piece_columns
from siteplan.planning.report.composed import composed
from siteplan.planning.setting import setting
from siteplan.results import Plan

SAMPLE = Path(__file__).parents[2] / "frozen" / "inputs" / "river_clinics"
KEYS = 'availability_basis = "worst_month"\n'
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False}
FIELDS = (
    *("availability_target_pct", "annual_target_pct", "availability_achieved_pct", "margin_db"),
    *("antenna_m", "buc_w", "worst_month_availability_pct", "year_risk_pct", "certainty"),
    *("certainty_next", "outages_over_10_s", "outages_over_10_min", "year_notes", "flags"),
)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8")
    assert "\n[network]\n" in text
    path.write_text(text.replace("\n[network]\n", f"\n[network]\n{KEYS}"), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def done(project: Path) -> tuple[Plan, dict[str, Any]]:
    outcome = plan_project(project, project.parent / "whole", **QUIET)
    assert outcome.plan is not None
    return outcome.plan, outcome.summary


def head(folder: Path) -> str:
    """Return the words of the report's head."""
    tree = html.fromstring((folder / "report.html").read_text(encoding="utf-8"))
    (found,) = tree.xpath("//p[contains(., 'Target: ')]")
    return " ".join(found.text_content().split())


def test_parts_give_the_whole_bit_for_bit(
    project: Path,
    done: tuple[Plan, dict[str, Any]],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 25)
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert parts.plan is not None
    for name in FIELDS:
        np.testing.assert_array_equal(parts.plan.columns[name], done[0].columns[name], err_msg=name)
    assert parts.summary["counts"]["certainty"] == done[1]["counts"]["certainty"]
    assert parts.summary["annual_target_pct"] == done[1]["annual_target_pct"]
    assert parts.plan.facts.month_law == done[0].facts.month_law
    texts = [head(tmp_path / "parts"), head(project.parent / "whole")]
    assert "of the worst month (" in texts[0], "with what it asks of an average year"
    assert texts[0] == texts[1]
    whole, other = (composed(plan).sure for plan in (done[0], parts.plan))
    assert repr(whole) == repr(other)  # what is not known is no number, and equals none
    with (tmp_path / "parts" / "sites.csv").open(encoding="utf-8-sig", newline="") as file:
        assert {row["annual_target_pct"] for row in csv.DictReader(file)} >= {"99.9529"}


def test_the_summary_and_the_screen(
    done: tuple[Plan, dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    plan, summary = done
    counts = summary["counts"]["certainty"]
    assert sum(counts.values()) == len(plan)
    assert list(counts) == sorted(counts)
    assert summary["availability_pct"] == 99.8
    assert summary["availability_basis"] == "worst_month"
    assert summary["annual_target_pct"] == pytest.approx(99.9529, abs=6e-5)
    assert summary["methods"]["fade duration"].startswith("ITU-R P.1623-1")
    show_summary(summary, "")
    told = " ".join(capsys.readouterr().out.split())
    assert "target 99.8 to 99.95 % of the worst month, satellite" in told
    assert "availability_basis" not in json.dumps(summary["assumed"])


def test_a_site_and_its_budget(
    project: Path, done: tuple[Plan, dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    plan, i = done[0], 2
    c = plan.columns
    network = read_network(project / "network.toml")
    lat, lon, altitude, asked = (
        float(c[name][i]) for name in ("lat", "lon", "altitude_m", "availability_target_pct")
    )
    one = plan_one(lat, lon, network=network, altitude_m=altitude, availability_pct=asked)
    for name in ("annual_target_pct", "year_risk_pct", "worst_month_availability_pct"):
        assert one.columns[name][0] == pytest.approx(float(c[name][i]), rel=1e-9), name
    show_site(one)
    told = capsys.readouterr().out
    assert "How sure" in told
    assert "Target of an average year" in told
    budget = budget_project(project, str(c["site_id"][i]))
    assert f"target {c['availability_target_pct'][i]:g} % of the worst month" in under_title(budget)
    assert budget.margin_db == pytest.approx(float(c["margin_db"][i]), abs=1e-9)
    for way in budget.ways:
        lost = 100 - float(c["annual_target_pct"][i])
        assert way.site_pct + way.hub_pct == pytest.approx(lost, rel=1e-9)


def test_a_point_of_the_coverage_is_a_site_of_the_plan(project: Path) -> None:
    network = read_network(project / "network.toml")
    annual = float(100 - 0.30 * 0.2**1.15)
    general = network.network.model_copy(
        update={"availability_basis": "year", "availability_pct": annual}
    )
    point = np.array([-3.1]), np.array([-60.0])
    month = piece_columns(network, point)
    year = piece_columns(network.model_copy(update={"network": general}), point)
    for name, values in year.items():
        np.testing.assert_allclose(month[name], values, rtol=1e-9, err_msg=name)
    from siteplan.planning.coverage.cover import _note

    assert "at 99.8 % of the worst month" in _note(setting(network))


def test_the_map_counts_targets_on_the_basis(done: tuple[Plan, dict[str, Any]]) -> None:
    plan = done[0]
    assert plan.facts.month_law == pytest.approx((0.30, 1.15, 0.008, 7.8), abs=1e-9)
    found = payload(plan, "A plan")
    assert found["target_pct"] == 99.8
    facts = dict(map(tuple, found["facts"]))
    assert facts["Target"].endswith("% of the worst month")
    layers = {layer["field"]: layer for layer in found["layers"]}
    assert {"certainty", "year_risk_pct"} <= layers.keys()
    labels = [row["label"] for row in layers["certainty"]["classes"]]
    assert set(labels[:-1]) == set(plan.columns["certainty"])


def test_the_report_says_how_sure(done: tuple[Plan, dict[str, Any]]) -> None:
    plan = done[0]
    report = composed(plan)
    assert report.sure is not None
    risks = [site.risk_pct for site in report.sure.worst]
    assert risks == sorted(risks, reverse=True)
    kit = ~(np.isnan(plan.columns["antenna_m"]) | np.isnan(plan.columns["buc_w"]))
    middle = float(np.median(plan.columns["year_risk_pct"][kit]))
    assert report.sure.median_risk_pct == pytest.approx(middle, abs=1e-12)
    text = page(plan, report)
    assert "How sure" in text
    assert "% of the worst month (99.9529 " in text
    assert "Targets are those of the worst month." in text


def test_a_sheet_of_a_site_without_kit_tells_both_targets(
    done: tuple[Plan, dict[str, Any]],
) -> None:
    plan = done[0]
    none = np.flatnonzero(np.isnan(plan.columns["antenna_m"]))
    assert none.size
    text = sheet_html(plan, int(none[0]))
    assert "Target of an average year" in text


def test_as_built_is_held_against_the_same_target(
    project: Path, done: tuple[Plan, dict[str, Any]]
) -> None:
    c = done[0].columns
    i = int(np.flatnonzero(~np.isnan(c["antenna_m"]))[0])
    path = project.parent / "returned.csv"
    row = {"site_id": c["site_id"][i], "lat": f"{c['lat'][i] + 0.05:.6f}",
            "lon": f"{c['lon'][i]:.6f}"}  # fmt: skip
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        writer.writerow(row)
    found = asbuilt_project(project, path)
    for plan in (found.planned, found.replanned):
        assert plan.columns["annual_target_pct"][0] == c["annual_target_pct"][i]
        assert plan.columns["certainty"][0] in "ABCDE"
    assert found.planned.columns["year_risk_pct"][0] == c["year_risk_pct"][i]
