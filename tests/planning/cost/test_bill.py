"""The bill of five unlike sites, worked out by hand, and what is said where prices are missing."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from siteplan.answers import Bill, BillLine
from siteplan.network import Network
from siteplan.planning.cost import counts as counting
from siteplan.planning.cost.bill import bill, counted
from siteplan.planning.cost.counts import Counts
from siteplan.planning.cost.figures import cost_figures
from siteplan.planning.cost.sites import site_costs
from siteplan.prices import prices
from siteplan.results import Plan

NAN = math.nan
#: A new site on a pole, one on a roof, a station that stands, one that nothing fits, and one with
#: a dish of a size that nobody sells any more.
COLUMNS: dict[str, list[Any]] = {
    "group": ["a", "a", "b", "b", "b"],
    "antenna_m": [1.2, 1.8, 1.2, NAN, 2.6],
    "buc_w": [2.0, 2.0, 2.0, NAN, 4.0],
    "fixed_antenna_m": [NAN, NAN, 1.2, NAN, 2.6],
    "fixed_buc_w": [NAN, NAN, 2.0, NAN, NAN],
    "mount": ["pole", "non_penetrating", "pole", "", "wall"],
    "mount_certainty": ["decided", "provisional", "decided", "", "provisional"],
    "ballast_kg": [NAN, 100.5, NAN, NAN, NAN],
    "ifl_length_m": [30.2, 20.0, 40.0, 50.0, 10.0],
    "cable_class": ["thin", "thin", "thick", "", "thin"],
    "cable_core": ["copper", "copper", "copper", "", "copper"],
}
TABLES: dict[str, Any] = {
    "satellite": {"longitude_deg": 0.0},
    "antennas": [{"diameter_m": 1.8, "price": 900, "supplier_code": "AN-18"},
                 {"diameter_m": 1.2, "price": 400}],
    "bucs": [{"rated_w": 2, "price": 500}, {"rated_w": 4, "price": 800}],
    "cables": [{"name": "thin", "price": 1.5}, {"name": "thick"}],
    "mounts": [{"kind": "pole", "price": 200}, {"kind": "non_penetrating", "price": 300}],
    "costs": {"lnb": 100, "modem": 1000, "modem_code": "MD", "ballast": 0.2, "visit": 25,
              "installation_pole": 50, "installation_non_penetrating": 60},
}  # fmt: skip
UNPRICED: dict[str, Any] = {"satellite": {"longitude_deg": 0.0}}


def planned(tables: dict[str, Any] = TABLES, **columns: list[Any]) -> Plan:
    arrays = {
        name: np.array(values, dtype=float if isinstance(values[0], float) else object)
        for name, values in (COLUMNS | columns).items()
    }
    arrays["site_id"] = np.array([f"S{k}" for k in range(len(arrays["group"]))], dtype=object)
    return Plan(arrays, {}, Network.model_validate(tables), ())


def bill_of(plan: Plan) -> Bill:
    return bill(counted(plan), plan.network)


def costs_of(plan: Plan) -> list[float]:
    return site_costs(plan.columns, prices(plan.network)).site_cost.tolist()


def without(table: str, key: str, entry: int | None = None) -> dict[str, Any]:
    """Return the tables with a price taken out."""
    tables: dict[str, Any] = json.loads(json.dumps(TABLES))
    place = tables[table] if entry is None else tables[table][entry]
    del place[key]
    return tables


def line(found: Bill, part: str, kind: str = "") -> BillLine:
    return next(x for x in found.lines if (x.part, x.kind) == (part, kind))


def test_what_each_site_costs_by_hand() -> None:
    """What stands costs nothing; a site without kit has no cost, rather than none."""
    pole = 400 + 500 + 100 + 1000 + 200 + 31 * 1.5 + 50 + 25
    roof = 900 + 500 + 100 + 1000 + 300 + 20 * 1.5 + 101 * 0.2 + 60 + 25
    old_dish = 800 + 100 + 1000 + 10 * 1.5 + 25
    expected = pytest.approx([pole, roof, 0, NAN, old_dish], abs=1e-9, nan_ok=True)
    assert costs_of(planned()) == expected
    assert (pole, roof, old_dish) == pytest.approx((2321.5, 2935.2, 1940), abs=1e-9)


def test_the_bill_by_hand() -> None:
    found = bill_of(planned())
    told = [(x.part, x.kind, x.unit, x.quantity, x.spares, x.to_order, x.cost) for x in found.lines]
    assert told == [
        ("antenna", "1.20 m", "pieces", 1, 1, 2, 800),
        ("antenna", "1.80 m", "pieces", 1, 1, 2, 1800),
        ("BUC", "2.0 W", "pieces", 2, 1, 3, 1500),
        ("BUC", "4.0 W", "pieces", 1, 1, 2, 1600),
        ("LNB", "", "pieces", 3, 1, 4, 400),
        ("modem", "", "pieces", 3, 1, 4, 4000),
        ("mount", "non_penetrating", "pieces", 1, 1, 2, 600),
        ("mount", "pole", "pieces", 1, 1, 2, 400),
        ("cable", "thin", "m", 61, 7, 68, 102),
        ("ballast", "non_penetrating", "kg", 101, 11, 112, pytest.approx(22.4, abs=1e-9)),
        ("installation", "non_penetrating", "sites", 1, 0, 1, 60),
        ("installation", "pole", "sites", 1, 0, 1, 50),
        ("visit", "", "visits", 3, 0, 3, 75),
    ]
    assert found.total == pytest.approx(11409.4, abs=1e-9)
    assert found.partial == found.total
    assert found.spares == pytest.approx(4212.7, abs=1e-9)
    assert (found.priced, found.missing, found.sites, found.unserved) == (True, (), 4, 1)
    assert found.notes == ("1 of the sites have no kit and are not in the cost.",)


def test_the_bill_names_suppliers_codes_and_what_is_open() -> None:
    found = bill_of(planned())
    codes = {(x.part, x.kind): x.supplier_code for x in found.lines if x.supplier_code}
    assert codes == {("antenna", "1.80 m"): "AN-18", ("modem", ""): "MD"}
    open_ = {(x.part, x.kind): x.provisional for x in found.lines if not math.isnan(x.provisional)}
    assert open_ == {
        ("mount", "non_penetrating"): 1, ("mount", "pole"): 0, ("ballast", "non_penetrating"): 101,
        ("installation", "non_penetrating"): 1, ("installation", "pole"): 0,
    }  # fmt: skip
    assert "101 of 101 kg to be surveyed" in line(found, "ballast", "non_penetrating").note
    assert "to be surveyed" not in line(found, "mount", "pole").note
    assert line(found, "cable", "thin").note == "spares 10 %; copper"


def test_groups_and_spares_are_the_whole() -> None:
    found = bill_of(planned())
    assert [(g.group, g.sites, g.unserved) for g in found.groups] == [("a", 2, 0), ("b", 2, 1)]
    assert [g.cost for g in found.groups] == pytest.approx([5256.7, 1940], abs=1e-9)
    every = math.fsum(g.cost for g in found.groups)
    assert every + found.spares == pytest.approx(found.total, abs=1e-9)
    assert every == pytest.approx(np.nansum(costs_of(planned())), abs=1e-9)


def test_without_groups_there_is_nothing_by_group() -> None:
    assert bill_of(planned(group=[""] * 5)).groups == ()
    some = bill_of(planned(group=["", "", "b", "b", "b"])).groups
    assert [g.group for g in some] == ["", "b"]


def test_without_prices_there_is_no_cost_and_no_work() -> None:
    found = bill_of(planned(UNPRICED))
    assert not found.priced
    assert (found.groups, found.missing, found.notes) == ((), (), ())
    assert all(math.isnan(x) for x in (found.total, found.partial, found.spares))
    assert {x.part for x in found.lines} == {
        *("antenna", "BUC", "LNB", "modem", "mount", "cable", "ballast"),
    }
    assert all(math.isnan(x.price) and math.isnan(x.cost) for x in found.lines)
    assert cost_figures(found) == cost_figures(None) == {}


MISSING = [
    ("antennas", "price", 0, "antenna 1.80 m", 1800.0, ["a"]),
    ("bucs", "price", 1, "BUC 4.0 W", 1600.0, ["b"]),
    ("cables", "price", 0, "cable thin", 102.0, ["a", "b"]),
    ("mounts", "price", 1, "mount non penetrating", 600.0, ["a"]),
    ("costs", "lnb", None, "LNB", 400.0, ["a", "b"]),
    ("costs", "modem", None, "modem", 4000.0, ["a", "b"]),
    ("costs", "visit", None, "visit", 75.0, ["a", "b"]),
    ("costs", "installation_pole", None, "installation pole", 50.0, ["a"]),
]


@pytest.mark.parametrize(("table", "key", "entry", "named", "cost", "groups"), MISSING)
def test_a_sum_with_a_price_missing_is_blank_and_names_it(
    table: str, key: str, entry: int | None, named: str, cost: float, groups: list[str]
) -> None:
    """What is known of it stands apart; groups that need no such part keep their sum."""
    found = bill_of(planned(without(table, key, entry)))
    assert found.missing == (named,)
    assert math.isnan(found.total)
    assert found.partial == pytest.approx(11409.4 - cost, abs=1e-9)
    assert [g.group for g in found.groups if math.isnan(g.cost)] == groups
    assert all(not math.isnan(g.partial) for g in found.groups)
    figures = cost_figures(found)["cost"]
    assert (figures["total"], figures["missing"]) == (None, [named])
    assert figures["partial"] == round(11409.4 - cost, 2)


def test_a_price_of_nothing_is_a_price() -> None:
    """Whoever gets modems from the operator says 0, and the sum is whole."""
    tables = TABLES | {"costs": TABLES["costs"] | {"modem": 0}}
    found = bill_of(planned(tables))
    assert found.missing == ()
    assert found.total == pytest.approx(11409.4 - 4000, abs=1e-9)


def test_a_price_of_what_nobody_needs_is_not_missed() -> None:
    """Nothing is said of an antenna that no site takes, nor of what stands already."""
    tables = TABLES | {"antennas": [*TABLES["antennas"], {"diameter_m": 3.7}]}
    assert bill_of(planned(tables)).missing == ()


def test_ballast_without_a_price_is_told_and_left_out() -> None:
    found = bill_of(planned(without("costs", "ballast")))
    assert found.missing == ()
    assert found.total == pytest.approx(11409.4 - 22.4, abs=1e-9)
    assert found.notes[-1] == "Ballast has no price and is not in the cost."
    assert costs_of(planned(without("costs", "ballast")))[1] == pytest.approx(2915.0, abs=1e-9)


def test_a_cable_that_no_class_does_has_no_price() -> None:
    plan = planned(cable_class=["", "thin", "thick", "", "thin"])
    found = bill_of(plan)
    assert found.missing == ("cable of a class that is still open",)
    assert line(found, "cable", "open").note.endswith("see the cable advice")
    assert math.isnan(costs_of(plan)[0])


def test_cable_of_any_class_has_the_general_price_where_it_has_none() -> None:
    tables = without("cables", "price", 0)
    tables["costs"]["cable"] = 2.5
    assert line(bill_of(planned(tables)), "cable", "thin").price == 2.5
    tables["cables"][0]["price"] = 1.5
    assert line(bill_of(planned(tables)), "cable", "thin").price == 1.5


def test_what_an_engineer_designs_has_no_spares() -> None:
    tables = json.loads(json.dumps(TABLES))
    tables["mounts"].append({"kind": "engineered", "price": 5000})
    tables["costs"]["installation_engineered"] = 900
    found = bill_of(planned(tables, mount=["engineered", "non_penetrating", "pole", "", "wall"]))
    mount = line(found, "mount", "engineered")
    assert (mount.spares, mount.to_order, mount.cost) == (0, 1, 5000)
    assert mount.note == "an engineer designs each: order nothing before, no spares"


def test_a_price_of_many_digits_is_rounded_only_where_it_is_told() -> None:
    tables = json.loads(json.dumps(TABLES))
    tables["cables"][0]["price"] = 1.23456
    found = bill_of(planned(tables))
    assert line(found, "cable", "thin").cost == pytest.approx(68 * 1.23456, abs=1e-12)
    assert cost_figures(found)["cost"]["total"] == round(11409.4 - 102 + 68 * 1.23456, 2)


# --- parts of a plan -------------------------------------------------------------------------


def some(plan: Plan, rows: list[int]) -> Plan:
    taken = {name: values[rows] for name, values in plan.columns.items()}
    return Plan(taken, {}, plan.network, ())


def by_file(found: Counts) -> Counts:
    return Counts.from_json(json.loads(json.dumps(found.to_json())))


@pytest.mark.parametrize("cut", [[[0], [1, 2, 3, 4]], [[0, 1, 2], [3], [4]], [[3], [4, 2], [0, 1]]])
@pytest.mark.parametrize("tables", [TABLES, UNPRICED, without("bucs", "price", 0)])
def test_parts_add_up_to_the_whole(cut: list[list[int]], tables: dict[str, Any]) -> None:
    whole, total = planned(tables), Counts()
    for rows in cut:
        total.add(by_file(counted(some(whole, rows))))
    assert bill(total, whole.network) == bill_of(whole)


def test_more_groups_than_can_be_told_are_told_of(monkeypatch: pytest.MonkeyPatch) -> None:
    """In parts as in the whole: no part alone has too many."""
    monkeypatch.setattr(counting, "MOST_GROUPS", 2)
    plan = planned(group=["a", "b", "c", "c", "b"])
    total = Counts()
    for rows in ([0, 1], [2, 3], [4]):
        total.add(by_file(counted(some(plan, rows))))
    for found in (bill_of(plan), bill(total, plan.network)):
        assert found.groups == ()
        assert found.notes[-1] == "Sites are in more than 1000 groups: costs are not told by group."
        assert found.total == pytest.approx(11409.4, abs=1e-9)


def test_many_sites_are_counted_as_one_by_one() -> None:
    """Against plain sums over the sites, for places of every kind."""
    rng = np.random.default_rng(7)
    n = 400
    pick: Callable[..., Any] = lambda *words: list(rng.choice(np.array(words, dtype=object), n))  # noqa: E731
    columns = {
        "group": pick("x", "y", "z", ""),
        "antenna_m": rng.choice([1.2, 1.8, NAN], n).tolist(),
        "buc_w": rng.choice([2.0, 4.0], n).tolist(),
        "fixed_antenna_m": [NAN] * n,
        "fixed_buc_w": rng.choice([NAN, NAN, 2.0], n).tolist(),
        "mount": pick("pole", "non_penetrating"),
        "mount_certainty": pick("decided", "provisional"),
        "ballast_kg": rng.uniform(10, 500, n).tolist(),
        "ifl_length_m": rng.uniform(5, 90, n).tolist(),
        "cable_class": pick("thin"),
        "cable_core": pick("copper"),
    }
    plan = planned(**columns)
    found, cost = bill_of(plan), np.array(costs_of(plan))
    assert np.nansum(cost) == pytest.approx(found.total - found.spares, abs=1e-6)
    for group in found.groups:
        here = plan.columns["group"] == group.group
        assert np.nansum(cost[here]) == pytest.approx(group.cost, abs=1e-6)
        assert group.unserved == np.isnan(cost[here]).sum()
    length = np.ceil(plan.columns["ifl_length_m"])[~np.isnan(plan.columns["antenna_m"])]
    assert line(found, "cable", "thin").quantity == length.sum()


def test_a_cable_that_is_called_open_is_not_lost_among_those_without_a_class() -> None:
    plan = planned(cable_class=["", "open", "thick", "", "thin"])
    assert line(bill_of(plan), "cable", "open").quantity == 31 + 20
