"""kit.csv: what each site takes, and what to order in total with spares.

Written beside the plan's tables; read by whoever orders and loads.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import SiteValues, amount, whole_or_short
from siteplan.results import Plan
from siteplan.words import CAVEAT

HEADINGS = (
    *("rows", "site_id", "name", "group", "part", "kind", "quantity", "unit"),
    *("provisional", "spares", "to_order", "note"),
)
#: Notes of rows that order nothing, or not yet.
STANDS = "stands already"
OPEN_CABLE = "no class of the catalogue works: see the cable advice"
OPEN_MOUNT = "to be surveyed: order once their questions are answered"
BY_ENGINEER = "an engineer designs each: order nothing before, no spares"


class Item(NamedTuple):
    """One part of one site; ``quantity`` is 0 for kit that stands there already.

    ``provisional`` is how much of it rests on a mount that a question may still change, None for
    parts that rest on no mount.
    """

    part: str
    kind: str
    quantity: float
    unit: str
    note: str = ""
    provisional: float | None = None


class Total(NamedTuple):
    """How much of a kind is needed, and how much of that is provisional."""

    quantity: float = 0.0
    provisional: float | None = None

    def plus(self, item: Item) -> Total:
        """Return the total with another item."""
        open_ = item.provisional
        if open_ is not None:
            open_ += self.provisional or 0.0
        return Total(self.quantity + item.quantity, open_)


def write_kit(plan: Plan, path: Path) -> None:
    """Write the kit list as CSV: rows ``site`` for each site, then rows ``total`` with spares.

    Every row of ballast carries its caveat. A provisional mount, and its ballast, counts under its
    kind; ``provisional`` tells how much of a quantity is. Spares are ``spares_pct`` of the total,
    rounded up to whole pieces, metres or kilograms; what an engineer designs has none.
    """
    totals: dict[tuple[str, str, str], Total] = {}
    cores: dict[str, str] = {}
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        for i in range(len(plan)):
            v = SiteValues(plan, i)
            who = [v["site_id"], v["name"], v["group"]]
            for item in items(v):
                key = (item.part, item.kind, item.unit)
                totals[key] = totals.get(key, Total()).plus(item)
                if item.part == "cable":
                    cores[item.kind] = item.note
                count, open_ = whole_or_short(item.quantity), _open(item.provisional)
                writer.writerow(
                    ("site", *who, item.part, item.kind, count, item.unit, open_, "", "", item.note)
                )
        writer.writerows(_total_rows(totals, cores, plan.network.site.spares_pct))


def items(v: SiteValues) -> Iterator[Item]:
    """Yield the parts of a site; a site that nothing fits has none."""
    if not v.has_kit:
        return
    stands, buc_stands = bool(v["fixed_antenna_m"]), bool(v["fixed_buc_w"])
    yield Item("antenna", v["antenna_m"], float(not stands), "pieces", STANDS if stands else "")
    yield Item("BUC", v["buc_w"], float(not buc_stands), "pieces", STANDS if buc_stands else "")
    open_ = v["mount_certainty"] == "provisional" and not stands
    if v["mount"]:
        note = STANDS if stands else _mount_note(v)
        count = float(not stands)
        yield Item("mount", v["mount"], count, "pieces", note, float(open_))
    length, ballast = v.number("ifl_length_m"), v.number("ballast_kg")
    if math.isfinite(length):
        kind = v["cable_class"]
        note = v["cable_core"] if kind else OPEN_CABLE
        yield Item("cable", kind or "open", math.ceil(length), "m", note)
    if math.isfinite(ballast):
        note = f"{STANDS}; {CAVEAT}" if stands else CAVEAT
        weight = 0.0 if stands else math.ceil(ballast)
        yield Item("ballast", v["mount"], weight, "kg", note, weight * open_)


def _mount_note(v: SiteValues) -> str:
    """Return what is open about a mount: who designs it, and the question that settles it."""
    notes = [BY_ENGINEER] if v["mount"] == "engineered" else []
    notes += [f"provisional: {v['mount_question']}"] if v["mount_question"] else []
    return "; ".join(notes)


def _open(amount_: float | None) -> str:
    """Return how much is provisional; empty for what rests on no mount."""
    return "" if amount_ is None else whole_or_short(amount_)


def _total_rows(
    totals: dict[tuple[str, str, str], Total], cores: dict[str, str], spares_pct: float
) -> Iterator[tuple[str, ...]]:
    """Yield the totals by part and kind, in the order in which parts are listed.

    ``cores`` tells what each class of cable must be made of.
    """
    places = {"antenna": 0, "BUC": 1, "mount": 2, "cable": 3, "ballast": 4}
    for (part, kind, unit), total in sorted(
        totals.items(), key=lambda entry: (places[entry[0][0]], entry[0][1])
    ):
        if not total.quantity:
            continue
        designed = kind == "engineered"
        spares = 0 if designed else math.ceil(round(total.quantity * spares_pct / 100, 6))
        notes = [BY_ENGINEER if designed else f"spares {amount(spares_pct, '%')}"]
        notes += [CAVEAT] if part == "ballast" else []
        notes += [cores[kind]] if part == "cable" and cores.get(kind) else []
        notes += [OPEN_MOUNT] if total.provisional and not designed else []
        count, more, every = map(whole_or_short, (total.quantity, spares, total.quantity + spares))
        open_ = _open(total.provisional)
        yield ("total", "", "", "", part, kind, count, unit, open_, more, every, "; ".join(notes))
