"""What ``siteplan availability`` prints: what the log comes to, and whose rain asks for a look."""

from __future__ import annotations

import math

import numpy as np

from siteplan.messages import english
from siteplan.outputs.console.terminal import console, show_list, table
from siteplan.outputs.shown import DASH, amount
from siteplan.results import OutageStatistics


def show_availability(result: OutageStatistics, folder: str) -> None:
    """Print what a log comes to: the sites of least availability, verdicts on rain."""
    out = console()
    outages = "1 outage" if len(result.log) == 1 else f"{len(result.log)} outages"
    out.print(f"{outages}; {_struck(result)} of {len(result.plan)} sites had one that counts")
    for remark in result.log.remarks:
        out.print(remark)
    for verdict, count in sorted(result.verdict_counts.items()):
        said = english().one(f"outages.verdict.{verdict}")
        out.print(f"{count} of {len(result.plan)} sites: {said}")
    _show_worst(result)
    out.print(f"Written to {folder}")


def _struck(result: OutageStatistics) -> int:
    """Return how many sites have any outage that counts."""
    log = result.log
    return len(np.unique(log.site[(log.site >= 0) & log.counted]))


def _show_worst(result: OutageStatistics) -> None:
    """Print the sites of least availability."""
    rows, columns = result.report.rows, result.plan.columns
    every = np.flatnonzero((rows.month == -1) & (rows.cause == -1) & (rows.place >= 0))
    order = every[np.argsort(-rows.outage_min[every], kind="stable")]
    struck = order[rows.outages[order] > 0]
    cells = [
        (
            *(columns[name][rows.place[k]] for name in ("site_id", "name")),
            amount(float(rows.availability_pct[k]), "%", 3),
            _known(columns["availability_achieved_pct"][rows.place[k]]),
            amount(float(rows.outages[k]), ""),
            amount(float(rows.longest_min[k]), "min", 0),
        )
        for k in struck.tolist()
    ]
    headings = ("Site", "Name", "Availability", "Planned", "Outages", "Longest")
    if cells:
        show_list(table("Sites of least availability", headings, headings[2:]), cells, most=10)


def _known(value: float) -> str:
    return DASH if math.isnan(value) else amount(float(value), "%", 3)
