"""The bill of quantities: what to order of each kind with spares, what it costs, what is missing.

A sum over kinds of which one has no price would be taken for the whole: it is blank, the kinds
are named, and the sum of the others stands apart from it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.answers import Bill, BillLine, GroupCost
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.cost.counts import MOST_GROUPS, Counts, Quantity, counts
from siteplan.planning.cost.parts import OPEN
from siteplan.prices import PARTS, UNPRICED, WORK, Key, Prices, prices
from siteplan.results import Plan
from siteplan.words import CAVEAT

#: The kind of mount that an engineer designs: nobody orders a spare.
_DESIGNED = "engineered"


def counted(plan: Plan) -> Counts:
    """Return what a plan's sites take; by group too where there are prices."""
    return counts(plan, by_group=prices(plan.network).any_price)


def bill(of: Counts, network: Network) -> Bill:
    """Return the bill of what sites take, at the network file's prices.

    Parameters
    ----------
    of : Counts
        Of all sites; parts of a plan are added up before.
    network : Network
        Prices, suppliers' codes, and the share of spares.

    Returns
    -------
    Bill
        A line for each kind that is still to be ordered, in the order of the parts, sizes rising;
        work is a line where there is any price.
    """
    offered = prices(network)
    lines = tuple(_lines(of, offered, network.site.spares_pct))
    if not offered.any_price:
        return Bill(lines, sites=of.sites, unserved=of.unserved)
    missing = tuple(_named(line) for line in lines if _is_missing(line))
    partial = _sum(line.cost for line in lines)
    return Bill(
        lines,
        _groups(of, offered),
        priced=True,
        total=math.nan if missing else partial,
        missing=missing,
        partial=partial,
        spares=_sum(line.spares * line.price for line in lines),
        sites=of.sites,
        unserved=of.unserved,
        notes=tuple(_notes(of, lines)),
    )


def _lines(of: Counts, offered: Prices, spares_pct: float) -> Iterator[BillLine]:
    """Yield a line for each kind."""
    for key in sorted(of.kinds, key=_place):
        if key[0] in WORK and not offered.any_price:
            continue
        yield _line(key, of.kinds[key], offered, spares_pct, of.cores.get(key[1], ""))


def _place(key: Key) -> tuple[int, float, str]:
    """Return where a kind stands: by part, then by size, then by name."""
    part, kind = key
    size = float(kind) if part in ("antenna", "BUC") else 0.0
    return list(PARTS).index(part), size, kind


def _line(key: Key, of: Quantity, offered: Prices, spares_pct: float, core: str) -> BillLine:
    part, kind = key
    price, code = offered.of(part, kind)
    single = part in WORK or kind == _DESIGNED
    spares = 0 if single else math.ceil(round(of.amount * spares_pct / 100, 6))
    order = of.amount + spares
    return BillLine(
        part,
        _shown(part, kind),
        PARTS[part],
        of.amount,
        _one_nan(of.open_),
        spares,
        order,
        code,
        price,
        _one_nan(order * price),
        "; ".join(_line_notes(key, of, spares_pct, core if part == "cable" else "")),
    )


def _one_nan(value: float) -> float:
    """Return the value; any NaN as the one of `math`, so that equal bills compare as equal."""
    return math.nan if math.isnan(value) else value


def _shown(part: str, kind: str) -> str:
    """Return a kind as lists have it: a size with its unit, a name as it is."""
    words = english()
    if part == "antenna":
        return words.one("bill.antenna", size=float(kind))
    return words.one("bill.buc", size=float(kind)) if part == "BUC" else kind


def _line_notes(key: Key, of: Quantity, spares_pct: float, core: str) -> Iterator[str]:
    """Yield what whoever orders must know of a kind."""
    (part, kind), words = key, english()
    if part in WORK:
        return
    designed = kind == _DESIGNED
    yield words.one("bill.engineer") if designed else words.one("bill.spares", pct=spares_pct)
    if part == UNPRICED:
        yield CAVEAT
    if part == "cable" and (core or kind == OPEN):
        yield core or words.one("bill.open_cable")
    if of.open_ > 0 and not designed:
        yield words.one("bill.open_mount", open_=of.open_, amount=of.amount, unit=PARTS[part])


def _is_missing(line: BillLine) -> bool:
    return math.isnan(line.price) and line.part != UNPRICED


def _named(line: BillLine) -> str:
    """Return a kind as sentences name it."""
    if line.part == "cable" and line.kind == OPEN:
        return "cable of a class that is still open"
    return f"{line.part} {line.kind.replace('_', ' ')}".strip()


def _sum(costs: Iterator[float]) -> float:
    """Return the sum of what is priced."""
    return math.fsum(cost for cost in costs if not math.isnan(cost))


def _groups(of: Counts, offered: Prices) -> tuple[GroupCost, ...]:
    """Return the cost of each group by name; none where no site has a group."""
    if not of.groups or set(of.groups) == {""}:
        return ()
    return tuple(_group(name, of.groups[name], offered) for name in sorted(of.groups))


def _group(name: str, of: Counts, offered: Prices) -> GroupCost:
    costs = {key: q.amount * offered.of(*key).price for key, q in of.kinds.items()}
    partial = _sum(iter(costs.values()))
    missing = any(math.isnan(cost) and part != UNPRICED for (part, _), cost in costs.items())
    return GroupCost(name, of.sites, math.nan if missing else partial, of.unserved, partial)


def _notes(of: Counts, lines: tuple[BillLine, ...]) -> Iterator[str]:
    """Yield what is not in the sum."""
    words = english()
    if of.unserved:
        yield words.one("bill.unserved", sites=of.unserved)
    if any(line.part == UNPRICED and math.isnan(line.price) for line in lines):
        yield words.one("bill.no_ballast")
    if of.groups is None:
        yield words.one("bill.many_groups", most=MOST_GROUPS)
