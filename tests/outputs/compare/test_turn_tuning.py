"""What a turned dish receives and sends, in words: as now, or other than now."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from siteplan.answers import Tuned
from siteplan.answers.slots import Repointing
from siteplan.outputs.compare import slot_words
from siteplan.outputs.compare.turn_tuning import tuning_rows

RECEIVED = Tuned(True, 11.95, "vertical", 6.0, 0.2, "", 10.6, 1350.0)
SENT = Tuned(False, 14.25, "horizontal", 0.256, 0.2, "")


def turn(now: tuple[Tuned, ...], there: tuple[Tuned, ...], level: float = 15.04) -> Repointing:
    one, tuned = np.array([level]), np.empty(1, dtype=object)
    tuned[0] = (now, there)
    word = np.array(["yes"], dtype=object)
    return Repointing(one, one, one, one, one, one, one / 10, word, word, one, word, tuned)


def told(of: Repointing) -> dict[str, str]:
    return dict(tuning_rows(of, 0, 1.0))


def test_the_same_carriers_are_as_now_with_what_is_found_there() -> None:
    rows = told(turn((RECEIVED, SENT), (RECEIVED, SENT)))
    assert rows == {
        "Receive there": "11950 MHz vertical, 6 Msym/s, as now. In clear sky C/N 15.0 dB in 6 MHz;"
        " accept from 14.0 dB.",
        "Transmit there": "14250 MHz horizontal, 0.256 Msym/s, as now. BUC set to 1.50 W, once the"
        " operator says go.",
    }


def test_other_carriers_stand_beside_the_present_ones() -> None:
    new = replace(RECEIVED, carrier_ghz=12.5, in_band=False)
    rows = told(turn((RECEIVED, SENT), (new, SENT)))
    assert rows["Receive there"].startswith(
        "12500 MHz vertical, 6 Msym/s instead of 11950 MHz vertical, 6 Msym/s. CHECK: out of the"
        " cable's band. In clear sky"
    )
    assert "Ports" not in rows


@pytest.mark.parametrize(
    ("ports", "words"),
    [
        (("horizontal", "vertical"), slot_words.PORTS_SWAP),
        (("horizontal", "horizontal"), slot_words.ONE_PORT),
        (("vertical", "vertical"), slot_words.ONE_PORT),
        (("circular", "circular"), slot_words.OTHER_FEED),
        (("vertical", "circular"), slot_words.OTHER_FEED),
        (("vertical", "horizontal"), None),
    ],
)
def test_ports_that_change(ports: tuple[str, str], words: str | None) -> None:
    there = replace(RECEIVED, polarization=ports[0]), replace(SENT, polarization=ports[1])
    assert told(turn((RECEIVED, SENT), there)).get("Ports") == words


def test_no_level_and_no_carrier_are_left_out() -> None:
    rows = told(turn((RECEIVED, SENT), (RECEIVED, SENT), math.nan))
    assert rows["Receive there"] == "11950 MHz vertical, 6 Msym/s, as now."
    assert rows["Transmit there"] == "14250 MHz horizontal, 0.256 Msym/s, as now."
    assert told(turn((), ())) == told(turn((RECEIVED, SENT), ())) == {}
