"""The shipped samples end to end, with whatever keys they have: in parts as a whole, as built."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import asbuilt_project, plan_project, read_network
from siteplan.jobs.parts import spread
from tests.samples import LIVE, NAMES

QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False, "with_report": False}


@pytest.mark.parametrize("name", NAMES)
def test_in_parts_a_sample_is_the_same(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 13)
    whole = plan_project(LIVE / name, tmp_path / "whole", **QUIET)
    parts = plan_project(LIVE / name, tmp_path / "parts", workers=0, **QUIET)
    assert whole.rejects == parts.rejects == ()
    for ours, theirs in ((whole.plan.columns, parts.plan.columns),
                         (whole.plan.extra, parts.plan.extra)):  # fmt: skip
        assert list(ours) == list(theirs)
        for field in ours:
            np.testing.assert_array_equal(ours[field], theirs[field], err_msg=field)
    assert whole.plan.facts == parts.plan.facts
    assert whole.summary == parts.summary


def test_the_clinics_follow_the_weather() -> None:
    """As its README has it: both ways; the rates stand in the plan."""
    network = read_network(LIVE / "river_clinics" / "network.toml")
    assert network.outbound.adaptive
    assert network.inbound.adaptive
    text = (LIVE / "river_clinics" / "README.md").read_text(encoding="utf-8")
    assert "**Adaptive coding**, both ways" in text


def test_the_substations_have_two_beams(tmp_path: Path) -> None:
    """As its README has it: one flat, one with contours and a frequency; some sites see both."""
    network = read_network(LIVE / "fjord_substations" / "network.toml")
    assert [beam.name for beam in network.beams] == ["south", "north"]
    assert {c.beam for c in network.contours} == {"north"}
    plan = plan_project(LIVE / "fjord_substations", tmp_path / "out", **QUIET).plan
    beams, others = plan.columns["beam"].tolist(), plan.columns["other_beam"].tolist()
    assert set(beams) == {"south", "north"}
    assert all({mine, other} == {"south", "north"}
               for mine, other in zip(beams, others, strict=True) if other)  # fmt: skip
    assert any(others)
    text = (LIVE / "fjord_substations" / "README.md").read_text(encoding="utf-8")
    assert "**Two beams**: a flat one for the south" in text


def test_what_came_back_is_read_whole(tmp_path: Path) -> None:
    """Whatever the network says: each row gets a verdict, none is refused."""
    folder = tmp_path / "fjord_substations"
    shutil.copytree(LIVE / folder.name, folder)
    found = asbuilt_project(folder, folder / "returned.csv")
    with (folder / "returned.csv").open(encoding="utf-8", newline="") as file:
        told = [row["site_id"] for row in csv.DictReader(file) if any(list(row.values())[2:])]
    assert found.rejects == ()
    assert found.columns["site_id"].tolist() == list(dict.fromkeys(told))
    assert all(found.columns["verdict"].tolist())
