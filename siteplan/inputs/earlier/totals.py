"""What an earlier plan came to in all, read from its summary, or from its kit list."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from siteplan.answers.differences import Totals
from siteplan.inputs.earlier.results import unguarded

_Order = dict[tuple[str, str, str], tuple[float, float]]


def read_totals(folder: Path, summary: Mapping[str, Any]) -> Totals:
    """Return what a plan's output tells of it as a whole; what cannot be read is not known.

    Parameters
    ----------
    folder : Path
        The output of a plan.
    summary : mapping
        What its ``summary.json`` holds. A plan of an earlier version has no order in it: that is
        read from ``kit.csv`` then, which plans in parts have not got.
    """
    told = summary.get("order")
    order = _of_rows(told) if isinstance(told, list) else _of_kit_list(folder / "kit.csv")
    return Totals(order, _sums(summary))


def _of_rows(rows: Iterable[Any]) -> _Order | None:
    """Return the order that rows tell; None where one of them is none."""
    found: _Order = {}
    for row in rows:
        if not isinstance(row, Mapping):
            return None
        amount = _number(row.get("to_order"))
        if math.isnan(amount):
            return None
        key = tuple(unguarded(str(row.get(name) or "")) for name in ("part", "kind", "unit"))
        found[key[0], key[1], key[2]] = amount, _number(row.get("cost"))
    return found


def _of_kit_list(path: Path) -> _Order | None:
    """Return the order in the rows ``total`` of a kit list; None where there is none."""
    try:
        with path.open(encoding="utf-8", errors="replace", newline="") as file:
            return _of_rows(row for row in csv.DictReader(file) if row.get("rows") == "total")
    except (OSError, csv.Error):
        return None


def _sums(summary: Mapping[str, Any]) -> dict[str, float]:
    """Return the totals of money and of bandwidth that a summary tells."""
    cost, life, capacity = (_mapping(summary.get(k)) for k in ("cost", "life_cost", "capacity"))
    total = _number(cost.get("total"))
    found = {
        "cost": total,
        "priced": _number(cost.get("partial")) if math.isnan(total) else total,
        "spares": _number(cost.get("spares")),
        "monthly_cost": _number(life.get("monthly_cost")),
        "life_cost": _number(life.get("life_cost")),
        "leased_mhz": _number(capacity.get("leased_mhz")),
    }
    return {name: value for name, value in found.items() if not math.isnan(value)}


def _mapping(found: Any) -> Mapping[str, Any]:
    return found if isinstance(found, Mapping) else {}


def _number(value: Any) -> float:
    """Return a cell or a value of JSON as a number, NaN where it is none."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return math.nan
    try:
        found = float(value)
    except ValueError:
        return math.nan
    return found if math.isfinite(found) else math.nan
