"""Words that are spelled once."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.words import class_labels, orbital_position, percent


@pytest.mark.parametrize(
    ("longitude_deg", "sheet", "page", "screen"),
    [
        (13.0, "13° E", "13.0° E", "13 E"),
        (-8.0, "8° W", "8.0° W", "8 W"),
        (323.5, "36.5° W", "36.5° W", "36.5 W"),
        (0.0, "0° E", "0.0° E", "0 E"),
        (-0.0, "0° E", "0.0° E", "0 E"),
        (360.0, "0° E", "0.0° E", "0 E"),
        (-61.05, "61.05° W", "61.0° W", "61.05 W"),
        # Of the one meridian that has two names, the one that was given.
        (180.0, "180° E", "180.0° E", "180 E"),
        (-180.0, "180° W", "180.0° W", "180 W"),
    ],
)
def test_orbital_positions(longitude_deg: float, sheet: str, page: str, screen: str) -> None:
    assert orbital_position(longitude_deg) == sheet
    assert orbital_position(longitude_deg, decimals=1) == page
    assert orbital_position(longitude_deg, sign="") == screen


@pytest.mark.parametrize("unknown", [float("nan"), float("inf")])
def test_an_orbital_position_that_nobody_knows(unknown: float) -> None:
    assert orbital_position(unknown) == "an unknown position"


@given(st.floats(-180, 360))
def test_an_orbital_position_says_the_half_that_it_lies_in(longitude_deg: float) -> None:
    number, half = orbital_position(longitude_deg, sign="").split(" ")
    assert 0 <= float(number) <= 180
    said = float(number) if half == "E" else -float(number)
    off = (said - longitude_deg + 180) % 360 - 180
    assert abs(off) <= 5e-4  # six digits


def test_percentages() -> None:
    assert [percent(value) for value in (99.5, 100.0, 99.99, 0.0)] == [
        *("99.5 %", "100 %", "99.99 %", "0 %")
    ]


@pytest.mark.parametrize(
    ("bounds", "unit", "labels"),
    [
        ((), "dB", ["all values"]),
        ((3.0,), "dB", ["below 3 dB", "3 dB or more"]),
        ((-2.0, 0.0, 0.5), "dB", ["below -2 dB", "-2 to 0 dB", "0 to 0.5 dB", "0.5 dB or more"]),
        ((10, 20), "deg", ["below 10°", "10 to 20°", "20° or more"]),
        ((10, 20), "°", ["below 10°", "10 to 20°", "20° or more"]),
        ((1, 2), "", ["below 1", "1 to 2", "2 or more"]),
    ],
)
def test_class_labels(bounds: tuple[float, ...], unit: str, labels: list[str]) -> None:
    assert class_labels(bounds, unit) == labels


def test_words_are_light() -> None:
    code = (
        "import sys; before = set(sys.modules); import siteplan.words;"
        "print(sorted({m.split('.')[0] for m in set(sys.modules) - before}"
        " - sys.stdlib_module_names))"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "['siteplan']"
