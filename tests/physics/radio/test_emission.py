"""Designators of emission: the examples of the Radio Regulations, rounding, and the form."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.radio.emission import designator, necessary_bandwidth

# Radio Regulations, Appendix 1, the examples of the necessary bandwidth (read in public copies).
EXAMPLES = {
    **{0.002: "H002", 0.1: "H100", 25.3: "25H3", 400: "400H", 2.4e3: "2K40", 6e3: "6K00"},
    **{12.5e3: "12K5", 180.4e3: "180K", 180.5e3: "181K", 180.6e3: "181K", 1.25e6: "1M25"},
    **{2e6: "2M00", 10e6: "10M0", 202e6: "202M", 5.65e9: "5G65"},
}


@pytest.mark.parametrize("hz", EXAMPLES)
def test_the_examples_of_the_radio_regulations(hz):
    assert necessary_bandwidth(hz) == EXAMPLES[hz]


@pytest.mark.parametrize(
    ("hz", "told"),
    [
        *((999.6e3, "1M00"), (307.2e3, "307K"), (999.5, "1K00"), (999.4, "999H")),
        *((0.9995, "1H00"), (0.9994, "H999"), (0.001, "H001"), (0.0005, "H001")),
        *((9.995, "10H0"), (99.95, "100H"), (1.005e6, "1M01"), (1.015e6, "1M02")),
        *((2.5e3 * 1.002, "2K51"), (999e9, "999G"), (256_000 * 1.2, "307K")),
    ],
)
def test_halves_round_up_and_carry_into_the_next_unit(hz, told):
    assert necessary_bandwidth(hz) == told


@given(st.floats(0.001, 999e9))
def test_the_form_and_the_value(hz):
    told = necessary_bandwidth(hz)
    assert re.fullmatch(r"[1-9]\d\d[HKMG]|[1-9]\d[HKMG]\d|[1-9][HKMG]\d\d|H\d\d\d", told)
    letter = next(c for c in told if c in "HKMG")
    value = Decimal(told.replace(letter, ".")) * 1000 ** "HKMG".index(letter)
    step = Decimal(10) ** (value.adjusted() - 2) if value >= 1 else Decimal("0.001")
    assert abs(value - Decimal(hz)) <= step * Decimal("0.500001")


def test_the_class_follows():
    assert designator(307.2e3, "G7W") == "307KG7W"
    assert designator(1.2e6, " d7w ") == "1M20D7W"
