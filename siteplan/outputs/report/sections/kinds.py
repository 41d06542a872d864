"""Fewest kinds: how far one, two or three pairs of antenna and BUC would go."""

from __future__ import annotations

import math

from siteplan.answers import KindSet
from siteplan.outputs.report.blocks import Section, Shown, Table, Text, Words, dish, money
from siteplan.outputs.shown import amount

NOT_WORKED_OUT = "Not worked out for this plan."


def kinds(shown: Shown) -> Section:
    """Return the sets of few kinds that serve most sites."""
    heading, sets = "Fewest kinds of kit", shown.plan.facts.fewest
    if not sets:
        return Section(heading, [Words(NOT_WORKED_OUT)])
    priced = any(not math.isnan(each.cost) for each in sets)
    heads = ("Kinds", "Antenna with transmitter (BUC), and sites", "Serves", "Area of reflectors")
    units = shown.plan.network.network.units
    new = [each for k, each in enumerate(sets) if each.kinds not in [s.kinds for s in sets[:k]]]
    rows = [_row(each, units, priced=priced) for each in new]
    cost = ("Cost, in the unit of the prices given",) if priced else ()
    told = "Fewer kinds are easier to buy, stock and repair. Sites with kit that stands are apart."
    if len(new) < len(sets):
        told += " More kinds than those serve no more sites and take no less."
    table = Table((*heads, *cost), rows, frozenset(range(2, 4 + len(cost))), "small")
    return Section(heading, [Words(told), table])


def _row(each: KindSet, units: str, *, priced: bool) -> tuple[Text, ...]:
    """Return one set."""
    pairs = [
        f"{dish(antenna, units)} with {amount(buc, 'W')} ({count})"
        for (antenna, buc), count in zip(each.kinds, each.sites, strict=True)
    ]
    of = f"{each.served} of {each.judged}"
    found = ", ".join(pairs) or "none serves any site"
    note = "" if each.exact else "; near the best, not proven"
    row = (str(each.k), found + note, of, amount(round(each.area_m2, 1), "m2"))
    cost = "no price" if math.isnan(each.cost) else money(each.cost)
    return (*row, cost) if priced else row
