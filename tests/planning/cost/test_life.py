"""Costs over the years by hand, parts of the lease, lines, the month of breaking even."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from siteplan.inputs.network.assumed import assumptions
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.cost.annuity import factor
from siteplan.planning.cost.life import FIELDS, breakeven_months, line_months
from siteplan.planning.cost.totals import Spent
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.priced import with_prices

RUNS = {
    "hub_capex": 12_000, "lease_mhz_month": 3000, "recurring_site_month": 20,
    "spectrum_fee_site_year": 120, "power_kwh": 0.25, "line_month": 400,
}  # fmt: skip


def network(**tables: Any) -> Network:
    known = {"satellite": {"longitude_deg": -61}, "network": {"date": "2026-09-01"}, **tables}
    return Network.model_validate(known)


def sites(n: int = 12, **known: Any) -> Sites:
    return Sites.at(np.linspace(-12, 3, n), np.linspace(-68, -50, n), **known)


def planned(costs: dict[str, Any], of: Sites | None = None, **tables: Any) -> Plan:
    return make_plan(of or sites(), with_prices(network(**tables), **costs))


@pytest.fixture(scope="module")
def plan() -> Plan:
    own = np.full(12, np.nan)
    own[:2] = 90.0, 60_000.0
    traffic = np.linspace(10, 500, 12)
    return planned(RUNS, sites(line_cost_month=own, inbound_kbit_s=traffic))


def test_a_unit_a_month_by_hand() -> None:
    """8 % over 5 years: i = 1.08^(1/12) - 1, each of 60 payments brought back to today."""
    i = 1.08 ** (1 / 12) - 1
    by_hand = sum((1 + i) ** -month for month in range(1, 61))
    assert factor(8, 5) == pytest.approx(by_hand, rel=1e-12)
    assert factor(8, 5) == pytest.approx(49.6449, abs=5e-5)
    assert factor(0, 5) == 60
    assert factor(8, 0) == 0
    # A year's payments at 8 % a year, published as 0.250456 of a capital over 5 years.
    yearly = 0.08 / (1 - 1.08**-5)
    assert yearly == pytest.approx(0.250456, abs=5e-7)


def test_costs_of_a_site_by_hand(plan: Plan) -> None:
    c = plan.columns
    assert plan.facts.capacity is not None
    load = plan.facts.capacity.pools[0].load
    own = 20 + 120 / 12 + 0.25 * c["buc_dc_w"] * 730.5 / 1000
    lease = c["monthly_cost"] - own
    assert lease.sum() == pytest.approx(3000 * plan.facts.capacity.leased_mhz, rel=1e-9)
    np.testing.assert_allclose(c["capex"], c["site_cost"] + 12_000 / load.sites, rtol=1e-12)
    np.testing.assert_allclose(
        c["life_cost"], c["capex"] + 49.644903350642785 * c["monthly_cost"], rtol=1e-12
    )
    np.testing.assert_allclose(c["line_life_cost"][2:], 400 * 49.644903350642785, rtol=1e-12)
    assert c["line_life_cost"][0] == pytest.approx(90 * 49.644903350642785, rel=1e-12)
    np.testing.assert_allclose(c["cheaper_by"], c["line_life_cost"] - c["life_cost"], rtol=1e-12)


def test_a_part_of_the_lease_goes_by_load(plan: Plan) -> None:
    """Outbound all offer alike; inbound by rate: two unknowns fit all sites."""
    c = plan.columns
    own = 20 + 120 / 12 + 0.25 * c["buc_dc_w"] * 730.5 / 1000
    lease, rate = c["monthly_cost"] - own, np.linspace(10, 500, 12)
    slope = (lease[-1] - lease[0]) / (rate[-1] - rate[0])
    np.testing.assert_allclose(lease, lease[0] + slope * (rate - rate[0]), rtol=1e-9)
    capacity = plan.facts.capacity
    assert capacity is not None
    (pool,) = capacity.pools
    out, back = (sum(x.leased_mhz for x in pool.of(way)) for way in ("outbound", "inbound"))
    back_price = 3000 * pool.leased_mhz * back / (out + back)
    assert slope == pytest.approx(back_price / rate.sum(), rel=1e-9)


@pytest.mark.parametrize(
    ("capex", "month", "line", "months"),
    [
        (1000, 50, 100, 21), (999, 50, 100, 20), (1, 50, 100, 1), (0, 50, 100, 1),
        (1000, 100, 100, np.nan), (1000, 150, 100, np.nan), (np.nan, 50, 100, np.nan),
        (1000, 50, np.nan, np.nan), (0.3, 0.1, 0.2, 4),
    ],
)  # fmt: skip
def test_the_month_of_breaking_even(capex: float, month: float, line: float, months: float) -> None:
    found = breakeven_months(*(np.array([float(x)]) for x in (capex, month, line)))
    np.testing.assert_array_equal(found, [months])


@given(st.integers(0, 10**6), st.integers(0, 10**4), st.integers(0, 10**4))
def test_no_month_before_is_cheaper(capex: int, month: int, line: int) -> None:
    found = breakeven_months(*(np.array([float(x)]) for x in (capex, month, line)))[0]
    if np.isnan(found):
        assert line <= month
        return
    n = int(found)
    assert capex + n * month < n * line
    assert capex + (n - 1) * month >= (n - 1) * line


def test_a_line_costs_its_own_else_by_its_length_else_as_every_line() -> None:
    of = sites(3, line_cost_month=np.array([70.0, np.nan, np.nan]),
               line_km=np.array([10.0, 10.0, np.nan]))  # fmt: skip
    lines = {"line_month": 500, "line_fixed": 100, "line_per_km": 3}
    np.testing.assert_array_equal(line_months(of, network(costs=lines)), [70.0, 130.0, 500.0])
    np.testing.assert_array_equal(
        line_months(of, network(costs={"line_month": 500})), [70.0, 500.0, 500.0]
    )
    np.testing.assert_array_equal(line_months(of, network()), [70.0, np.nan, np.nan])


def test_what_is_not_priced_is_not_told() -> None:
    assert not set(FIELDS) & set(make_plan(sites(2), network()).columns)
    kit_alone = planned({}, sites(2))
    assert not set(FIELDS) & set(kit_alone.columns)
    assert kit_alone.facts.costs is None
    hub = planned({"hub_capex": 9.0}, sites(2)).columns
    assert set(FIELDS) & set(hub) == {"capex"}
    month = make_plan(sites(2), network(costs={"recurring_site_month": 7})).columns
    assert set(FIELDS) & set(month) == {"monthly_cost"}
    np.testing.assert_array_equal(month["monthly_cost"], [7, 7])
    lined = planned({"line_month": 5}, sites(2)).columns
    assert set(FIELDS) & set(lined) == {"capex", "line_month", "line_life_cost"}


def test_a_missing_price_is_blank_and_counted() -> None:
    without = with_prices(network(), **RUNS, modem=None)
    found = make_plan(sites(3), without)
    assert np.isnan(found.columns["capex"]).all()
    assert np.isnan(found.columns["life_cost"]).all()
    assert not np.isnan(found.columns["monthly_cost"]).any()
    costs = found.facts.costs
    assert costs is not None
    assert (costs.sites, costs.known) == (3, 0)
    assert np.isnan(costs.life_cost)


def test_where_nobody_puts_any_load_all_have_the_same_part() -> None:
    quiet = {"outbound_kbit_s": 0, "inbound_kbit_s": 0}
    c = planned({"lease_mhz_month": 100}, sites(4), traffic=quiet).columns
    np.testing.assert_allclose(c["monthly_cost"], c["monthly_cost"][0], rtol=1e-12)
    assert c["monthly_cost"][0] > 0


def test_the_discount_is_assumed_where_it_counts() -> None:
    def told(**tables: Any) -> set[str]:
        return {a.key for a in assumptions(network(**tables))}

    assert "costs.discount_pct" not in told()
    assert "costs.discount_pct" in told(costs={"line_month": 9})
    assert "rules.pick" not in told()


def test_sums_are_those_of_the_sites(plan: Plan) -> None:
    costs, c = plan.facts.costs, plan.columns
    assert costs is not None
    assert costs.life_cost == pytest.approx(np.nansum(c["life_cost"]), abs=1e-4)
    assert costs.line_cheaper == int((c["cheaper_by"] < 0).sum())
    assert costs.lined == 12
    saves = c["cheaper_by"]
    assert costs.line_saves == pytest.approx(-saves[saves < 0].sum(), abs=1e-4)
    assert costs.satellite_saves == pytest.approx(saves[saves >= 0].sum(), abs=1e-4)
    assert costs.dearest[0].life_cost == np.nanmax(c["life_cost"])
    assert costs.cheapest[0].life_cost == np.nanmin(c["life_cost"])


def test_sums_do_not_hang_on_the_parts(plan: Plan) -> None:
    whole, halves = Spent(), Spent()
    whole.add(plan.columns)
    for rows in (np.arange(5), np.arange(5, 12)):
        halves.add({name: values[rows] for name, values in plan.columns.items()})
    assert halves == whole


def test_picking_by_cost_names_the_price_that_is_missing() -> None:
    rules = {"pick": "cost"}
    antennas = [{"diameter_m": 1.2, "price": 1}, {"diameter_m": 1.8}]
    bucs = [{"rated_w": 2, "price": 1}]
    with pytest.raises(ValidationError, match=r"needs the price of the antenna of 1\.8 m"):
        network(rules=rules, antennas=antennas, bucs=bucs, costs={"lease_mhz_month": 0})
    with pytest.raises(ValidationError, match=r"needs the price of the BUC of 2 W"):
        network(rules=rules, antennas=antennas[:1], bucs=[{"rated_w": 2}],
                costs={"lease_mhz_month": 0})  # fmt: skip
    with pytest.raises(ValidationError, match=r"needs \[costs\] lease_mhz_month"):
        network(rules=rules, antennas=antennas[:1], bucs=bucs)


def test_some_antennas_without_a_price_leave_their_sites_blank() -> None:
    """Never zero: what is not known of a site is not known of any sum that it is in."""
    dishes = [{"diameter_m": 1.2, "price": 700}, {"diameter_m": 1.8}, {"diameter_m": 2.4}]
    of = sites(12, availability_pct=np.linspace(99.0, 99.88, 12))
    checked = with_prices(network(antennas=dishes), without=("antennas",), **RUNS)
    found = make_plan(of, checked)
    c = found.columns
    priced = c["antenna_m"] == 1.2
    assert 0 < priced.sum() < 12
    for name in ("site_cost", "capex", "life_cost", "cheaper_by"):
        np.testing.assert_array_equal(np.isnan(c[name]), ~priced, err_msg=name)
        assert not (c[name] == 0).any(), name
    assert np.isnan(c["breakeven_months"][~priced]).all()
    assert not np.isnan(c["monthly_cost"]).any()
    assert not np.isnan(c["line_life_cost"]).any()
    costs = found.facts.costs
    assert costs is not None
    assert (costs.sites, costs.known) == (12, int(priced.sum()))


def test_a_line_by_its_length_is_held_against_the_site() -> None:
    """Blank where its length is not known and no line has a price of its own."""
    km = np.array([0.0, 50.0, np.nan])
    runs = {"recurring_site_month": 20, "line_fixed": 100, "line_per_km": 3}
    c = planned(runs, sites(3, line_km=km)).columns
    np.testing.assert_array_equal(c["line_month"], [100.0, 250.0, np.nan])
    np.testing.assert_allclose(
        c["line_life_cost"], 49.644903350642785 * np.array([100.0, 250.0, np.nan]), rtol=1e-12
    )
    np.testing.assert_array_equal(np.isnan(c["cheaper_by"]), [False, False, True])
    by_hand = np.floor(c["capex"][:2] / (np.array([100.0, 250.0]) - 20)) + 1
    np.testing.assert_array_equal(c["breakeven_months"], [*by_hand, np.nan])


def test_a_line_that_costs_no_more_a_month_is_never_passed() -> None:
    """Dearer as a line may be over the years by its start, there is no such month: blank."""
    own = np.array([19.0, 20.0, 21.0])
    c = planned({"recurring_site_month": 20}, sites(3, line_cost_month=own)).columns
    assert np.isnan(c["breakeven_months"]).tolist() == [True, True, False]
    assert (c["cheaper_by"] < 0).all()
    assert c["breakeven_months"][2] == np.floor(c["capex"][2]) + 1


def test_without_any_the_plan_has_neither_lines_nor_years() -> None:
    """Two lines' tables of a network that prices its kit alone: no field of years."""
    c = planned({}, sites(2, line_km=np.array([10.0, 20.0]))).columns
    assert not set(FIELDS) & set(c)
    assert (c["site_cost"] > 0).all()
