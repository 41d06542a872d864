"""Neighbours: positions told apart on the whole arc, and one level a satellite."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from siteplan.network import Neighbour, Network
from siteplan.network.spectrum.neighbours import apart_deg, joined_positions


def network(own_deg: float, *positions: float, **tables: Any) -> Network:
    """Return a network at a position with neighbours at others."""
    listed = [{"longitude_deg": position} for position in positions]
    data: dict[str, Any] = {"satellite": {"longitude_deg": own_deg}, "neighbours": listed}
    return Network.model_validate(data | tables)


def test_defaults_of_a_neighbour() -> None:
    found = Neighbour(longitude_deg=-3)
    assert (found.name, found.downlink_level_db) == ("", 0)
    assert found.downlink_dbw_mhz is found.hub_level_db is found.uplink_dbw_40khz is None


def test_a_level_is_given_one_way() -> None:
    told = "give downlink_level_db or downlink_dbw_mhz, not both"
    with pytest.raises(ValidationError, match=told):
        Neighbour(longitude_deg=1, downlink_level_db=0, downlink_dbw_mhz=20)
    assert Neighbour(longitude_deg=1, downlink_dbw_mhz=20).downlink_level_db == 0


@pytest.mark.parametrize(("own", "at"), [(13, 13), (13, 13.05), (13, 12.95), (-170, 190), (360, 0)])
def test_none_stands_at_our_own_position(own: float, at: float) -> None:
    told = r"\[\[neighbours\]\] no\. 2 longitude_deg = .* is where your own satellite is"
    with pytest.raises(ValidationError, match=told):
        network(own, own - 4, at)
    # 0.05 deg and no more; the step is well over the 1e-9 to which positions are compared.
    assert len(network(own, own - 4, at + (0.051 if at >= own else -0.051)).neighbours) == 2


@pytest.mark.parametrize(("one", "other"), [(10, 10), (10, 10.05), (-5, 355), (180, -180)])
def test_two_do_not_stand_at_one_position(one: float, other: float) -> None:
    told = r"no\. 3 longitude_deg = .* is the position of no\. 1 too .*keep one of them"
    with pytest.raises(ValidationError, match=told):
        network(60, one, 70, other)


def test_twelve_are_the_most() -> None:
    assert len(network(60, *range(12)).neighbours) == 12
    with pytest.raises(ValidationError, match="at most 12 items"):
        network(60, *range(13))


def test_positions_with_and_without_level_are_joined() -> None:
    satellite = {"longitude_deg": 13, "neighbours_deg": [10.02, -344, 19]}
    found = network(13, 10, 16, satellite=satellite)
    assert found.neighbour_positions_deg == (10, 16, 19)


@given(st.floats(-180, 360), st.floats(-180, 360))
def test_how_far_two_stand_apart_is_the_same_both_ways(one: float, other: float) -> None:
    apart = apart_deg(one, other)
    assert 0 <= apart <= 180
    assert apart == pytest.approx(apart_deg(other, one), abs=1e-9)
    assert apart == pytest.approx(apart_deg(one + 360, other), abs=1e-9)


@given(st.lists(st.floats(-180, 360), max_size=8))
def test_joining_a_list_with_itself_adds_nothing(positions: list[float]) -> None:
    assert joined_positions(positions, positions) == tuple(positions)
