"""The link budget of one site as CSV for a spreadsheet, and as a page of two A4 sides to print."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from siteplan.answers.budget import Budget, BudgetLine, BudgetWay
from siteplan.outputs import budgets
from siteplan.outputs.assets import asset
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed

#: Headings of the table: a line of the budget a row.
HEADINGS = (
    *("site_id", "kit", "direction", "part", "line", "does"),
    *("clear_sky", "site_faded", "hub_faded", "unit", "basis", "source"),
    *("site_faded_pct", "hub_faded_pct"),
)
#: Decimals of the table: so many that sums hold to a thousandth.
_DECIMALS = 4
#: Stands in the title of every page.
_MARK = "Link budget of "


def write_budget_csv(of: Budget, path: Path) -> None:
    """Write a budget as CSV, a line a row; only headings where there is no link."""
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        for way in of.ways:
            writer.writerows(_rows(of, way))


def _rows(of: Budget, way: BudgetWay) -> Iterator[tuple[str, ...]]:
    shares = fixed(way.site_pct, 6), fixed(way.hub_pct, 6) if way.hub_counted else ""
    for part in way.parts:
        for line in part.lines:
            yield (
                *(of.site_id, budgets.pair(of), way.direction, part.heading, line.label),
                *(budgets.DOES[line.sign], *_figures(line), line.unit, line.basis, line.source),
                *shares,
            )


def _figures(line: BudgetLine) -> tuple[str, ...]:
    return tuple("" if math.isnan(v) else fixed(v, _DECIMALS) for v in line.values)


def is_budget_csv(path: Path) -> bool:
    """Whether a file is one that `write_budget_csv` wrote."""
    return _begins(path, ",".join(HEADINGS).encode(), 0)


def write_budget_page(of: Budget, path: Path) -> None:
    """Write a budget as a page to print, a side a direction, that needs nothing else."""
    path.write_text(page(of), encoding="utf-8", errors="replace")


def is_budget_page(path: Path) -> bool:
    """Whether a file is one that `write_budget_page` wrote."""
    return _begins(path, f"<title>{_MARK}".encode(), 2000)


def _begins(path: Path, mark: bytes, within: int) -> bool:
    """Whether a file holds a mark at its start, or within so many bytes of it."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return mark in file.read(within + len(mark))


def page(of: Budget) -> str:
    """Return a budget as a page to print."""
    from siteplan.outputs.paper.page import on_page

    found = {
        "title": budgets.title(of),
        "under": budgets.under_title(of),
        "network": of.network,
        "date": of.date,
        "notes": of.notes,
        "ways": [_way(way) for way in of.ways],
        "reading": budgets.READING,
    }
    return on_page(budgets.title(of), "budget/budget.html", found, style=asset("budget/budget.css"))


def _way(way: BudgetWay) -> dict[str, object]:
    """Return a direction as texts."""
    return {
        "title": budgets.way_title(way),
        "heads": list(zip(budgets.COLUMNS, budgets.shares(way), strict=True)),
        "notes": way.notes,
        "parts": [
            {"heading": part.heading, "lines": [_line(line) for line in part.lines]}
            for part in way.parts
        ],
    }


def _line(line: BudgetLine) -> dict[str, object]:
    result = line.sign in ("=", "sum")
    return {
        "sign": budgets.SIGNS[line.sign],
        "label": line.label,
        "figures": budgets.figures(line),
        "unit": line.unit,
        "basis": line.basis,
        "source": line.source,
        "css": "result" if result else "",
    }
