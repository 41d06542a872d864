"""The page of ``siteplan budget``."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan.answers.budget import Budget, BudgetLine, BudgetPart, BudgetWay
from siteplan.outputs import console

NAN = float("nan")


def line(label: str, sign: str, unit: str, *values: float) -> BudgetLine:
    clear, site, hub = values
    return BudgetLine("x", label, sign, unit, (clear, site, hub), "given", "network file, hub")


@pytest.fixture
def budget() -> Budget:
    lines = (
        line("EIRP", "+", "dBW", 61.326, 61.326, NAN),
        line("Rain", "-", "dB", -0.001, 12.5, NAN),
        line("Flux", "=", "dBW/m2", -100.99, -113.49, NAN),
        line("Sky", "+", "K", 9.94, 190.66, NAN),
    )
    part = BudgetPart("up", "Uplink", lines)
    way = BudgetWay("inbound", 0.19351, 0.0, False, -1.204, (part,), ("No hub.",))
    return Budget("A1", "Mill", "Net", "2026-01-01", 99.5, 1.2, 2.0, True, -1.204, (way,))


def told(budget: Budget, capsys: pytest.CaptureFixture[str]) -> list[str]:
    console.show_budget(budget)
    return capsys.readouterr().out.splitlines()


def test_figures_stand_under_their_headings(
    budget: Budget, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = told(budget, capsys)
    assert lines[0] == "Link budget of A1 Mill"
    assert lines[1] == (
        "With 1.2 m and 2 W, tried and not planned, target 99.5 %, margin \u22121.20 dB"
    )
    assert "Inbound, site to hub" in lines
    assert "No hub." in lines
    (head,) = (x for x in lines if x.split() == ["Clear", "sky", "Site", "faded", "Hub", "faded"])
    (shares,) = (x for x in lines if "not counted" in x)
    assert shares.split() == ["0.1935", "%", "not", "counted"]
    (eirp, rain, flux, sky) = (
        next(x for x in lines if f" {label} " in x) for label in ("EIRP", "Rain", "Flux", "Sky")
    )
    assert eirp.split()[:6] == ["+", "EIRP", "61.33", "61.33", "-", "dBW"]
    assert rain.split()[:6] == ["\u2212", "Rain", "0.00", "12.50", "-", "dB"]
    assert flux.split()[2:5] == ["\u2212100.99", "\u2212113.49", "-"]
    assert sky.split()[2:4] == ["9.9", "190.7"]
    for found in (eirp, rain, flux, sky):
        assert found.index(found.split()[5]) == head.index("Hub faded") + len("Hub faded") + 1
        assert found.endswith("network file, hub")


def test_no_link_is_told_and_nothing_else(
    budget: Budget, capsys: pytest.CaptureFixture[str]
) -> None:
    none = replace(budget, ways=(), antenna_m=NAN, buc_w=NAN, margin_db=NAN, notes=("Below.",))
    assert told(none, capsys) == ["Link budget of A1 Mill", "target 99.5 %", "Below."]
    assert np.isnan(none.margin_db)
