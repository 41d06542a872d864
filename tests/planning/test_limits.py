"""Limits of place, kit and availability from both sides, many sites in one call and in no order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.propagation.mapped.cloud_maps import OLDER
from siteplan.planning import place
from siteplan.planning.kit import pick, shortfall
from siteplan.planning.kit.classes import margin_class
from siteplan.planning.link.availability import _small_shares
from siteplan.planning.link.outage import Shares
from siteplan.planning.plan import equip, make_plan, see
from siteplan.planning.setting import setting
from siteplan.planning.step import Raised
from siteplan.results import Plan

NAN = float("nan")
#: Nobody doubts the coordinates of so many sites.
SURE = np.zeros(9, dtype=bool)


def network(**tables: Any) -> Network:
    start: dict[str, Any] = {
        "network": {"date": "2026-06-01"},
        "satellite": {"longitude_deg": -61.0},
    }
    return Network.model_validate(start | tables)


def somewhere(n: int, **known: Any) -> Sites:
    return Sites.at(np.full(n, 30.0), np.full(n, -80.0), **known)


def places(**columns: Any) -> place.Place:
    """Return places of one point with some of their arrays (n,) changed."""
    arrays = {k: np.array(v, dtype=float) for k, v in columns.items()}
    n = len(next(iter(arrays.values())))
    return replace(place.place(somewhere(n), network(), OLDER), **arrays)


def where(found: Iterable[Raised]) -> dict[str, list[bool]]:
    """Return where each flag is raised, by its code; several sentences may tell one."""
    raised: dict[str, Any] = {}
    for code, told in found:
        raised[code] = raised.get(code, False) | told.where
    return {code: mask.tolist() for code, mask in raised.items()}


def test_elevations() -> None:
    """5 degrees for the methods, the rule's 10, 12 for low; each counts from below only."""
    elevation = [10.0, 4.999999, 12.0, NAN, 9.999999, 5.0, 11.999999, 90.0]
    found = where(place.raised(places(elevation_deg=elevation), network(), SURE[:8]))
    assert found["below_horizon"] == np.isnan(elevation).tolist()
    assert found["method_range"] == [x < 5 for x in elevation]
    assert found["below_min_elevation"] == [x < 10 for x in elevation]
    assert found["low_elevation"] == [x < 12 for x in elevation]
    higher = network(rules={"min_elevation_deg": 15})
    found = where(place.raised(places(elevation_deg=elevation), higher, SURE[:8]))
    assert found["below_min_elevation"] == [x < 15 for x in elevation]
    assert found["method_range"] == [x < 5 for x in elevation]


def test_heavy_rain_from_100_mm_an_hour() -> None:
    rain = [100.0, 99.999, 120.0, 10.0, 100.001, 99.0]
    found = where(place.raised(places(rain_rate_mm_h=rain), network(), SURE[:6]))
    assert found["heavy_rain"] == [True, False, True, False, True, False]


def test_azimuth_that_turns_by_a_degree_for_a_kilometre() -> None:
    """On a sphere: 57.296 / (6371 tan) = 1 at 0.515 degrees from the satellite's point, whichever
    way. The ellipsoid moves it by some thousandths of a degree.
    """
    lat = np.array([0.510, 0.0, -0.525, 0.0, -0.510, 0.525, 0.0, 0.0, 0.0])
    lon = -61 + np.array([0.0, 0.525, 0.0, -0.510, 0.0, 0.0, 0.505, -0.525, 0.0])
    at = place.place(Sites.at(lat, lon, altitude_m=np.zeros(9)), network(), OLDER)
    found = where(place.raised(at, network(), SURE))["azimuth_sensitive"]
    assert found == [True, False, False, True, True, False, True, False, True]


@pytest.mark.parametrize(
    ("date", "valid"),
    [("2024-12-31", False), ("2025-01-01", True), ("2029-12-31", True), ("2030-01-01", False)],
)
def test_compass_and_model(date: str, valid: bool) -> None:
    """6000 nT of level field (the model's caution zone, NOAA); the model holds 2025 to 2029."""
    arctic = Sites.at(np.array([30.0, 75.0, 40.0, 78.0, -64.0, 20.0]),
                      np.array([-80.0, -95.0, -80.0, -100.0, 137.0, 0.0]))  # fmt: skip
    day = dt.date.fromisoformat(date)
    of = place.compass(place.place(arctic, network(), OLDER), day)
    found = where(place.compass_raised(of, day))
    steep = [False, True, False, True, True, False]
    assert found["compass_unreliable"] == [valid and s for s in steep]
    assert found["magnetic_model_date"] == [not valid] * 6
    edge = replace(of, reliable=np.array([True, False, True, True, False, False]))
    assert where(place.compass_raised(edge, day))["compass_unreliable"] == [
        valid and not r for r in edge.reliable
    ]


def sized(margin: Any, *, offset_deg: Any = 0.0, antenna: Any = 1.2, buc: Any = 3.0) -> pick.Sizing:
    """Return the sizing of n sites with margins and kit changed."""
    margin = np.array(margin, dtype=float)
    n = len(margin)
    shared = setting(network())
    sites = somewhere(n)
    sizing = equip(sites, see(sites, shared), shared).sizing
    kit = replace(
        sizing.kit,
        offset_deg=np.broadcast_to(offset_deg, n),
        antenna_m=np.broadcast_to(antenna, n),
        buc_w=np.broadcast_to(buc, n),
    )
    return replace(sizing, margin_db=margin, kit=kit)


def picked(of: pick.Sizing, *, excess: Any = -1.0, elevation: Any = 40.0, reserve: float = 1.0
           ) -> dict[str, list[bool]]:  # fmt: skip
    """Where the flags of kit are raised; ``excess`` is cut where positive, ``free`` or not."""
    n = len(of.margin_db)
    excess, elevation = (np.broadcast_to(np.float64(x), n) for x in (excess, elevation))
    sites, shared = somewhere(n), setting(network())
    kitted = equip(sites, see(sites, shared), shared)
    levels = kitted.levels
    by = np.where(excess > 0, "share", "").astype(object)
    cut = replace(levels, power_cut_db=np.maximum(excess, 0), power_cut_by=by,
                  share_excess_db=np.minimum(excess, 0))  # fmt: skip
    free = replace(levels, power_cut_db=np.zeros(n), share_excess_db=excess)
    found = where(pick.raised(of, cut, elevation))
    assert where(pick.raised(of, free, elevation)) == found
    short = replace(
        kitted.short, missing=of.missing, margin_db=of.margin_db, short_db=reserve - of.margin_db,
        reserve_db=reserve,
    )  # fmt: skip
    return found | where(shortfall.raised(short))


def test_margins_at_zero_and_at_the_reserve() -> None:
    """Rounded to a millionth of a dB: what lies nearer to a bound than half of that is on it."""
    margin = [1.0, -1e-5, 0.5, NAN, 0.0, 1 - 1e-7, -3.0, -1e-7, 1 - 1e-5, 4.0]
    found = picked(sized(margin))
    assert found["margin_negative"] == [m in (-1e-5, -3.0) for m in margin]
    assert found["margin_short"] == [m in (0.5, 0.0, -1e-7, 1 - 1e-5) for m in margin]
    found = picked(sized(margin), reserve=0.0)
    assert found["margin_short"] == [False] * 10


def test_flags_of_kit_want_the_whole_kit() -> None:
    antenna = np.array([1.2, NAN, 1.2, NAN, 1.2, NAN])
    buc = np.array([3.0, 3.0, NAN, NAN, 3.0, 3.0])
    found = picked(sized([-2.0] * 6, antenna=antenna, buc=buc), excess=2.0)
    whole = [True, False, False, False, True, False]
    assert found["margin_negative"] == found["power_share"] == whole
    found = picked(sized([0.5] * 6, antenna=antenna, buc=buc))
    assert found["margin_short"] == whole


def test_power_beyond_the_share() -> None:
    found = picked(sized([3.0] * 5), excess=[0.0, 1e-8, -1e-9, 4.0, -4.0])
    assert found["power_share"] == [False, True, False, True, False]


def test_a_reflector_holds_water_from_70_degrees_on() -> None:
    """Elevation less the dish's offset: 92 less 22 is 70 as well."""
    elevation = np.array([70.0, 69.999, 89.0, 86.999, NAN, 87.0, 80.0, 70.0])
    offset = np.array([0.0, 0.0, 22.0, 17.0, 0.0, 17.0, 0.0, 0.001])
    found = picked(sized([3.0] * 8, offset_deg=offset), elevation=elevation)
    assert found["near_vertical"] == [True, False, False, False, False, True, True, False]


SMALL = (0.01, 0.0099999, 1.0, 0.001, 0.0100001, 0.0)


@pytest.mark.parametrize("inbound", [False, True])
@pytest.mark.parametrize("end", ["site", "hub"])
@pytest.mark.parametrize("blamed", ["site", "hub"])
def test_small_shares_of_either_end(inbound: bool, end: str, blamed: str) -> None:
    """Under 0.01 % of time at an end; nought counts where that end limits, not elsewhere."""
    plenty, none = np.full(6, 0.5), np.zeros(6)
    small = {"site": plenty, "hub": plenty, end: np.array(SMALL)}
    pair, other = (small["site"], small["hub"]), (plenty, none)
    out, back = (other, pair) if inbound else (pair, other)
    ends = np.full(6, blamed, dtype=object)
    which = np.full(6, inbound)
    split = Shares(*out, *back, limiting_end=ends, hub_blamed=ends == "hub", inbound_limits=which)
    expected = [False, True, False, True, False, end == blamed]
    assert _small_shares(split).tolist() == expected


def test_the_small_outage_is_that_of_the_target() -> None:
    """What is achieved beyond it decides nothing: the last site's dish is far too large."""
    target = np.array([99.992, 99.9, 99.9876, 99.5, 99.9, 99.5])
    dish = np.array([0.3, 0.3, 0.3, 0.3, 0.3, 6.0])
    rules = network(rules={"hub_outage_share": 0.0})
    sites = somewhere(6, availability_pct=target, fixed_antenna_m=dish,
                      fixed_buc_w=np.full(6, 0.5))  # fmt: skip
    plan = make_plan(sites, rules)
    assert plan.columns["availability_achieved_pct"][5] > 99.99
    assert plan.facts.told_once == (("small_p", 1),)
    (said,) = plan.facts.remarks
    assert said.startswith("The margins of 1 of 6 sites, and with them the kit, rest on outages")
    alone = make_plan(sites.take(np.array([5])), rules)
    assert alone.facts.told_once == ()


def flagged(plan: Plan, code: str) -> list[bool]:
    return [code in text.split(";") for text in plan.columns["flags"]]


@pytest.mark.parametrize(
    ("target", "code", "sign"), [(99.999, "availability_capped", 1), (50.0, "availability_low", -1)]
)
def test_availability_beyond_the_method(target: float, code: str, sign: int) -> None:
    """Where a margin at 99.999 % holds it is capped; where one at 50 % does not, it is low."""
    rules = network(rules={"hub_outage_share": 0, "reserve_db": 0})

    def installed(size: Any) -> Plan:
        n = len(size)
        desert = np.full(n, 35.0), np.full(n, -112.0)  # where both directions reach 99.999 %
        known = {"fixed_antenna_m": size, "fixed_buc_w": np.full(n, 20.0)}
        return make_plan(Sites.at(*desert, availability_pct=np.full(n, target), **known), rules)

    needed = []
    for way in ("outbound", "inbound"):  # the size at which each direction's margin is zero
        low, high = 0.05, 20.0
        for _ in range(5):
            sizes = np.geomspace(low, high, 30)
            first = int(np.argmax(installed(sizes).columns[f"{way}_margin_db"] >= 0))
            low, high = sizes[first - 1], sizes[first]
        needed.append(high)
    near = np.array([f * d for d in needed for f in (1 + 1e-5, 1 - 1e-5, 1.3, 0.7)])
    near = near[np.random.default_rng(2).permutation(len(near))]
    plan = installed(near)
    margins = [sign * plan.columns[f"{way}_margin_db"] for way in ("outbound", "inbound")]
    one_of_both = (margins[0] >= 0) | (margins[1] >= 0)
    assert flagged(plan, code) == one_of_both.tolist()
    bound = min(needed) if sign > 0 else max(needed)
    assert flagged(plan, code) == (sign * (near - bound) > 0).tolist()


def test_margin_classes_hold_their_lower_bound() -> None:
    margin = np.array([3.0, -0.001, 6.0, NAN, 0.0, 2.999, 0.999, -1e-8, 5.999, 1.0, 1 - 1e-8])
    names = margin_class(margin, (0.0, 1.0, 3.0, 6.0))
    low, high = "below 0 dB", "6 dB or more"
    by_hand = ["3 to 6 dB", low, high, "", "0 to 1 dB", "1 to 3 dB", "0 to 1 dB",
               "0 to 1 dB", "3 to 6 dB", "1 to 3 dB", "1 to 3 dB"]  # fmt: skip
    assert names.tolist() == by_hand


def test_kit_is_picked_from_the_least_elevation_on() -> None:
    """The rule at a site's very elevation, and a hair above it; other sites keep theirs."""
    lat, lon = np.array([10.0, 25.0, 40.0, 5.0]), np.array([-75.0, -80.0, -90.0, -62.0])
    elevation = make_plan(Sites.at(lat, lon), network()).columns["elevation_deg"]
    bound = float(elevation[2])
    for rule, kit in ((bound, True), (np.nextafter(bound, 90), False)):
        rules = {"min_elevation_deg": float(rule)}
        c = make_plan(Sites.at(lat, lon), network(rules=rules)).columns
        expected = ["picked" if e >= rule else "none" for e in elevation]
        assert c["kit_source"].tolist() == expected
        assert (c["kit_source"][2] == "picked") == kit


def test_no_kit_under_5_degrees_whatever_the_rule() -> None:
    """Bisected to 5 degrees along a meridian: just under it nothing is picked, just over it is."""
    rules = network(rules={"min_elevation_deg": 0}, network={"availability_pct": 95})
    low, high = 60.0, 80.0
    for _ in range(5):
        lat = np.linspace(low, high, 100)
        many = place.place(Sites.at(lat, np.full(100, -61.0)), rules, OLDER)
        last = int(np.count_nonzero(many.elevation_deg >= 5))
        low, high = lat[last - 1], lat[last]
    lat = np.array([high, low, 30.0, high + 2, low])
    c = make_plan(Sites.at(lat, np.full(5, -61.0)), rules).columns
    assert c["kit_source"].tolist() == ["none", "picked", "picked", "none", "picked"]


def test_a_diameter_is_sought_up_to_30_m() -> None:
    """The reserve at what 30 m leave over, a hair less and a hair more."""
    start = network(outbound={"es_n0_db": 13.0}, rules={"reserve_db": 0})
    known = {"fixed_antenna_m": np.array([30.0]), "fixed_buc_w": np.array([3.0])}
    left = float(make_plan(somewhere(1, **known), start).columns["margin_db"][0])
    assert 0.01 < left < 20
    for reserve, told in ((left - 1e-4, True), (left + 1e-4, False)):
        rules = network(outbound={"es_n0_db": 13.0}, rules={"reserve_db": reserve})
        c = make_plan(somewhere(3, fixed_buc_w=np.full(3, 3.0)), rules).columns
        assert np.isfinite(c["required_antenna_m"]).tolist() == [told] * 3
        if told:
            np.testing.assert_allclose(c["required_antenna_m"], 30.0, rtol=0.02)
        words = "some 30.0 m would do" if told else "No antenna up to 30 m would do"
        assert told or all(words in text for text in c["no_fit_reason"])
