"""kit.csv: what each site takes, what to order in total with spares, and what it costs.

Written beside the plan's tables; read by whoever orders and loads. Suppliers' codes, prices and
costs have their columns only where the network file gives any.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from siteplan.answers import Bill, BillLine
from siteplan.messages import english
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import SiteValues, Texts, money, price, whole_or_short
from siteplan.prices import NO_OFFER, Offer, Prices, kind_of, prices
from siteplan.results import Plan
from siteplan.words import CAVEAT

#: Headings of every list, and of those that the network file gives codes or prices for.
HEADINGS = (
    *("rows", "site_id", "name", "group", "part", "kind", "quantity", "unit"),
    *("provisional", "spares", "to_order", "supplier_code", "price", "cost", "note"),
)
#: Note of rows that order nothing.
STANDS = "stands already"
#: Stands for a class of cable where none works.
OPEN = "open"
#: Items whose cells are kept: sites take the same ones over and over.
_KINDS = 1000
#: The part of a site that takes nothing.
NOTHING = "nothing"


class Item(NamedTuple):
    """One part of one site; ``quantity`` is 0 for kit that stands there already.

    ``offered`` is the kind as prices know it, ``provisional`` how much of the quantity rests on a
    mount that a question may still change, None for parts that rest on no mount.
    """

    part: str
    kind: str
    quantity: float
    unit: str
    note: str = ""
    provisional: float | None = None
    offered: str = ""


def write_kit(plan: Plan, path: Path) -> None:
    """Write the kit list as CSV: rows ``total`` with spares, then rows ``site`` of each site.

    What is to be ordered stands first: the totals are those of the plan's bill. Every site has its
    rows; one that nothing fits has one that says why. Every row of ballast carries its caveat. A
    provisional mount, and its ballast, counts under its kind; ``provisional`` tells how much of a
    quantity is. Where there are prices, rows ``cost`` sum up the network, its spares, each group
    and each site.
    """
    offered, bill = prices(plan.network), plan.facts.bill or Bill(())
    left_out = set() if offered.any_code else {"supplier_code"}
    left_out |= set() if offered.any_price else {"price", "cost"}
    headings = [name for name in HEADINGS if name not in left_out]
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(headings)
        for row in _rows(plan, bill, offered):
            writer.writerow([row.get(name, "") for name in headings])


def _rows(plan: Plan, bill: Bill, offered: Prices) -> Iterator[dict[str, str]]:
    """Yield the rows by heading; what a row does not name is blank in it."""
    for line in bill.lines:
        yield {"rows": "total", **_line_cells(line)}
    for cells in _sums(bill) if bill.priced else ():
        yield {"rows": "cost", **cells}
    texts = Texts(plan)
    cells_of = lru_cache(maxsize=_KINDS)(lambda item: _item_cells(item, offered))
    for i in range(len(plan)):
        v = SiteValues(plan, i, texts=texts)
        who = _who(v)
        for item in items(v, priced=offered.any_price):
            yield {"rows": "site", **who, **cells_of(item)}
        if bill.priced and v.has_kit:
            yield {"rows": "cost", **who, **_site_cells(v)}


def _who(v: SiteValues) -> dict[str, str]:
    return {name: v[name] for name in ("site_id", "name", "group")}


def items(v: SiteValues, *, priced: bool = False) -> Iterator[Item]:
    """Yield the parts of a site, and the work on it where it is ``priced``.

    A site that nothing fits takes nothing, for the reason that is noted.
    """
    if not v.has_kit:
        yield Item(NOTHING, "", 0.0, "", v["no_fit_reason"])
        return
    stands, buc_stands = bool(v["fixed_antenna_m"]), bool(v["fixed_buc_w"])
    station = stands and buc_stands
    on_mount = _mount_items(v, stands=stands)
    yield _piece("antenna", v["antenna_m"], kind_of(v.number("antenna_m")), stands=stands)
    yield _piece("BUC", v["buc_w"], kind_of(v.number("buc_w")), stands=buc_stands)
    yield _piece("LNB", "", "", stands=station)
    yield _piece("modem", "", "", stands=station)
    yield from _found(on_mount, "mount")
    yield from _cable_items(v, stands=station)
    yield from _found(on_mount, "ballast")
    if priced:
        yield from _found(on_mount, "installation")
        yield Item("visit", "", float(not station), "visits", STANDS if station else "")


def _found(by_part: dict[str, Item], part: str) -> Iterator[Item]:
    """Yield the item of a part, if there is one."""
    if part in by_part:
        yield by_part[part]


def _piece(part: str, kind: str, offered: str, *, stands: bool) -> Item:
    note = STANDS if stands else ""
    return Item(part, kind, float(not stands), "pieces", note, offered=offered)


def _mount_items(v: SiteValues, *, stands: bool) -> dict[str, Item]:
    """Return the mount, its ballast, and the installation on it, by part."""
    kind, count = v["mount"], float(not stands)
    open_ = v["mount_certainty"] == "provisional" and not stands
    found = {}
    if kind:
        note = STANDS if stands else _mount_note(v)
        found["mount"] = Item("mount", kind, count, "pieces", note, float(open_), kind)
        note = STANDS if stands else ""
        found["installation"] = Item("installation", kind, count, "sites", note, float(open_), kind)
    ballast = v.number("ballast_kg")
    if math.isfinite(ballast):
        note = f"{STANDS}; {CAVEAT}" if stands else CAVEAT
        weight = math.ceil(ballast) * count
        found["ballast"] = Item("ballast", kind, weight, "kg", note, weight * open_)
    return found


def _cable_items(v: SiteValues, *, stands: bool) -> Iterator[Item]:
    """Yield the cable; of a whole station that stands there, what it should be."""
    length = v.number("ifl_length_m")
    if not math.isfinite(length):
        return
    kind = v["cable_class"]
    note = v["cable_core"] if kind else english()["bill.open_cable"]
    if stands:
        note = "; ".join(filter(None, (english()["bill.cable_stands"], note)))
    yield Item("cable", kind or OPEN, 0.0 if stands else math.ceil(length), "m", note, None, kind)


def _mount_note(v: SiteValues) -> str:
    """Return what is open about a mount: who designs it, and the question that settles it."""
    notes = [english()["bill.engineer"]] if v["mount"] == "engineered" else []
    notes += [f"to be surveyed: {v['mount_question']}"] if v["mount_question"] else []
    return "; ".join(notes)


def _item_cells(item: Item, offered: Prices) -> dict[str, str]:
    """Return the cells of a part of a site; what stands there has neither code nor price."""
    offer = offered.of(item.part, item.offered) if item.quantity else NO_OFFER
    return {
        **{"part": item.part, "kind": item.kind, "unit": item.unit, "note": item.note},
        "quantity": whole_or_short(item.quantity),
        "provisional": _open(item.provisional),
        "supplier_code": offer.code,
        "price": price(offer.price),
        "cost": money(_cost(item, offer)),
    }


def _cost(item: Item, offer: Offer) -> float:
    """Return what a part of a site costs: 0 where it stands, NaN where nobody knows."""
    if item.part == NOTHING:
        return math.nan
    return item.quantity * offer.price if item.quantity else 0.0


def _open(amount_: float | None) -> str:
    """Return how much is provisional; empty for what rests on no mount."""
    return "" if amount_ is None or math.isnan(amount_) else whole_or_short(amount_)


def _line_cells(line: BillLine) -> dict[str, str]:
    """Return the cells of a kind in total."""
    return {
        **{"part": line.part, "kind": line.kind, "unit": line.unit, "note": line.note},
        "quantity": whole_or_short(line.quantity),
        "provisional": _open(line.provisional),
        "spares": whole_or_short(line.spares),
        "to_order": whole_or_short(line.to_order),
        "supplier_code": line.supplier_code,
        "price": price(line.price),
        "cost": money(line.cost),
    }


def _site_cells(v: SiteValues) -> dict[str, str]:
    """Return the cells of what a whole site costs."""
    cost = v.number("site_cost")
    note = english()["bill.no_price"] if math.isnan(cost) else ""
    return {"part": "site", "quantity": "1", "unit": "sites", "cost": money(cost), "note": note}


def _sums(bill: Bill) -> Iterator[dict[str, str]]:
    """Yield the cost of all, of the spares in it, and of each group; a partial sum says so."""
    notes = list(bill.notes)
    if bill.missing:
        named = "; ".join(bill.missing)
        notes[:0] = [english().one("bill.missing", kinds=named, partial=money(bill.partial))]
    sites = {"quantity": str(bill.sites), "unit": "sites"}
    yield {"part": "network", **sites, "cost": money(bill.total), "note": " ".join(notes)}
    spares = math.nan if bill.missing else bill.spares
    yield {"part": "spares", **_sum_cells(spares, bill.spares)}
    for group in bill.groups:
        sites = {"quantity": str(group.sites), "unit": "sites"}
        costs = _sum_cells(group.cost, group.partial)
        yield {"part": "group", "group": group.group, **sites, **costs}


def _sum_cells(cost: float, partial: float) -> dict[str, str]:
    """Return the cells of a cost, and of the part of it that is known where some is not."""
    if not math.isnan(cost):
        return {"cost": money(cost)}
    return {"cost": "", "note": english().one("bill.partial", partial=money(partial))}
