"""The lines of whole link budgets against those worked by hand in ``by_hand``.

Method: Maral and Bousquet, Satellite Communications Systems, chapter 5; noise by ITU-R P.618-14
section 3; attenuation's parts by the itur package. Nothing of the arithmetic is the project's.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest

from siteplan.answers.budget import Budget as Lines
from siteplan.answers.budget import BudgetWay
from siteplan.planning.site_budget import site_budgets
from tests.reference.link.by_hand import (
    Budget,
    clear,
    db,
    gain_dbi,
    num,
    path_loss_db,
    required_db,
)
from tests.reference.link.networks import SETUPS, choice
from tests.reference.link.test_four_paths import each, tabled

#: Decibels and kelvin agree to this: the rest is rounding, and the table of the hub's fades.
TOLERANCE = 2e-5


@functools.cache
def of_plan(name: str) -> list[Lines]:
    plan = tabled(name)
    return site_budgets(plan, np.arange(len(plan)))


def told(way: BudgetWay, part: str, code: str) -> tuple[float, float, float]:
    (lines,) = (p.lines for p in way.parts if p.code == part)
    (line,) = (x for x in lines if x.code == code)
    return line.values


def hand(name: str, i: int) -> Budget:
    return choice(SETUPS[name], SETUPS[name].sites[i])[0]


@pytest.mark.parametrize(("name", "i"), each())
def test_outbound_lines(name: str, i: int) -> None:
    way, by_hand = of_plan(name)[i].way("outbound"), hand(name, i)
    net, carrier = by_hand.net, by_hand.net["outbound"]
    at_site, at_hub = by_hand.shares_pct(100 - by_hand.site.target_pct)
    down = by_hand.site_sky("outbound", "downlink", at_site)
    hub_up = by_hand.hub_sky("outbound", "uplink", at_hub)
    risen = max(hub_up.total - hub_up.gas - net["hub"]["power_control_db"], 0.0)
    wet = net["terminal"]["wet_loss_db"]
    band = db(carrier["symbol_rate_msps"] * 1e6)
    states = (
        by_hand.outbound_terms(clear(down), down.gas),
        by_hand.outbound_terms(down, down.absorbed, wet),
        by_hand.outbound_terms(clear(down), down.gas, 0.0, risen),
    )
    up, below, others = (np.array(x) + band for x in zip(*states, strict=True))
    assert told(way, "outbound_up", "c_n0") == pytest.approx(up, abs=TOLERANCE)
    assert told(way, "outbound_down", "c_n0") == pytest.approx(below, abs=TOLERANCE)
    assert told(way, "interference", "c_i0") == pytest.approx(others, abs=TOLERANCE)
    need = required_db(carrier)
    sums = np.array([-db(sum(num(-x) for x in state)) for state in states])
    assert told(way, "total", "margin") == pytest.approx(sums - need, abs=TOLERANCE)
    g_t = [by_hand.g_t_db_k(down.gas, 0.0), by_hand.g_t_db_k(down.absorbed, wet)]
    assert told(way, "site_g_t", "g_t")[:2] == pytest.approx(g_t, abs=TOLERANCE)
    rain = (0, down.rain + down.cloud, 0)
    assert told(way, "outbound_down", "rain_and_cloud") == pytest.approx(rain, abs=TOLERANCE)
    left = (0, np.hypot(down.rain + down.cloud, down.scintillation) - rain[1], 0)
    assert told(way, "outbound_down", "scintillation") == pytest.approx(left, abs=TOLERANCE)
    loss = path_loss_db(by_hand.seen.range_km, carrier["downlink_ghz"])
    assert told(way, "outbound_down", "free_space") == pytest.approx([loss] * 3, abs=TOLERANCE)
    hub_loss = path_loss_db(by_hand.hub_seen.range_km, carrier["uplink_ghz"])
    assert told(way, "outbound_up", "free_space") == pytest.approx([hub_loss] * 3, abs=TOLERANCE)
    hub_rain = (0, 0, hub_up.rain + hub_up.cloud)
    assert told(way, "outbound_up", "rain_and_cloud") == pytest.approx(hub_rain, abs=TOLERANCE)


@pytest.mark.parametrize(("name", "i"), each())
def test_inbound_lines(name: str, i: int) -> None:
    way, by_hand = of_plan(name)[i].way("inbound"), hand(name, i)
    net, carrier = by_hand.net, by_hand.net["inbound"]
    at_site, at_hub = by_hand.shares_pct(100 - by_hand.site.target_pct)
    up = by_hand.site_sky("inbound", "uplink", at_site)
    hub_down = by_hand.hub_sky("inbound", "downlink", at_hub)
    wet = net["terminal"]["wet_loss_db"]
    band = db(carrier["symbol_rate_msps"] * 1e6)
    states = (
        by_hand.inbound_terms(clear(up), clear(hub_down)),
        by_hand.inbound_terms(up, clear(hub_down), wet),
        by_hand.inbound_terms(clear(up), hub_down),
    )
    risen, received, others = (np.array(x) + band for x in zip(*states, strict=True))
    assert told(way, "inbound_up", "c_n0") == pytest.approx(risen, abs=TOLERANCE)
    assert told(way, "inbound_down", "c_n0") == pytest.approx(received, abs=TOLERANCE)
    assert told(way, "interference", "c_i0") == pytest.approx(others, abs=TOLERANCE)
    sums = np.array([-db(sum(num(-x) for x in state)) for state in states])
    need = required_db(carrier)
    assert told(way, "total", "margin") == pytest.approx(sums - need, abs=TOLERANCE)
    eirp = [by_hand.eirp_dbw()] * 3
    assert told(way, "site_eirp", "site_eirp") == pytest.approx(eirp, abs=TOLERANCE)
    gain = [gain_dbi(by_hand.dish, carrier["uplink_ghz"])] * 3
    code = "gain" if by_hand.site.antenna_m is None else "gain_own"
    assert told(way, "site_eirp", code) == pytest.approx(gain, abs=TOLERANCE)
    flux = [by_hand.inbound_flux(x) for x in (up.gas, up.total + wet, up.gas)]
    assert told(way, "backoff", "site_flux") == pytest.approx(flux, abs=TOLERANCE)
    noise = [
        by_hand.sky_noise_k(by_hand.hub, x) + net["hub"]["lna_noise_k"]
        for x in (hub_down.gas, hub_down.gas, hub_down.absorbed)
    ]
    assert told(way, "hub_noise", "hub_system_noise") == pytest.approx(noise, abs=TOLERANCE)
    hub_rain = (0, 0, hub_down.rain + hub_down.cloud)
    assert told(way, "inbound_down", "rain_and_cloud") == pytest.approx(hub_rain, abs=TOLERANCE)
