"""The hub's amplifier in the link: what it leaves of power control, and what it lacks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from siteplan.answers.budget import Budget
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link.ends import HubEnd, hub_eirp_dbw, hub_end, power_of, share_eirp_dbw
from siteplan.planning.link.hub.power import hub_power
from siteplan.planning.plan import make_plan
from siteplan.planning.report.licences import licence_of
from siteplan.planning.report.serving import served
from siteplan.planning.setting import clouds_of, setting
from siteplan.planning.site_budget import site_budgets
from siteplan.results import Plan
from tests.planning.link.spectrum.given import ALL_ON

#: Places that the satellite at 61 W sees high and low, in rain and without.
LAT, LON = np.array([-3.1, -20.0, 40.0, 4.6]), np.array([-60.0, -45.0, -75.0, -74.1])
#: The hub stands in heavy rain and decides some margins.
HUB_LIMITS = {"lat": -3.1, "lon": -60.0, "power_control_db": 6.0}


def network(**tables: Any) -> Network:
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01", "availability_pct": 99.7},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    }
    changed = {k: v if isinstance(v, list) else base.get(k, {}) | v for k, v in tables.items()}
    return Network.model_validate(base | changed)


def planned(of: Network) -> Plan:
    return make_plan(Sites.at(LAT, LON), of, with_tables=True)


def end(of: Network) -> HubEnd:
    return hub_end(of, clouds_of(of))


def hpa_w(of: Network, headroom_db: float) -> float:
    """Return the amplifier that leaves so much over what the carriers need in clear sky."""
    return float(10 ** ((power_of(of, end(of)).drive_dbw + headroom_db) / 10))


def same(one: Mapping[str, Any], other: Mapping[str, Any]) -> None:
    assert list(one) == list(other)
    for name, values in one.items():
        np.testing.assert_array_equal(other[name], values, err_msg=name)


def test_an_amplifier_that_is_large_changes_no_bit() -> None:
    plain = planned(network(outbound=ALL_ON["outbound"], neighbours=ALL_ON["neighbours"]))
    hub = {"hpa_w": 5000, "carriers": 1, "tx_loss_db": 1, "hpa_backoff_db": 3, "diversity_km": 0,
           "diversity_bearing_deg": 12, "snow": True, "redundancy": "1:2"}  # fmt: skip
    large = planned(network(outbound=ALL_ON["outbound"], neighbours=ALL_ON["neighbours"], hub=hub))
    same(plain.columns, large.columns)
    same(plain.tables, large.tables)
    assert plain.facts.whatif_hub_db == large.facts.whatif_hub_db
    assert plain.facts.remedies == large.facts.remedies


def test_no_power_control_is_as_before() -> None:
    none = network(hub={"power_control_db": 0})
    given = network(hub={"power_control_db": 0, "hpa_w": hpa_w(none, 1.0)})
    same(planned(none).columns, planned(given).columns)


@pytest.mark.parametrize(
    ("headroom_db", "control_db", "short_db"),
    [(25.0, 5.0, 0.0), (5.0, 5.0, 0.0), (3.2, 3.2, 0.0), (0.0, 0.0, 0.0), (-1.7, 0.0, 1.7)],
)
def test_range_and_lack(headroom_db: float, control_db: float, short_db: float) -> None:
    plain = network()
    given = network(hub={"hpa_w": hpa_w(plain, headroom_db)})
    found = end(given)
    assert found.control_db == pytest.approx(control_db, abs=1e-9)
    assert found.short_db == pytest.approx(short_db, abs=1e-9)
    share = share_eirp_dbw(given, found)
    assert share == share_eirp_dbw(plain, end(plain))
    assert hub_eirp_dbw(given, found) == pytest.approx(share - short_db, abs=1e-9)


def test_losses_back_off_and_carriers_take_headroom() -> None:
    base = hub_power(network(hub={"hpa_w": 100}).hub, 3.0).headroom_db
    for key, value, takes in (
        ("tx_loss_db", 2.5, 1.5), ("hpa_backoff_db", 7, 4), ("carriers", 4, 6.0206),
        ("hpa_w", 50, 3.0103),
    ):  # fmt: skip
        hub = network(hub={"hpa_w": 100} | {key: value}).hub
        assert base - hub_power(hub, 3.0).headroom_db == pytest.approx(takes, abs=1e-4), key


def test_a_range_that_the_amplifier_sets_is_that_range_given() -> None:
    """All of the link: columns, tables, what-if curves."""
    part = network(hub=HUB_LIMITS | {"power_control_db": 3.0})
    capped = network(hub=HUB_LIMITS | {"hpa_w": hpa_w(part, 3.0)})
    one, other = planned(part), planned(capped)
    for name in ("margin_db", "outbound_margin_db", "outbound_hub_outage_pct"):
        np.testing.assert_allclose(other.columns[name], one.columns[name], atol=1e-8, rtol=0)
    curves = one.facts.whatif_hub_db, other.facts.whatif_hub_db
    np.testing.assert_allclose(curves[1], curves[0], atol=1e-8, rtol=0)


@pytest.mark.parametrize("tables", [{}, ALL_ON], ids=["alone", "interfered"])
def test_what_is_lacking_lowers_the_outbound_carrier(tables: dict[str, Any]) -> None:
    """Uplink, downlink and interference fall alike: dB for dB, and inbound nothing changes."""
    fixed = {"fixed_antenna_m": np.full(4, 1.2), "fixed_buc_w": np.full(4, 2.0)}
    sites = Sites.at(LAT, LON, **fixed)
    none = network(**tables, hub={"power_control_db": 0})
    short = network(**tables, hub={"power_control_db": 0, "hpa_w": hpa_w(none, -2.0)})
    one, other = make_plan(sites, none).columns, make_plan(sites, short).columns
    falls = ("outbound_clear_es_n0_db", "outbound_fade_margin_db", "outbound_margin_db")
    for name in falls:
        fall = one[name] - other[name]
        np.testing.assert_allclose(fall, 2.0, atol=1e-6 if "margin_db" in name else 1e-9, rtol=0)
    for name in ("inbound_margin_db", "remote_eirp_dbw", "inbound_clear_es_n0_db"):
        np.testing.assert_array_equal(other[name], one[name], err_msg=name)
    if tables:
        fall = one["outbound_ci_db"] - other["outbound_ci_db"]
        np.testing.assert_allclose(fall, 2.0, atol=1e-9, rtol=0)
        xpd = other["outbound_xpd_db"], one["outbound_xpd_db"]
        np.testing.assert_allclose(*xpd, atol=1e-9, rtol=0)


def test_the_modem_hears_less() -> None:
    none = network(hub={"power_control_db": 0})
    short = network(hub={"power_control_db": 0, "hpa_w": hpa_w(none, -1.0)})
    levels = [
        make_plan(
            Sites.at(LAT, LON, fixed_antenna_m=np.full(4, 1.2), fixed_buc_w=np.full(4, 2.0)), of
        ).columns["modem_input_dbm"]
        for of in (none, short)
    ]
    np.testing.assert_allclose(levels[0] - levels[1], 1.0, atol=1e-9, rtol=0)


def test_short_of_power_is_told_once_and_stops_only_where_the_margin_is_gone() -> None:
    plain = network()
    for lack in (0.5, 30.0):
        plan = planned(network(hub={"hpa_w": max(hpa_w(plain, -lack), 1.0)}))
        assert dict(plan.facts.told_once)["hub_power_short"] == len(plan)
        assert not any("hub_power_short" in f for f in plan.columns["flags"].tolist())
        assert any("hub.json" in remark for remark in plan.facts.remarks)
        margin = np.round(plan.columns["margin_db"], 6)
        assert not (served(plan) & ~(margin >= 0)).any()
    assert served(planned(network(hub={"hpa_w": hpa_w(plain, -0.1)}))).any()
    assert "hub_power_short" not in dict(planned(plain).facts.told_once)


def test_saturated_where_the_hub_limits_outbound_and_its_fade_goes_beyond() -> None:
    """Weak fades within the range raise nothing; without a key of the hub's power nothing does."""
    told = strong(HUB_LIMITS | {"carriers": 1})
    c = told.columns
    flagged = np.array(["power_control_saturated" in f.split(";") for f in c["flags"].tolist()])
    limited = (c["limiting_direction"] == "outbound") & (c["limiting_end"] == "hub")
    assert flagged.any()
    assert not flagged.all()
    fade = setting(told.network).hub.up_fade.at(np.maximum(c["outbound_hub_outage_pct"], 0.001))
    np.testing.assert_array_equal(flagged, limited & (fade > 6.0))
    for hub in (HUB_LIMITS, HUB_LIMITS | {"carriers": 1, "power_control_db": 30}):
        assert not any("saturated" in f for f in strong(hub).columns["flags"].tolist())


def strong(hub: dict[str, Any]) -> Plan:
    """Return the plan of large installed kit, whose outbound margin hangs on the hub."""
    of = network(
        hub=hub, outbound={"satellite_eirp_dbw": 52.0},
        inbound={"satellite_g_t_db_k": 10, "es_n0_db": -8, "power_share": "free"},
    )  # fmt: skip
    stands = {"fixed_antenna_m": np.full(4, 2.4), "fixed_buc_w": np.full(4, 4.0)}
    return make_plan(Sites.at(LAT, LON, **stands), of)


def budgets(of: Network) -> list[Budget]:
    plan = planned(of)
    return site_budgets(plan, np.arange(len(plan)))


def test_the_budget_tells_what_is_lacking() -> None:
    plain = network()
    short = budgets(network(hub={"hpa_w": hpa_w(plain, -1.5)}))
    for budget in short:
        lines = [x for x in budget.way("outbound").lines if x.code == "hub_short"]
        assert len(lines) == 2
        for line in lines:
            np.testing.assert_allclose(line.values, 1.5, atol=1e-9, rtol=0)
    assert all(x.code != "hub_short" for b in budgets(plain) for x in b.way("outbound").lines)


def test_the_hubs_feed_in_a_licence_has_the_range_that_is_used() -> None:
    rule = {"masks": ["47cfr25_ku"]}
    plain = network(regulation=rule)
    powers = []
    for hub in ({}, {"hpa_w": hpa_w(plain, 2.0)}, {"hpa_w": hpa_w(plain, -1.0)}):
        of = setting(network(regulation=rule, hub=hub))
        found = licence_of(of.limits, of.network, of.hub)
        assert found is not None
        powers.append(10 * np.log10(found.hub.feed_w))
    np.testing.assert_allclose(np.diff(powers), [-3.0, -3.0], atol=1e-9, rtol=0)
