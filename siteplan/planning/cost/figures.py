"""What a plan costs, for the summary."""

from __future__ import annotations

import math
from typing import Any

from siteplan.answers import Bill


def cost_figures(bill: Bill | None) -> dict[str, Any]:
    """Return ``cost`` as a summary has it; nothing where there are no prices.

    ``total`` is null where a price is missing: ``missing`` names the kinds, ``partial`` is the
    sum of the others, and is there only then. Both hold the spares, whose cost is ``spares``.
    Costs are rounded to two decimals.
    """
    if bill is None or not bill.priced:
        return {}
    groups = [
        {
            **{"group": group.group, "sites": group.sites, "unserved": group.unserved},
            **_sum(group.cost, group.partial),
        }
        for group in bill.groups
    ]
    return {
        "cost": {
            **_sum(bill.total, bill.partial),
            **{"missing": list(bill.missing), "spares": round(bill.spares, 2)},
            **{"sites": bill.sites, "unserved": bill.unserved},
            **{"groups": groups, "notes": list(bill.notes)},
        }
    }


def _sum(total: float, partial: float) -> dict[str, float | None]:
    """Return a sum, and what is known of it where not all is."""
    if math.isnan(total):
        return {"total": None, "partial": round(partial, 2)}
    return {"total": round(total, 2)}
