"""Causes at built sites, limit by limit from both sides: many unlike sites judged in one call.

To add a finding: a `Case` a limit. Each changes a site that was built as planned, once so that the
finding just does not hold and once so that it just does; all stand in one call, in no order.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Any, NamedTuple

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.planning.asbuilt.causes import Evidence, Verdict, judged

NAN = float("nan")
ACCEPTED, REFUSED, INCOMPLETE = "accepted", "not accepted", "incomplete"
#: A site as planned: a dish of 22 degrees of offset at 9 degrees of declination, 30 m of cable
#: that should lose 10 dB and leave 21 V; the neighbour's satellite is 5 degrees off.
AS_PLANNED: dict[str, Any] = {
    "moved_m": 4.0,
    "azimuth_error_deg": 0.2,
    "elevation_error_deg": 0.1,
    "pointing_error_deg": 0.2,
    "skew_error_deg": 0.5,
    "mirrored_skew_deg": 40.0,
    "declination_deg": 9.0,
    "true_given": True,
    "offset_deg": 22.0,
    "neighbour_deg": 5.0,
    "beamwidth_deg": 1.5,
    "c_n_difference_db": -0.2,
    "cross_polar_db": 33.0,
    "cable_loss_db": 10.0,
    "cable_loss_difference_db": 0.3,
    "cable_difference_m": 1.0,
    "planned_cable_m": 10.0,
    "buc_voltage_v": 20.8,
    "expected_voltage_v": 21.0,
    "clearance_deg": 6.0,
    "margin_db": 2.5,
}
LIMITS = {
    "least_v": 18.0,
    "wanted_cross_polar_db": 30.0,
    "acceptance_db": 1.0,
    "moved_limit_m": 100.0,
}


class Case(NamedTuple):
    """A limit: the finding's key, and what a site tells on both sides of the limit.

    ``inside`` and ``beyond`` change a site as planned; ``verdict`` is the one beyond the limit,
    ``also`` what is told beside the finding there, and ``instead`` what is told inside.
    """

    key: str
    inside: dict[str, Any]
    beyond: dict[str, Any]
    verdict: str = ACCEPTED
    also: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    instead_verdict: str = ACCEPTED


def both(name: str, inside: float, beyond: float) -> tuple[dict[str, float], dict[str, float]]:
    """Return the two sides of a limit of one figure."""
    return {name: inside}, {name: beyond}


MISREAD, MISPOINTED = "angles_misread", "mispointed"
OFF = {"azimuth_error_deg": 8.0, "pointing_error_deg": 6.0}
SHORT = {"c_n_difference_db": -4.0}
CASES: tuple[Case, ...] = (
    Case("moved", *both("moved_m", 100.0, 100.001)),
    Case("moved_out_of_sight", {"moved_m": 100.0, "margin_db": NAN},
         {"moved_m": 100.001, "margin_db": NAN}),
    # Angles: 3 degrees of azimuth, 1 of elevation, either side; the signal says whose fault.
    Case(MISREAD, *both("azimuth_error_deg", 3.0, 3.001)),
    Case(MISREAD, *both("azimuth_error_deg", -3.0, -3.001)),
    Case(MISREAD, *both("elevation_error_deg", 1.0, 1.001)),
    Case(MISREAD, *both("elevation_error_deg", -1.0, -1.001)),
    Case(MISPOINTED, {**OFF, "c_n_difference_db": -1.0},
         {**OFF, "c_n_difference_db": -1.001}, REFUSED, also=("short",), instead=(MISREAD,)),
    Case("maybe_mispointed", {"azimuth_error_deg": 3.0, "c_n_difference_db": NAN},
         {"azimuth_error_deg": 3.001, "c_n_difference_db": NAN}, INCOMPLETE,
         instead_verdict=INCOMPLETE),
    # A bearing read off the compass: within 1 degree of the declination, which it lacks.
    Case("magnetic_bearing", *both("azimuth_error_deg", -10.0, -9.999),
         instead=(MISREAD,)),
    Case("magnetic_bearing", *both("azimuth_error_deg", -8.0, -8.001),
         instead=(MISREAD,)),
    Case("magnetic_bearing", {"azimuth_error_deg": 9.0},
         {"azimuth_error_deg": -9.0}, instead=(MISREAD,)),
    Case("magnetic_bearing",
         {"azimuth_error_deg": 5.0, "declination_deg": 5.0},
         {"azimuth_error_deg": 5.0, "declination_deg": -5.0}, instead=(MISREAD,)),
    Case("magnetic_bearing",
         {"azimuth_error_deg": -9.0, "true_given": False}, {"azimuth_error_deg": -9.0},
         instead=(MISREAD,)),
    Case("magnetic_bearing",
         {"azimuth_error_deg": 3.0, "declination_deg": -3.0},
         {"azimuth_error_deg": 3.001, "declination_deg": -3.0}),
    # The rim's tilt for the beam's elevation: within 1 degree of the offset, if there is one.
    Case("offset_reading", *both("elevation_error_deg", -23.0, -22.999),
         instead=(MISREAD,)),
    Case("offset_reading", *both("elevation_error_deg", -21.0, -21.001),
         instead=(MISREAD,)),
    Case("offset_reading", *both("elevation_error_deg", 23.0, 22.999),
         instead=(MISREAD,)),
    Case("offset_reading",
         {"elevation_error_deg": -1.5, "offset_deg": 0.0},
         {"elevation_error_deg": -1.5, "offset_deg": 0.6}, instead=(MISREAD,)),
    # Another satellite: nearer than 1 degree, and than half of the way from its own.
    Case("wrong_satellite", {**OFF, "neighbour_deg": 1.0},
         {**OFF, "neighbour_deg": 0.999}, instead=(MISREAD,)),
    Case("wrong_satellite",
         {"azimuth_error_deg": 4.0, "pointing_error_deg": 1.6, "neighbour_deg": 0.8},
         {"azimuth_error_deg": 4.0, "pointing_error_deg": 1.6, "neighbour_deg": 0.799},
         instead=(MISREAD,)),
    Case("wrong_satellite",
         {"azimuth_error_deg": 3.0, "pointing_error_deg": 6.0, "neighbour_deg": 0.1},
         {"azimuth_error_deg": 3.001, "pointing_error_deg": 6.0, "neighbour_deg": 0.1}),
    Case("wrong_satellite",
         {"elevation_error_deg": 1.0, "pointing_error_deg": 6.0, "neighbour_deg": 0.1},
         {"elevation_error_deg": 1.001, "pointing_error_deg": 6.0, "neighbour_deg": 0.1}),
    # Skew: 5 degrees off, either side; then whether it is mirrored or a quarter turn off.
    Case("skew_off", *both("skew_error_deg", 5.0, 5.001)),
    Case("skew_off", *both("skew_error_deg", -5.0, -5.001)),
    Case("skew_mirrored", {"skew_error_deg": 60.0, "mirrored_skew_deg": 5.0},
         {"skew_error_deg": 60.0, "mirrored_skew_deg": 4.999}, instead=("skew_off",)),
    Case("skew_mirrored", {"skew_error_deg": 60.0, "mirrored_skew_deg": -5.0},
         {"skew_error_deg": 60.0, "mirrored_skew_deg": -4.999}, instead=("skew_off",)),
    Case("skew_mirrored", {"skew_error_deg": 5.0, "mirrored_skew_deg": 0.0},
         {"skew_error_deg": 5.001, "mirrored_skew_deg": 0.0}),
    Case("skew_swapped", *both("skew_error_deg", 85.0, 85.001),
         instead=("skew_off",)),
    Case("skew_swapped", *both("skew_error_deg", -85.0, -85.001),
         instead=("skew_off",)),
    Case("cross_polar", *both("cross_polar_db", 30.0, 29.999), REFUSED),
    # Cable: 2 dB and a quarter of its loss; 3 m and 15 % of its length.
    Case("cable_lossy", *both("cable_loss_difference_db", 2.5, 2.501)),
    Case("cable_lossy", {"cable_loss_difference_db": 2.0, "cable_loss_db": 4.0},
         {"cable_loss_difference_db": 2.001, "cable_loss_db": 4.0}),
    Case("cable_longer", *both("cable_difference_m", 3.0, 3.001)),
    Case("cable_longer", {"cable_difference_m": 7.5, "planned_cable_m": 50.0},
         {"cable_difference_m": 7.501, "planned_cable_m": 50.0}),
    # Supply: 1.5 V under what the cable leaves, and 18 V at least.
    Case("low_voltage", *both("buc_voltage_v", 19.5, 19.499)),
    Case("low_voltage", {"buc_voltage_v": 18.0, "expected_voltage_v": 19.0},
         {"buc_voltage_v": 17.999, "expected_voltage_v": 19.0}, REFUSED),
    Case("low_voltage", {"buc_voltage_v": 18.0, "expected_voltage_v": NAN},
         {"buc_voltage_v": 17.999, "expected_voltage_v": NAN}, REFUSED),
    # Level and beam.
    Case("blocked", *both("clearance_deg", 0.0, -0.001), REFUSED),
    Case("short", *both("c_n_difference_db", -1.0, -1.001), REFUSED,
         also=("unexplained",)),
    Case("too_good", *both("c_n_difference_db", 3.0, 3.001)),
    # What else was found explains a short level; that the site moved does not.
    Case("unexplained", {**SHORT, "buc_voltage_v": 19.499},
         {**SHORT, "buc_voltage_v": 19.5}, REFUSED, also=("short",),
         instead=("low_voltage", "short"), instead_verdict=REFUSED),
    Case("unexplained", {**SHORT, "moved_m": 101.0, "clearance_deg": -0.1},
         {**SHORT, "moved_m": 101.0}, REFUSED, also=("moved", "short"),
         instead=("moved", "blocked", "short"), instead_verdict=REFUSED),
    Case("unexplained",
         {**SHORT, "cable_difference_m": 9.0, "cross_polar_db": 29.0},
         {**SHORT, "cable_difference_m": 9.0}, REFUSED, also=("cable_longer", "short"),
         instead=("cross_polar", "cable_longer", "short"), instead_verdict=REFUSED),
)  # fmt: skip
#: The code of each finding ('' for none), in the order in which they are told.
CODES = {
    "moved": "moved",
    "moved_out_of_sight": "moved",
    "wrong_satellite": "wrong_satellite",
    "magnetic_bearing": "magnetic_bearing",
    "offset_reading": "offset_reading",
    "mispointed": "mispointed",
    "angles_misread": "",
    "maybe_mispointed": "mispointed",
    "skew_mirrored": "wrong_skew",
    "skew_swapped": "wrong_skew",
    "skew_off": "wrong_skew",
    "cross_polar": "wrong_skew",
    "cable_longer": "",
    "cable_lossy": "wet_cable",
    "low_voltage": "low_voltage",
    "blocked": "blocked",
    "short": "",
    "too_good": "",
    "unexplained": "unexplained",
}
ORDER = tuple(CODES)


class Site(NamedTuple):
    """A site of the call, and what must be told of it."""

    figures: dict[str, Any]
    keys: tuple[str, ...]
    verdict: str


def sites() -> list[Site]:
    """Return both sides of every case, three times, in no order."""
    found = []
    for case in CASES:
        beyond = (case.key, *case.also)
        found.append(Site(AS_PLANNED | case.inside, case.instead, case.instead_verdict))
        found.append(Site(AS_PLANNED | case.beyond, beyond, case.verdict))
    found *= 3
    order = np.random.default_rng(8).permutation(len(found))
    return [found[k] for k in order]


def evidence(of: list[Site]) -> Evidence:
    columns = {
        name: np.array([site.figures[name] for site in of], dtype=type(AS_PLANNED[name]))
        for name in AS_PLANNED
    }
    return Evidence(**columns, **LIMITS)


def sentence(key: str, figures: dict[str, Any]) -> str:
    """Return a finding in words; figures are told to a tenth, minus zero as zero."""
    told = {k: round(float(v), 1) + 0.0 for k, v in (figures | LIMITS).items()}
    return english()[f"asbuilt.{key}"].format(**told)


@pytest.fixture(scope="module")
def judgement() -> tuple[list[Site], Verdict]:
    """All cases judged in one call."""
    of = sites()
    return of, judged(evidence(of))


def test_findings_of_every_site(judgement: tuple[list[Site], Verdict]) -> None:
    of, found = judgement
    nothing = {ACCEPTED: "As planned.", INCOMPLETE: "No C/N came back.", REFUSED: ""}
    for site, told in zip(of, found.findings, strict=True):
        keys = sorted(site.keys, key=ORDER.index)
        expected = " ".join(sentence(key, site.figures) for key in keys)
        assert told == (expected or nothing[site.verdict])


def test_verdict_of_every_site(judgement: tuple[list[Site], Verdict]) -> None:
    of, found = judgement
    assert found.verdict.tolist() == [site.verdict for site in of]
    for verdict in (ACCEPTED, REFUSED, INCOMPLETE):
        assert 3 <= found.verdict.tolist().count(verdict) <= len(of) - 3


def test_codes_of_every_site(judgement: tuple[list[Site], Verdict]) -> None:
    """Each code once, in the order of the findings."""
    of, found = judgement
    expected = [
        ";".join(dict.fromkeys(CODES[key] for key in sorted(site.keys, key=ORDER.index)
                               if CODES[key]))
        for site in of
    ]  # fmt: skip
    assert found.causes.tolist() == expected


@pytest.mark.parametrize("key", ORDER)
def test_each_finding_is_carried_by_some_and_not_by_others(key: str) -> None:
    carried = [key in site.keys for site in sites()]
    assert 3 <= sum(carried) <= len(carried) - 3


def test_every_finding_has_a_case_on_both_sides() -> None:
    keys = {k.removeprefix("asbuilt.") for k in english() if k.startswith("asbuilt.")}
    assert {case.key for case in CASES} == keys - {"as_planned", "no_c_n"} == set(ORDER)


def test_every_figure_of_the_evidence_counts_somewhere() -> None:
    """The beam's width alone decides nothing here."""
    changed = {name for case in CASES for name in (*case.inside, *case.beyond)}
    arrays = {f.name for f in fields(Evidence)} - set(LIMITS)
    assert set(AS_PLANNED) == arrays
    assert arrays - changed == {"beamwidth_deg"}


@pytest.mark.parametrize(
    ("limit", "figure", "low", "high"),
    [
        ("least_v", "buc_voltage_v", 19.6, 20.5),
        ("wanted_cross_polar_db", "cross_polar_db", 25.0, 32.0),
        ("moved_limit_m", "moved_m", 50.0, 200.0),
        ("acceptance_db", "c_n_difference_db", 0.5, 2.0),
    ],
)
def test_limits_that_the_network_file_gives(
    limit: str, figure: str, low: float, high: float
) -> None:
    """Each moves its own finding, whatever the number: a figure a hair to either side of it."""
    for value in (low, high):
        sign = -1.0 if limit == "acceptance_db" else 1.0
        three = [sign * value - 0.001, sign * value, sign * value + 0.001]
        at = evidence([Site(AS_PLANNED | {figure: v}, (), "")
                       for v in three])  # fmt: skip
        found = judged(Evidence(**(vars(at) | {limit: value})))
        expected = [False, False, True] if limit == "moved_limit_m" else [True, False, False]
        assert [c != "" for c in found.causes] == expected
