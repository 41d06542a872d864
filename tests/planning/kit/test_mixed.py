"""Catalogues in any order, and installed kit among picked: the same rows, site by site."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.mixed import ANTENNAS, BUCS, TABLES, network, world

NAN = float("nan")


def assert_same(some: Any, others: Any, index: Any = slice(None)) -> None:
    """Compare all fields: numbers to 1e-9 of their size (last bits of sums), texts exactly."""
    assert list(some) == list(others)
    for name, values in some.items():
        if values.dtype == float:
            np.testing.assert_allclose(values, others[name][index], rtol=1e-9, err_msg=name)
        else:
            np.testing.assert_array_equal(values, others[name][index], err_msg=name)


@pytest.fixture(scope="module")
def sites() -> Sites:
    """The mixed sites without notes: some have an antenna, some a BUC, some both, some nothing."""
    return replace(world().sites, notes={})


@pytest.fixture(scope="module")
def plan(sites: Sites) -> Plan:
    return make_plan(sites, network())


def installed(sites: Sites) -> tuple[Any, Any]:
    """Return where an antenna and where a BUC stands already (n,)."""
    return ~np.isnan(sites.fixed_antenna_m), ~np.isnan(sites.fixed_buc_w)


@pytest.mark.parametrize("order", [(1, 2, 0), (2, 1, 0)])
@pytest.mark.parametrize("fixed", [True, False])
def test_the_catalogues_order_does_not_matter(
    sites: Sites, order: tuple[int, ...], fixed: bool
) -> None:
    """Antennas, BUCs and cables as the file has them, and otherwise; installed kit, and none."""
    some = sites.take(np.arange(0, len(sites), 3))
    if not fixed:
        nothing = np.full(len(some), NAN)
        some = replace(some, fixed_antenna_m=nothing, fixed_buc_w=nothing)
    changed = network(
        antennas=[TABLES["antennas"][k] for k in order],
        bucs=[TABLES["bucs"][k] for k in order[::-1]],
        cables=TABLES["cables"][::-1],
    )
    first, again = (make_plan(some, rules).columns for rules in (network(), changed))
    assert {1.2, 1.8, 2.4} <= set(first["antenna_m"].tolist())
    assert_same(again, first)


@pytest.mark.parametrize("state", ["neither", "antenna", "buc", "both"])
def test_installed_kit_leaves_its_neighbours_alone(sites: Sites, plan: Plan, state: str) -> None:
    """The rows of each kind of site, and those of a plan of them alone."""
    dish, buc = installed(sites)
    here = {"neither": ~dish & ~buc, "antenna": dish & ~buc, "buc": ~dish & buc,
            "both": dish & buc}[state]  # fmt: skip
    index = np.flatnonzero(here)
    assert 3 <= len(index) <= len(sites) - 3
    alone = make_plan(sites.take(index), network()).columns
    assert_same(alone, plan.columns, index)


def test_what_is_installed_is_what_is_judged(sites: Sites, plan: Plan) -> None:
    """Size and power as given; what is open is picked from the catalogue, or blank."""
    c, (dish, buc) = plan.columns, installed(sites)
    np.testing.assert_array_equal(c["antenna_m"][dish], sites.fixed_antenna_m[dish])
    np.testing.assert_array_equal(c["buc_w"][buc], sites.fixed_buc_w[buc])
    sizes, powers = {a[0] for a in ANTENNAS}, {b[0] for b in BUCS}
    assert set(c["antenna_m"][~dish & ~np.isnan(c["antenna_m"])].tolist()) == sizes
    assert set(c["buc_w"][~buc & ~np.isnan(c["buc_w"])].tolist()) == powers
    source = np.where(dish & buc, "installed", np.where(dish | buc, "part_installed", ""))
    told = np.where(dish | buc, c["kit_source"], "")
    assert told.tolist() == source.tolist()
    rest = c["kit_source"][~dish & ~buc]
    kitted = ~np.isnan(c["antenna_m"][~dish & ~buc])
    assert rest.tolist() == np.where(kitted, "picked", "none").tolist()
    for states in (kitted, dish & buc, dish ^ buc):
        assert 3 <= states.sum() <= len(states) - 3


def test_installed_kit_has_the_figures_of_the_nearest_size(sites: Sites, plan: Plan) -> None:
    """Efficiency, offset and back-off: EIRP by hand, 20.4 dB + 20 log (f D) + 10 log efficiency.

    The gain of a dish of 1 m at 1 GHz is (pi / 0.299792458)^2: 20.40658 dB. 14.25 GHz; feed and
    pointing take 0.5 and 0.3 dB.
    """
    c = plan.columns
    both = ~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"]) & ~np.isnan(c["elevation_deg"])
    assert both.sum() > 100
    for i in np.flatnonzero(both).tolist():
        dish, watts = float(c["antenna_m"][i]), float(c["buc_w"][i])
        _, efficiency, offset = min(ANTENNAS, key=lambda a: (abs(a[0] - dish), a[0]))
        _, backoff = min(BUCS, key=lambda b: (abs(b[0] - watts), b[0]))
        gain = 20.40658 + 20 * np.log10(14.25 * dish) + 10 * np.log10(efficiency)
        eirp = 10 * np.log10(watts) - backoff - c["power_cut_db"][i] + gain - 0.5 - 0.3
        assert c["remote_eirp_dbw"][i] == pytest.approx(eirp, abs=1e-5)
        leans = c["elevation_deg"][i] - offset
        assert c["inclinometer_deg"][i] == pytest.approx(leans, abs=1e-9)


def test_the_pick_of_many_sites_against_a_plain_search(sites: Sites, plan: Plan) -> None:
    """Pair by pair, smallest antenna first, then smallest BUC: the first with 1 dB to spare."""
    dish, buc = installed(sites)
    free = np.flatnonzero(~dish & ~buc)
    some = sites.take(free)
    expected = np.full((len(free), 2), NAN)
    for antenna, power in itertools.product(sorted(ANTENNAS), sorted(BUCS)):
        pair = {
            "antennas": [
                {"diameter_m": antenna[0], "efficiency": antenna[1], "offset_angle_deg": antenna[2]}
            ],
            "bucs": [{"rated_w": power[0], "backoff_db": power[1]}],
        }
        c = make_plan(some, network(**pair)).columns
        fits = (np.round(c["margin_db"], 6) >= 1) & (c["elevation_deg"] >= 10)
        first = fits & np.isnan(expected[:, 0])
        expected[first] = antenna[0], power[0]
    np.testing.assert_array_equal(plan.columns["antenna_m"][free], expected[:, 0])
    np.testing.assert_array_equal(plan.columns["buc_w"][free], expected[:, 1])
    assert len(np.unique(expected[~np.isnan(expected[:, 0])], axis=0)) >= 5
