"""Bill of quantities: what to order with spares, and what it costs where prices are given."""

from __future__ import annotations

import math

from siteplan.answers import Bill, BillLine, GroupCost
from siteplan.outputs.report.blocks import Block, Section, Shown, Table, Text, Words, money, user
from siteplan.outputs.report.words import MOUNTS
from siteplan.outputs.shown import DASH, amount, whole_or_short
from siteplan.outputs.units import in_sentence, inside

#: Lines and groups that are listed.
MOST_LINES, MOST_GROUPS = 45, 15
MISSING = "a price is missing"
NO_PRICES = "Costs are not told: no prices were given."
UNIT = "Costs are in the unit of the prices given."


def bill(shown: Shown) -> Section:
    """Return quantities by kind, spares and costs."""
    heading, lines = "Bill of quantities", shown.report.lines
    if not lines:
        return Section(heading, [Words("Nothing to order: no site gets new kit.")])
    found = shown.plan.facts.bill
    priced, coded = bool(found and found.priced), any(line.supplier_code for line in lines)
    heads = ["Part", "Kind", *(["Supplier's code"] if coded else []), "Needed",
             "of these to be surveyed", "Spares", "To order", "Unit",
             *(["Price", "Cost"] if priced else [])]  # fmt: skip
    units = shown.plan.network.network.units
    rows = [_row(line, units, priced=priced, coded=coded) for line in lines[:MOST_LINES]]
    texts = {"Part", "Kind", "Supplier's code", "Unit"}
    numbers = frozenset(k for k, head in enumerate(heads) if head not in texts)
    spares = amount(shown.plan.network.site.spares_pct, "%")
    blocks: list[Block] = [Table(tuple(heads), rows, numbers, "small bill")]
    blocks.append(Words(f"Spares: {spares}, rounded up. {_open(lines)}".strip(), "small"))
    left = len(lines) - MOST_LINES
    blocks += [Words(f"{left} more kinds stand in kit.csv.")] if left > 0 else []
    return Section(
        heading, blocks + (_costs(found) if found and priced else [Words(NO_PRICES, "small")])
    )


def _row(line: BillLine, units: str, *, priced: bool, coded: bool) -> tuple[Text, ...]:
    """Return one kind of thing to order."""
    kind = MOUNTS.get(line.kind) or in_sentence(line.kind, units)
    row: list[Text] = [line.part, user(kind)]
    row += [user(line.supplier_code) if line.supplier_code else DASH] if coded else []
    row += [
        _quantity(line.quantity, line.unit, units),
        "" if math.isnan(line.provisional) else whole_or_short(line.provisional),
        whole_or_short(line.spares),
        _quantity(line.to_order, line.unit, units),
        _unit(line.unit, units),
    ]
    row += [_price(line.price), _price(line.cost)] if priced else []
    return tuple(row)


def _quantity(number: float, unit: str, units: str) -> str:
    """Return a quantity, in the other unit too where that is asked for; units have a column."""
    other = inside(number, unit, 0, units).partition(" ")[0]
    return whole_or_short(number) + (f" ({other})" if other else "")


def _unit(unit: str, units: str) -> str:
    """Return a unit, and behind it the other one where that is asked for."""
    other = inside(1.0, unit, 0, units).partition(" ")[2]
    return f"{unit} ({other})" if other else unit


def _price(cost: float) -> str:
    return "no price" if math.isnan(cost) else money(cost)


def _open(lines: tuple[BillLine, ...]) -> str:
    """Return what to do with what is to be surveyed, where anything is."""
    if any(line.provisional > 0 for line in lines):
        return "Order what is to be surveyed once its questions are answered."
    return ""


def _costs(found: Bill) -> list[Block]:
    """Return the sum, what it does not hold, and the costs of groups."""
    blocks: list[Block] = []
    if not math.isnan(found.total):
        blocks.append(Words(f"In all, spares included: {money(found.total)}. {UNIT}"))
    else:
        known = (
            "" if math.isnan(found.partial) else f" What is priced comes to {money(found.partial)}."
        )
        blocks.append(Words(f"The whole cost is not known: some prices are missing.{known} {UNIT}"))
    if found.missing:
        blocks.append(Words(f"Without a price: {'; '.join(found.missing)}.", "small"))
    blocks += [Words(" ".join(found.notes), "small")] if found.notes else []
    groups = [g for g in found.groups if g.group]
    if groups:
        blocks.append(_groups(groups))
        left = len(groups) - MOST_GROUPS
        blocks += [Words(f"{left} more groups stand in kit.csv.", "small")] if left > 0 else []
    return blocks


def _groups(groups: list[GroupCost]) -> Table:
    """Return what the sites of each group cost, the dearest first."""
    groups = sorted(groups, key=lambda g: -(0.0 if math.isnan(g.cost) else g.cost))
    rows: list[tuple[Text, ...]] = [
        (user(g.group), str(g.sites), MISSING if math.isnan(g.cost) else money(g.cost))
        for g in groups[:MOST_GROUPS]
    ]
    return Table(
        ("Group", "Sites with kit", "Cost, spares apart"), rows, frozenset({1, 2}), "small"
    )
