"""Pairs that miss the reserve by a hair beside the pick: told, and never shown as if they did."""

from __future__ import annotations

import re

import numpy as np
import pytest

from siteplan.arrays import telling
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.priced import with_costs

TABLES = {
    "network": {"availability_pct": 99.7},
    "satellite": {"longitude_deg": 13.0},
    "inbound": {"symbol_rate_msps": 1.0},
    "rules": {"reserve_db": 1.0},
}
N = 400


@pytest.fixture(scope="module")
def sites() -> Sites:
    rng = np.random.default_rng(3)
    return Sites.at(rng.uniform(-45, 58, N), rng.uniform(-30, 55, N))


@pytest.fixture(scope="module")
def plan(sites: Sites) -> Plan:
    return make_plan(sites, Network.model_validate(TABLES))


def fixed(sites: Sites, dish: np.ndarray, buc: np.ndarray) -> np.ndarray:
    """What each site's pair lacks of the reserve when it stands there."""
    kit = {"fixed_antenna_m": dish, "fixed_buc_w": buc}
    there = make_plan(Sites.at(sites.lat, sites.lon, **kit), Network.model_validate(TABLES))
    return 1.0 - there.columns["margin_db"]


def test_the_next_smaller_pairs_against_plans_of_them(sites: Sites, plan: Plan) -> None:
    c = plan.columns
    dishes = np.array([np.nan, 1.2, 1.8, 2.4])
    network = Network.model_validate(TABLES)
    assert [a.diameter_m for a in network.antennas] == dishes[1:].tolist()
    powers = sorted(b.rated_w for b in network.bucs)
    bucs = np.array([np.nan, *powers])
    smaller = np.array([np.nan if np.isnan(d) else dishes[dishes.tolist().index(d) - 1]
                        for d in c["antenna_m"]])  # fmt: skip
    weaker = np.array([np.nan if np.isnan(w) else bucs[bucs.tolist().index(w) - 1]
                       for w in c["buc_w"]])  # fmt: skip
    by_dish = np.where(np.isnan(smaller), np.nan, fixed(sites, smaller, np.full(N, powers[-1])))
    by_buc = np.where(np.isnan(weaker), np.nan, fixed(sites, c["antenna_m"], weaker))
    told = 0
    for i in range(N):
        parts = []
        if by_dish[i] < 0.1:
            parts.append(f"{smaller[i]:g} m misses the reserve by {telling(by_dish[[i]])[0]:g} dB.")
        if by_buc[i] < 0.1:
            lack = telling(by_buc[[i]])[0]
            pair = f"{c['antenna_m'][i]:g} m with {weaker[i]:g} W"
            parts.append(f"{pair} misses the reserve by {lack:g} dB.")
        assert c["near_miss"][i] == " ".join(parts), i
        told += len(parts)
    assert told >= 5
    assert (c["near_miss"] == "").sum() > N / 2


def test_no_miss_reads_as_zero(plan: Plan) -> None:
    for text in plan.columns["near_miss"]:
        for number in re.findall(r"by ([\d.]+) dB", text):
            assert 0 < float(number) <= 0.1


def test_installed_kit_and_no_kit_have_no_near_miss(sites: Sites) -> None:
    kit = {"fixed_antenna_m": np.full(N, 1.8), "fixed_buc_w": np.full(N, 2.0)}
    there = make_plan(Sites.at(sites.lat, sites.lon, **kit), Network.model_validate(TABLES))
    assert set(there.columns["near_miss"]) == {""}


@pytest.mark.parametrize(
    ("difference", "told"),
    [(1.26, 1.3), (0.96, 1.0), (0.1, 0.1), (0.04, 0.04), (0.043, 0.04), (0.0012, 0.001),
     (1e-7, 0.001), (0.0, 0.0), (-0.04, -0.04), (123.45, 123.4)],
)  # fmt: skip
def test_differences_are_told_to_the_digit_that_settles_them(
    difference: float, told: float
) -> None:
    assert telling(np.array([difference]))[0] == pytest.approx(told, abs=1e-12)


def test_a_difference_without_an_answer_has_none() -> None:
    assert np.isnan(telling(np.array([np.nan]))[0])


def test_a_pair_passed_over_for_its_cost_misses_nothing(sites: Sites) -> None:
    """Of what is smaller than the cheapest pair some fit: those are no misses."""
    dear = with_costs(Network.model_validate(TABLES), lease_mhz_month=90_000.0)
    c = make_plan(sites, dear).columns
    smallest = make_plan(sites, Network.model_validate(TABLES)).columns
    larger = c["antenna_m"] > smallest["antenna_m"]
    assert larger.sum() > N / 20, "cost picks no larger dish: the test rests on nothing"
    missed = [float(x) for t in c["near_miss"] for x in re.findall(r"by (-?[\d.]+) dB", t)]
    assert all(0 < x <= 0.1 for x in missed)
