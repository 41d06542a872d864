"""Long tables as CSV: what is read back is what was written, hostile texts and blanks too."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from siteplan.outputs.escaping import as_given
from siteplan.outputs.operations import columns
from siteplan.outputs.operations.columns import Named, rounded, write_columns


def read(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.mark.parametrize("at_once", [1, 3, 1 << 16])
def test_what_is_written_is_read_back(
    tmp_path: Path, hostile_names: tuple[str, ...], at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(columns, "_ROWS", at_once)
    rng = np.random.default_rng(4)
    which = rng.integers(0, len(hostile_names), 50)
    numbers = np.where(rng.random(50) < 0.3, np.nan, np.round(rng.normal(0, 1e4, 50), 2))
    table = {
        "id": Named(hostile_names, which),
        "number": numbers,
        "count": np.arange(50),
        "text": [f"{k}" for k in range(50)],
        "none": np.full(50, np.nan),
    }
    write_columns(tmp_path / "x.csv", table)
    head, *rows = read(tmp_path / "x.csv")
    assert head == list(table)
    assert [as_given(row[0]) for row in rows] == [
        hostile_names[k].encode("utf-8", "replace").decode() for k in which.tolist()
    ]
    told = [float(row[1]) if row[1] else np.nan for row in rows]
    np.testing.assert_array_equal(told, numbers)
    assert [row[2:] for row in rows] == [[f"{k}", f"{k}", ""] for k in range(50)]
    assert (tmp_path / "x.csv").read_bytes().endswith(b"\n")


def test_a_table_without_rows_is_its_head(tmp_path: Path) -> None:
    write_columns(tmp_path / "x.csv", {"a": Named((), np.arange(0)), "b": np.zeros(0)})
    assert (tmp_path / "x.csv").read_bytes() == b'"a","b"\n'


def test_numbers_without_decimals_are_whole() -> None:
    assert rounded(np.array([2.0, 3.0]), 0).dtype.kind == "i"
    assert rounded(np.array([2.126, -0.001]), 2).tolist() == [2.13, 0.0]
