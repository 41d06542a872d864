"""Likely causes of what differs at a built site, in words, and whether the site is accepted.

Limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import at_decimals
from siteplan.messages import fill, join

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]

#: What instruments on a roof can tell: a compass, an inclinometer, a skew scale [deg].
AZIMUTH_READING_DEG = 3.0
ELEVATION_READING_DEG = 1.0
SKEW_READING_DEG = 5.0
#: A known mistake is taken to explain a reading that it meets this closely [deg].
MATCH_DEG = 1.0
#: Loss of a cable beyond its class: so much [dB], and so large a part of it.
CABLE_EXCESS_DB, CABLE_EXCESS_PART = 2.0, 0.25
#: A cable this much longer than planned is told [m] and as a part of it.
CABLE_LONGER_M, CABLE_LONGER_PART = 3.0, 0.15
#: A voltage this far under what the cable should leave is told [V].
VOLTAGE_SHORT_V = 1.5
#: C/N better than expected by this much is told as well [dB].
TOO_GOOD_DB = 3.0


@dataclass(frozen=True)
class Evidence:
    """What speaks for one cause or another: arrays (m,), NaN where not measured, and limits.

    ``neighbour_deg`` is the angle between the measured direction and the nearest neighbouring
    satellite; ``mirrored_skew_deg`` how far the measured skew is from the planned one with the
    other sign; ``cable_loss_db`` what the cable should lose.
    """

    moved_m: FloatArray
    azimuth_error_deg: FloatArray
    elevation_error_deg: FloatArray
    pointing_error_deg: FloatArray
    skew_error_deg: FloatArray
    mirrored_skew_deg: FloatArray
    declination_deg: FloatArray
    true_given: BoolArray
    offset_deg: FloatArray
    neighbour_deg: FloatArray
    beamwidth_deg: FloatArray
    c_n_difference_db: FloatArray
    cross_polar_db: FloatArray
    cable_loss_db: FloatArray
    cable_loss_difference_db: FloatArray
    cable_difference_m: FloatArray
    planned_cable_m: FloatArray
    buc_voltage_v: FloatArray
    expected_voltage_v: FloatArray
    clearance_deg: FloatArray
    margin_db: FloatArray
    least_v: float
    wanted_cross_polar_db: float
    acceptance_db: float
    moved_limit_m: float


class Verdict(NamedTuple):
    """Verdict, likely causes (codes joined by ``;``) and findings in words (m,)."""

    verdict: TextArray
    causes: TextArray
    findings: TextArray


#: A finding: the cause's code ('' for none), where it holds (m,), and its sentence.
Finding = tuple[str, BoolArray, str]


def judged(x: Evidence) -> Verdict:
    """Return what is likely wrong at each site, in words, and whether it is accepted.

    Accepted: C/N within the tolerance of what is expected there, nothing in the beam, and where
    they came back the cross-polar isolation that the operator asks for and the voltage that the
    BUC needs. Without a C/N the verdict is ``incomplete``.
    """
    n = len(x.c_n_difference_db)
    short = x.c_n_difference_db < -x.acceptance_db
    findings = [*_place(x), *_pointing(x, short), *_skew(x), *_cable(x), *_level(x, short)]
    caused = np.zeros(n, dtype=bool)
    for code, mask, _ in findings:
        caused |= mask & (code not in ("", "moved"))
    alone = short & ~caused
    findings.append(
        (
            "unexplained",
            alone,
            "Nothing else that came back explains it: measure again in clear sky, peak the dish"
            " anew, and look at connectors and at what stands in the beam.",
        )
    )
    values: dict[str, FloatArray] = {
        k: at_decimals(v, 1)
        for k, v in vars(x).items()
        if isinstance(v, np.ndarray) and v.dtype == float
    }
    texts = [(mask, fill(sentence, _at(values, mask))) for _, mask, sentence in findings]
    codes = [(m, np.full(int(m.sum()), c, dtype=object)) for c, m, _ in _merged(findings) if c]
    blocked = x.clearance_deg < 0
    leaky = x.cross_polar_db < x.wanted_cross_polar_db
    good = ~short & ~blocked & ~leaky & ~(x.buc_voltage_v < x.least_v)
    verdict = np.where(good, "accepted", "not accepted").astype(object)
    verdict[np.isnan(x.c_n_difference_db)] = "incomplete"
    found = join(texts, " ", n)
    nothing = found == ""
    found[nothing & (verdict == "accepted")] = "As planned."
    found[nothing & (verdict == "incomplete")] = "No C/N came back."
    return Verdict(verdict, join(codes, ";", n), found)


def _at(values: dict[str, FloatArray], mask: BoolArray) -> dict[str, FloatArray]:
    return {name: value[mask] for name, value in values.items()}


def _merged(findings: list[Finding]) -> list[Finding]:
    """Return one finding a code, so that no code is told twice of one site."""
    merged: dict[str, BoolArray] = {}
    for code, mask, _ in findings:
        merged[code] = merged[code] | mask if code in merged else mask
    return [(code, mask, "") for code, mask in merged.items()]


def _place(x: Evidence) -> list[Finding]:
    """Return what the position tells."""
    moved = x.moved_m > x.moved_limit_m
    return [
        (
            "moved",
            moved & ~np.isnan(x.margin_db),
            "The site is {moved_m:.0f} m from where it was planned: angles and margin were worked"
            " out anew, and with the planned kit the margin there is {margin_db:.1f} dB.",
        ),
        (
            "moved",
            moved & np.isnan(x.margin_db),
            "The site is {moved_m:.0f} m from where it was planned, and there it does not see the"
            " satellite: check the position that came back.",
        ),
    ]


def _pointing(x: Evidence, short: BoolArray) -> list[Finding]:
    """Return what the angles tell, known mistakes first."""
    off_azimuth = np.abs(x.azimuth_error_deg) > AZIMUTH_READING_DEG
    off_elevation = np.abs(x.elevation_error_deg) > ELEVATION_READING_DEG
    beside = x.neighbour_deg < np.minimum(x.pointing_error_deg / 2, MATCH_DEG)
    # A true bearing that lies off by the declination was read off a compass.
    magnetic = (
        off_azimuth
        & x.true_given
        & (np.abs(x.azimuth_error_deg + x.declination_deg) < MATCH_DEG)
        & ~beside
    )
    rim = (
        off_elevation
        & (x.offset_deg > 0)
        & (np.abs(np.abs(x.elevation_error_deg) - x.offset_deg) < MATCH_DEG)
        & ~beside
    )
    left = (off_azimuth & ~magnetic) | (off_elevation & ~rim)
    wrong = left & ~beside
    return [
        (
            "wrong_satellite",
            beside & (off_azimuth | off_elevation),
            "The dish looks {neighbour_deg:.1f} deg from a neighbouring satellite and"
            " {pointing_error_deg:.1f} deg from its own: it may be on the wrong one.",
        ),
        (
            "magnetic_bearing",
            magnetic,
            "The azimuth is off by {azimuth_error_deg:+.1f} deg, which is the declination: it"
            " looks like a compass bearing that was not turned into a true one.",
        ),
        (
            "offset_reading",
            rim,
            "The elevation is off by {elevation_error_deg:+.1f} deg, which is the dish's offset"
            " angle: it looks like the rim's tilt instead of the beam's elevation.",
        ),
        (
            "mispointed",
            wrong & short,
            "Azimuth {azimuth_error_deg:+.1f} deg and elevation {elevation_error_deg:+.1f} deg"
            " differ from plan and the signal is short: the dish looks mispointed.",
        ),
        (
            "",
            wrong & ~short & ~np.isnan(x.c_n_difference_db),
            "Azimuth {azimuth_error_deg:+.1f} deg and elevation {elevation_error_deg:+.1f} deg"
            " differ from plan, but the signal is as expected: check how the angles were read.",
        ),
        (
            "mispointed",
            wrong & np.isnan(x.c_n_difference_db),
            "Azimuth {azimuth_error_deg:+.1f} deg and elevation {elevation_error_deg:+.1f} deg"
            " differ from plan: the dish may be mispointed; measure C/N.",
        ),
    ]


def _skew(x: Evidence) -> list[Finding]:
    """Return what skew and cross-polar isolation tell."""
    off = np.abs(x.skew_error_deg) > SKEW_READING_DEG
    mirrored = off & (np.abs(x.mirrored_skew_deg) < SKEW_READING_DEG)
    swapped = off & ~mirrored & (np.abs(np.abs(x.skew_error_deg) - 90) < SKEW_READING_DEG)
    leaky = x.cross_polar_db < x.wanted_cross_polar_db
    return [
        (
            "wrong_skew",
            mirrored,
            "The skew is that of the plan with the other sign: it was turned the wrong way, or"
            " read from in front of the dish.",
        ),
        (
            "wrong_skew",
            swapped,
            "The skew is off by {skew_error_deg:+.0f} deg: the feed is on the other polarization.",
        ),
        ("wrong_skew", off & ~mirrored & ~swapped, "The skew is off by {skew_error_deg:+.1f} deg."),
        (
            "wrong_skew",
            leaky,
            "Cross-polar isolation is {cross_polar_db:.0f} dB, less than the"
            f" {x.wanted_cross_polar_db:g} dB that the operator asks for: peak the polarization,"
            " and do not transmit before.",
        ),
    ]


def _cable(x: Evidence) -> list[Finding]:
    """Return what cable and supply tell."""
    part = CABLE_EXCESS_PART * x.cable_loss_db
    lossy = x.cable_loss_difference_db > np.maximum(CABLE_EXCESS_DB, part)
    longer = x.cable_difference_m > np.maximum(
        CABLE_LONGER_M, CABLE_LONGER_PART * x.planned_cable_m
    )
    low = x.buc_voltage_v < np.fmin(x.expected_voltage_v - VOLTAGE_SHORT_V, np.inf)
    starved = x.buc_voltage_v < x.least_v
    return [
        ("", longer, "The cable is {cable_difference_m:.0f} m longer than planned."),
        (
            "wet_cable",
            lossy,
            "The cable loses {cable_loss_difference_db:.1f} dB more than its class should over"
            " that length: water in it or in a connector, a kink, or another class.",
        ),
        (
            "low_voltage",
            low | starved,
            "The BUC gets {buc_voltage_v:.1f} V: look for a bad connector, a wet or thinner cable,"
            f" or a weak supply (it needs {x.least_v:g} V).",
        ),
    ]


def _level(x: Evidence, short: BoolArray) -> list[Finding]:
    """Return what stands in the beam, and what the level tells by itself."""
    return [
        (
            "blocked",
            x.clearance_deg < 0,
            "What stands at the satellite's bearing reaches into the beam ({clearance_deg:.1f} deg"
            " of clearance): the dish is blocked there.",
        ),
        ("", short, "C/N differs by {c_n_difference_db:+.1f} dB from what is expected."),
        (
            "",
            x.c_n_difference_db > TOO_GOOD_DB,
            "C/N is {c_n_difference_db:+.1f} dB better than expected: check which carrier was"
            " measured, and in which bandwidth.",
        ),
    ]
