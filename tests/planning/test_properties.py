"""What must hold for any site and network: monotony, order, scalar against vector, no gaps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link.ends import Dish
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.ways import inbound, outbound
from siteplan.planning.place import circular_feed
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.drawn import Drawn, drawn

#: Numbers that may be blank for a site that sees the satellite, and why.
MAY_BE_BLANK = {
    "antenna_m": "no fit",
    "buc_w": "no fit",
    "required_antenna_m": "no diameter does",
    "next_antenna_m": "already the largest",
    "next_antenna_margin_db": "already the largest",
    "wall_facing_deg": "not given",
    "roof_height_m": "not given",
    "cable_m": "not given",
    "wind_m_s": "not given",
    "fixed_antenna_m": "not given",
    "fixed_buc_w": "not given",
    "fixed_efficiency": "not given",
    "fixed_buc_backoff_db": "not given",
    **dict.fromkeys(("dish_height_m", "wind_pressure_pa", "wind_drag_n"), "no antenna"),
    **dict.fromkeys(("overturning_nm", "ballast_kg", "frame_base_m"), "another mount"),
    **dict.fromkeys(("roof_load_pa", "pole_embedment_m", "parapet_distance_m"), "another mount"),
    **dict.fromkeys(("wall_pull_n", "wall_shear_n"), "another mount"),
    **dict.fromkeys(("horizon_at_satellite_deg", "clearance_deg"), "nothing surveyed"),
    **dict.fromkeys(("buc_voltage_v", "buc_current_a"), "the supply collapses"),
    "stand_off_per_m": "the beam's edge is below the horizontal",
    "fence_m": "nobody can stand in the beam",
}


def same(a: Plan, b: Plan, index: np.ndarray | slice) -> None:
    for name, values in a.columns.items():
        picked = values[index]
        if values.dtype == object:
            assert picked.tolist() == b.columns[name].tolist(), name
        else:
            np.testing.assert_array_equal(picked, b.columns[name], err_msg=name)


def test_order_of_sites_does_not_matter(tropical: Network, basin: Sites) -> None:
    order = np.random.default_rng(3).permutation(len(basin))
    same(make_plan(basin, tropical), make_plan(basin.take(order), tropical), order)


def test_scalar_loop_equals_vector(tropical: Network, basin: Sites) -> None:
    whole = make_plan(basin, tropical)
    for i in range(0, len(basin), 5):
        one = make_plan(basin.take(np.array([i])), tropical)
        same(whole, one, slice(i, i + 1))


def test_chunks_do_not_show(
    tropical: Network, basin: Sites, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = make_plan(basin, tropical)
    monkeypatch.setattr("siteplan.planning.plan.CHUNK_SITES", 7)
    told: list[int] = []
    same(whole, make_plan(basin, tropical, progress=told.append), slice(None))
    assert told == [7, 14, 21, 28, 35, 40]


#: Figures of years and of long outages: where one is blank the site's notes say why.
OF_YEARS = {
    *("worst_month_availability_pct", "year_risk_pct"),
    *("outages_over_10_s", "outages_over_10_min"),
}


@given(case=drawn())
@settings(max_examples=25)
def test_results_are_finite_or_flagged(case: Drawn) -> None:
    plan = case.plan()
    numbers = {n: np.isnan(v) for n, v in plan.columns.items() if v.dtype == float}
    for i, text in enumerate(plan.columns["flags"]):
        flags = set(text.split(";"))
        blank = {name for name, missing in numbers.items() if missing[i]}
        if "antenna_m" in blank:
            assert flags & {"below_horizon", "below_min_elevation", "method_range", "no_fit"}
        if "below_horizon" in flags or plan.columns["elevation_deg"][i] < 0.2:
            continue  # so low that the neighbouring position may not be in sight
        assert plan.columns["year_notes"][i] or not blank & OF_YEARS
        blank -= OF_YEARS
        low = {name for name in blank if name.endswith("availability_pct")}
        assert bool(low) == ("availability_low" in flags)
        assert ("availability_achieved_pct" in blank) == bool(low)
        bearings = {name for name in blank if name.startswith(("azimuth", "skew"))}
        if "azimuth_sensitive" not in flags:
            skews = {"skew_deg", "skew_step_deg"}
            assert bearings == (skews if circular_feed(case.network) else set())
        rest = blank - low - bearings - MAY_BE_BLANK.keys() - {"availability_achieved_pct"}
        assert not rest


@given(case=drawn(), p=st.floats(0.002, 49), factor=st.floats(1.01, 5))
@settings(max_examples=25)
def test_margin_falls_as_p_falls(case: Drawn, p: float, factor: float) -> None:
    done = case.worked()
    dish = Dish(1.2, 0.65)
    for way in (outbound(done.link, dish), inbound(done.link, dish, 3.0)):
        often, seldom = (
            margin_db(way, np.full(len(done.link), x)) for x in (p, max(p / factor, 0.001))
        )
        assert not np.any(seldom > often + 1e-8)


@given(case=drawn(), diameter=st.floats(0.4, 6), factor=st.floats(1.001, 3))
@settings(max_examples=25)
def test_margin_rises_with_antenna_size(case: Drawn, diameter: float, factor: float) -> None:
    done = case.worked()
    small, large = Dish(diameter, 0.65), Dish(diameter * factor, 0.65)
    for way in (
        lambda dish: outbound(done.link, dish),
        lambda dish: inbound(done.link, dish, 0.0),  # its share may hold it where it is
    ):
        before, after = (margin_db(way(dish), done.p_pct) for dish in (small, large))
        there = before > -300  # along the horizon, levels are held at -1000 dB
        assert np.all(after[there] > before[there] - 1e-8)


def test_a_margin_of_zero_or_more_means_the_target_is_met(tropical: Network, basin: Sites) -> None:
    for target in (95.0, 99.0, 99.5, 99.9, 99.97, 99.995):
        changed = {"network": {"availability_pct": target}}
        plan = make_plan(
            basin, Network.model_validate(tropical.model_dump(exclude_unset=True) | changed)
        )
        for way in ("outbound", "inbound"):
            margin = plan.columns[f"{way}_margin_db"]
            reached = plan.columns[f"{way}_availability_pct"]
            holds = margin >= 0
            assert np.all(reached[holds] >= target)
            missed = margin < -1e-6
            assert not np.any(reached[missed] >= target)
