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


def order_figures(bill: Bill | None) -> dict[str, Any]:
    """Return ``order`` as a summary has it: what is to be ordered in all, a line a kind.

    ``quantity`` is what the sites take, ``to_order`` with the spares; ``cost`` is null where a kind
    has no price. It is what the rows ``total`` of kit.csv tell, and there where no such list is.
    """
    if bill is None:
        return {}
    return {
        "order": [
            {
                **{"part": line.part, "kind": line.kind, "unit": line.unit},
                **{"quantity": _rounded(line.quantity), "to_order": _rounded(line.to_order)},
                "cost": _rounded(line.cost),
            }
            for line in bill.lines
        ]
    }


def _rounded(value: float) -> float | None:
    return None if math.isnan(value) else round(value, 2)


def _sum(total: float, partial: float) -> dict[str, float | None]:
    """Return a sum, and what is known of it where not all is."""
    if math.isnan(total):
        return {"total": None, "partial": round(partial, 2)}
    return {"total": round(total, 2)}
