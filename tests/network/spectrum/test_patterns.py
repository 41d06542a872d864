"""Patterns: a file goes with the word for it, and its rows are held in order."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from siteplan.network import Antenna, Hub, Network, PatternGains, Terminal
from siteplan.network.spectrum.patterns import Patterned

GAINS = PatternGains(angle_deg=(0, 10), rx_gain_dbi=(40, 5), tx_gain_dbi=None)
DISHES = (Hub, lambda **keys: Antenna(diameter_m=1.2, **keys))


@pytest.mark.parametrize("dish", DISHES)
def test_pattern_and_file_go_together(dish: Any) -> None:
    assert dish().pattern == dish().rx_pattern == dish().tx_pattern == "s580"
    with pytest.raises(ValidationError, match='pattern = "file" needs pattern_file'):
        dish(pattern="file")
    for pattern in ("s580", "s465"):
        with pytest.raises(ValidationError, match='pattern_file goes with pattern = "file"'):
            dish(pattern=pattern, pattern_file="a.csv")
    with pytest.raises(ValidationError, match="at most 400 characters"):
        dish(pattern="file", pattern_file="a" * 401)


@pytest.mark.parametrize("dish", DISHES)
def test_a_side_without_gains_keeps_s580(dish: Any) -> None:
    named = dish(pattern="file", pattern_file="a.csv")
    assert (named.rx_pattern, named.tx_pattern, named.lacks_gains) == ("file", "file", True)
    read: Patterned = named.model_copy(update={"pattern_gains": GAINS})
    assert (read.rx_pattern, read.tx_pattern, read.lacks_gains) == ("file", "s580", False)
    assert dish(pattern="file", pattern_gains=GAINS) != named


@pytest.mark.parametrize(
    ("angles", "rx", "told"),
    [
        ((0,), (1,), "two rows at least"),
        ((0, 0), (1, 1), "must rise from row to row"),
        ((2, 1), (1, 1), "must rise from row to row"),
        ((-1, 1), (1, 1), "must lie from 0 to 180"),
        ((0, 181), (1, 1), "must lie from 0 to 180"),
        ((0, 1), (1,), "a gain of one side at least at every angle"),
        ((0, 1), None, "a gain of one side at least at every angle"),
    ],
)
def test_rows_are_in_order_and_whole(angles: Any, rx: Any, told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        PatternGains(angle_deg=angles, rx_gain_dbi=rx)


def test_places_that_lack_their_rows_and_files_are_named() -> None:
    named = {"pattern": "file", "pattern_file": "a.csv"}
    antennas = [{"diameter_m": 1.2}, {"diameter_m": 1.8, **named}]
    found = Network.model_validate(
        {"satellite": {"longitude_deg": 1}, "antennas": antennas, "hub": named}
    )
    assert found.without_gains == ("[[antennas]] no. 2", "[hub]")
    assert found.pattern_files == {
        "[[antennas]] no. 2 pattern_file": "a.csv", "[hub] pattern_file": "a.csv"
    }  # fmt: skip
    assert Network.model_validate({"satellite": {"longitude_deg": 1}}).without_gains == ()


def test_isolations_have_their_defaults() -> None:
    found = Network.model_validate({"satellite": {"longitude_deg": 1}})
    assert (found.satellite.xpi_db, found.hub.xpi_db, found.antennas[0].xpi_db) == (30, 35, 30)
    assert found.outbound.cross_polar_level_db is found.inbound.cross_polar_level_db is None
    assert not found.has_cross_polar
    crossed = {"satellite": {"longitude_deg": 1}, "inbound": {"cross_polar_level_db": 0}}
    assert Network.model_validate(crossed).has_cross_polar


def test_pointing_is_given_one_way() -> None:
    with pytest.raises(ValidationError, match="pointing_loss_db or pointing_error_deg, not both"):
        Terminal(pointing_loss_db=0.3, pointing_error_deg=0.1)
    assert Terminal(pointing_error_deg=0.1).pointing_loss_db == 0.3
