"""The page of ``siteplan asbuilt``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from siteplan.outputs import console
from siteplan.outputs.console.terminal import ROWS_SHOWN
from siteplan.results import AsBuilt, Plan


def returned(plan: Plan, verdicts: list[str], missing: tuple[str, ...] = ()) -> AsBuilt:
    n = len(verdicts)
    columns = {
        "site_id": np.array([f"S{k}" for k in range(n)], dtype=object),
        "name": np.array(["Post"] * n, dtype=object),
        "findings": np.array([f"finding {k}" for k in range(n)], dtype=object),
        "verdict": np.array(verdicts, dtype=object),
        "causes": np.array([""] * n, dtype=object),
    }
    return AsBuilt(columns, plan, plan, (), 0, missing)


def test_those_not_accepted_are_named(
    make_plan: Callable[..., Plan], capsys: pytest.CaptureFixture[str]
) -> None:
    plan = make_plan(np.array([10.0]), np.array([5.0]))
    console.show_asbuilt(returned(plan, ["accepted", "not accepted"], ("S9",)), "out")
    told = capsys.readouterr().out
    assert told.startswith("2 sites came back: 1 accepted, 1 not accepted; 1 have not come back\n")
    assert "finding 1" in told
    assert "finding 0" not in told
    assert told.endswith("Written to out\n")


def test_all_accepted_need_no_table(
    make_plan: Callable[..., Plan], capsys: pytest.CaptureFixture[str]
) -> None:
    plan = make_plan(np.array([10.0]), np.array([5.0]))
    console.show_asbuilt(returned(plan, ["accepted"]), "out")
    assert capsys.readouterr().out == "1 sites came back: 1 accepted\nWritten to out\n"


def test_many_failures(make_plan: Callable[..., Plan], capsys: pytest.CaptureFixture[str]) -> None:
    plan = make_plan(np.array([10.0]), np.array([5.0]))
    console.show_asbuilt(returned(plan, ["not accepted"] * (ROWS_SHOWN + 2)), "out")
    assert "... and 2 more\nWritten to out\n" in capsys.readouterr().out


def test_what_could_not_be_used_and_what_is_not_served_are_counted_apart(
    make_plan: Callable[..., Plan], capsys: pytest.CaptureFixture[str]
) -> None:
    plan = make_plan(np.array([10.0]), np.array([5.0]))
    result = returned(plan, ["accepted", "accepted but not served"], ("S9",))
    console.show_asbuilt(replace(result, unusable=("S7", "S8")), "out")
    told = capsys.readouterr().out
    assert told.startswith(
        "2 sites came back: 1 accepted, 1 accepted but not served;"
        " 2 came back and could not be used; 1 have not come back\n"
    )
    assert "finding 1" in told
