"""A hub's name tells it from others: one that sends several sets of carriers stays one hub."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.beams.settings import settings
from siteplan.planning.gateway.names import hub_names, spoken
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

ELSEWHERE = {"hub": {"lat": -1.45, "lon": -48.5, "power_control_db": 3}}
OTHER = {"outbound": {"downlink_ghz": 12.3}}
THIRD = {"outbound": {"downlink_ghz": 12.6}}


def network(*own: dict[str, Any], **tables: Any) -> Network:
    beams = [{"name": name} | keys for name, keys in zip("ABCD", own, strict=False)]
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01", "availability_pct": 99.9},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9},
    }
    return Network.model_validate(base | tables | ({"beams": beams} if beams else {}))


@pytest.mark.parametrize(
    ("own", "names"),
    [
        ((), ("hub",)),
        (({}, {}), ("hub",)),
        (({}, ELSEWHERE), ("Hub of A", "Hub of B")),
        (({}, {}, ELSEWHERE), ("Hub of A and 1 more", "Hub of C")),
        (({}, OTHER), ("Hub (carriers of A)", "Hub (carriers of B)")),
        (({}, OTHER, {}), ("Hub (carriers of A and 1 more)", "Hub (carriers of B)")),
        (
            ({}, OTHER, ELSEWHERE),
            ("Hub of A and 1 more (carriers of A)", "Hub of A and 1 more (carriers of B)",
             "Hub of C"),
        ),
    ],
)  # fmt: skip
def test_names(own: tuple[dict[str, Any], ...], names: tuple[str, ...]) -> None:
    passes = settings(network(*own))
    assert hub_names([[one] for one in passes]) == names
    assert [one.hub.spoken for one in passes] == [spoken(name) for name in names]
    assert len(set(names)) == len(names)


def planned(*own: dict[str, Any], **tables: Any) -> Plan:
    lat, lon = np.array([-3.1, -12.0, -8.0, -5.0]), np.array([-60.0, -45.0, -50.0, -52.0])
    beam = np.array(["A", "B", "A", "B"], dtype=object)
    return make_plan(Sites.at(lat, lon, beam=beam), network(*own, **tables))


def test_results_say_what_else_the_very_same_hub_sends() -> None:
    one, other = planned({}, OTHER).facts.hubs
    assert (one.also_beams, other.also_beams) == (("B",), ("A",))
    assert one.to_json()["also_beams"] == ["B"]
    assert [hub.also_beams for hub in planned({}, ELSEWHERE).facts.hubs] == [(), ()]


def test_transits_of_one_dish_at_one_frequency_stand_once() -> None:
    """Two carriers of one hub that listens at one frequency: the sun stands behind it once."""
    sites = Sites.at(np.array([-3.1, -5.0]), np.array([-60.0, -52.0]),
                     beam=np.array(["A", "B"], dtype=object))  # fmt: skip
    alone = make_plan(sites, network({}, OTHER), with_tables=True).facts.hub_sun
    assert alone
    assert not any("hub" in one for one in alone)
    two = make_plan(sites, network({}, ELSEWHERE), with_tables=True).facts.hub_sun
    assert {one["hub"] for one in two} == {"Hub of A", "Hub of B"}


def test_power_that_would_help_is_asked_of_the_hub_that_lacks_it() -> None:
    rainy = {"hub": {"lat": -1.45, "lon": -48.5, "power_control_db": 0}}
    fixed = {"antennas": [{"diameter_m": 0.9}], "bucs": [{"rated_w": 8}]}
    found = planned({}, rainy, **fixed).facts.remedies
    told = {one.change for one in found if one.code == "hub_control"}
    assert told, "no site waits for its hub: the test rests on nothing"
    assert all(" at the hub of B instead of none" in text for text in told), told


def test_a_hub_that_lacks_power_is_named_among_several() -> None:
    short = {"hub": {"lat": -1.45, "lon": -48.5, "hpa_w": 1}}
    told = planned({}, short).facts.cautions
    assert any(text.startswith("In beam B: The hub's amplifier lacks ") for text in told), told
    alone = planned(hub={"lat": -15.8, "lon": -47.9, "hpa_w": 1}).facts.cautions
    assert not any("amplifier lacks" in text for text in alone), "told once of the plan"


@pytest.mark.parametrize(("name", "told"), [("hub", "the hub"), ("Hub of A", "the hub of A")])
def test_names_within_sentences(name: str, told: str) -> None:
    assert spoken(name) == told


def test_what_is_wrong_with_a_beams_own_hub_names_the_beam() -> None:
    unseen = {"hub": {"lat": 30.0, "lon": 120.0}}
    where = r"\[hub\] lat and lon, as beam 'B' has it: the hub does not see the satellite"
    with pytest.raises(NetworkError, match=where):
        planned({}, unseen)
    alone = r"\[hub\] lat and lon: the hub does not see the satellite"
    with pytest.raises(NetworkError, match=alone):
        planned(hub=unseen["hub"])
