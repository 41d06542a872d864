"""What each finding does to a built site, alone and beside a signal that is short."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.messages import english, gaps
from siteplan.planning.asbuilt.verdicts import RULES, judged

#: A number for every gap of every sentence.
NUMBERS = {name: np.array([1.5, 2.5, 3.5]) for rule in RULES for name in gaps(english()[rule.key])}

#: Findings by what they do, and the cause each tells. What bars contradicts the site or the
#: operator's terms; what leaves open is a figure that nothing else that came back proves.
BARS = {
    "moved_out_of_sight": "moved",
    "far_away": "far_away",
    "wrong_satellite": "wrong_satellite",
    "turned_round": "turned_round",
    "mispointed": "mispointed",
    "skew_swapped": "wrong_skew",
    "cross_polar": "wrong_skew",
    "voltage_starved": "low_voltage",
    "blocked": "blocked",
}
LEAVES_OPEN = {
    "position_swapped": "swapped_position",
    "position_sign": "sign_lost",
    "altitude_feet": "feet",
    "angles_far_off": "misread",
    "maybe_mispointed": "mispointed",
    "no_isolation": "",
    "cable_feet": "feet",
    "cable_loss_low": "low_loss",
    "no_c_n": "",
    "nothing_expected": "",
}
IS_TOLD = {
    "id_eaten": "",
    "azimuths_apart": "",
    "rim_apart": "",
    "rim_alone": "",
    "moved": "moved",
    "magnetic_bearing": "magnetic_bearing",
    "true_bearing": "true_bearing",
    "declination_reversed": "declination_reversed",
    "offset_reading": "offset_reading",
    "zenith_angle": "zenith_angle",
    "angles_misread": "",
    "skew_mirrored": "wrong_skew",
    "skew_off": "wrong_skew",
    "cable_longer": "",
    "cable_lossy": "wet_cable",
    "low_voltage": "low_voltage",
    "too_good": "",
}
#: What cannot weaken a signal: figures written down wrongly, what is missing, what helps.
EXPLAINS_NOTHING = {
    *("position_swapped", "position_sign", "moved", "altitude_feet", "angles_misread"),
    *("angles_far_off", "no_isolation", "cable_feet", "cable_longer", "cable_loss_low"),
    *("too_good", "no_c_n", "nothing_expected"),
    *("id_eaten", "azimuths_apart", "rim_apart", "rim_alone"),
    *("target_missed", "target_missed_there", "stopped"),
}
#: Of a site that gets no kit: nothing can be judged.
NOTHING = {"no_kit": "", "unplanned_kit": "unplanned_kit", "moved_without_kit": "moved"}
#: Good work at a site that the plan does not serve.
NOT_SERVED = {"target_missed": "", "target_missed_there": "", "stopped": ""}
CAUSES = NOT_SERVED | BARS | LEAVES_OPEN | IS_TOLD | NOTHING


def found(*keys: str) -> dict[str, np.ndarray]:
    """Return three sites' findings: those named hold at the second alone."""
    names = [rule.key for rule in RULES if rule.key != "asbuilt.unexplained"]
    return {name: np.array([False, name.partition(".")[2] in keys, False]) for name in names}


def test_every_finding_stands_here() -> None:
    known = {rule.key.partition(".")[2] for rule in RULES}
    assert known == {*CAUSES, "short", "unexplained"}


@pytest.mark.parametrize("key", CAUSES)
def test_a_finding_alone(key: str) -> None:
    told = judged(found(key), NUMBERS)
    worst = {**dict.fromkeys(NOT_SERVED, "accepted but not served"),
             **dict.fromkeys(BARS, "not accepted"), **dict.fromkeys(LEAVES_OPEN, "incomplete"),
             **dict.fromkeys(NOTHING, "nothing to accept")}  # fmt: skip
    assert told.verdict.tolist() == ["accepted", worst.get(key, "accepted"), "accepted"]
    assert told.causes.tolist() == ["", CAUSES[key], ""]
    assert told.findings[0] == told.findings[2] != told.findings[1]


@pytest.mark.parametrize("key", sorted(set(CAUSES) - set(NOTHING)))
def test_a_finding_beside_a_short_signal(key: str) -> None:
    told = judged(found(key, "short"), NUMBERS)
    assert told.verdict.tolist() == ["accepted", "not accepted", "accepted"]
    causes = [code for code in (CAUSES[key],) if code]
    if key in EXPLAINS_NOTHING:
        causes.append("unexplained")
    assert told.causes[1].split(";") == causes


def test_a_short_signal_alone_is_unexplained_and_the_worst_verdict_stands() -> None:
    assert judged(found("short"), NUMBERS).causes.tolist() == ["", "unexplained", ""]
    told = judged(found("no_c_n", "blocked", "moved"), NUMBERS)
    assert told.verdict[1] == "not accepted"
    assert told.causes[1] == "moved;blocked"


def test_a_cause_of_two_findings_is_told_once() -> None:
    told = judged(found("skew_off", "cross_polar", "altitude_feet", "cable_feet"), NUMBERS)
    assert sorted(told.causes[1].split(";")) == ["feet", "wrong_skew"]
