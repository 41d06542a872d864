"""What remotes are tuned to, worked by hand, and where the satellite's tilt goes."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.tuning import cautions, tuning


def network(**tables: dict[str, object]) -> Network:
    given = {"longitude_deg": -61.0, **tables.pop("satellite", {})}
    date = {"date": "2026-09-01"}
    return Network.model_validate({"network": date, "satellite": given, **tables})


@pytest.mark.parametrize(
    ("carrier_ghz", "lo_ghz", "l_band_mhz", "inverted"),
    [
        # Universal LNBs' two oscillators, common practice: 11.95 - 10.6 and 10.95 - 9.75 GHz.
        (11.95, 10.6, 1350.0, False),
        (10.95, 9.75, 1200.0, False),
        (12.5, 10.6, 1900.0, False),
        # C band with its oscillator above, common practice: 5.15 - 4.0 GHz, the spectrum turned.
        (4.0, 5.15, 1150.0, True),
    ],
)
def test_known_figures_of_receive(
    carrier_ghz: float, lo_ghz: float, l_band_mhz: float, inverted: bool
) -> None:
    of = network(outbound={"downlink_ghz": carrier_ghz}, terminal={"rx_lo_ghz": lo_ghz})
    received, sent = tuning(of)
    assert received.receives
    assert received.l_band_mhz == pytest.approx(l_band_mhz, abs=1e-9)
    assert received.inverted is inverted
    assert received.in_band
    assert np.isnan(sent.l_band_mhz)
    assert not sent.inverted
    assert list(cautions((received, sent), of)) == []


def test_transmit_goes_by_its_own_oscillator() -> None:
    of = network(inbound={"uplink_ghz": 14.25}, terminal={"rx_lo_ghz": 10.6, "tx_lo_ghz": 13.05})
    sent = tuning(of)[1]
    assert sent.l_band_mhz == pytest.approx(1200, abs=1e-9)
    assert (sent.receives, sent.polarization, sent.modcod) == (
        *(False, "horizontal"),
        "DVB-RCS2 QPSK 1/2",
    )


@pytest.mark.parametrize(
    ("carrier_ghz", "told"),
    [(11.5535, True), (11.5537, False), (12.7463, False), (12.7465, True), (12.8, True)],
)
def test_a_carrier_beyond_the_cable_s_band_is_a_caution(carrier_ghz: float, told: bool) -> None:
    """Its edges count: 6 Msym/s at a roll-off of 0.2 are 3.6 MHz to either side."""
    of = network(outbound={"downlink_ghz": carrier_ghz}, terminal={"rx_lo_ghz": 10.6})
    sentences = list(cautions(tuning(of), of))
    assert len(sentences) == told
    if told:
        assert "Check the carrier and the oscillator of the LNB" in sentences[0]
        assert "950 to 2150 MHz" in sentences[0]
    plan = make_plan(Sites.at(np.array([-3.0]), np.array([-60.0])), of)
    assert set(sentences) <= set(plan.facts.cautions)


def planned(tilt_deg: float, **tables: dict[str, object]) -> dict[str, np.ndarray]:
    sites = Sites.at(np.array([-3.0, -15.0, 30.0]), np.array([-60.0, -50.0, -80.0]))
    hub = {"lat": -15.8, "lon": -47.9}
    of = network(satellite={"tilt_deg": tilt_deg}, hub=hub, **tables)
    return dict(make_plan(sites, of).columns)


def test_a_tilted_satellite_turns_the_skew_and_what_rests_on_it() -> None:
    upright, tilted = planned(0.0), planned(20.0)
    turn = (tilted["skew_deg"] - upright["skew_deg"]) % 180
    assert turn == pytest.approx(20.0, abs=1e-9)
    for name in ("azimuth_true_deg", "elevation_deg", "skew_step_deg"):
        assert tilted[name] == pytest.approx(upright[name], abs=1e-9), name
    for name in ("uplink_rain_db", "downlink_rain_db", "inbound_margin_db"):
        assert (tilted[name] != upright[name]).all(), name


def test_a_turn_by_a_right_angle_changes_horizontal_and_vertical_in_rain() -> None:
    """90 degrees of tilt with the polarizations exchanged are no tilt, at the hub too."""
    ways = ("uplink_polarization", "downlink_polarization")
    swapped = dict(zip(ways, ("vertical", "horizontal"), strict=True))
    plain, turned = planned(0.0), planned(90.0, outbound=swapped, inbound=swapped)
    for name in ("outbound_margin_db", "inbound_margin_db", "uplink_rain_db"):
        assert turned[name] == pytest.approx(plain[name], abs=1e-9), name
