"""What the frozen copies are compared by notices a difference, and says where it is."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.frozen.compare import of_columns, of_lines, of_tree, of_written, same
from tests.frozen.copies import KEPT, as_lines, cells

NEXT = math.nextafter(3.7, 4)
BEFORE = {"site_id": ["A", "B"], "margin_db": [3.7, math.nan], "flags": ["low", ""]}


@pytest.mark.parametrize(
    ("a", "b", "exact", "nearly"),
    [
        (3.7, 3.7, True, True),
        (math.nan, math.nan, True, True),
        (math.nan, 3.7, False, False),
        (3.7, NEXT, False, True),
        (0.0, -0.0, False, True),
        (3.7, 3.7 * (1 + 2e-9), False, False),
        (1e-300, 0.0, False, True),
        (1, True, False, False),
        ("1", 1, False, False),
        (None, "", False, False),
        (None, None, True, True),
        ("1.5 dB", "1.6 dB", False, True),
        ("1.5 dB", "1.7 dB", False, False),
        ("1.5 dB", "1.5 m", False, False),
        ("12 of 60", "13 of 60", False, False),
    ],
)
def test_same(a: Any, b: Any, exact: bool, nearly: bool) -> None:
    assert (same(a, b, exact=True), same(a, b, exact=False)) == (exact, nearly)
    assert (same(b, a, exact=True), same(b, a, exact=False)) == (exact, nearly)


def told(now: dict[str, list[Any]], *, exact: bool = True) -> list[str]:
    return list(of_columns("plan", BEFORE, now, key="site_id", exact=exact))


def test_a_column_s_difference_names_site_before_and_now() -> None:
    now = BEFORE | {"margin_db": [NEXT, math.nan], "new": [1.0, 2.0]}
    assert told(now) == [f"plan: margin_db of A: before 3.7, now {NEXT!r}"]
    assert told(now, exact=False) == []
    assert told(BEFORE) == []


def test_what_is_gone_or_short_is_a_difference() -> None:
    assert told({k: BEFORE[k] for k in ("site_id", "flags")}) == ["plan: column margin_db is gone"]
    [only] = told(BEFORE | {"flags": ["low"]})
    assert only == "plan: column flags has 1 rows, before 2"


def test_values_of_other_files_are_held_against_the_table() -> None:
    before = {"site_id": ["A", "B"], "margin_db": ["3.7", None], "rank": ["3", ""]}
    now = {"site_id": ["A", "B"], "margin_db": [3.7, None], "rank": ["3", ""]}

    def differ(**columns: list[Any]) -> list[str]:
        return list(of_written("x", before, now | columns, key="site_id", exact=True))

    assert differ(new=[1, 2]) == []
    assert differ(margin_db=[3.8, None]) == ["x: margin_db of A: before '3.7', now '3.8'"]
    assert differ(margin_db=[3.7, 0.0]) == ["x: margin_db of B: before None, now '0.0'"]
    assert differ(rank=["3", None]) == ["x: rank of B: before '', now None"]


@pytest.mark.parametrize(
    ("now", "most_new", "found"),
    [
        (["a", "b", "c"], 0, ""),
        (["a", "x", "b", "y", "c"], 2, ""),
        (["x", "a", "b", "c", "y"], 1, "2 lines are new"),
        (["a", "c", "b"], 2, "line 3: before 'c'"),
        (["a", "b 1.2"], 2, "line 2: before 'b', now 'b 1.2'"),
        (["a", "b"], 0, "line 3: before 'c', now ''"),
    ],
)
def test_lines(now: list[str], most_new: int, found: str) -> None:
    differences = list(of_lines("sheet", ["a", "b", "c"], now, most_new=most_new, exact=True))
    assert len(differences) == bool(found)
    assert found in "".join(differences)


@pytest.mark.parametrize(
    ("now", "found"),
    [
        ({"a": {"b": 1, "new": 2}, "c": [0, 1, {"d": "x", "e": 3}, 2]}, 0),
        ({"a": {}, "c": [1, {"d": "x"}]}, 1),
        ({"a": {"b": 2}, "c": [1, {"d": "x"}]}, 1),
        ({"a": {"b": 1}, "c": [{"d": "x"}, 1]}, 1),
        ({"a": {"b": 1}, "c": [1]}, 1),
    ],
)
def test_trees(now: Any, found: int) -> None:
    before = {"a": {"b": 1}, "c": [1, {"d": "x"}]}
    assert len(list(of_tree("summary", before, now, exact=True))) == found


def test_kept_digits_give_back_the_bits() -> None:
    import json

    values = np.random.default_rng(3).standard_normal(500) * 10.0 ** np.arange(-250, 250)
    kept = json.loads(as_lines({"x": values.tolist(), "y": [math.nan, -0.0]}))
    assert np.array(kept["x"]).tobytes() == values.tobytes()
    assert math.isnan(kept["y"][0])
    assert math.copysign(1, kept["y"][1]) == -1


def test_a_blank_cell_is_not_an_empty_text(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text('a,b\n,""\n"NA","two\nlines"\n', encoding="utf-8")
    assert cells(tmp_path / "x.csv") == {"a": [None, "NA"], "b": ["", "two\nlines"]}


def test_nothing_is_made_anew_without_a_reason() -> None:
    before = {path: path.stat().st_mtime_ns for path in KEPT.rglob("*")}
    for asked in ([], ["--because", "so"]):
        done = subprocess.run(
            [sys.executable, "-m", "tests.frozen.renew", *asked],
            cwd=KEPT.parent.parent.parent, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 2
        assert "because" in done.stderr or "say in a sentence" in done.stderr
    assert {path: path.stat().st_mtime_ns for path in KEPT.rglob("*")} == before
