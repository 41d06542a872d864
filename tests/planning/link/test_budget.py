"""The link's two ends: limiting cases, hub, thresholds."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link.ends import required_db
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from siteplan.results import Plan

Maker = Callable[..., Plan]


def network(**tables: object) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": -61}} | tables)


def test_thresholds() -> None:
    n = network(outbound={"es_n0_db": 6.0}, inbound={"eb_n0_db": 5.0, "bits_per_symbol": 1.0})
    assert required_db("outbound", n.outbound) == 7.0
    assert required_db("inbound", n.inbound) == pytest.approx(6.0, abs=1e-12)
    assert required_db("outbound", network().outbound) == pytest.approx(5.03, abs=1e-12)


def test_unknown_modcod_names_the_nearest() -> None:
    with pytest.raises(NetworkError, match=r"\[inbound\] modcod: .*'QPSK 1/2'"):
        setting(network(inbound={"modcod": "QPSK 1/7"}))


def test_a_hub_that_does_not_see_the_satellite() -> None:
    with pytest.raises(NetworkError, match=r"the hub does not see the satellite at -61 deg"):
        setting(network(hub={"lat": 50.0, "lon": 90.0}))


def test_power_control_only_helps_until_the_fade_is_gone(plan_of: Maker) -> None:
    start = network(hub={"lat": -3.0, "lon": -60.0})
    lat, lon = 35.0, -85.0
    outbound = [
        plan_of(
            lat, lon, start, hub={"power_control_db": x}, antennas=[{"diameter_m": 1.8}]
        ).columns["outbound_margin_db"][0]
        for x in (0.0, 3.0, 6.0, 20.0, 30.0)
    ]
    assert outbound[0] < outbound[1] < outbound[2] < outbound[3] <= outbound[4]
    assert outbound[4] - outbound[3] < 0.05 < outbound[2] - outbound[1]


def test_eirp_and_g_t_stand_on_one_basis(plan_of: Maker) -> None:
    """One with the pointing loss and the other without cannot stand beside the same budget."""
    start = network(hub={"lat": -3.0, "lon": -60.0}, inbound={"power_share": "free"})
    right, off = (
        plan_of(35.0, -85.0, start, terminal={"pointing_loss_db": x}).columns for x in (0.0, 1.7)
    )
    assert right["antenna_m"][0] == off["antenna_m"][0]
    for name in ("remote_eirp_dbw", "remote_g_t_db_k"):
        assert right[name][0] - off[name][0] == pytest.approx(1.7, abs=1e-9), name
    # The sun stands behind a dish that points right: what its noise takes does not change.
    assert right["sun_depth_db"][0] == pytest.approx(off["sun_depth_db"][0], abs=1e-9)


def test_hub_share_of_zero_leaves_the_hubs_rain_out(plan_of: Maker) -> None:
    start = network(hub={"lat": -3.0, "lon": -60.0}, rules={"hub_outage_share": 0.0})
    c = plan_of(35.0, -85.0, start).columns
    dry = plan_of(35.0, -85.0, start, hub={"power_control_db": 30.0}).columns
    assert c["margin_db"][0] == dry["margin_db"][0]


def test_the_share_moves_outage_between_the_ends(plan_of: Maker) -> None:
    start = network(hub={"lat": -3.0, "lon": -60.0})
    small, large = (
        plan_of(35.0, -85.0, start, rules={"hub_outage_share": s}).columns for s in (0.05, 0.6)
    )
    assert small["uplink_attenuation_db"][0] < large["uplink_attenuation_db"][0]


def test_circular_polarization_has_no_skew(plan_of: Maker) -> None:
    circular = {"uplink_polarization": "circular", "downlink_polarization": "circular"}
    c = plan_of(35.0, -85.0, network(), outbound=circular, inbound=circular).columns
    assert np.isnan(c["skew_deg"][0])
    assert np.isfinite(c["margin_db"][0])


def test_interference_caps_the_link(plan_of: Maker) -> None:
    c = plan_of(35.0, -85.0, network(), outbound={"ci_db": 3.0, "modcod": "QPSK 1/4"}).columns
    assert c["outbound_clear_es_n0_db"][0] < 3.0


def test_wet_dish_costs_more_than_its_loss(plan_of: Maker) -> None:
    dry = plan_of(35.0, -85.0, network(), outbound={"ci_db": 60.0}).columns
    wet = plan_of(35.0, -85.0, network(), outbound={"ci_db": 60.0}, terminal={"wet_loss_db": 1.0})
    fell = dry["outbound_margin_db"][0] - wet.columns["outbound_margin_db"][0]
    assert fell > 1.0  # the loss, and its noise
    assert wet.columns["outbound_clear_es_n0_db"][0] == dry["outbound_clear_es_n0_db"][0]


def test_margin_is_worked_out_anew_in_rain(tropical: Network) -> None:
    """Rain raises the remote's noise: the margin falls by more than the attenuation does."""
    c = make_plan(Sites.at(np.array([-3.1]), np.array([-60.0])), tropical).columns
    lost = c["outbound_fade_margin_db"] - c["outbound_margin_db"]
    extra = c["downlink_attenuation_db"] - c["downlink_gas_db"]
    assert lost[0] > extra[0] > 1
