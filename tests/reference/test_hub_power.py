"""The hub's amplifier: a line of powers worked by hand, and its density against a published limit.

Feed power is EIRP less gain; the amplifier gives that, and losses, back-off and the range of power
control: common practice, no source. Figures from memory.
"""

from __future__ import annotations

import math

import pytest

from siteplan.network import Hub, Network
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.off_axis import density_dbw
from siteplan.planning.gateway.result import power_figures
from siteplan.planning.link.ends import hub_end
from siteplan.planning.link.hub.power import hub_power
from siteplan.planning.setting import clouds_of

EIRP_DBW, GAIN_DBI = 61.486, 54.676


def test_gain_of_the_hubs_antenna() -> None:
    """4.5 m at 14.25 GHz, efficiency 0.65: eta (pi D / lambda)^2."""
    assert float(gain_dbi(4.5, 0.65, 14.25)) == pytest.approx(GAIN_DBI, abs=6e-4)


@pytest.mark.parametrize(("control_db", "hpa_w"), [(0, 12.1), (5, 38.1), (10, 120.5)])
def test_amplifier_of_the_worked_line(control_db: float, hpa_w: float) -> None:
    """4.80 W at the feed; 1 dB of line, 3 dB of back-off."""
    feed_dbw = EIRP_DBW - GAIN_DBI
    assert 10 ** (feed_dbw / 10) == pytest.approx(4.80, abs=6e-3)
    found = hub_power(Hub(power_control_db=control_db), feed_dbw)
    assert 10 ** (found.needed_dbw / 10) == pytest.approx(hpa_w, abs=0.06)
    assert found.control_db == control_db


def test_carriers_add_in_power() -> None:
    """Ten equal carriers take ten times the power: 10 dB."""
    one, ten = (hub_power(Hub(carriers=k), 0.0).drive_dbw for k in (1, 10))
    assert ten - one == pytest.approx(10.0, abs=1e-12)


def test_density_of_the_worked_line() -> None:
    """4.80 W over 6 Msym/s: -24.95 dBW/4 kHz, 10.9 dB under -14 (47 CFR 25.212, from memory)."""
    density = float(density_dbw(EIRP_DBW - GAIN_DBI, 6e6, 4.0))
    assert density == pytest.approx(-24.95, abs=6e-3)
    assert -14 - density == pytest.approx(10.9, abs=0.06)


def test_the_plans_own_line_closes() -> None:
    """Unplaced hub, all by default: flux of the share, spread over 38 500 km, without gas."""
    network = Network.model_validate({"satellite": {"longitude_deg": 0}})
    hub = hub_end(network, clouds_of(network))
    found = power_figures(network, hub)
    share_db = 3.5 + 10 * math.log10(36 / 7.2)
    flux = -88 - share_db - (6 - 3.5)
    eirp = flux + 10 * math.log10(4 * math.pi * 38500e3**2)
    assert found["eirp_dbw"] == pytest.approx(eirp, abs=1e-9)
    assert found["feed_w"] == pytest.approx(10 ** ((eirp - GAIN_DBI) / 10), rel=2e-4)
    assert found["needed_hpa_w"] == pytest.approx(found["feed_w"] * 10**0.4, rel=1e-12)
