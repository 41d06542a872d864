"""The verdict on a built site: one table says what each finding does to it.

A site is not accepted where one finding bars it, incomplete where one leaves something open, else
accepted; one that gets no kit has nothing to accept. Where the plan itself does not serve a site,
its work alone is accepted, and that is counted apart. What bars contradicts the site or the
operator's terms; what leaves something open is a figure that nothing else that came back proves. A
reading that was taken wrongly, while a peaked signal shows that the dish is right, is told and no
more.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, TextArray
from siteplan.messages import english, join
from siteplan.planning.step import Told, sentences

ACCEPTED: Final = "accepted"
#: Of good work at a site that the plan itself does not serve.
NOT_SERVED: Final = "accepted but not served"
INCOMPLETE: Final = "incomplete"
NOT_ACCEPTED: Final = "not accepted"
#: Of a site that gets no kit: no figure of it could be judged.
NOTHING: Final = "nothing to accept"


class Rule(NamedTuple):
    """A finding: its sentence, the cause's code ('' for none), and the best verdict beside it.

    ``explains`` says whether the cause may explain a signal that is short.
    """

    key: str
    cause: str
    verdict: str
    explains: bool = False


#: Every finding, in the order in which they are told.
RULES: Final = (
    Rule("asbuilt.id_eaten", "", ACCEPTED),
    Rule("asbuilt.position_swapped", "swapped_position", INCOMPLETE),
    Rule("asbuilt.position_sign", "sign_lost", INCOMPLETE),
    Rule("asbuilt.moved", "moved", ACCEPTED),
    Rule("asbuilt.moved_without_kit", "moved", NOTHING),
    Rule("asbuilt.moved_out_of_sight", "moved", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.far_away", "far_away", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.altitude_feet", "feet", INCOMPLETE),
    Rule("asbuilt.wrong_satellite", "wrong_satellite", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.turned_round", "turned_round", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.magnetic_bearing", "magnetic_bearing", ACCEPTED, explains=True),
    Rule("asbuilt.true_bearing", "true_bearing", ACCEPTED, explains=True),
    Rule("asbuilt.declination_reversed", "declination_reversed", ACCEPTED, explains=True),
    Rule("asbuilt.offset_reading", "offset_reading", ACCEPTED, explains=True),
    Rule("asbuilt.zenith_angle", "zenith_angle", ACCEPTED, explains=True),
    Rule("asbuilt.mispointed", "mispointed", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.angles_misread", "", ACCEPTED),
    Rule("asbuilt.angles_far_off", "misread", INCOMPLETE),
    Rule("asbuilt.maybe_mispointed", "mispointed", INCOMPLETE, explains=True),
    Rule("asbuilt.azimuths_apart", "", ACCEPTED),
    Rule("asbuilt.rim_apart", "", ACCEPTED),
    Rule("asbuilt.rim_alone", "", ACCEPTED),
    Rule("asbuilt.skew_mirrored", "wrong_skew", ACCEPTED, explains=True),
    Rule("asbuilt.skew_swapped", "wrong_skew", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.skew_off", "wrong_skew", ACCEPTED, explains=True),
    Rule("asbuilt.cross_polar", "wrong_skew", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.no_isolation", "", INCOMPLETE),
    Rule("asbuilt.cable_feet", "feet", INCOMPLETE),
    Rule("asbuilt.cable_longer", "", ACCEPTED),
    Rule("asbuilt.cable_lossy", "wet_cable", ACCEPTED, explains=True),
    Rule("asbuilt.cable_loss_low", "low_loss", INCOMPLETE),
    Rule("asbuilt.low_voltage", "low_voltage", ACCEPTED, explains=True),
    Rule("asbuilt.voltage_starved", "low_voltage", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.blocked", "blocked", NOT_ACCEPTED, explains=True),
    Rule("asbuilt.short", "", NOT_ACCEPTED),
    Rule("asbuilt.too_good", "", ACCEPTED),
    Rule("asbuilt.unexplained", "unexplained", NOT_ACCEPTED),
    Rule("asbuilt.target_missed", "", NOT_SERVED),
    Rule("asbuilt.target_missed_there", "", NOT_SERVED),
    Rule("asbuilt.stopped", "", NOT_SERVED),
    Rule("asbuilt.no_kit", "", NOTHING),
    Rule("asbuilt.unplanned_kit", "unplanned_kit", NOTHING),
    Rule("asbuilt.no_c_n", "", INCOMPLETE),
    Rule("asbuilt.nothing_expected", "", INCOMPLETE),
)


class Verdict(NamedTuple):
    """Verdict, likely causes (codes joined by ``;``) and findings in words (m,)."""

    verdict: TextArray
    causes: TextArray
    findings: TextArray


def judged(found: Mapping[str, BoolArray], numbers: Mapping[str, Any]) -> Verdict:
    """Return verdict, causes and findings of sites (m,).

    Parameters
    ----------
    found : mapping of (m,) arrays of bool
        Where each finding holds, by the key of its sentence; ``asbuilt.unexplained`` follows
        from the others.
    numbers : mapping
        Arrays (m,) and single values for the sentences' gaps.
    """
    short = found["asbuilt.short"]
    masks = {**found, "asbuilt.unexplained": short & ~_explained(found)}
    n, words = len(short), english()
    verdict = np.full(n, ACCEPTED, dtype=object)
    # The worse verdict overrules the better one.
    for worse in (NOT_SERVED, INCOMPLETE, NOT_ACCEPTED, NOTHING):
        for rule in RULES:
            if rule.verdict == worse:
                verdict[masks[rule.key]] = worse
    told = [
        (masks[rule.key], sentences(Told(rule.key, masks[rule.key], numbers), words))
        for rule in RULES
    ]
    findings = join(told, " ", n)
    findings[findings == ""] = words["asbuilt.as_planned"]
    return Verdict(verdict, _causes(masks, n), findings)


def _explained(found: Mapping[str, BoolArray]) -> BoolArray:
    """Return where a finding may explain a signal that is short (m,)."""
    masks = [found[rule.key] for rule in RULES if rule.explains]
    return np.asarray(np.logical_or.reduce(masks))


def _causes(masks: Mapping[str, BoolArray], n: int) -> TextArray:
    """Return the causes' codes, none told twice of one site."""
    merged: dict[str, BoolArray] = {}
    for rule in RULES:
        if rule.cause:
            here = masks[rule.key]
            merged[rule.cause] = merged[rule.cause] | here if rule.cause in merged else here
    codes = [(mask, np.full(int(mask.sum()), code, object)) for code, mask in merged.items()]
    return join(codes, ";", n)
