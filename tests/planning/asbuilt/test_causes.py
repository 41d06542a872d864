"""Every limit of the causes from both sides, and the one table of verdicts."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Obstructions, Returned
from siteplan.planning.asbuilt.causes import Evidence, figures, findings
from siteplan.planning.asbuilt.readings import read_again
from siteplan.planning.asbuilt.verdicts import RULES, judged

#: A site at 30 degrees of elevation and 9 of declination, built as planned.
AS_PLANNED: dict[str, Any] = {
    "swapped": False,
    "sign_lost": False,
    "true_given": True,
    "no_kit": False,
    "sees": True,
    "altitude_feet": False,
    "cable_feet": False,
    "read_lat": 46.1,
    "read_lon": 6.2,
    "measured_altitude_m": 400.0,
    "planned_altitude_m": 400.0,
    "measured_elevation_deg": 30.0,
    "declination_deg": 9.0,
    "offset_deg": 22.0,
    "neighbour_deg": 5.0,
    "mirrored_skew_deg": 40.0,
    "c_n_db": 10.0,
    "accepted_from_db": 9.0,
    "cross_polar_db": 33.0,
    "measured_cable_m": 20.0,
    "cable_loss_db": 6.0,
    "planned_cable_m": 20.0,
    "buc_voltage_v": 22.0,
    "expected_voltage_v": 22.0,
    "clearance_deg": 5.0,
    "margin_db": 3.0,
    "rim_error_deg": np.nan,
    "id_written": "",
    "built_margin_db": 3.0,
    "stopped_by": "",
}
LIMITS = {"least_v": 18.0, "wanted_cross_polar_db": 30.0, "linear": True}


def evidence(**changes: Any) -> Evidence:
    """Return the evidence of one site as planned, but for ``changes``."""
    values: dict[str, Any] = {}
    for f in fields(Evidence):
        value = changes.get(f.name, AS_PLANNED.get(f.name, LIMITS.get(f.name, 0.0)))
        values[f.name] = value if f.name in LIMITS else np.array([value])
    return Evidence(**values)


def told(x: Evidence) -> set[str]:
    """Return the keys of what is found."""
    return {key.removeprefix("asbuilt.") for key, mask in findings(x).items() if mask[0]}


def verdict(x: Evidence) -> str:
    return str(judged(findings(x), figures(x)).verdict[0])


def off(azimuth: float = 0.0, elevation: float = 0.0, **more: float) -> dict[str, float]:
    return {
        "azimuth_error_deg": azimuth,
        "elevation_error_deg": elevation,
        "measured_elevation_deg": 30.0 + elevation,
        "pointing_error_deg": float(np.hypot(azimuth * np.cos(np.radians(30)), elevation)),
        **more,
    }


# What is found, just short of its limit and just past it; common practice, no source.
BOTH_SIDES = [
    ("moved", {"moved_m": 99.9}, {"moved_m": 100.1}),
    ("far_away", {"moved_m": 1999.0}, {"moved_m": 2001.0}),
    ("angles_misread", off(2.9), off(3.1)),
    ("angles_misread", off(0, 0.9), off(0, 1.1)),
    ("angles_misread", off(0, -0.9), off(0, -1.1)),
    ("angles_far_off", off(14.9), off(15.1)),
    ("angles_far_off", off(0, 4.9), off(0, 5.1)),
    ("wrong_satellite", off(4, neighbour_deg=1.01), off(4, neighbour_deg=0.99)),
    ("wrong_satellite", off(0, 1.2, neighbour_deg=0.61), off(0, 1.2, neighbour_deg=0.59)),
    ("turned_round", off(176.9), off(177.1)),
    ("turned_round", off(-176.9), off(-177.1)),
    ("magnetic_bearing", off(-7.9), off(-8.1)),
    ("magnetic_bearing", off(-10.1), off(-9.9)),
    ("true_bearing", off(7.9, true_given=False), off(8.1, true_given=False)),
    ("declination_reversed", off(16.9), off(17.1)),
    ("declination_reversed", off(-19.1), off(-18.9)),
    ("offset_reading", off(0, -20.9), off(0, -21.1)),
    ("zenith_angle", off(0, 31.1), off(0, 30.9)),
    ("zenith_angle", off(0, 28.9), off(0, 29.1)),
    ("skew_off", {"skew_error_deg": 4.9}, {"skew_error_deg": 5.1}),
    (
        "skew_mirrored",
        {"skew_error_deg": 30.0, "mirrored_skew_deg": 5.1},
        {"skew_error_deg": 30.0, "mirrored_skew_deg": 4.9},
    ),
    ("skew_swapped", {"skew_error_deg": 84.9}, {"skew_error_deg": 85.1}),
    ("cross_polar", {"cross_polar_db": 30.0}, {"cross_polar_db": 29.999}),
    ("no_isolation", {"cross_polar_db": 0.0}, {"cross_polar_db": np.nan}),
    ("cable_longer", {"cable_difference_m": 2.9}, {"cable_difference_m": 3.1}),
    (
        "cable_longer",
        {"planned_cable_m": 40.0, "cable_difference_m": 5.9},
        {"planned_cable_m": 40.0, "cable_difference_m": 6.1},
    ),
    ("cable_lossy", {"cable_loss_difference_db": 1.9}, {"cable_loss_difference_db": 2.1}),
    (
        "cable_lossy",
        {"cable_loss_db": 12.0, "cable_loss_difference_db": 2.9},
        {"cable_loss_db": 12.0, "cable_loss_difference_db": 3.1},
    ),
    ("cable_loss_low", {"cable_loss_difference_db": -2.9}, {"cable_loss_difference_db": -3.1}),
    (
        "cable_loss_low",
        {"cable_loss_db": 3.0, "cable_loss_difference_db": -1.9},
        {"cable_loss_db": 3.0, "cable_loss_difference_db": -2.1},
    ),
    ("low_voltage", {"buc_voltage_v": 20.5}, {"buc_voltage_v": 20.4}),
    ("voltage_starved", {"buc_voltage_v": 18.0}, {"buc_voltage_v": 17.999}),
    ("blocked", {"clearance_deg": 0.0}, {"clearance_deg": -0.001}),
    ("short", {"c_n_db": 9.0}, {"c_n_db": 8.999}),
    ("too_good", {"c_n_difference_db": 3.0}, {"c_n_difference_db": 3.1}),
    ("no_c_n", {"c_n_db": 9.0}, {"c_n_db": np.nan}),
    ("nothing_expected", {"accepted_from_db": 9.0}, {"accepted_from_db": np.nan}),
]


@pytest.mark.parametrize(("key", "inside", "beyond"), BOTH_SIDES)
def test_each_limit_from_both_sides(
    key: str, inside: dict[str, Any], beyond: dict[str, Any]
) -> None:
    assert key not in told(evidence(**inside))
    assert key in told(evidence(**beyond))


def test_as_planned_nothing_is_found() -> None:
    assert told(evidence()) == set()
    assert judged(findings(evidence()), figures(evidence())).findings.tolist() == ["As planned."]


def test_mispointed_where_the_signal_is_short_or_missing() -> None:
    assert "mispointed" in told(evidence(**off(5), c_n_db=8.0))
    assert "maybe_mispointed" in told(evidence(**off(5), c_n_db=np.nan))
    assert verdict(evidence(**off(5), c_n_db=np.nan)) == "incomplete"


def test_a_quarter_turn_and_the_other_sign_look_alike_at_45_degrees_the_worse_counts() -> None:
    x = evidence(skew_error_deg=90.0, mirrored_skew_deg=0.0)
    assert told(x) == {"skew_swapped"}
    assert verdict(x) == "not accepted"


@pytest.mark.parametrize(
    ("changes", "keys"),
    [
        ({"built_margin_db": -0.1}, {"target_missed"}),
        ({"built_margin_db": -1e-9}, set()),
        ({"built_margin_db": 0.0}, set()),
        ({"built_margin_db": np.nan}, set()),
        (
            {"built_margin_db": -0.1, "moved_m": 300.0, "sees": True},
            {"moved", "target_missed_there"},
        ),
        ({"stopped_by": "Every mount is beyond a limit"}, {"stopped"}),
        ({"stopped_by": "x", "built_margin_db": -1.0, "no_kit": True}, {"unplanned_kit"}),
    ],
)
def test_what_the_plan_does_not_serve(changes: dict[str, Any], keys: set[str]) -> None:
    assert told(evidence(**changes)) == keys


def test_a_cable_that_loses_too_little_is_told_as_less() -> None:
    x = evidence(cable_loss_difference_db=-48.7, cable_loss_db=60.0)
    assert "asbuilt.cable_loss_low" in findings(x)
    words = judged(findings(x), figures(x)).findings[0]
    assert "lose 48.7 dB less than its class" in words
    assert "-48.7" not in words


def test_the_table_has_every_finding_once() -> None:
    keys = [rule.key for rule in RULES]
    assert len(set(keys)) == len(keys)
    assert set(findings(evidence())) | {"asbuilt.unexplained"} == set(keys)


# The causes that contradict a site, and what leaves it open: by the table, and by nothing else.
@pytest.mark.parametrize(
    ("verdict_of", "keys"),
    [
        (
            "not accepted",
            {"moved_out_of_sight", "far_away", "wrong_satellite", "turned_round", "mispointed",
             "skew_swapped", "cross_polar", "voltage_starved", "blocked", "short", "unexplained"},
        ),
        (
            "incomplete",
            {"position_swapped", "position_sign", "altitude_feet", "cable_feet", "cable_loss_low",
             "angles_far_off", "maybe_mispointed", "no_isolation", "no_c_n", "nothing_expected"},
        ),
        ("nothing to accept", {"no_kit", "unplanned_kit", "moved_without_kit"}),
        ("accepted but not served", {"target_missed", "target_missed_there", "stopped"}),
    ],
)  # fmt: skip
def test_what_bars_and_what_leaves_open(verdict_of: str, keys: set[str]) -> None:
    found = {rule.key.removeprefix("asbuilt.") for rule in RULES if rule.verdict == verdict_of}
    assert found == keys


def test_the_verdict_is_the_worst_of_the_findings() -> None:
    """Random findings: whatever else is found, one that bars bars, one that is open stays so."""
    rng = np.random.default_rng(5)
    n = 400
    masks = {rule.key: rng.random(n) < 0.05 for rule in RULES if rule.key != "asbuilt.unexplained"}
    numbers = figures(evidence())
    numbers = {k: np.resize(v, n) if isinstance(v, np.ndarray) else v for k, v in numbers.items()}
    found = judged(masks, numbers)
    order = [
        "accepted",
        "accepted but not served",
        "incomplete",
        "not accepted",
        "nothing to accept",
    ]
    for i in range(n):
        here = [order.index(r.verdict) for r in RULES if r.key in masks and masks[r.key][i]]
        assert order.index(found.verdict[i]) == max(here, default=0)
        causes = found.causes[i].split(";")
        assert len(set(causes)) == len(causes)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"cross_polar_db": 29.96}, "isolation is 29.96 dB, less than the 30 dB"),
        ({"cross_polar_db": 29.99999}, "isolation is just under 30 dB, less than the 30 dB"),
        ({"buc_voltage_v": 17.98}, "gets 17.98 V and needs 18 V"),
        (
            {"buc_voltage_v": 20.0},
            "The BUC gets 20.0 V, 22.0 V were expected: look for a bad connector, a wet or thinner"
            " cable, a core of clad steel instead of copper, or a weak supply (it needs 18 V).",
        ),
        ({"clearance_deg": -0.04}, "(-0.04 deg of clearance)"),
        ({"c_n_db": 8.97}, "C/N is 8.97 dB, less than the 9.0 dB"),
        (
            {"moved_m": 2004.0},
            "2.004 km is too far for the same site (limit by common practice: 2 km)",
        ),
        ({"cross_polar_db": 25.2}, "isolation is 25 dB, less than the 30 dB"),
    ],
)
def test_a_rounded_figure_does_not_contradict_the_verdict(
    changes: dict[str, float], words: str
) -> None:
    x = evidence(**changes)
    assert words in judged(findings(x), figures(x)).findings[0]


def returned(**changes: float) -> Returned:
    """Return one site of which nothing but ``changes`` came back."""
    blank = {f.name: np.array([np.nan]) for f in fields(Returned)}
    text = np.array([""], dtype=object)
    nothing = Obstructions(*(np.empty(0) for _ in fields(Obstructions)))
    blank |= {k: np.array([v]) for k, v in changes.items()}
    fixed = {"site_id": text, "id_written": text, "remarks": text, "source_row": np.array([2])}
    return Returned(**(blank | fixed | {"obstacles": nothing, "blank": 0}))


PLAN = {
    "lat": np.array([10.0]),
    "lon": np.array([40.0]),
    "altitude_m": np.array([500.0]),
    "ifl_length_m": np.array([30.0]),
    "cable_loss_high_db": np.array([9.0]),
}


# A degree of latitude is some 110.6 km there: 2 km are 0.0181 degree.
@pytest.mark.parametrize(
    ("lat", "lon", "swapped", "sign_lost"),
    [
        (40.0, 10.0, True, False),
        (40.0, 10.0180, True, False),
        (40.0, 10.0182, False, False),
        (-10.0180, 40.0, False, True),
        (-10.0182, 40.0, False, False),
        (10.0, -40.0, False, True),
        (10.0, 320.0, False, True),  # 40 W as a longitude of 0 to 360
        (-10.0, -40.0, False, True),
        (-40.0, 10.0, True, False),
        (40.0, -10.0, True, False),
        (-40.0, -10.0, True, False),
        (10.0180, 40.0, False, False),
        (np.nan, np.nan, False, False),
    ],
)
def test_positions_are_read_again(lat: float, lon: float, swapped: bool, sign_lost: bool) -> None:
    found = read_again(returned(lat=lat, lon=lon), PLAN)
    assert (bool(found.swapped[0]), bool(found.sign_lost[0])) == (swapped, sign_lost)
    if swapped or sign_lost:
        assert found.lat[0] == pytest.approx(10, abs=0.0181)
        assert found.lon[0] == pytest.approx(40, abs=1e-9)
    else:
        np.testing.assert_array_equal([found.lat[0], found.lon[0]], [lat, lon])


# 30 m are 98.4 feet; within a tenth of the run.
@pytest.mark.parametrize(
    ("cable", "loss", "feet"),
    [
        (98.4, np.nan, True),
        (88.7, np.nan, True),
        (88.4, np.nan, False),
        (108.1, np.nan, True),
        (108.4, np.nan, False),
        (98.4, 9.0, True),
        (98.4, 19.2, True),  # between the 9.0 dB of 30 m and the 29.5 dB of 98.4 m
        (98.4, 19.4, False),
        (30.0, 9.0, False),
    ],
)
def test_a_cable_run_in_feet(cable: float, loss: float, feet: bool) -> None:
    found = read_again(returned(cable_m=cable, cable_loss_db=loss), PLAN)
    assert bool(found.cable_feet[0]) == feet
    assert found.cable_m[0] == pytest.approx(cable * (0.3048 if feet else 1), abs=1e-9)


@pytest.mark.parametrize(
    ("altitude", "planned", "feet"),
    [
        (1640.0, 500.0, True),
        (1476.9, 500.0, True),  # 450.2 m: a tenth less
        (1475.9, 500.0, False),
        (148.0, 46.0, True),
        (145.0, 46.0, False),  # under 100 m off, as altitudes of maps may be
        (520.0, 500.0, False),
    ],
)
def test_an_altitude_in_feet(altitude: float, planned: float, feet: bool) -> None:
    plan = PLAN | {"altitude_m": np.array([planned])}
    found = read_again(returned(altitude_m=altitude), plan)
    assert bool(found.altitude_feet[0]) == feet


def test_evidence_of_many_sites_is_that_of_each() -> None:
    alone = [evidence(**beyond) for _, _, beyond in BOTH_SIDES]
    names = [f.name for f in fields(Evidence) if f.name not in LIMITS]
    stacked = {name: np.concatenate([getattr(x, name) for x in alone]) for name in names}
    together = replace(alone[0], **stacked)
    many = judged(findings(together), figures(together))
    for i, x in enumerate(alone):
        one = judged(findings(x), figures(x))
        assert one.verdict[0] == many.verdict[i]
        assert one.findings[0] == many.findings[i]
