"""The totals in which two plans differ: what is to be ordered of each kind, and what it costs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from siteplan.answers.differences import SUMS, TotalChange, Totals
from siteplan.prices import PARTS, WORK

#: Decimals to which outputs tell money and amounts.
_DECIMALS = 2
#: What is ordered of a kind, and its cost.
_Order = Mapping[tuple[str, str, str], tuple[float, float]]


def total_changes(old: Totals, new: Totals) -> tuple[TotalChange, ...]:
    """Return the totals that differ, of those that both plans tell: sums, then kinds by part.

    A kind that one of the plans does not take is none of it there, at no cost. The cost of a kind
    counts only where both plans price it.
    """
    found = _kinds(old.order, new.order)
    if not ("priced" in old.sums and "priced" in new.sums):
        # Work is told only where there are prices.
        found = (change for change in found if change.part not in WORK)
    return (*_sums(old.sums, new.sums), *found)


def _sums(old: Mapping[str, float], new: Mapping[str, float]) -> Iterator[TotalChange]:
    for what in SUMS:
        # What is priced is told only where the whole is not known.
        if what == "priced" and "cost" in old and "cost" in new:
            continue
        if what in old and what in new and not _same(old[what], new[what]):
            if what == "leased_mhz":
                yield TotalChange(what, "", "MHz", old[what], new[what])
            else:
                yield TotalChange(what, "", "", math.nan, math.nan, old[what], new[what])


def _kinds(old: _Order | None, new: _Order | None) -> Iterator[TotalChange]:
    if old is None or new is None:
        return
    for key in sorted({*old, *new}, key=_place):
        (was, was_cost), (is_, is_cost) = (of.get(key, (0.0, 0.0)) for of in (old, new))
        if math.isnan(was_cost) or math.isnan(is_cost):
            was_cost = is_cost = math.nan
        if not (_same(was, is_) and _same(was_cost, is_cost)):
            yield TotalChange(*key, was, is_, was_cost, is_cost)


def _same(one: float, other: float) -> bool:
    """Whether two figures are the same to the digits that outputs tell; none is as none."""
    if math.isnan(one) or math.isnan(other):
        return math.isnan(one) == math.isnan(other)
    return round(one, _DECIMALS) == round(other, _DECIMALS)


def _place(key: tuple[str, str, str]) -> tuple[int, float, str]:
    """Return where a kind stands: by part, then by size, then by name."""
    part, kind, _ = key
    order = list(PARTS)
    try:
        size = float(kind.split(" ")[0])
    except ValueError:
        size = 0.0
    return order.index(part) if part in order else len(order), size, kind
