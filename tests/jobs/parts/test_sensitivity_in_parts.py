"""What would change the kit and the chance of margin: parts as the whole, few sites or many."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import plan_project
from siteplan.jobs import products
from siteplan.jobs.parts import spread
from siteplan.jobs.plan import Outcome
from siteplan.planning.certainty import sensitivity
from siteplan.planning.certainty.sensitivity import EIGHTHS, TABLES

SAMPLE = Path(__file__).parents[2] / "frozen" / "inputs" / "river_clinics"
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False}
NAME = "sensitivity.csv"


@pytest.fixture(scope="module")
def outcome(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    return plan_project(SAMPLE, tmp_path_factory.mktemp("whole") / "out", **QUIET)


@pytest.mark.parametrize("read_back", [True, False])
def test_parts_give_the_whole(
    outcome: Outcome, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, read_back: bool
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 25)
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    parts = plan_project(
        *(SAMPLE, tmp_path / "parts"), workers=0, tables=("csv",), sensitivity=True, **QUIET
    )
    for name in ("sites.csv", NAME):
        assert (parts.folder / name).read_bytes() == (outcome.folder / name).read_bytes(), name
    report = (parts.folder / "report.html").read_text(encoding="utf-8")
    assert "Sites whose kit would be another" in report
    assert outcome.plan is not None
    found = outcome.plan.facts.changes_kit
    if parts.plan is not None:
        assert parts.plan.facts.changes_kit == found
    told = [of.told for of in sorted(found, key=lambda of: (-of.lost, -of.sites))]
    assert report.index(told[0]) < report.index(told[1])


def test_many_sites_go_without_the_file(
    outcome: Outcome, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of parts that grow beyond the number the first has the tables, and the plan has none."""
    monkeypatch.setattr(spread, "PART_SITES", 25)
    monkeypatch.setattr(sensitivity, "TABLES_UP_TO", 30)
    parts = plan_project(SAMPLE, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert not (parts.folder / NAME).exists()
    assert parts.plan is not None
    assert not set(TABLES) & set(parts.plan.tables)
    assert (parts.folder / "sites.csv").read_bytes() == (outcome.folder / "sites.csv").read_bytes()
    asked = plan_project(SAMPLE, tmp_path / "asked", sensitivity=True, **QUIET)
    assert (asked.folder / NAME).read_bytes() == (outcome.folder / NAME).read_bytes()


def test_the_file_says_what_the_plan_does(outcome: Outcome) -> None:
    plan = outcome.plan
    assert plan is not None
    with (outcome.folder / NAME).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    steps = plan.facts.changes_kit
    assert len(rows) == len(plan) * len(steps)
    for i, row in enumerate(rows):
        site, k = divmod(i, len(steps))
        assert row["site_id"] == plan.columns["site_id"][site]
        assert (row["figure"], float(row["step"])) == (steps[k].name, steps[k].step)
        part = int(plan.tables["sensitivity_eighths"][site, k])
        assert row["changes_kit"] == ("yes" if part else "no")
        assert row["least_part_of_step"] == (f"{part / EIGHTHS:.3f}" if part else "")
        dish = plan.tables["sensitivity_antenna_m"][site, k]
        assert row["then_antenna_m"] == ("" if np.isnan(dish) else f"{dish:g}")
        change = plan.tables["sensitivity_margin_db"][site, k]
        if row["margin_change_db"]:
            assert float(row["margin_change_db"]) == pytest.approx(change, abs=6e-4)
        else:
            assert np.isnan(change)
