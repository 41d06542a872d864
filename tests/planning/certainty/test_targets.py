"""Targets of a worst month: what the plan uses, and what is refused or flagged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning import targets
from siteplan.planning.plan import make_plan

BASE = {"network": {"date": "2026-06-01"}, "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5}}  # fmt: skip
LAT, LON = np.array([-3.1, 20.0, 33.0, 45.0]), np.array([-60.0, -75.0, -80.0, -74.0])


def network(basis: str = "worst_month", target: float = 99.5) -> Network:
    of = BASE["network"] | {"availability_basis": basis, "availability_pct": target}
    return Network.model_validate(BASE | {"network": of})


@pytest.mark.parametrize(("month", "year"), [(99.5, 99.8648), (99.8, 99.9529)])
def test_a_target_of_the_worst_month(month: float, year: float) -> None:
    """ITU-R P.841-4's global relation (from memory), to the digits printed."""
    found = targets.annual_target_pct(network(), np.array([month]))
    assert found[0] == pytest.approx(year, abs=6e-5)


def test_there_and_back() -> None:
    asked = np.array([92.2, 95, 99, 99.5, 99.9, 99.99, 99.992])
    year = targets.annual_target_pct(network(), asked)
    back = 100 - targets.in_basis_pct(network(), 100 - year)
    np.testing.assert_allclose(back, asked, atol=1e-9)
    again = 100 - targets.from_basis_pct(network(), 100 - back)
    np.testing.assert_allclose(again, year, atol=1e-9)


def test_targets_of_a_year_stay_as_they_are() -> None:
    asked = np.array([60.0, 99.5, 99.999])
    assert targets.annual_target_pct(network("year"), asked) is asked
    assert not targets.outside(network("year"), asked).any()
    assert targets.month_law(network("year")) == ()


def test_the_plan_is_that_of_the_annual_target() -> None:
    """Every figure but the words of the target is that of a plan of the year's target."""
    month = make_plan(Sites.at(LAT, LON), network())
    year = float(month.columns["annual_target_pct"][0])
    same = make_plan(Sites.at(LAT, LON), network("year", year))
    assert "annual_target_pct" not in same.columns
    for name, values in same.columns.items():
        if name != "availability_target_pct":
            np.testing.assert_array_equal(month.columns[name], values, err_msg=name)
    assert month.columns["availability_target_pct"].tolist() == [99.5] * 4


def test_the_sites_own_targets_are_on_the_same_basis() -> None:
    own = np.array([np.nan, 99.0, 99.9, 99.99])
    plan = make_plan(Sites.at(LAT, LON, availability_pct=own), network())
    asked = np.where(np.isnan(own), 99.5, own)
    np.testing.assert_array_equal(plan.columns["availability_target_pct"], asked)
    expected = 100 - 0.30 * (100 - asked) ** 1.15
    np.testing.assert_allclose(plan.columns["annual_target_pct"], expected, atol=1e-9)


def test_the_achieved_worst_month_meets_the_target_where_the_margin_does() -> None:
    plan = make_plan(Sites.at(LAT, LON), network())
    margin, month = (plan.columns[k] for k in ("margin_db", "worst_month_availability_pct"))
    known = ~np.isnan(month)
    assert known.any()
    np.testing.assert_array_equal(margin[known] >= 0, month[known] >= 99.5 - 1e-9)


@pytest.mark.parametrize("target", [60, 92.1, 99.9925, 99.999])
def test_what_no_month_can_have_is_refused(target: float) -> None:
    with pytest.raises(ValidationError, match=r"Allowed: 92\.2 to 99\.992 %.*Give a target"):
        network(target=target)


@pytest.mark.parametrize("target", [92.2, 99.992])
def test_the_ends_are_held(target: float) -> None:
    year = targets.annual_target_pct(network(target=target), np.array([target]))[0]
    assert 96.8 < year <= 99.999


def test_a_site_outside_is_flagged_with_what_was_used() -> None:
    own = np.array([60.0, 99.999, 99.5, np.nan])
    plan = make_plan(Sites.at(LAT, LON, availability_pct=own), network())
    codes, notes = plan.columns["flags"], plan.columns["flag_notes"]
    assert ["target_out_of_range" in text for text in codes] == [True, True, False, False]
    assert "The target of 99.999 % of the worst month is outside" in notes[1]
    assert "99.9988 % of an average year was planned for. Give the site 92.2 to" in notes[1]
    within = replace(Sites.at(LAT, LON), availability_pct=np.array([92.2, 99.992, 99.5, 99.5]))
    same = make_plan(within, network())
    for name in ("margin_db", "annual_target_pct", "year_risk_pct"):
        np.testing.assert_array_equal(plan.columns[name], same.columns[name], err_msg=name)


def test_a_lower_target_that_helps_is_on_the_same_basis() -> None:
    """Planned anew with that target of the worst month and that pair, it gives what was told."""
    rng = np.random.default_rng(7)
    sites = Sites.at(rng.uniform(-8, 5, 30), rng.uniform(-72, -50, 30))
    plan = make_plan(sites, network(target=99.9))
    told = [x for x in plan.facts.remedies if x.code == "target"]
    assert len(told) >= 3
    at = np.array([np.flatnonzero(sites.site_id == x.site_id)[0] for x in told])
    new = np.array([{s[1]: s[2] for s in x.sets}["availability_pct"] for x in told])
    assert ((new >= 92.2) & (new < 99.9)).all()
    assert all(f"Target {pct:g} % instead of 99.9 %" in x.change
               for pct, x in zip(new.tolist(), told, strict=True))  # fmt: skip
    kit = {"fixed_antenna_m": np.array([x.antenna_m for x in told]),
           "fixed_buc_w": np.array([x.buc_w for x in told])}  # fmt: skip
    some = replace(sites.take(at), availability_pct=new, **kit)
    again = make_plan(some, network(target=99.9)).columns["margin_after_reserve_db"]
    expected = [x.margin_after_reserve_db for x in told]
    np.testing.assert_allclose(again, expected, atol=1e-6)
