"""``[[beams]]``: what a beam has of its own, and what goes wrong."""

from __future__ import annotations

from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.read import network_from_mapping
from siteplan.network import Network

POSITION = {"longitude_deg": 10.0}


def network(*beams: dict[str, Any], **tables: Any) -> Network:
    return network_from_mapping({"satellite": POSITION, "beams": list(beams), **tables})


def test_a_beam_has_its_own_keys_and_the_rest_of_the_shared_tables() -> None:
    own = {"satellite_eirp_dbw": 52.0, "downlink_ghz": 12.1}
    found = network({"name": "A", "outbound": own}, outbound={"ci_db": 17.0}).of_beam("A")
    assert found.outbound.satellite_eirp_dbw == 52
    assert found.outbound.downlink_ghz == 12.1
    assert found.outbound.ci_db == 17
    assert found.inbound == Network(satellite=POSITION).inbound


def test_another_beam_has_nothing_of_it() -> None:
    of = network({"name": "A", "hub": {"lat": 1.0, "lon": 2.0}}, {"name": "B"})
    assert of.of_beam("B").hub.lat is None
    assert of.of_beam("A").hub.lat == 1


@pytest.mark.parametrize("threshold", ["modcod", "es_n0_db", "eb_n0_db"])
def test_a_beam_s_own_threshold_takes_the_place_of_the_shared_one(threshold: str) -> None:
    """Whatever the two are told by: the file may give one of them only."""
    shared = {"eb_n0_db": 4.0, "bits_per_symbol": 1.5}
    own: dict[str, Any] = {
        "modcod": {"modcod": "8PSK 3/4"},
        "es_n0_db": {"es_n0_db": 7.0},
        "eb_n0_db": {"eb_n0_db": 5.0, "bits_per_symbol": 2.0},
    }[threshold]
    found = network({"name": "A", "outbound": own}, outbound=shared).of_beam("A").outbound
    assert {key: getattr(found, key) for key in own} == own
    others = {"es_n0_db", "eb_n0_db", "bits_per_symbol"} - set(own)
    assert all(getattr(found, key) is None for key in others)


def test_bits_per_symbol_alone_keeps_the_shared_threshold() -> None:
    shared = {"eb_n0_db": 4.0, "bits_per_symbol": 1.5}
    own = {"name": "A", "outbound": {"bits_per_symbol": 2.0}}
    found = network(own, outbound=shared).of_beam("A").outbound
    assert (found.eb_n0_db, found.bits_per_symbol) == (4, 2)


def test_what_a_beam_gives_is_not_assumed_of_it() -> None:
    found = network({"name": "A", "outbound": {"satellite_eirp_dbw": 52.0}}).of_beam("A")
    assert "outbound.satellite_eirp_dbw" not in {a.key for a in assumptions(found)}


def test_an_unknown_beam_is_no_beam() -> None:
    with pytest.raises(KeyError, match="C"):
        network({"name": "A"}).of_beam("C")


@pytest.mark.parametrize(
    ("beam", "told"),
    [
        ({"outbound": {"satellite_eirp_dbw": 520}}, "outbound: satellite_eirp_dbw = 520 is out of"),
        ({"outbound": {"eirp": 50}}, "outbound: eirp is an unknown key"),
        (
            {"hub": {"name": "Gateway"}},
            "hub: name is an unknown key. What an entry of .* may have"
            r" of \[hub\]: lat, lon, antenna_m, .*, xpi_db\.",
        ),
        ({"hub": {"antena_m": 5}}, "hub: antena_m is an unknown key. Did you mean antenna_m"),
        (
            {"hub": {"pattern_file": "a.csv"}},
            r"pattern_file is .* below \[hub\]: it is the same for",
        ),
        ({"power_control_db": 5}, "Write hub.power_control_db for this one alone"),
        ({"uplink_ghz": 14}, "Write outbound.uplink_ghz or inbound.uplink_ghz for this one alone"),
        ({"outbound": {"satellite_eirp_dbw": "52"}}, 'satellite_eirp_dbw = "52" is text'),
        ({"outbound": 5}, r"outbound = 5 must be keys of \[outbound\] between braces"),
        ({"hub": {"lat": 3.0}}, "hub: give both lat and lon"),
        ({"inbound": {"input_backoff_db": 1.0}}, "inbound: output_backoff_db is larger than"),
        ({"area": "x.gpkg", "lat": 3.0}, "area and lat: give a file, or an ellipse"),
        ({"lat": 3.0}, "lat without lon and major_deg and minor_deg"),
    ],
)
def test_what_is_wrong_with_a_beam_is_told_with_its_place(beam: dict[str, Any], told: str) -> None:
    with pytest.raises(NetworkError, match=rf"\[\[beams\]\] no. 1 .*{told}"):
        network({"name": "A", **beam})


def test_one_fault_of_a_beam_is_told_once() -> None:
    with pytest.raises(NetworkError) as caught:
        network({"name": "A", "outbound": {"satellite_eirp_dbw": 520}})
    assert str(caught.value).count("[[beams]]") == 1


def test_twins_are_refused() -> None:
    with pytest.raises(NetworkError, match=r"\[\[beams\]\] no. 2 name = 'A' is given twice"):
        network({"name": "A"}, {"name": "A"})


def test_contours_of_no_beam_are_refused_with_the_nearest_name() -> None:
    shape = {"lat": 0.0, "lon": 10.0, "major_deg": 2.0, "minor_deg": 2.0, "peak": 50.0}
    contours = [{"direction": "down", "beam": "nort", **shape}]
    with pytest.raises(NetworkError, match=r"beam = 'nort' is none of .* did you mean 'north'"):
        network({"name": "north"}, {"name": "south"}, contours=contours)


def test_a_mask_must_hold_at_every_beam_s_uplink() -> None:
    beams = {"name": "A"}, {"name": "B", "inbound": {"uplink_ghz": 29.5}}
    with pytest.raises(NetworkError, match=r"\[\[beams\]\] no. 2 .*47cfr25_ku holds at 14-14.5"):
        network(*beams, regulation={"masks": ["47cfr25_ku"]})
