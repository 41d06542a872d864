"""kit.csv: what each site takes, and what to order in total with spares.

Written beside the plan's tables; read by whoever orders and loads.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np

from siteplan.outputs.escaping import harmless
from siteplan.outputs.shown import SiteValues, amount, whole_or_short
from siteplan.results import Plan
from siteplan.words import CAVEAT

HEADINGS = (
    *("rows", "site_id", "name", "group", "part", "kind", "quantity", "unit"),
    *("spares", "to_order", "note"),
)
#: Notes of rows that order nothing, or not yet.
STANDS = "stands already"
OPEN_CABLE = "no class of the catalogue works: see cable_advice"
OPEN_MOUNT = "order after the survey"


class Item(NamedTuple):
    """One part of one site; ``quantity`` is 0 for kit that stands there already."""

    part: str
    kind: str
    quantity: float
    unit: str
    note: str = ""


def write_kit(plan: Plan, path: Path) -> None:
    """Write the kit list as CSV: rows ``site`` for each site, then rows ``total`` with spares.

    Every row of ballast carries its caveat. Spares are ``spares_pct`` of the total, rounded up
    to whole pieces, metres or kilograms.
    """
    totals: dict[tuple[str, str, str], float] = {}
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEADINGS)
        for i in range(len(plan)):
            v = SiteValues(plan, i)
            who = harmless(np.array([v["site_id"], v["name"], v["group"]], dtype=object)).tolist()
            for item in items(v):
                key = (item.part, item.kind, item.unit)
                totals[key] = totals.get(key, 0.0) + item.quantity
                kind = harmless(np.array([item.kind], dtype=object))[0]
                quantity = whole_or_short(item.quantity)
                writer.writerow(
                    ("site", *who, item.part, kind, quantity, item.unit, "", "", item.note)
                )
        writer.writerows(_total_rows(totals, plan.network.site.spares_pct))


def items(v: SiteValues) -> Iterator[Item]:
    """Yield the parts of a site; a site that nothing fits has none."""
    if not v.has_kit:
        return
    stands, buc_stands = bool(v["fixed_antenna_m"]), bool(v["fixed_buc_w"])
    yield Item("antenna", v["antenna_m"], float(not stands), "pieces", STANDS if stands else "")
    yield Item("BUC", v["buc_w"], float(not buc_stands), "pieces", STANDS if buc_stands else "")
    undecided = OPEN_MOUNT if v["mount"] == "survey_decides" else ""
    yield Item("mount", v["mount"], float(not stands), "pieces", STANDS if stands else undecided)
    length, ballast = v.number("ifl_length_m"), v.number("ballast_kg")
    if math.isfinite(length):
        kind = v["cable_class"]
        yield Item("cable", kind or "open", math.ceil(length), "m", "" if kind else OPEN_CABLE)
    if math.isfinite(ballast):
        note = f"{STANDS}; {CAVEAT}" if stands else CAVEAT
        yield Item("ballast", v["mount"], 0.0 if stands else math.ceil(ballast), "kg", note)


def _total_rows(
    totals: dict[tuple[str, str, str], float], spares_pct: float
) -> Iterator[tuple[str, ...]]:
    """Yield the totals by part and kind, in the order in which parts are listed."""
    places = {"antenna": 0, "BUC": 1, "mount": 2, "cable": 3, "ballast": 4}
    for (part, kind, unit), total in sorted(
        totals.items(), key=lambda entry: (places[entry[0][0]], entry[0][1])
    ):
        if not total:
            continue
        spares = math.ceil(round(total * spares_pct / 100, 6))
        notes = [f"spares {amount(spares_pct, '%')}"]
        notes += [CAVEAT] if part == "ballast" else []
        notes += [OPEN_MOUNT] if kind == "survey_decides" else []
        count, more, every = map(whole_or_short, (total, spares, total + spares))
        yield ("total", "", "", "", part, kind, count, unit, more, every, "; ".join(notes))
