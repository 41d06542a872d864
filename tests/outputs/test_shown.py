"""Values as texts: units, signs, decimals, blanks."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from siteplan.fields import FIELDS
from siteplan.outputs.shown import (
    SiteValues,
    Texts,
    amount,
    angle,
    fixed,
    label,
    range_labels,
    share_of_time,
    shown,
    sided,
    spelled,
    stated,
    to_walk,
    unit_sign,
    whole_or_short,
    words,
)
from siteplan.results import Plan
from siteplan.words import orbital_position


@pytest.mark.parametrize(
    ("name", "value", "read", "printed"),
    [
        ("elevation_deg", 12.345, "12.35°", "12.35 deg"),
        ("margin_db", 3.0, "3.0 dB", "3.0 dB"),
        ("availability_target_pct", 99.5, "99.500 %", "99.500 %"),
        ("margin_db", -0.04, "0.0 dB", "-0.0 dB"),
        *(
            (f"{who}_{where}_m", 0.0, *["the rule's limit is not reached"] * 2)
            for who in ("controlled", "public")
            for where in ("distance", "beside")
        ),
        ("public_distance_m", 1.2, "1.2 m", "1.2 m"),
        ("beam_over_head_m", 0.0, "0.0 m", "0.0 m"),
        ("margin_db", -0.0, "0.0 dB", "0.0 dB"),
        ("margin_db", math.nan, "", "-"),
        ("mount", "", "", "-"),
        ("mount", "pole", "pole", "pole"),
        ("sun_days", 7.0, "7", "7"),
    ],
)
def test_a_value_of_the_dictionary(name: str, value: Any, read: str, printed: str) -> None:
    assert shown(value, FIELDS[name]) == read
    assert spelled(value, FIELDS[name]) == printed


def test_nothing_is_blank() -> None:
    assert shown(None, FIELDS["mount"]) == ""
    assert shown("  two words ", FIELDS["mount"]) == "two words"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (amount(1.5, "dB"), "1.5 dB"),
        (amount(1.25, "m", 1), "1.2 m"),
        (amount(99.99, "%"), "99.99 %"),
        (amount(3, ""), "3"),
        (angle(0.5), "0.5°"),
        (angle(359.96, 1), "360.0°"),
        (stated("1500", "Pa/m"), "1500 Pa/m"),
        (stated("pole", ""), "pole"),
        (share_of_time(99.5), "99.5 %"),
        (share_of_time(99.5, 99.5), "99.5 %"),
        (share_of_time(99.0, 99.9), "99 to 99.9 %"),
        (unit_sign("deg"), "°"),
        (unit_sign("dB"), "dB"),
        (fixed(-3.1, 6), "-3.100000"),
        (whole_or_short(12.5), "12.5"),
        (whole_or_short(1234567.0), "1234567"),
        (words("non_penetrating"), "non penetrating"),
        (label("margin_db"), FIELDS["margin_db"].label),
        (label("not_a_field"), "not_a_field"),
    ],
)
def test_a_value_of_a_unit(text: str, expected: str) -> None:
    assert text == expected


def test_classes_in_words() -> None:
    assert range_labels([], "dB") == ["All values"]
    assert range_labels([0.5], "dB") == ["below 0.5 dB", "0.5 dB or more"]
    assert range_labels([-3, 0, 3], "deg") == ["below -3°", "-3 to 0°", "0 to 3°", "3° or more"]


@pytest.mark.parametrize(
    ("distance_m", "expected"),
    [(0.0, "any"), (-1.0, "any"), (0.01, "0.1 m"), (7.1, "7.1 m"), (7.11, "7.2 m"), (31.3, "32 m")],
)
def test_a_distance_to_keep_is_never_rounded_down(distance_m: float, expected: str) -> None:
    assert to_walk(distance_m) == expected


def test_an_angle_with_its_half() -> None:
    assert sided(-3.1, "NS", 6) == "3.100000° S"
    assert sided(0.0, "EW", 1) == "0.0° E"
    assert sided(1.26, ("east", "west"), 1) == "1.3° east"


@pytest.mark.parametrize(
    ("longitude_deg", "plain", "one_decimal", "terminal"),
    [
        (13.0, "13° E", "13.0° E", "13 E"),
        (-30.5, "30.5° W", "30.5° W", "30.5 W"),
        (330.0, "30° W", "30.0° W", "30 W"),
        (0.0, "0° E", "0.0° E", "0 E"),
        (math.nan, "an unknown position", "an unknown position", "an unknown position"),
    ],
)
def test_where_a_satellite_stands(
    longitude_deg: float, plain: str, one_decimal: str, terminal: str
) -> None:
    assert orbital_position(longitude_deg) == plain
    assert orbital_position(longitude_deg, decimals=1) == one_decimal
    assert orbital_position(longitude_deg, sign="") == terminal


def test_the_values_of_a_site(make_plan: Callable[..., Plan]) -> None:
    plan = make_plan(np.array([10.0, 20.0]), np.array([5.0, 6.0]))
    columns = dict(plan.columns)
    columns["skew_deg"] = np.array([-12.34, math.nan])
    columns["c_n_difference_db"] = np.array([1.26, 0.04])
    first, second = (SiteValues(Plan(columns, {}, plan.network, ()), i) for i in (0, 1))
    assert first["skew_deg"] == "-12.3°"
    assert first.size("skew_deg") == "12.3°"
    assert first.size("skew_deg", "m") == "12.3 m"
    assert second.size("skew_deg") == ""
    assert first.difference("c_n_difference_db") == "+1.3 dB"
    assert second.difference("c_n_difference_db") == "0.0 dB"
    assert first["not_a_field"] == ""
    assert math.isnan(first.number("not_a_field"))
    assert second.rows("skew_deg", "lat") == [("Latitude", "20.000000°")]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_all_sites_texts_are_those_of_each(make_plan: Callable[..., Plan], units: str) -> None:
    lat, lon = np.array([10.0, 20.0, 11.0, 60.0]), np.array([5.0, 6.0, 5.5, 170.0])
    plan = make_plan(lat, lon)
    told = np.array(["A run of 62 m would do.", " ", "", ""], dtype=object)
    columns = {
        **plan.columns,
        "skew_deg": np.array([-0.0, 0.04, -0.04, math.nan]),
        "no_fit_reason": told,
    }
    plan = Plan(columns, {}, plan.network, ())
    texts = Texts(plan, units)
    for i in range(len(plan)):
        alone, among = SiteValues(plan, i, units), SiteValues(plan, i, units, texts)
        assert {name: alone[name] for name in FIELDS} == {name: among[name] for name in FIELDS}
        assert among["not_a_field"] == ""
