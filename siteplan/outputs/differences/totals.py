"""How table, page and screen say in which totals two plans differ."""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.answers.differences import Differences, TotalChange
from siteplan.outputs.shown import grouped, money, whole_or_short, words
from siteplan.prices import PARTS, WORK

#: What the totals that are no order are called.
SUMS = {
    "cost": "Cost, spares included",
    "priced": "Cost of what has a price",
    "spares": "Cost of the spares",
    "monthly_cost": "Cost a month",
    "life_cost": "Cost over the years",
    "leased_mhz": "Leased bandwidth",
}
#: Headings of the table on the page: of amounts, and of what they cost.
HEADS = ("In all", "Old plan", "New plan", "Change")
COST_HEADS = ("Cost, old plan", "Cost, new plan", "Change of cost")
#: Headings of the file.
HEADINGS = ("part", "kind", "unit", "old", "new", "cost_old", "cost_new")
#: Most kinds that the screen names.
MOST_KINDS = 12
#: Totals that the screen leaves to the page.
_IN_OTHERS = "spares"
#: Parts whose kind is a size.
_SIZED = ("antenna", "BUC")
#: The unit that needs no word.
PIECES = PARTS["antenna"]


def called(of: TotalChange) -> str:
    """Return what a total is called, such as ``Antenna 1.80 m``."""
    if of.part in SUMS:
        return SUMS[of.part]
    told = _kind(of)
    return told[:1].upper() + told[1:]


def _kind(of: TotalChange) -> str:
    """Return a part with its kind, such as ``antenna 1.80 m`` or ``mount (pole)``."""
    if not of.kind:
        return of.part
    return f"{of.part} {of.kind}" if of.part in _SIZED else f"{of.part} ({words(of.kind)})"


def table(found: Differences) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return headings and rows of the totals that differ; no costs where none is known."""
    priced = any(not math.isnan(of.old_cost) for of in found.totals)
    rows = [(*_amounts(of), *(_costs(of) if priced else ())) for of in found.totals]
    return (*HEADS, *(COST_HEADS if priced else ())), rows


def _amounts(of: TotalChange) -> tuple[str, str, str, str]:
    if math.isnan(of.old):
        return called(of), "", "", ""
    old, new = (f"{whole_or_short(x)} {of.unit}" for x in (of.old, of.new))
    change = of.new - of.old
    return called(of), old, new, _sign(change) + whole_or_short(abs(change)) if change else ""


def _costs(of: TotalChange) -> tuple[str, str, str]:
    if math.isnan(of.old_cost):
        return "", "", ""
    return grouped(of.old_cost), grouped(of.new_cost), _more(of)


def _more(of: TotalChange) -> str:
    """Return the change of a cost with its sign; '' where there is none."""
    change = round(of.new_cost - of.old_cost, 2)
    return _sign(change) + grouped(abs(change)) if change else ""


def _sign(change: float) -> str:
    return "+" if change > 0 else "\u2212"


def lines(found: Differences) -> Iterator[str]:
    """Yield what the screen says: what it costs and leases, and what else is to be ordered."""
    sums = [
        f"{called(of)}: {_instead(of)}"
        for of in found.totals
        if of.part in SUMS and of.part != _IN_OTHERS
    ]
    if sums:
        yield f"{'; '.join(sums)}."
    kinds = [of for of in found.totals if of.part not in SUMS and of.part not in WORK]
    moved = [of for of in kinds if of.old != of.new]
    if moved:
        told = [f"{_kind(of)}: {_instead(of)}" for of in moved]
        more = len(told) - MOST_KINDS
        rest = f"; and {more} more in differences_totals.csv" if more > 0 else ""
        yield f"To order: {'; '.join(told[:MOST_KINDS])}{rest}."


def _instead(of: TotalChange) -> str:
    if math.isnan(of.old):
        return f"{grouped(of.new_cost)} instead of {grouped(of.old_cost)} ({_more(of)})"
    unit = "" if of.unit == PIECES else f" {of.unit}"
    return f"{whole_or_short(of.new)}{unit} instead of {whole_or_short(of.old)}"


def cells(of: TotalChange) -> tuple[str, ...]:
    """Return a row of the file: what is not known is blank."""
    amounts = ("" if math.isnan(x) else whole_or_short(x) for x in (of.old, of.new))
    return (of.part, of.kind, of.unit, *amounts, money(of.old_cost), money(of.new_cost))
