"""Of a plan in parts that is too large to hold: some columns of all sites, all of some sites."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from siteplan.arrays import IntArray
from siteplan.results import Plan


def columns_of(parts: Sequence[Path], names: Iterable[str]) -> dict[str, NDArray[Any]]:
    """Return some columns of all parts, arrays (n,); equal texts are one text in memory."""
    from siteplan.outputs.tables.parquet import column_of

    return {name: column_of(parts, name) for name in names}


def rows_of(parts: Sequence[Path], like: Plan) -> Callable[[IntArray], Plan]:
    """Return what gives some sites of all parts with all their columns, rows rising."""
    from siteplan.outputs.tables.parquet import plan_rows

    return lambda rows: plan_rows(parts, rows.astype("int64"), like)
