"""What a plan costs, in a line: printed with the summary of a plan that has prices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.outputs.shown import grouped


def cost_line(summary: Mapping[str, Any]) -> str:
    """Return what a plan costs in the planner's own unit of money; empty without prices.

    Where a price is missing, the sum of the others is called partial.
    """
    cost = summary.get("cost")
    if not cost:
        return ""
    spares = f"{grouped(cost['spares'])} for spares included"
    if cost["total"] is None:
        known = f"what is priced costs {grouped(cost['partial'])} (partial sum, {spares})"
        told = f"not known, for there is no price for {'; '.join(cost['missing'])}; {known}."
    else:
        sites = "site" if cost["sites"] == 1 else "sites"
        told = f"{grouped(cost['total'])} for {cost['sites']} {sites} with kit, {spares}."
    return " ".join([f"Cost: {told}", *cost["notes"]])
