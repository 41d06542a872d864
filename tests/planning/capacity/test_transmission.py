"""The transmission plan: levels that close from end to end, what is unknown, what is assumed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.answers.transmission import CarrierGroup, Transmission
from siteplan.network import Network
from siteplan.planning.capacity.groups import alike
from siteplan.planning.capacity.transmission import transmission
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams


def changed(**tables: Mapping[str, Any]) -> Network:
    """Return the sample's network with keys of some tables over its own."""
    network = sites_and_network()[1]
    given = {k: getattr(network, k) for k in network.model_fields_set}
    for table, keys in tables.items():
        of = getattr(network, table)
        given[table] = {**{k: getattr(of, k) for k in of.model_fields_set}, **keys}
    return Network.model_validate(given)


def planned(network: Network, rows: slice = slice(None)) -> Plan:
    sites = sites_and_network()[0]
    return make_plan(sites.take(np.arange(len(sites))[rows]), network)


def told(plan: Plan) -> Transmission:
    found = transmission(plan.facts, plan.network)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned(sites_and_network()[1])


@pytest.fixture(scope="module")
def found(plan: Plan) -> Transmission:
    return told(plan)


@pytest.fixture(scope="module")
def two() -> Plan:
    traffic = {"inbound_kbit_s": 400, "outbound_kbit_s": 2000}
    masks = {"masks": ["s728_1"]}
    return planned(
        with_beams(sites_and_network()[1], WEST, EAST, traffic=traffic, regulation=masks)
    )


def way(of: Transmission, direction: str, beam: str = "") -> CarrierGroup:
    (group,) = (g for g in of.groups if g.direction == direction and beam in ("", *g.beams))
    return group


def flux_dbw_m2(eirp_dbw: float, km: float) -> float:
    """Flux density of an EIRP, in free space.

    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5: EIRP / (4 pi R^2).
    """
    return eirp_dbw - 10 * math.log10(4 * math.pi * (km * 1000) ** 2)


# --- levels ---------------------------------------------------------------------------------


def test_the_outbound_carrier_closes_by_hand(found: Transmission, plan: Plan) -> None:
    """7.2 of 36 MHz at 6 and 3.5 dB: 12.99 dB in, 10.49 dB out, 39.51 dBW of 50, -100.99 dBW/m2."""
    out = way(found, "outbound")
    assert out.carrier_input_backoff_db == pytest.approx(12.99, abs=5e-3)
    assert out.carrier_output_backoff_db == pytest.approx(10.49, abs=5e-3)
    assert out.carrier_eirp_dbw == out.least_carrier_eirp_dbw
    assert out.carrier_eirp_dbw == pytest.approx(39.51, abs=5e-3)
    assert out.flux_dbw_m2 == pytest.approx(-100.99, abs=5e-3)
    # A hub at 15.8 S 47.9 W sees 61 W at some 36 500 km (spherical earth); gas takes the rest.
    gas = flux_dbw_m2(out.eirp_dbw, 36_400) - out.flux_dbw_m2
    assert 0 < gas < 0.3
    assert out.greatest_eirp_dbw == pytest.approx(out.eirp_dbw + 10, abs=1e-9)
    assert out.eirp_dbw == plan.facts.hubs[0].eirp_dbw
    assert out.information_rate_kbit_s == pytest.approx(6000 * 1.487473 * 0.95, abs=0.01)
    assert out.emission == "7M20G7W"
    assert out.required_es_n0_db == pytest.approx(4.03 + 1, abs=1e-9)  # EN 302 307-1 table 13


def test_a_level_moves_flux_and_both_eirps() -> None:
    usual, more = (
        way(told(planned(changed(outbound=keys), slice(4))), "outbound")
        for keys in ({}, {"level_db": 1.5})
    )
    for name in ("eirp_dbw", "flux_dbw_m2", "carrier_eirp_dbw"):
        assert getattr(more, name) - getattr(usual, name) == pytest.approx(1.5, abs=1e-9), name
    ratio = more.power_equivalent_mhz / usual.power_equivalent_mhz
    assert ratio == pytest.approx(10**0.15, abs=1e-9)


def test_an_amplifier_that_is_short_lowers_flux_and_eirp() -> None:
    usual = planned(changed(), slice(4))
    short = planned(changed(hub={"hpa_w": 4, "power_control_db": 0}), slice(4))
    lacks = short.facts.hubs[0].short_db
    assert lacks > 0.5
    one, other = way(told(usual), "outbound"), way(told(short), "outbound")
    for name in ("eirp_dbw", "flux_dbw_m2", "carrier_eirp_dbw"):
        assert getattr(one, name) - getattr(other, name) == pytest.approx(lacks, abs=1e-9), name
    assert other.greatest_eirp_dbw == pytest.approx(other.eirp_dbw, abs=1e-9)


def test_the_inbound_carrier_is_the_strongest_terminals(found: Transmission, plan: Plan) -> None:
    back, c = way(found, "inbound"), plan.columns
    kit = ~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"])
    strongest = float(np.nanmax(c["power_equivalent_mhz"][kit]))
    assert back.power_equivalent_mhz == strongest
    assert back.eirp_dbw == np.nanmax(c["remote_eirp_dbw"][kit])
    # The share of power that a bandwidth stands for is 10 log of both to the transponder's.
    assert back.carrier_output_backoff_db == pytest.approx(
        3.5 + 10 * math.log10(36 / strongest), abs=1e-9
    )
    assert back.carrier_input_backoff_db == pytest.approx(
        back.carrier_output_backoff_db + 2.5, abs=1e-9
    )
    assert back.flux_dbw_m2 == pytest.approx(-88 - back.carrier_input_backoff_db, abs=1e-12)
    assert back.carrier_eirp_dbw == pytest.approx(50 - back.carrier_output_backoff_db, abs=1e-12)


def test_flux_is_that_of_a_site_with_its_distance(found: Transmission, plan: Plan) -> None:
    """Of every type: no site's flux in free space is over the told one by more than gas takes."""
    c = plan.columns
    assert sum(of.type.sites for of in found.terminals) == int((~np.isnan(c["antenna_m"])).sum())
    for of in found.terminals:
        rows = np.flatnonzero((c["antenna_m"] == of.type.antenna_m) & (c["buc_w"] == of.type.buc_w))
        free = [flux_dbw_m2(float(c["remote_eirp_dbw"][i]), float(c["slant_range_km"][i]))
                for i in rows]  # fmt: skip
        assert 0 < max(free) - of.type.flux_dbw_m2 < 0.4
        assert of.type.sites == len(rows)
        assert of.type.eirp_dbw == c["remote_eirp_dbw"][rows].max()
        assert of.type.g_t_db_k == c["remote_g_t_db_k"][rows].min()


def test_power_control_goes_no_further_than_the_buc(found: Transmission) -> None:
    """Rated power less 1 dB of back-off and 0.5 dB to the feed."""
    cut = 0
    for of in found.terminals:
        rated = of.type.buc_w * 10 ** (-0.15)
        assert of.type.feed_w <= of.type.faded_feed_w + 1e-12
        assert of.type.faded_feed_w == pytest.approx(rated, abs=1e-9)
        raised = 10 * math.log10(of.type.faded_feed_w / of.type.feed_w)
        assert of.type.faded_eirp_dbw - of.type.eirp_dbw <= raised + 1e-9 or of.type.sites > 1
        cut += of.type.feed_w < rated - 1e-6
    assert cut > 0
    fixed = told(planned(changed(terminal={"power_control_db": 0})))
    for of in fixed.terminals:
        assert of.type.faded_feed_w == of.type.feed_w
    assert way(fixed, "inbound").greatest_eirp_dbw == way(fixed, "inbound").eirp_dbw


def test_gain_is_that_of_an_aperture(found: Transmission) -> None:
    """eta (pi D / lambda)^2; Maral and Bousquet, chapter 5."""
    for of in found.terminals:
        wavelength = 0.299792458 / of.uplink_ghz
        gain = 10 * math.log10(0.65 * (math.pi * of.type.antenna_m / wavelength) ** 2)
        assert of.tx_gain_dbi == pytest.approx(gain, abs=1e-6)
        pointing = 0.3
        eirp = 10 * math.log10(of.type.feed_w) + gain - pointing
        assert of.type.eirp_dbw == pytest.approx(eirp, abs=1e-6)


# --- frequencies ----------------------------------------------------------------------------


def test_centres_stand_about_the_network_files_frequency(found: Transmission) -> None:
    (only,) = way(found, "outbound").centres
    assert (only.offset_mhz, only.uplink_ghz, only.downlink_ghz) == (0, 14.25, 11.95)
    back = way(found, "inbound")
    assert len(back.centres) == 3
    for end, middle in (("uplink_ghz", 14.25), ("downlink_ghz", 11.95)):
        places = [getattr(c, end) for c in back.centres]
        assert np.mean(places) == pytest.approx(middle, abs=1e-9)
        np.testing.assert_allclose(np.diff(places) * 1000, back.leased_mhz, rtol=0, atol=2e-6)
        for centre in back.centres:
            away = 1000 * (getattr(centre, end) - middle)
            assert away == pytest.approx(centre.offset_mhz, abs=2e-6)
    assert any("middle of all of them" in note for note in found.notes)


def test_directions_that_meet_are_told(found: Transmission) -> None:
    assert sum("stand on one another" in note for note in found.notes) == 2
    apart = changed(outbound={"uplink_ghz": 14.2, "downlink_polarization": "horizontal"})
    assert not [n for n in told(planned(apart, slice(4))).notes if "one another" in n]
    side_by_side = changed(inbound={"uplink_ghz": 14.2539072, "downlink_ghz": 11.5})
    network = side_by_side.model_copy(update={"traffic": changed(traffic={"activity": 0}).traffic})
    assert not [n for n in told(planned(network, slice(4))).notes if "one another" in n]


# --- what is not known, and what nobody gave ------------------------------------------------


def test_without_kit_the_inbound_levels_are_not_known() -> None:
    found = told(planned(changed(outbound={"satellite_eirp_dbw": 20}), slice(5)))
    back = way(found, "inbound")
    assert found.terminals == found.types == ()
    levels = ("eirp_dbw", "greatest_eirp_dbw", "flux_dbw_m2", "carrier_eirp_dbw")
    backoffs = ("carrier_input_backoff_db", "carrier_output_backoff_db")
    for name in ("power_equivalent_mhz", *levels, *backoffs):
        assert math.isnan(getattr(back, name)), name
    assert back.leased_mhz > back.occupied_mhz
    assert not math.isnan(way(found, "outbound").eirp_dbw)
    assert any("No site of the network has kit" in note for note in found.notes)


def test_a_threshold_names_no_modcod_and_no_rate() -> None:
    network = changed(inbound={"es_n0_db": 3.0})
    found = told(planned(network, slice(4)))
    back = way(found, "inbound")
    assert (back.modcod, back.required_es_n0_db) == ("", 4.0)
    assert math.isnan(back.information_rate_kbit_s)
    assert any("threshold in place of a MODCOD" in note for note in found.notes)
    assert not {"inbound.modcod", "inbound.waveform"} & set(back.basis[1])


def test_an_adaptive_carrier_tells_its_modcods() -> None:
    network = changed(outbound={"adaptive": True, "max_modcod": "8PSK 5/6"})
    out = way(told(planned(network, slice(3))), "outbound")
    assert out.modcod == "DVB-S2 QPSK 3/4"
    assert out.modcods == ("QPSK 1/4", "8PSK 5/6")


def test_a_hub_without_a_place_and_masks_are_told() -> None:
    hub = {"lat": None, "lon": None, "antenna_m": 6.3}
    network = sites_and_network()[1].model_copy(update={"hub": changed().hub.model_validate(hub)})
    found = told(planned(network, slice(3)))
    (station,) = found.hubs
    assert math.isnan(station.lat)
    assert math.isnan(station.allowed_feed_w)
    assert math.isnan(station.hpa_w)
    assert station.needed_hpa_w > station.feed_w > 0
    for words in ("is not placed", "No limit off axis", "amplifier is not given"):
        assert any(words in note for note in found.notes), words
    limited = told(planned(changed(regulation={"masks": ["s728_1"]}), slice(3)))
    assert limited.masks == ("s728_1",)
    assert limited.hubs[0].allowed_feed_w > 0
    assert all(of.type.allowed_feed_w > 0 for of in limited.terminals)
    assert not [note for note in limited.notes if "No limit off axis" in note]


def test_what_is_given_is_not_marked_and_all_else_is_listed(found: Transmission) -> None:
    out = way(found, "outbound")
    assert {"uplink", "flux_dbw_m2", "eirp_dbw", "modcod"} <= out.basis[0]
    assert "satellite_eirp_dbw" not in out.basis[0]
    assert "outbound.satellite_eirp_dbw" not in out.basis[1]
    values = {of.key: (of.value, of.unit) for of in found.assumed}
    assert values["outbound.sfd_dbw_m2"] == ("-88", "dBW/m2")
    assert values["site.cross_polar_db"] == ("30", "dB")
    assert values["traffic.utilisation"] == ("0.7", "")
    told_of = {key for of in (*found.groups, *found.hubs, *found.terminals) for key in of.basis[1]}
    assert set(values) == told_of | set(found.basis[1])
    keys = dict.fromkeys(("uplink_ghz", "downlink_ghz"), 14.0) | {
        "uplink_polarization": "horizontal", "downlink_polarization": "vertical",
        "symbol_rate_msps": 6.0, "roll_off": 0.2, "waveform": "DVB-S2", "modcod": "QPSK 3/4",
        "implementation_loss_db": 1.0, "sfd_dbw_m2": -88.0, "transponder_mhz": 36.0,
        "input_backoff_db": 6.0, "output_backoff_db": 3.5, "frame_efficiency": 0.95,
    }  # fmt: skip
    given = told(planned(changed(outbound=keys, lease={"guard_pct": 5}), slice(3)))
    assert way(given, "outbound").basis[0] == {"emission", "number"}


def test_nobody_told_of_traffic(found: Transmission) -> None:
    assert any("Nobody told of any traffic" in note for note in found.notes)
    given = told(planned(changed(traffic={"activity": 0.3}), slice(3)))
    assert not [note for note in given.notes if "Nobody told" in note]


# --- beams ----------------------------------------------------------------------------------


def test_each_beam_has_its_own_carriers(two: Plan) -> None:
    found = told(two)
    assert [(g.beams, g.direction) for g in found.groups] == [
        (("east",), "outbound"), (("east",), "inbound"),
        (("west",), "outbound"), (("west",), "inbound"),
    ]  # fmt: skip
    east, west = (way(found, "outbound", name) for name in ("east", "west"))
    assert (east.downlink_ghz, east.downlink_polarization) == (12.3, "horizontal")
    assert (west.downlink_ghz, west.satellite_eirp_dbw) == (11.95, 50)
    back = way(found, "inbound", "west")
    assert (back.sfd_dbw_m2, back.satellite_g_t_db_k) == (-90, 2.5)
    assert [hub.beams for hub in found.hubs] == [("west",), ("east",)]
    assert [hub.lat for hub in found.hubs] == [-15.8, -1.45]
    for hub, name in zip(found.hubs, ("west", "east"), strict=True):
        assert way(found, "outbound", name).eirp_dbw == hub.eirp_dbw
    assert found.leased_mhz == two.facts.capacity.leased_mhz  # type: ignore[union-attr]
    assert any("carriers (1) than is planned (2)" in n for n in found.notes)


def test_types_of_beams_at_one_frequency_are_told_once(two: Plan) -> None:
    found = told(two)
    keys = [(of.type.antenna_m, of.type.buc_w) for of in found.types]
    assert len(keys) == len(set(keys)) < len(found.terminals)
    assert sum(of.type.sites for of in found.types) == sum(of.type.sites for of in found.terminals)
    for of in found.types:
        each = [t.type for t in found.terminals if t.type.kind == of.type.kind]
        assert of.type.eirp_dbw == max(t.eirp_dbw for t in each)
        assert of.type.allowed_feed_w == min(t.allowed_feed_w for t in each)
        assert of.type.strength == max(t.strength for t in each)


def test_carriers_that_are_the_same_are_told_once(found: Transmission) -> None:
    out = way(found, "outbound")
    those = [replace(out, beams=(name,)) for name in "abc"]
    other = replace(out, beams=("d",), eirp_dbw=out.eirp_dbw + 0.01)
    assert alike([*those[:2], other, those[2]]) == (replace(out, beams=("a", "b", "c")), other)


def test_beams_without_sites_are_named() -> None:
    empty = {"name": "far", "lat": 40.0, "lon": -90.0, "major_deg": 0.2, "minor_deg": 0.2}
    found = told(planned(with_beams(sites_and_network()[1], WEST, empty)))
    assert [g.beams for g in found.groups] == [("west",)] * 2
    assert any(note.endswith("none in far.") for note in found.notes)
    none = told(planned(with_beams(sites_and_network()[1], empty), slice(3)))
    assert none.groups == none.hubs == none.terminals == ()
    assert any("No site is in any beam" in note for note in none.notes)


def test_contours_give_the_weakest_and_the_strongest_site() -> None:
    ellipse = {"lat": -4.0, "lon": -62.0, "major_deg": 4.0, "minor_deg": 3.0}
    network = sites_and_network()[1]
    given = {k: getattr(network, k) for k in network.model_fields_set}
    contours = [
        {"direction": "down", "peak": 52.0, **ellipse},
        {"direction": "up", "peak": 4.0, **ellipse},
    ]
    plan = planned(Network.model_validate({**given, "contours": contours}))
    c, found = plan.columns, told(plan)
    rows = ~np.isnan(c["antenna_m"])
    out, back = way(found, "outbound"), way(found, "inbound")
    assert out.satellite_eirp_dbw == c["satellite_eirp_dbw"][rows].max()
    assert out.least_satellite_eirp_dbw == c["satellite_eirp_dbw"][rows].min()
    assert out.satellite_eirp_dbw - out.least_satellite_eirp_dbw > 0.5
    assert out.carrier_eirp_dbw == out.satellite_eirp_dbw - out.carrier_output_backoff_db
    taken = np.where(rows, c["power_equivalent_mhz"], 0)
    among = c["satellite_sfd_dbw_m2"][taken == taken.max()]
    assert np.abs(among - back.sfd_dbw_m2).min() < 1e-9
    assert back.sfd_dbw_m2 + back.satellite_g_t_db_k == pytest.approx(-88 + 2, abs=1e-9)
    assert any("differs from site to site" in note for note in found.notes)
