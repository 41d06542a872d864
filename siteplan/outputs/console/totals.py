"""What a plan leases and what it costs, a line each: printed with its summary."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.outputs.shown import amount, grouped, share_of_time


def capacity_line(summary: Mapping[str, Any]) -> str:
    """Return what is leased, for how many carriers, how full, and what is first too small."""
    found = summary.get("capacity")
    if not found or not found["pools"]:
        return ""
    pools = found["pools"]
    counts = [sum(pool["carriers"][way] for pool in pools) for way in ("outbound", "inbound")]
    told = [
        f"Lease: {amount(found['leased_mhz'], 'MHz')} for {counts[0]} outbound and {counts[1]}"
        f" inbound carriers{_full(pools)}"
    ]
    each = [(x, p["pool"]) for p in pools for x in p["overflows"]]
    if first := min(each, key=lambda found: _year(found[0]), default=None):
        where = f"{first[1]}: " if len(pools) > 1 else ""
        told.append(where + first[0]["text"].rstrip(".").replace("Resize", "resize", 1))
    if found["traffic_assumed"]:
        told.append("nobody told of any traffic, so that its defaults stand for it")
    return f"{'; '.join(told)}. See lease.csv."


def _year(overflow: Mapping[str, Any]) -> int:
    return int(overflow["year"])


def _full(pools: list[Mapping[str, Any]]) -> str:
    """Return how full the fullest outbound carrier is today; empty where that is not known."""
    loads = [pool["years"][0].get("outbound_load") for pool in pools]
    known = [load for load in loads if load is not None]
    if not known:
        return ""
    return f", outbound {share_of_time(round(100 * max(known), 1))} full"


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
