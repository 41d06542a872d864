"""Kit by cost: against a plain search, and the smallest where a larger one buys nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.beams.settings import settings
from siteplan.planning.cost.annuity import factor
from siteplan.planning.cost.worth import worth
from siteplan.planning.kit.catalogue import candidates, installed
from siteplan.planning.kit.fit import cheapest_fit
from siteplan.planning.link.ways import inbound, outbound
from siteplan.planning.plan import make_plan, see
from siteplan.results import Plan

DISHES = {1.2: 500, 1.8: 900, 2.4: 1700}
BUCS = {1: 300, 2: 450, 4: 800}
SMALL = {0.1: 100, 0.2: 150, 0.4: 200, 4: 800}
ADAPTIVE = {"outbound": {"adaptive": True}, "inbound": {"adaptive": True}}


def network(
    pick: str, mhz: float, dishes: dict[float, float], bucs: dict[float, float], **tables: Any
) -> Network:
    return Network.model_validate(
        {
            "satellite": {"longitude_deg": -61},
            "network": {"date": "2026-09-01", "availability_pct": 99.7},
            "antennas": [{"diameter_m": d, "price": p} for d, p in dishes.items()],
            "bucs": [{"rated_w": w, "price": p} for w, p in bucs.items()],
            "costs": {"lease_mhz_month": mhz},
            "rules": {"pick": pick},
            **tables,
        }
    )


def places(**known: Any) -> Sites:
    rng = np.random.default_rng(4)
    return Sites.at(rng.uniform(-15, 6, 24), rng.uniform(-85, -40, 24), **known)


def pairs(plan: Plan) -> list[tuple[float, float]]:
    return list(zip(plan.columns["antenna_m"].tolist(), plan.columns["buc_w"].tolist(),
                    strict=True))  # fmt: skip


@pytest.mark.parametrize(("dishes", "bucs"), [(DISHES, {2: 450}), ({1.8: 900}, SMALL)])
@pytest.mark.parametrize("tables", [{}, ADAPTIVE], ids=["fixed", "adaptive"])
def test_without_lease_the_cheapest_is_the_smallest_where_one_dimension_varies(
    dishes: dict[float, float], bucs: dict[float, float], tables: dict[str, Any]
) -> None:
    """Prices rise with size, and nothing else costs anything."""
    by_cost = make_plan(places(), network("cost", 0, dishes, bucs, **tables))
    smallest = make_plan(places(), network("smallest", 0, dishes, bucs, **tables))
    np.testing.assert_array_equal(pairs(by_cost), pairs(smallest))
    for name, values in smallest.columns.items():
        np.testing.assert_array_equal(by_cost.columns[name], values, err_msg=name)
    assert len(set(pairs(by_cost))) > 1


def test_the_pick_is_the_least_cost_of_all_that_fit() -> None:
    """Against plans with each pair alone, by the same pair's own megahertz."""
    checked = network("cost", 6000, DISHES, BUCS, **ADAPTIVE)
    found = make_plan(places(), checked)
    least, best = np.full(24, np.inf), np.full((24, 2), np.nan)
    for d, dish in DISHES.items():
        for w, buc in BUCS.items():
            one = make_plan(places(), network("cost", 6000, {d: dish}, {w: buc}, **ADAPTIVE))
            cost = dish + buc + factor(8, 5) * 6000 * one.columns["own_mhz"]
            better = ~np.isnan(one.columns["antenna_m"]) & (np.round(cost, 6) < least)
            least[better], best[better] = np.round(cost, 6)[better], (d, w)
    np.testing.assert_array_equal(found.columns["antenna_m"], best[:, 0])
    np.testing.assert_array_equal(found.columns["buc_w"], best[:, 1])
    smallest = make_plan(places(), network("smallest", 6000, DISHES, BUCS, **ADAPTIVE))
    assert pairs(found) != pairs(smallest)
    assert (found.columns["own_mhz"] > 0).sum() > 10


def test_own_megahertz_by_hand() -> None:
    """No coding that follows the weather: rates are those of the MODCODs, power is the pair's."""
    checked = network("cost", 10, {1.8: 1}, {2: 1}, traffic={"activity": 0.5})
    plan = make_plan(places(), checked)
    c = plan.columns
    out, back = checked.outbound, checked.inbound
    # EN 302 307-1 table 13: QPSK 3/4 carries 1.487473 bit a symbol; EN 301 545-2: QPSK 1/2.
    capacity = plan.facts.capacity
    assert capacity is not None
    rates = capacity.pools[0].rates_kbit_s
    assert rates[0] == pytest.approx(6000 * 1.487473 * out.frame_efficiency, rel=1e-6)
    wide = np.maximum(c["power_equivalent_mhz"], back.occupied_mhz * 1.05)
    by_hand = 256 * 0.5 / rates[0] * out.occupied_mhz * 1.05 + 64 * 0.5 / 0.7 / rates[1] * wide
    np.testing.assert_allclose(c["own_mhz"], by_hand, rtol=1e-9)


def test_a_dear_megahertz_buys_a_larger_dish() -> None:
    cheap, dear = (
        make_plan(places(), network("cost", mhz, DISHES, BUCS, **ADAPTIVE)) for mhz in (1, 20_000)
    )
    assert np.nanmean(dear.columns["antenna_m"]) > np.nanmean(cheap.columns["antenna_m"]) + 0.2
    assert np.nansum(dear.columns["own_mhz"]) < np.nansum(cheap.columns["own_mhz"])


def test_kit_that_stands_is_judged_and_costs_nothing() -> None:
    dish = np.full(24, np.nan)
    dish[:6] = 2.4
    both = np.full(24, np.nan)
    both[:3] = 4.0
    of = places(fixed_antenna_m=dish, fixed_buc_w=both)
    found = make_plan(of, network("cost", 5000, DISHES, BUCS, **ADAPTIVE)).columns
    assert set(found["antenna_m"][:6].tolist()) == {2.4}
    assert set(found["buc_w"][:3].tolist()) == {4.0}
    assert found["kit_source"][:6].tolist() == ["installed"] * 3 + ["part_installed"] * 3


def test_where_nothing_fits_the_nearest_pair_is_told_as_ever() -> None:
    weak = {"outbound": {"satellite_eirp_dbw": 38}}
    by_cost = make_plan(places(), network("cost", 100, DISHES, BUCS, **weak)).columns
    smallest = make_plan(places(), network("smallest", 100, DISHES, BUCS, **weak)).columns
    assert np.isnan(by_cost["antenna_m"]).sum() > 5
    none = np.isnan(smallest["antenna_m"])
    np.testing.assert_array_equal(np.isnan(by_cost["antenna_m"]), none)
    for name in ("margin_db", "tried_antenna_m", "tried_buc_w"):
        np.testing.assert_array_equal(by_cost[name][none], smallest[name][none], err_msg=name)
    assert np.isnan(by_cost["own_mhz"][none]).all()


def test_pairs_to_begin_with_change_no_pick() -> None:
    """Whatever they are, one that fits or none at all, the cheapest is found."""
    of, checked = places(), network("cost", 6000, DISHES, BUCS, **ADAPTIVE)
    shared = settings(checked)[0]
    seen, cost = see(of, shared), worth(of, checked, shared.kinds)
    assert cost is not None
    tries, settled = candidates(shared.kinds, installed(of)), np.zeros(24, dtype=bool)
    found = cheapest_fit(seen.link, tries, seen.p_pct, settled=settled, cost=cost)
    rng = np.random.default_rng(3)
    for first in (found[0], np.full(24, 9), *rng.integers(0, 10, (4, 24))):
        for some in ((first,), (first, np.flip(first))):
            again = cheapest_fit(
                *(seen.link, tries, seen.p_pct), settled=settled, cost=cost, first=some
            )
            np.testing.assert_array_equal(again, found)


def test_what_a_pair_costs_at_least_is_never_more_than_it_costs() -> None:
    of, checked = places(), network("cost", 6000, DISHES, BUCS, **ADAPTIVE)
    shared, rows = settings(checked)[0], np.arange(24)
    seen, cost = see(of, shared), worth(of, checked, shared.kinds)
    assert cost is not None
    for a, dish in enumerate(shared.kinds.dishes):
        out = outbound(seen.link, dish)
        mhz = cost.out_mhz(out, rows)
        for b, power in enumerate(shared.kinds.buc_dbw):
            whole = cost.cost(a, b, mhz, inbound(seen.link, dish, power), rows)
            known = whole[~np.isnan(whole)]
            for least in (cost.least(a, b, mhz, rows), cost.least(a, None, mhz, rows),
                          cost.least(a, None, None, rows)):  # fmt: skip
                assert (least[~np.isnan(whole)] <= known).all()
            assert known.size > 20
