"""One number as people type it; whole columns are in test_optional."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.inputs.sites.numbers import (
    Unusable,
    compass_direction,
    number_with_unit,
    parse_number,
)


@given(st.floats(-1e6, 1e6))
def test_plain_numbers_round_trip(value):
    assert parse_number(f"{value:.6f}") == (float(f"{value:.6f}"), None)


@pytest.mark.parametrize(
    ("text", "number"),
    [("1 234 567", 1234567), ("1,234.5", 1234.5), ("1.234,5", 1234.5), ("1'234.5", 1234.5)],
)
def test_thousands_marks_are_left_out_with_a_note(text, number):
    got, note = parse_number(text)
    assert got == number
    assert note is not None
    assert note(column="x", text=text).sentence == f"x '{text}': thousands marks left out."


def test_a_unit_of_the_cell_goes_before_the_columns():
    feet = {"m": 1.0, "ft": 0.3048}
    assert number_with_unit("100", feet, factor=0.3048) == (pytest.approx(30.48), None)
    number, note = number_with_unit("100 m", feet, factor=0.3048)
    assert number == 100
    assert note is not None
    assert note(column="x", text="100 m").sentence == "x '100 m': taken in m, as the cell says."
    assert number_with_unit("100 m", feet) == (100, None)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("1,234", r"^has two readings, 1\.234 and 1234$"),
        ("12 apples", "^is not a number$"),
        ("#REF!", "^is a broken formula$"),
    ],
)
def test_the_reason_and_the_note_say_the_same(text, reason):
    with pytest.raises(Unusable, match=reason) as caught:
        number_with_unit(text, {})
    told = caught.value.note(column="x", text=text, limits="0 to 1 m").sentence
    assert told == f"x '{text}' {caught.value}: taken as unknown; allowed: 0 to 1 m."


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("N", 0), ("north-east", 45), ("WSW", 247.5), ("North West", 315), ("the street", None)],
)
def test_compass_words(text, degrees):
    assert compass_direction(text) == degrees
