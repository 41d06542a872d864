"""The totals in which two plans differ, and those that are not to be compared."""

from __future__ import annotations

import math
from typing import Any

from siteplan.answers.differences import Totals
from siteplan.planning.differences.totals import total_changes

NAN = math.nan
PRICED = {"cost": 100.0, "priced": 100.0}


def totals(order: dict[Any, Any] | None, **sums: float) -> Totals:
    return Totals(order, sums)


def rows(old: Totals, new: Totals) -> list[tuple[Any, ...]]:
    return [(c.part, c.kind, c.old, c.new, c.old_cost, c.new_cost)
            for c in total_changes(old, new)]  # fmt: skip


def kind(part: str, name: str = "") -> tuple[str, str, str]:
    return part, name, "pieces"


def test_only_what_differs_and_sizes_rise() -> None:
    old = {kind("antenna", "2.40 m"): (5.0, 50.0), kind("LNB"): (5.0, 5.0),
           kind("antenna", "10.00 m"): (1.0, 9.0)}  # fmt: skip
    new = {kind("antenna", "2.40 m"): (4.0, 40.0), kind("LNB"): (5.0, 5.004),
           kind("antenna", "1.80 m"): (1.0, 7.0)}  # fmt: skip
    assert rows(totals(old, **PRICED), totals(new, **PRICED)) == [
        ("antenna", "1.80 m", 0.0, 1.0, 0.0, 7.0),
        ("antenna", "2.40 m", 5.0, 4.0, 50.0, 40.0),
        ("antenna", "10.00 m", 1.0, 0.0, 9.0, 0.0),
    ]


def test_another_price_of_as_many_is_a_change() -> None:
    old, new = ({kind("modem"): (3.0, cost)} for cost in (30.0, 60.0))
    assert rows(totals(old), totals(new)) == [("modem", "", 3.0, 3.0, 30.0, 60.0)]


def test_what_one_of_them_does_not_price_has_no_cost_to_compare() -> None:
    old, new = ({kind("modem"): (3.0, cost)} for cost in (30.0, NAN))
    assert rows(totals(old), totals(new)) == []
    found = rows(totals(old), totals({kind("modem"): (4.0, NAN)}))
    assert found[0][:4] == ("modem", "", 3.0, 4.0)
    assert all(map(math.isnan, found[0][4:]))


def test_work_counts_only_where_both_are_priced() -> None:
    """Without prices no plan lists it: from none to 58 visits would be no change of anything."""
    order = {("visit", "", "visits"): (58.0, 5800.0)}
    assert rows(totals({}), totals(order, **PRICED)) == []
    assert len(rows(totals({}, **PRICED), totals(order, **PRICED))) == 1


def test_sums_that_one_plan_does_not_know_are_left_out() -> None:
    old = totals({}, cost=10.0, priced=10.0, leased_mhz=7.0)
    assert [c.part for c in total_changes(old, totals({}, priced=8.0))] == ["priced"]
    assert [c.part for c in total_changes(old, totals({}, cost=9.0, priced=9.0))] == ["cost"]
    assert total_changes(old, totals({})) == ()
    (leased,) = total_changes(old, totals({}, leased_mhz=8.0))
    assert (leased.unit, leased.old, leased.new) == ("MHz", 7.0, 8.0)


def test_an_order_that_nobody_knows_is_not_compared() -> None:
    known = totals({kind("modem"): (3.0, NAN)})
    assert total_changes(totals(None), known) == total_changes(known, totals(None)) == ()
