"""Degrees, minutes and seconds run together: what is one, and what only looks so."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.inputs.layout.packed import packed_degrees, spelled
from siteplan.inputs.sites.read import sites_from_frame


@pytest.mark.parametrize(
    ("number", "form", "degrees"),
    [
        (373621, "s0", 37 + 36 / 60 + 21 / 3600), (-373621.5, "s0", -37.6059722222),
        (3736215, "s1", 37.6059722222), (37362150, "s2", 37.6059722222),
        (373621500, "s3", 37.6059722222), (3736.35, "m", 37.6058333333), (30, "s0", 30 / 3600),
        (376021, "s0", None), (373660, "s0", None), (3760.0, "m", None), (903621, "s0", None),
        (3736215.5, "s1", None),
    ],
)  # fmt: skip
def test_the_digits_of_each_form(number: float, form: str, degrees: float | None) -> None:
    (found,) = packed_degrees(np.array([number]), form, 90.0)
    assert found == pytest.approx(np.nan if degrees is None else degrees, abs=1e-9, nan_ok=True)


def test_one_is_spelled_for_a_message() -> None:
    assert [spelled(373621, "s0"), spelled(-3736.35, "m"), spelled(91205.5, "s0")] == [
        "37°36'21\"", "-37°36.35'", "9°12'5.5\"",
    ]  # fmt: skip


def test_decimals_that_lost_their_mark_are_no_packed_degrees() -> None:
    """Seconds of 60 and more show it: each row is told so, and none is read."""
    lat, lon = (
        [-33758123, -33829945, -33996701, -33118512],
        [-70667512, -70758803, -70179145, -70996467],
    )
    found = sites_from_frame({"lat": lat, "lon": lon})
    assert len(found.sites) == 0
    assert {"decimal mark looks lost" in reject.reason for reject in found.rejects} == {True}
