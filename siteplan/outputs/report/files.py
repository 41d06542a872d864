"""report.html: the plan on a few pages, for whoever decides, pays and signs.

Written beside the plan's tables. One file, no script, nothing that a browser would fetch.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.outputs.assets import asset
from siteplan.outputs.paper.page import on_page
from siteplan.outputs.report import marks
from siteplan.outputs.report.blocks import Shown, in_units
from siteplan.outputs.report.sections import SECTIONS
from siteplan.reported import Report
from siteplan.results import Plan


def write_report(plan: Plan, report: Report, path: Path) -> None:
    """Write the report.

    Parameters
    ----------
    plan : Plan
        What the pages tell of network, facts and costs; of its columns the targets alone.
    report : Report
        What was worked out for it.
    path : Path
        The file, in a folder that exists.
    """
    path.write_text(page(plan, report), encoding="utf-8", errors="replace")


def page(plan: Plan, report: Report) -> str:
    """Return the report as a page that needs nothing else."""
    shown = Shown(plan, report)
    units = plan.network.network.units
    sections = [in_units(made, units) for section in SECTIONS if (made := section(shown))]
    name = plan.facts.name or "Plan"
    style = asset("report/report.css") + marks.rules(len(report.classes))
    found = {"name": name, "sections": sections}
    return on_page(f"{name}: report", "report/report.html", found, style=style)
