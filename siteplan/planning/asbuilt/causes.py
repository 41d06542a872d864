"""Likely causes of what differs at a built site, in words, and whether the site is accepted.

Limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, TextArray, at_decimals
from siteplan.messages import english, join
from siteplan.planning.step import Told, sentences

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


#: A finding: the cause's code ('' for none), where it holds (m,), and the key of its sentence.
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
            "asbuilt.unexplained",
        )
    )
    # Adding zero turns the minus zero that rounding leaves into plain zero.
    values: dict[str, Any] = {
        k: at_decimals(v, 1) if isinstance(v, np.ndarray) and v.dtype == float else v
        for k, v in vars(x).items()
    }
    words = english()
    texts = [(mask, sentences(Told(key, mask, values), words)) for _, mask, key in findings]
    codes = [(m, np.full(int(m.sum()), c, dtype=object)) for c, m, _ in _merged(findings) if c]
    blocked = x.clearance_deg < 0
    leaky = x.cross_polar_db < x.wanted_cross_polar_db
    good = ~short & ~blocked & ~leaky & ~(x.buc_voltage_v < x.least_v)
    verdict = np.where(good, "accepted", "not accepted").astype(object)
    verdict[np.isnan(x.c_n_difference_db)] = "incomplete"
    found = join(texts, " ", n)
    nothing = found == ""
    found[nothing & (verdict == "accepted")] = words["asbuilt.as_planned"]
    found[nothing & (verdict == "incomplete")] = words["asbuilt.no_c_n"]
    return Verdict(verdict, join(codes, ";", n), found)


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
            "asbuilt.moved",
        ),
        (
            "moved",
            moved & np.isnan(x.margin_db),
            "asbuilt.moved_out_of_sight",
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
            "asbuilt.wrong_satellite",
        ),
        (
            "magnetic_bearing",
            magnetic,
            "asbuilt.magnetic_bearing",
        ),
        (
            "offset_reading",
            rim,
            "asbuilt.offset_reading",
        ),
        (
            "mispointed",
            wrong & short,
            "asbuilt.mispointed",
        ),
        (
            "",
            wrong & ~short & ~np.isnan(x.c_n_difference_db),
            "asbuilt.angles_misread",
        ),
        (
            "mispointed",
            wrong & np.isnan(x.c_n_difference_db),
            "asbuilt.maybe_mispointed",
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
            "asbuilt.skew_mirrored",
        ),
        (
            "wrong_skew",
            swapped,
            "asbuilt.skew_swapped",
        ),
        ("wrong_skew", off & ~mirrored & ~swapped, "asbuilt.skew_off"),
        (
            "wrong_skew",
            leaky,
            "asbuilt.cross_polar",
        ),
    ]


def _cable(x: Evidence) -> list[Finding]:
    """Return what cable and supply tell."""
    part = CABLE_EXCESS_PART * x.cable_loss_db
    lossy = x.cable_loss_difference_db > np.maximum(CABLE_EXCESS_DB, part)
    longer = x.cable_difference_m > np.maximum(
        CABLE_LONGER_M, CABLE_LONGER_PART * x.planned_cable_m
    )
    low = x.buc_voltage_v < x.expected_voltage_v - VOLTAGE_SHORT_V
    starved = x.buc_voltage_v < x.least_v
    return [
        ("", longer, "asbuilt.cable_longer"),
        (
            "wet_cable",
            lossy,
            "asbuilt.cable_lossy",
        ),
        (
            "low_voltage",
            low | starved,
            "asbuilt.low_voltage",
        ),
    ]


def _level(x: Evidence, short: BoolArray) -> list[Finding]:
    """Return what stands in the beam, and what the level tells by itself."""
    return [
        (
            "blocked",
            x.clearance_deg < 0,
            "asbuilt.blocked",
        ),
        ("", short, "asbuilt.short"),
        (
            "",
            x.c_n_difference_db > TOO_GOOD_DB,
            "asbuilt.too_good",
        ),
    ]
