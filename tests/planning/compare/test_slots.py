"""What a plan with each satellite comes to, and which serves a site with the least kit."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.answers.slots import SlotSites
from siteplan.planning.compare.slots import best_slots, sites_of, slot_of
from siteplan.planning.plan import make_plan
from tests.planning.compare.trial import at, moved, network
from tests.priced import with_prices

NAN = math.nan


def found(*rows: tuple[float, float, float, bool]) -> SlotSites:
    """Sites with antenna, BUC, margin, and whether they are served."""
    antenna, buc, margin, served = (np.array(x) for x in zip(*rows, strict=True))
    blank = np.full(len(rows), NAN)
    return SlotSites(blank, blank, blank, blank, margin, antenna, buc, served.astype(bool))


@pytest.mark.parametrize(
    ("one", "other", "best"),
    [
        ((1.8, 2, 3.0, True), (1.2, 4, 0.5, True), "B"),  # the smaller antenna
        ((1.2, 4, 3.0, True), (1.2, 2, 0.5, True), "B"),  # then the smaller BUC
        ((1.2, 2, 1.0, True), (1.2, 2, 1.5, True), "B"),  # then the larger margin
        ((1.2, 2, 1.0, True), (1.2, 2, 1.0, True), "A"),  # then the order
        ((1.2, 2, 1.0, True), (1.2, 2, 1.0000001, True), "A"),  # alike to 1e-6 dB
        ((1.2, 1, -0.5, False), (2.4, 4, 0.1, True), "B"),  # what does not serve is none
        ((1.2, 1, -0.5, False), (NAN, NAN, -3.0, False), "none"),
        ((NAN, NAN, NAN, False), (NAN, NAN, NAN, False), "none"),
    ],
)
def test_the_rule_of_the_best(
    one: tuple[float, float, float, bool], other: tuple[float, float, float, bool], best: str
) -> None:
    assert best_slots("AB", [found(one), found(other)]).tolist() == [best]
    # One without a plan between them changes nothing but its own place in the list.
    assert best_slots("AXB", [found(one), None, found(other)]).tolist() == [best]


def test_a_row_counts_what_the_plan_has() -> None:
    ours = network(-61.0, hub={"lat": -15.8, "lon": -47.9}, rules={"min_elevation_deg": 20})
    sites = at((-3.1, -60.02), (5.0, -75.0), (60.0, -10.0), (10.0, 90.0))
    plan = make_plan(sites, ours)
    row, c = slot_of("Ours", plan, own=True, remarks=("so",)), plan.columns
    assert (row.name, row.longitude_deg, row.own, row.reason) == ("Ours", -61, True, "")
    assert row.remarks == ("so",)
    kit = ~np.isnan(c["antenna_m"])
    assert kit.tolist() == [True, True, False, False]
    assert (row.with_kit, row.without_kit, row.served) == (2, 2, 2)
    assert (row.below_minimum, row.out_of_view, row.outside_beam) == (1, 1, 0)
    assert sum(n for _, n in row.antennas) == sum(n for _, n in row.bucs) == 2
    area = sum(math.pi / 4 * d**2 * n for d, n in row.antennas)
    assert row.area_m2 == pytest.approx(area, rel=1e-12)
    assert row.worst_margin_db == pytest.approx(c["margin_db"][:2].min(), abs=1e-12)
    assert row.median_margin_db == pytest.approx(c["margin_db"][:2].mean(), abs=1e-12)
    assert row.lowest_elevation_deg == pytest.approx(np.nanmin(c["elevation_deg"]), abs=1e-12)
    assert row.hub_elevation_deg == pytest.approx(plan.facts.hub_elevation_deg, abs=1e-12)
    assert not row.priced
    assert math.isnan(row.cost)


def test_what_costs_is_told_where_there_are_prices() -> None:
    priced = with_prices(network(-61.0))
    plan = make_plan(at((-3.1, -60.02)), priced)
    assert plan.facts.bill is not None
    assert slot_of("Ours", plan).priced
    assert slot_of("Ours", plan).cost == pytest.approx(plan.facts.bill.total, nan_ok=True)


def test_a_satellite_that_serves_nobody_has_no_cost() -> None:
    """Nothing to buy is not the cheapest: there is nothing to compare."""
    plan = make_plan(at((60.0, 120.0)), with_prices(network(-61.0)))
    assert plan.facts.bill is not None
    assert plan.facts.bill.total == 0
    row = slot_of("Ours", plan)
    assert (row.served, row.priced) == (0, True)
    assert math.isnan(row.cost)


def test_no_site_with_kit_has_no_margin_to_tell() -> None:
    row = slot_of("Ours", make_plan(at((60.0, 120.0)), network(-61.0)))
    assert (row.with_kit, row.out_of_view, row.antennas) == (0, 1, ())
    assert math.isnan(row.median_margin_db)
    assert math.isnan(row.lowest_elevation_deg)
    assert row.area_m2 == 0


def test_sites_outside_a_beam_are_counted() -> None:
    beam = {"name": "west", "lat": -5.0, "lon": -66.0, "major_deg": 1.0, "minor_deg": 1.0}
    plan = make_plan(at((-5.0, -66.0), (-5.0, -40.0)), network(-61.0, beams=[beam]))
    row = slot_of("Ours", plan)
    assert (row.outside_beam, row.with_kit) == (1, 1)


def test_a_slot_s_sites_are_the_plan_s_own() -> None:
    plan = make_plan(at((-3.1, -60.02), (5.0, -75.0)), moved(network(-61.0), -40.0))
    of = sites_of(plan)
    for name in ("elevation_deg", "azimuth_true_deg", "skew_deg", "margin_db", "antenna_m"):
        assert np.array_equal(getattr(of, name), plan.columns[name], equal_nan=True), name
