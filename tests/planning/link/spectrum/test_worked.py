"""Worked lines: two links with neighbours and the other polarization, by a script of their own.

The figures come from a scalar script outside the project: side lobes of the Radio Regulations'
Appendix 8 and of ITU-R S.580-6 as ITU-BR's notes on antenna patterns have them, thermal noise by
ITU-R P.618-14 section 3. Each neighbour is taken on its worse side: its separation less the error
of pointing that the loss of 0.3 dB means. Neighbours stand 2.2 and 3.3 degrees away on both sides,
as strong as the wanted transponder; 37 000 km, 0.10 dB of gas, 3 dB of rain where it rains.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan.physics.angles.geometry import spreading_loss_db_m2
from siteplan.physics.propagation.attenuation import Attenuation
from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.carrier import carrier_backoff_db, inverse_sum_db
from siteplan.physics.radio.patterns import PATTERNS
from siteplan.planning.link.budget import (
    inbound_down_es_n0_db,
    inbound_es_n0_db,
    outbound_es_n0_db,
    remote_g_t_db_k,
)
from siteplan.planning.link.drive import drive
from siteplan.planning.link.ends import Dish, Links
from siteplan.planning.link.spectrum.interference import (
    hub_satellites_ci_db,
    outbound_ci_db,
    satellites_ci_db,
    stations_ci_db,
)
from siteplan.planning.link.spectrum.lobes import gain_off_axis_dbi
from siteplan.planning.link.spectrum.neighbours import hub_density_dbw_hz, power_sum_dbw
from tests.planning.link.spectrum.given import network, worked_link

#: Figures are printed to 0.0001 dB; they must come out to this [dB].
TOLERANCE = 0.01
KM = 37000.0
AWAY_DEG = (2.2, 2.2, 3.3, 3.3)
#: Isolation of a dish that leaves the satellite's 30 dB alone [dB].
PERFECT_DB = 80.0
#: Dish [m], pattern, C/I of the neighbours, the same without an error of pointing, Es/(N+I) in
#: clear sky and faded [dB].
OUTBOUND = [
    (1.2, "appendix_8", 10.5437, 11.1615, 7.8338, 5.0689),
    (1.2, "s580_any_size", 16.7464, 17.3642, 10.1058, 6.1230),
    (2.4, "appendix_8", 19.6580, 20.1924, 12.7564, 10.4288),
    (2.4, "s580", 22.8504, 23.3848, 13.2443, 10.7075),
]
#: Dish [m], G/T in clear sky and faded [dB/K], Es/N0 of the link without anything of others [dB].
ALONE = [(1.2, 20.8353, 17.6212, 11.2240, 6.5608), (2.4, 26.8559, 23.6418, 13.8521, 11.1058)]


def link(**tables: object) -> Links:
    """Return the link of 37 000 km; the other polarization is as strong as ours."""
    four = [{"longitude_deg": x} for x in (-63.2, -58.8, -64.3, -57.7)]
    usual = {
        "neighbours": four,
        "outbound": {"ci_db": 22, "cross_polar_level_db": 0},
        "inbound": {"ci_db": 22},
    }
    return worked_link(network(**(usual | tables)), km=KM, separations_deg=AWAY_DEG)


def sky(rain_db: float) -> Attenuation:
    """Return a sky of 0.10 dB of gas and some rain."""
    none = np.zeros(1)
    return Attenuation(np.full(1, 0.10), none, np.full(1, rain_db), none)


def dish_of(size_m: float, pattern: str) -> Dish:
    return Dish(size_m, 0.65, PATTERNS.index(pattern), PERFECT_DB)


@pytest.mark.parametrize("row", OUTBOUND, ids=lambda row: f"{row[0]} m {row[1]}")
def test_outbound(row: tuple[float, str, float, float, float, float]) -> None:
    size, pattern, nearer, right, clear, faded = row
    whole, dish = link(), dish_of(size, pattern)
    assert satellites_ci_db(whole, dish) == pytest.approx(nearer, abs=TOLERANCE)
    ci_db = outbound_ci_db(whole, dish)
    dry = outbound_es_n0_db(whole, dish, sky(0.0), 0.0, ci_db=ci_db)
    wet = outbound_es_n0_db(whole, dish, sky(3.0), 0.0, ci_db=inverse_sum_db(ci_db, 29.0))
    assert dry == pytest.approx(clear, abs=TOLERANCE)
    assert wet == pytest.approx(faded, abs=TOLERANCE)
    # A dish that points right: neighbours at their own angles; the loss is taken off by hand.
    straight = satellites_ci_db(link(terminal={"pointing_loss_db": 0.0}), dish)
    assert straight is not None
    assert straight - 0.3 == pytest.approx(right, abs=TOLERANCE)


@pytest.mark.parametrize("row", ALONE, ids=lambda row: f"{row[0]} m")
def test_outbound_without_others(row: tuple[float, float, float, float, float]) -> None:
    size, g_t_clear, g_t_faded, clear, faded = row
    alone = link(neighbours=[], outbound={"ci_db": 22})
    dish = dish_of(size, "s580")
    assert outbound_ci_db(alone, dish) == 22.0  # bit for bit: nothing is added
    for rain, g_t, level in ((0.0, g_t_clear, clear), (3.0, g_t_faded, faded)):
        assert remote_g_t_db_k(alone, dish, sky(rain), 0.0) == pytest.approx(g_t, abs=TOLERANCE)
        found = outbound_es_n0_db(alone, dish, sky(rain), 0.0, ci_db=22.0)
        assert found == pytest.approx(level, abs=TOLERANCE)


def test_inbound() -> None:
    """Two neighbours' stations at 5 - 25 log 2.2 dBW/4 kHz each.

    The worked line has their signals cross the same 37 000 km and 0.12 dB of gas.
    """
    density = 5 - 25 * np.log10(2.2) + 10  # dBW/40 kHz
    told = [{"longitude_deg": x, "uplink_dbw_40khz": density} for x in (-63.2, -58.8)]
    others = [{"longitude_deg": x} for x in (-64.3, -57.7)]
    whole = link(neighbours=told + others)
    assert whole.interference is not None
    flux_hz = whole.interference.stations_dbw_m2_hz
    assert flux_hz is not None
    spread = [float(spreading_loss_db_m2(np.array([km]))[0]) for km in (38500.0, KM)]
    assert flux_hz + spread[0] == pytest.approx(-36.5709, abs=1e-4)
    same = flux_hz + spread[0] - spread[1] - 0.12
    nearer = replace(whole.interference, stations_dbw_m2_hz=same)
    hub = replace(whole.hub, neighbours_dbw_hz=at_the_hub(whole))
    whole = replace(whole, interference=nearer, hub=hub)
    driven = drive(whole, dish_of(1.2, "s580"), 10 * np.log10(2.0) - 1.0)
    assert driven.eirp_dbw == pytest.approx(44.4059, abs=TOLERANCE)
    assert driven.flux_dbw_m2 == pytest.approx(-118.0702, abs=TOLERANCE)
    assert carrier_backoff_db(whole.inbound, driven.flux_dbw_m2) == pytest.approx(
        27.5702, abs=TOLERANCE
    )
    assert inbound_down_es_n0_db(whole, driven) == pytest.approx(23.6640, abs=TOLERANCE)
    up = stations_ci_db(whole, whole.inbound, driven.flux_dbw_m2)
    assert up == pytest.approx(26.8944, abs=TOLERANCE)
    down = hub_satellites_ci_db(whole, driven.flux_dbw_m2)
    assert down == pytest.approx(25.7634, abs=TOLERANCE)
    assert inbound_es_n0_db(whole, driven) == pytest.approx(11.7769, abs=TOLERANCE)


def at_the_hub(whole: Links) -> float:
    """Return the density of the four satellites at a hub of 4.5 m that points right [dBW/Hz]."""
    checked = whole.network
    ghz = checked.inbound.downlink_ghz
    gain = float(gain_dbi(4.5, 0.65, ghz))
    x = float(4.5 / wavelength_m(ghz))
    side = gain_off_axis_dbi("s580", np.array(AWAY_DEG), gain_dbi=gain, wavelengths=x)
    densities = np.array([hub_density_dbw_hz(n, checked) for n in checked.neighbours])
    return float(power_sum_dbw(densities + side - gain))
