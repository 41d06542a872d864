"""Limits off axis: their names, their bands, their parts."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from siteplan.network import MASK_BANDS_GHZ, Network, OwnMask, Regulation

OWN = {"name": "own", "reference_khz": 40, "segments": [[1.5, 7, 15, 25], [7, 9.2, -6, 0]]}
#: The ends of the bands: 47 CFR 25.218 and 25.138 (public copy), ITU-R S.524-9 and ETSI EN 301 459
#: (public pages), S.728-1 and EN 301 428 (from memory).
BANDS = {
    "47cfr25_ku": [14, 14.5],
    "47cfr25_ka": [28.35, 28.6, 29.25, 30],
    "s524_9": [5.725, 7.075, 12.75, 13.25, 13.75, 14.5, 27.5, 30],
    "s728_1": [14, 14.5],
    "en301428": [14, 14.5],
    "en301459": [29.5, 30],
}


def network(*masks: str, own: Any = (), uplink_ghz: float = 14.25) -> Network:
    return Network.model_validate(
        {
            "satellite": {"longitude_deg": 1},
            "inbound": {"uplink_ghz": uplink_ghz},
            "regulation": {"masks": masks},
            "masks": own,
        }
    )


def test_defaults() -> None:
    found = Regulation()
    assert (found.masks, found.action, found.simultaneous_terminals) == ((), "cut_power", 1)
    assert found.emission_class == "G7W"
    assert network().limits == ()


@pytest.mark.parametrize(("name", "ends"), BANDS.items())
def test_a_published_mask_holds_in_its_bands_alone(name: str, ends: list[float]) -> None:
    assert [end for band in MASK_BANDS_GHZ[name] for end in band] == ends
    for low, high in zip(ends[::2], ends[1::2], strict=True):
        for inside in (low, high, (low + high) / 2):
            assert network(name, uplink_ghz=inside).limits == (name,)
        for outside in (low - 0.001, high + 0.001):
            told = rf"masks: {name} holds at .*{low:g}-{high:g}.* GHz, and \[inbound\] uplink_ghz"
            with pytest.raises(ValidationError, match=told):
                network(name, uplink_ghz=outside)


def test_own_limits_come_first_in_the_order_of_the_list() -> None:
    other = OWN | {"name": "other"}
    found = network("s524_9", "other", "47cfr25_ku", "own", own=[OWN, other])
    own, second = found.masks
    assert found.limits == (second, own, "s524_9", "47cfr25_ku")


@pytest.mark.parametrize(
    ("masks", "own", "told"),
    [
        (["own"], [], r"'own' is neither a published mask nor the name of one of \[\[masks\]\]"),
        (["s524-9"], [], "did you mean 's524_9'"),
        (["s524_9"], [OWN], r"no\. 1 name = 'own' is not listed in \[regulation\] masks: add"),
        (["own"], [OWN, OWN], r"no\. 2 name = 'own' is given twice: keep one"),
        (["s524_9"], [OWN | {"name": "s524_9"}], "is the name of a published mask: give it anoth"),
        (["s524_9", "s524_9"], [], "masks names 's524_9' twice: keep one"),
    ],
)
def test_names_that_do_not_fit_are_refused(masks: list[str], own: Any, told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        network(*masks, own=own)


@pytest.mark.parametrize(
    ("segments", "told"),
    [
        ([[0, 7, 1, 1]], r"no\. 1 goes from 0 to 7 deg: it must begin above 0"),
        ([[7, 7, 1, 1]], r"no\. 1 goes from 7 to 7 deg"),
        ([[2, 7, 1, 1], [9, 180.1, 1, 1]], r"no\. 2 goes from 9 to 180\.1 deg.*180 at most"),
        ([[2, 7, 1, 1], [6.9, 9, 1, 1]], r"no\. 2 begins at 6\.9 deg, before .* ends \(7\)"),
        ([[7, 9, 1, 1], [2, 7, 1, 1]], r"no\. 2 begins at 2 deg, before"),
        ([[2, 7, 200.1, 1]], r"a = 200\.1 and b = 1: a may be -200 to 200 dBW"),
        ([[2, 7, 1, -0.1]], r"a = 1 and b = -0\.1: a may be .* b 0 to 100"),
        ([], "at least 1 item"),
        ([[2, 7, 1]], "Field required"),
    ],
)
def test_parts_rise_and_do_not_overlap(segments: Any, told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        OwnMask.model_validate(OWN | {"segments": segments})


def test_parts_may_touch_leave_gaps_and_reach_all_round() -> None:
    parts = ((0.001, 7.0, -200.0, 0.0), (7.0, 9.0, 200.0, 100.0), (48.0, 180.0, 1.0, 25.0))
    assert OwnMask(name="a", reference_khz=4, segments=parts).segments == parts


@pytest.mark.parametrize("text", ["G7", "G7WW", "G-W", "G W", "Ö7W"])
def test_a_class_of_emission_is_three_letters_or_digits(text: str) -> None:
    with pytest.raises(ValidationError, match="emission_class\n"):
        Regulation(emission_class=text)


def test_a_class_of_emission_is_told_in_capitals() -> None:
    assert Regulation(emission_class="d7w").emission_class == "D7W"


@pytest.mark.parametrize("number", [0, 10001, 1.5])
def test_terminals_are_counted_whole(number: float) -> None:
    with pytest.raises(ValidationError, match="simultaneous_terminals\n"):
        Regulation.model_validate({"simultaneous_terminals": number})
    assert Regulation.model_validate({"simultaneous_terminals": 3.0}).simultaneous_terminals == 3
