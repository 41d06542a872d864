"""What would change the kit: each row is a plan run with the figure changed in the file."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from siteplan import arrays
from siteplan.arrays import BoolArray
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.radio.patterns import PATTERNS
from siteplan.planning.certainty import sure
from siteplan.planning.certainty.items import ITEMS, WORSE, Item, items_of, worse_pattern
from siteplan.planning.certainty.sensitivity import EIGHTHS, TABLES, told
from siteplan.planning.kit.pick import NONE, PICKED, Sizing
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.certainty.edited import run, sized

BASE = {
    "network": {"date": "2026-06-01", "availability_pct": 99.7},
    "satellite": {"longitude_deg": -61.0},
    "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    "outbound": {"satellite_eirp_dbw": 46.5},
    "inbound": {"symbol_rate_msps": 0.4},
    "terminal": {"pointing_error_deg": 0.1, "wet_loss_db": 0.5},
    "antennas": [{"diameter_m": d} for d in (0.98, 1.2, 1.8, 2.4)],
    "bucs": [{"rated_w": w} for w in (1.0, 2.0, 3.0)],
}
#: Neighbours, the other polarization and a limit that cuts: side lobes count.
CROWDED = BASE | {
    "outbound": {"satellite_eirp_dbw": 47.5, "cross_polar_level_db": -3},
    "inbound": {"symbol_rate_msps": 0.4, "cross_polar_level_db": -3},
    "neighbours": [{"longitude_deg": -58.5, "hub_level_db": -3}, {"longitude_deg": -64.0}],
    "regulation": {"masks": ["s524_9"], "action": "cut_power"},
    "antennas": [
        {"diameter_m": 0.98, "pattern": "s580_any_size"},
        {"diameter_m": 1.2, "pattern": "s580_any_size"},
        {"diameter_m": 1.8, "pattern": "s465"},
        {"diameter_m": 2.4, "pattern": "s580_any_size"},
    ],
}
#: The pair of least cost is picked: coding follows the weather, and megahertz are dear.
PRICED = {
    "antennas": [{"diameter_m": d, "price": 500 * d} for d in (0.98, 1.2, 1.8, 2.4)],
    "bucs": [{"rated_w": w, "price": 400 * w} for w in (1.0, 2.0, 3.0)],
    "costs": {"modem": 900, "lease_mhz_month": 2500},
    "rules": {"pick": "cost"},
}
DEAR = BASE | PRICED | {
    "outbound": {"satellite_eirp_dbw": 46.5, "adaptive": True},
    "inbound": {"symbol_rate_msps": 0.4, "adaptive": True},
}  # fmt: skip
NETWORKS = {"plain": BASE, "crowded": CROWDED, "dear": DEAR}
SITES = 60


@cache
def network(name: str) -> Network:
    return Network.model_validate(NETWORKS[name])


@cache
def sites() -> Sites:
    """Places around the basin: some with kit, some with a target of their own."""
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-30, 12, SITES), rng.uniform(-80, -38, SITES)
    lat[0], lon[0] = 50.0, 90.0  # far below the horizon
    found = Sites.at(lat, lon)
    dish, buc, pct = found.fixed_antenna_m.copy(), found.fixed_buc_w.copy(), np.full(SITES, 99.7)
    dish[1:7], buc[4:10], pct[10:20] = 1.2, 2.0, 99.95
    return replace(found, fixed_antenna_m=dish, fixed_buc_w=buc, availability_pct=pct)


@cache
def planned(name: str) -> Plan:
    return make_plan(sites(), network(name), sensitivity=True)


def cases() -> list[tuple[str, int]]:
    return [(name, k) for name in NETWORKS for k in range(len(items_of(network(name))))]


def item_of(name: str, k: int) -> Item:
    return items_of(network(name))[k]


def differs(a: Plan, b: Sizing) -> BoolArray:
    """Where the pairs of a plan and of another pick are not the same."""
    found = np.zeros(len(a), dtype=bool)
    for size in ("antenna_m", "buc_w"):
        x, y = a.columns[size], getattr(b, size)
        found |= (x != y) & ~(np.isnan(x) & np.isnan(y))
    return found


@pytest.mark.parametrize(("name", "k"), cases())
def test_the_row_of_a_step_is_a_plan_with_it(name: str, k: int) -> None:
    """Every item, by editing the keys of the network file; rain by the method's own function."""
    plan, item = planned(name), item_of(name, k)
    other = run(sites(), network(name), item)
    for size in ("antenna_m", "buc_w"):
        theirs = getattr(other, size)
        np.testing.assert_array_equal(plan.tables[f"sensitivity_{size}"][:, k], theirs)
    changed = plan.tables["sensitivity_eighths"][:, k] > 0
    np.testing.assert_array_equal(changed, differs(plan, other))


@pytest.mark.parametrize(("name", "k"), cases())
def test_changes_of_margin_are_those_of_kit_that_stands(name: str, k: int) -> None:
    """With the planned kit as installed kit, before and under the step; to 1e-6 dB."""
    plan, item = planned(name), item_of(name, k)
    keep = plan.columns["kit_source"] == PICKED
    rows = np.flatnonzero(keep)
    stands = sites().take(rows)
    stands = replace(
        stands,
        fixed_antenna_m=plan.columns["antenna_m"][rows],
        fixed_buc_w=plan.columns["buc_w"][rows],
    )
    before, after = sized(stands, network(name)), run(stands, network(name), item)
    change = after.margin_db - before.margin_db
    ours = plan.tables["sensitivity_margin_db"][rows, k]
    assert_allclose(ours, change, atol=1e-6)
    required = after.required_antenna_m - before.required_antenna_m
    assert_allclose(plan.tables["sensitivity_required_m"][rows, k], required, atol=1e-5)


@pytest.mark.parametrize(("name", "k"), cases())
def test_the_least_part_is_the_first_of_eighths_that_changes_the_pair(name: str, k: int) -> None:
    """By picks of their own at the eighth that is told most, and at the one before."""
    plan, item = planned(name), item_of(name, k)
    least = plan.tables["sensitivity_eighths"][:, k]
    if item.unit == "class":
        assert set(least.tolist()) <= {0, EIGHTHS}
        return
    if not least.any():
        return  # C/I hardly matters in the plain network
    part = int(np.bincount(least[least > 0]).argmax())
    rows = least == part
    assert differs(plan, run(sites(), network(name), item, part / EIGHTHS))[rows].all()
    if part > 1:
        before = run(sites(), network(name), item, (part - 1) / EIGHTHS)
        assert not differs(plan, before)[rows].any()


def test_many_parts_and_both_ways_are_met() -> None:
    """So that what stands above is asked of all sorts of sites."""
    eighths = planned("plain").tables["sensitivity_eighths"]
    assert set(range(1, EIGHTHS)) <= set(eighths.ravel().tolist())
    flat = planned("plain").tables["sensitivity_antenna_m"]
    now = planned("plain").columns["antenna_m"][:, None]
    assert (flat > now).any()
    assert (flat < now).any()
    assert (np.isnan(flat) & ~np.isnan(now)).any()
    assert (~np.isnan(flat) & np.isnan(now)).any()


@pytest.mark.parametrize("name", NETWORKS)
def test_most_sensitive_is_the_least_part_the_first_of_ties(name: str) -> None:
    plan, items = planned(name), items_of(network(name))
    for row, said in zip(
        plan.tables["sensitivity_eighths"].tolist(),
        plan.columns["most_sensitive"].tolist(),
        strict=True,
    ):
        parts = [(part, k) for k, part in enumerate(row) if part]
        assert said == (told(items[min(parts)[1]]) if parts else "")


@pytest.mark.parametrize("name", NETWORKS)
def test_no_step_changes_nothing(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """No part of any step is taken; a class worse has no part, and stays out."""
    nothing = tuple(
        item._replace(change=lambda stand, step, part, real=item.change: real(stand, step, 0.0))
        for item in items_of(network(name))
        if item.unit != "class"
    )
    monkeypatch.setattr(sure, "items_of", lambda network: nothing)
    plan = make_plan(sites(), network(name), sensitivity=True)
    assert not plan.tables["sensitivity_eighths"].any()
    assert set(plan.columns["most_sensitive"].tolist()) == {""}
    for change in ("margin_db", "required_m"):
        found = plan.tables[f"sensitivity_{change}"]
        assert_allclose(found[~np.isnan(found)], 0.0, atol=1e-6)
    for size in ("antenna_m", "buc_w"):
        now = np.repeat(plan.columns[size][:, None], len(nothing), axis=1)
        np.testing.assert_array_equal(plan.tables[f"sensitivity_{size}"], now)


def test_kit_that_stands_and_sites_without_sight_do_not_change() -> None:
    plan = planned("plain")
    stands = plan.columns["kit_source"] == "installed"
    assert stands.sum() == 3
    unseen = np.isnan(plan.columns["margin_db"])
    assert unseen.any()
    assert not plan.tables["sensitivity_eighths"][stands | unseen].any()
    assert set(plan.columns["most_sensitive"][stands | unseen].tolist()) == {""}
    assert (plan.columns["kit_source"] == NONE).any()


def test_side_lobes_are_asked_of_where_they_count() -> None:
    assert "pattern" not in {item.name for item in items_of(network("plain"))}
    assert {item.name for item in items_of(network("crowded"))} == {item.name for item in ITEMS}
    reported = CROWDED | {"neighbours": [], "regulation": {"masks": ["s524_9"], "action": "report"}}
    assert len(items_of(Network.model_validate(reported))) == len(ITEMS) - 1


def test_counts_are_those_of_the_table() -> None:
    plan = planned("crowded")
    counts = np.count_nonzero(plan.tables["sensitivity_eighths"], axis=0).tolist()
    assert [of.sites for of in plan.facts.changes_kit] == counts
    assert [of.code for of in plan.facts.changes_kit] == [i.code for i in items_of(plan.network)]
    none = np.isnan(plan.tables["sensitivity_antenna_m"]) | np.isnan(
        plan.tables["sensitivity_buc_w"]
    )
    changed = plan.tables["sensitivity_eighths"] > 0
    had = ~np.isnan(plan.columns["antenna_m"] + plan.columns["buc_w"])[:, None]
    lost, gained = ((changed & x).sum(axis=0).tolist() for x in (none & had, ~none & ~had))
    assert [of.lost for of in plan.facts.changes_kit] == lost
    assert [of.gained for of in plan.facts.changes_kit] == gained
    assert sum(lost) > 0
    assert sum(gained) > 0


def test_the_tables_are_made_where_they_are_asked_for() -> None:
    plan = make_plan(sites(), network("plain"), with_tables=True)
    assert not set(TABLES) & set(plan.tables)
    np.testing.assert_array_equal(
        plan.columns["most_sensitive"], planned("plain").columns["most_sensitive"]
    )


def test_a_pattern_is_never_worse_than_the_worst() -> None:
    numbers = np.arange(len(PATTERNS) + 1)
    found = np.asarray(worse_pattern(numbers)).tolist()
    assert [PATTERNS[n] for n in found] == [*(WORSE[p] for p in PATTERNS), WORSE["file"]]
    assert worse_pattern(len(PATTERNS) + 3) == PATTERNS.index("s580")


def test_what_pairs_cost_changes_with_a_step_too() -> None:
    """Steps lead to another pair while the one of now still fits, to 0.01 dB."""
    plan = planned("dear")
    left = plan.columns["margin_after_reserve_db"][:, None] + plan.tables["sensitivity_margin_db"]
    moved = plan.tables["sensitivity_eighths"] > 0
    picked = (plan.columns["kit_source"] == PICKED)[:, None]
    smaller = plan.tables["sensitivity_antenna_m"] < plan.columns["antenna_m"][:, None]
    assert (moved & picked & (left > 0.01) & smaller).sum() > 10


def test_what_fits_and_what_pairs_cost_lead_to_other_kit_than_the_smallest() -> None:
    dear = planned("dear")
    smallest = make_plan(
        sites(), Network.model_validate(DEAR | {"rules": {"pick": "smallest"}}), sensitivity=True
    )
    for table in ("eighths", "antenna_m"):
        ours, theirs = (plan.tables[f"sensitivity_{table}"] for plan in (dear, smallest))
        assert (ours != theirs)[~np.isnan(ours)].any()
    np.testing.assert_allclose(
        *(
            plan.tables["sensitivity_margin_db"][plan.columns["kit_source"] == "installed"]
            for plan in (dear, smallest)
        ),
        atol=1e-12,
    )


def test_no_earlier_eighth_changes_the_cheapest_pair() -> None:
    """The cheapest pair may change and change back: none of the parts before does."""
    plan = planned("dear")
    for k, item in enumerate(items_of(network("dear"))):
        least = plan.tables["sensitivity_eighths"][:, k]
        for part in range(1, EIGHTHS):
            later = least > part
            if later.any():
                moved = differs(plan, run(sites(), network("dear"), item, part / EIGHTHS))
                assert not moved[later].any(), (item.code, part)


def test_without_lease_and_one_dimension_the_cheapest_pair_is_moved_as_the_smallest() -> None:
    """Prices rise with the only size that varies, and nothing else costs anything."""
    tables = BASE | {
        "antennas": PRICED["antennas"],
        "bucs": [{"rated_w": 2.0, "price": 1}],
        "costs": {"lease_mhz_month": 0},
    }
    by_cost, smallest = (
        make_plan(
            sites(), Network.model_validate(tables | {"rules": {"pick": pick}}), sensitivity=True
        )
        for pick in ("cost", "smallest")
    )
    np.testing.assert_array_equal(
        by_cost.columns["most_sensitive"], smallest.columns["most_sensitive"]
    )
    assert set(by_cost.columns["most_sensitive"].tolist()) > {""}
    for table in TABLES:
        np.testing.assert_array_equal(by_cost.tables[table], smallest.tables[table])


def test_a_plan_without_certainty_is_otherwise_the_same() -> None:
    sites = Sites.at(np.array([-3.0, 4.0, -8.0]), np.array([-60.0, -55.0, -65.0]))
    network = Network.model_validate({"satellite": {"longitude_deg": -61}})
    whole, without = (make_plan(sites, network, certainty=c) for c in (True, False))
    gone = set(whole.columns) - set(without.columns)
    assert gone == {"most_sensitive", "margin_spread_db", "margin_confidence_pct"}
    for name, values in without.columns.items():
        np.testing.assert_array_equal(values, whole.columns[name], err_msg=name)


@pytest.mark.parametrize("name", NETWORKS)
def test_sites_asked_side_by_side_answer_as_alone(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To the last bit: a plan in parts asks of other sites at once."""
    ours = planned(name)
    for rows in (0, 150):
        monkeypatch.setattr(arrays, "MOST_ROWS", rows)
        theirs = make_plan(sites(), network(name), sensitivity=True)
        for table in TABLES:
            np.testing.assert_array_equal(theirs.tables[table], ours.tables[table], err_msg=table)
        for column in ("most_sensitive", "margin_spread_db", "margin_confidence_pct"):
            np.testing.assert_array_equal(theirs.columns[column], ours.columns[column])
