"""What monitoring is to expect: levels, and minutes a month, against the link's own functions."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from siteplan.answers.operations import MONTH_MINUTES, Expected, Monitored, MonitoredWay
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.propagation.scintillation import scintillation_db
from siteplan.planning.as_planned import planned_sites
from siteplan.planning.beams.settings import settings
from siteplan.planning.kit.catalogue import candidates, installed
from siteplan.planning.link import outage, ways
from siteplan.planning.link.ways import Way
from siteplan.planning.operations.levels import monitored as in_pieces
from siteplan.planning.plan import make_plan, see
from siteplan.results import Plan

#: Relative, of the plan's own inversion.
ALIKE = 1e-6


def monitored(plan: Plan) -> Monitored:
    """What few sites come to: one piece."""
    (found,) = in_pieces(plan)
    return found


def network(**tables: Any) -> Network:
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01", "timezone": "America/Manaus"},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    }
    return Network.model_validate(base | tables)


KU = network()
ADAPTIVE = network(
    outbound={"adaptive": True, "modcod": "8PSK 3/5"},
    inbound={"adaptive": True, "symbol_rate_msps": 0.128, "clear_sky_reduction_db": 2},
    terminal={"wet_loss_db": 1.0},
)
KA = network(
    outbound={"uplink_ghz": 29.0, "downlink_ghz": 19.2, "satellite_eirp_dbw": 58},
    inbound={"uplink_ghz": 29.3, "downlink_ghz": 19.5, "satellite_g_t_db_k": 14, "sfd_dbw_m2": -95},
    rules={"hub_outage_share": 0.3, "min_elevation_deg": 5},
    network={"date": "2026-06-01", "availability_pct": 97},
    bucs=[{"rated_w": 4}, {"rated_w": 20}],
)


def basin(n: int = 60) -> Sites:
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-35, 10, n), rng.uniform(-80, -40, n)
    lat[0], lon[0] = 50.0, 90.0  # below the horizon
    return Sites.at(lat, lon)


@pytest.fixture(scope="module", params=[KU, ADAPTIVE, KA], ids=["ku", "adaptive", "ka"])
def plan(request: pytest.FixtureRequest) -> Plan:
    return make_plan(basin(), request.param, with_tables=True)


def ways_of(plan: Plan, rows: Any) -> tuple[Way, Way]:
    """Both directions of some sites, from the plan's results."""
    sites = planned_sites({name: values[rows] for name, values in plan.columns.items()})
    (shared,) = settings(plan.network)
    link = see(sites, shared).link
    tries = candidates(shared.kinds, installed(sites))
    return ways.outbound(link, tries.dishes[0]), ways.inbound(link, tries.dishes[0], tries.dbw[0])


def required(way: Way, direction: str) -> float:
    return float(getattr(way.link, f"{direction}_required_db"))


def levels_of(way: MonitoredWay) -> list[Expected]:
    return [way.warn, way.fault]


def test_clear_sky_is_the_plans(plan: Plan) -> None:
    found = monitored(plan)
    kit = ~np.isnan(plan.columns["antenna_m"]) & ~np.isnan(plan.columns["buc_w"])
    assert 0 < len(found) == kit.sum() < len(plan)
    for way in found.ways:
        own = plan.columns[f"{way.direction}_clear_es_n0_db"][found.rows]
        np.testing.assert_allclose(way.es_n0_db, own, atol=1e-9)
    out, back = found.ways
    np.testing.assert_array_equal(out.modem_dbm, plan.columns["modem_input_dbm"][found.rows])
    # The modem drives the BUC to the power that it sends in clear sky: its cut stands beside.
    cut = plan.columns["power_cut_db"][found.rows]
    sent = plan.columns["modem_output_dbm"][found.rows] - cut
    np.testing.assert_allclose(back.modem_dbm, sent, atol=1e-9)
    assert (back.most_dbm >= back.modem_dbm).all()
    np.testing.assert_allclose(back.most_dbm - back.modem_dbm, cut, atol=1e-9)


def test_minutes_are_those_of_the_plans_own_inversion(plan: Plan) -> None:
    """Site by site, with one level each, as availability is inverted."""
    found, tried = monitored(plan), 0
    for k, row in enumerate(found.rows.tolist()):
        for way, here in zip(ways_of(plan, [row]), found.ways, strict=True):
            need = required(way, here.direction)
            for of in levels_of(here):
                if np.isnan(of.level_db[k]):
                    continue
                (p,) = outage.outage_pct(way, float(of.level_db[k]) - need)
                minutes = max(p, 0.001) / 100 * MONTH_MINUTES
                assert of.minutes[k] == pytest.approx(minutes, rel=ALIKE)
                tried += 1
    assert tried > len(found) * 2


def test_minutes_give_the_level_back(plan: Plan) -> None:
    """Forward: the site faded for its part of the time, the hub for its own, stand at the level."""
    found = monitored(plan)
    share = plan.network.rules.hub_outage_share
    for way, here in zip(ways_of(plan, found.rows), found.ways, strict=True):
        need = required(way, here.direction)
        for of in levels_of(here):
            level, p = of.level_db - need, of.minutes / MONTH_MINUTES * 100
            hub = way.hub_outage_pct(level) if share is None else share * p
            inside = (p < 5) & (p > 0.01) & (p - hub > 0.001)
            assert inside.any()
            if share is not None:
                at_site = way.site_db(np.where(inside, p - hub, 1.0))[inside]
                at_hub = way.hub_db(np.where(inside, hub, 1.0))[inside]
                both = np.minimum(at_site, at_hub)
                np.testing.assert_allclose(both, level[inside], atol=1e-6)
                continue
            # To either side of it, for where a dish is wet the margin steps.
            for side, sign in ((1 + 1e-6, 1), (1 - 1e-6, -1)):
                at_site = way.site_db(np.where(inside, p - hub, 1.0) * side) - level
                assert (sign * at_site[inside] > -1e-9).all()


def test_levels_lie_where_they_are_said_to(plan: Plan) -> None:
    found = monitored(plan)
    for way, here in zip(ways_of(plan, found.rows), found.ways, strict=True):
        carrier = getattr(plan.network, here.direction)
        path = way.link.site.down.path if here.direction == "outbound" else way.link.site.up.path
        dish = plan.columns["tried_antenna_m"][found.rows]
        twinkles = scintillation_db(path.scintillation, np.array([1.0]), dish, 0.65)
        warn = here.es_n0_db - np.maximum(1.0, plan.network.site.acceptance_db + twinkles)
        known = ~np.isnan(here.warn.level_db)
        np.testing.assert_allclose(here.warn.level_db[known], warn[known], atol=0.005001)
        assert (twinkles > 0.01).all()
        own = required(way, here.direction) + carrier.hysteresis_db
        known = ~np.isnan(here.fault.level_db)
        if not carrier.adaptive:
            np.testing.assert_allclose(here.fault.level_db[known], own, atol=0.005001)
            assert set(here.modcod.tolist()) == {carrier.modcod}
        else:
            assert (here.fault.level_db[known] < own - 1).all()
            none = plan.columns[f"{here.direction}_no_service_pct"][found.rows]
            p = here.fault.minutes / MONTH_MINUTES * 100
            # Lines between the tables' percentages stand for the plan's field.
            np.testing.assert_allclose(p, np.maximum(none, 0.001), rtol=0.03, atol=0.002)


def test_the_worst_month_is_p_841s(plan: Plan) -> None:
    """P.841-4 from memory: p_w = (p / 0.30)^(1 / 1.15), from 1.9e-4 to 7.8 %."""
    for way in monitored(plan).ways:
        for of in levels_of(way):
            p = of.minutes / MONTH_MINUTES * 100
            worst = (p / 0.30) ** (1 / 1.15)
            known = worst <= 7.8
            found = of.worst_minutes / MONTH_MINUTES * 100
            np.testing.assert_allclose(found[known], worst[known], rtol=1e-9)
            assert np.isnan(found[~known]).all()


def test_what_is_blank_is_told(plan: Plan) -> None:
    for way in monitored(plan).ways:
        notes = [set(text.split(";")) - {""} for text in way.notes.tolist()]
        for name, of in (("warn", way.warn), ("fault", way.fault)):
            passed = [f"{name}_passed" in said for said in notes]
            assert passed == np.isnan(of.level_db).tolist() == np.isnan(of.minutes).tolist()
            no_worst = [bool({f"{name}_passed", f"{name}_no_worst_month"} & said) for said in notes]
            assert no_worst == np.isnan(of.worst_minutes).tolist()
            least = [f"{name}_no_more" in said for said in notes]
            assert least == [minutes == MONTH_MINUTES / 1e5 for minutes in of.minutes.tolist()]


def one(net: Network, lat: float = 1.3, lon: float = -60.0, **known: Any) -> Plan:
    arrays = {name: np.array([value]) for name, value in known.items()}
    return make_plan(Sites.at(np.array([lat]), np.array([lon]), **arrays), net, with_tables=True)


def test_a_level_in_the_step_at_5_pct_is_passed_for_a_twentieth_of_a_month() -> None:
    """The month has 30.4375 days: 5 % of it are 2,191.5 minutes, to the last digits of the step."""
    kit = {"fixed_antenna_m": 1.2, "fixed_buc_w": 2.0}
    plan = one(network(hub={}), **kit)  # without a hub's place the site has all of the outage
    way = ways_of(plan, [0])[0]
    before, after = (float(way.site_db(np.array([p]))[0]) for p in (5.0, 5 * (1 + 1e-12)))
    assert after - before > 0.1  # the total steps down there
    # A threshold whose level, loss of 1 dB and hysteresis of 0.5 dB added, lies inside the step.
    inside = required(way, "outbound") + (before + after) / 2
    chosen = network(hub={}, outbound={"es_n0_db": round(inside - 1.5, 2)})
    found = monitored(one(chosen, **kit)).ways[0]
    assert found.fault.minutes[0] == pytest.approx(2191.5, abs=1e-6)


def test_a_level_that_clear_weather_passes_is_blank() -> None:
    """Installed kit far too small: the carrier never holds, and no level is told."""
    plan = one(KU, fixed_antenna_m=0.35, fixed_buc_w=0.1)
    found = monitored(plan)
    assert len(found) == 1
    back = found.ways[1]
    assert np.isnan([back.fault.level_db[0], back.fault.minutes[0]]).all()
    assert "fault_passed" in back.notes[0]
    assert "warn_under_fault" in back.notes[0]


def test_a_threshold_in_place_of_a_modcod_names_none() -> None:
    found = monitored(one(network(outbound={"es_n0_db": 4.0}))).ways[0]
    assert found.modcod.tolist() == [""]
    # Implementation loss 1 dB, hysteresis 0.5 dB.
    assert found.fault.level_db[0] == pytest.approx(5.5, abs=1e-9)


def test_near_sites_are_the_nearest_within_50_km() -> None:
    """On a sphere of 6371 km a degree of latitude is 111.19 km."""
    lat = np.array([0.0, 0.1, 0.3, 0.44, 0.46, 0.0, 0.05, 0.2])
    lon = np.array([-60.0] * 5 + [-60.02, -60.0, -60.0])
    plan = make_plan(Sites.at(lat, lon), KU, with_tables=True)
    near = monitored(plan).near
    assert near[0] == ("S0006", "S0007", "S0002", "S0008", "S0003")
    assert near[4] == ("S0004", "S0003", "S0008", "S0002", "S0007")  # 51.1 km to the first
    alone = one(KU)
    assert monitored(alone).near == ((),)


def test_hubs_are_told_with_their_transits() -> None:
    over = {"lat": -5.5, "lon": -60.0, "major_deg": 4.0, "minor_deg": 4.0}
    west = {"name": "west", **over, "hub": {"lat": -12.0, "lon": -77.0}}
    net = network(beams=[west, {"name": "east", **over}])
    sites = Sites.at(
        np.array([-5.0, -6.0]), np.array([-61.0, -59.0]),
        beam=np.array(["east", "west"], dtype=object),
    )  # fmt: skip
    plan = make_plan(sites, net, with_tables=True)
    found = monitored(plan)
    assert [hub.beams for hub in found.hubs] == [hub.beams for hub in plan.facts.hubs]
    assert found.hubs[0].transits != found.hubs[1].transits
    of = [found.hubs[k].beams[0] for k in found.hub.tolist()]
    assert of == ["east", "west"]


def test_a_plan_without_kit_has_nothing_to_watch(plan_of: Callable[..., Plan]) -> None:
    plan = plan_of([50.0], [90.0], KU)
    assert len(monitored(plan)) == 0
