"""How high a sheet is taken to be: what each piece adds, and the type that follows from it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from siteplan.outputs.sheets.context import context
from siteplan.outputs.sheets.heights import (
    SKETCH_MM,
    density,
    half_heights_mm,
    rooms_mm,
    sketch_behind,
)
from siteplan.results import Plan
from tests.outputs.pack import with_pack

STOP = {"word": "Stop", "meaning": "x" * 20}


@pytest.fixture(scope="module")
def found(make_plan: Callable[..., Plan]) -> dict[str, Any]:
    plan = with_pack(make_plan(np.array([45.0]), np.array([20.0])), flags=("low_elevation",))
    return context(plan, 0) | {"stops": [], "notes": "", "options": [], "access": []}


@pytest.mark.parametrize(
    ("longer", "front_mm", "back_mm"),
    [
        # Lines in mm, as read off printed sheets; what stands in two columns counts half.
        ({"stops": [STOP]}, 4.2, 0),
        ({"stops": [STOP] * 4}, 4.2 * 2 + 2, 0),
        ({"notes": "x" * 123}, 0, 3.3 * 2),
        ({"options": ["x" * 66]}, 0, 3.3 / 2),
        ({"options": ["x" * 67]}, 0, 3.3),
        ({"neighbours": ["x" * 123]}, 0, 0),
        ({"access": [("gate", "x" * 400)]}, 3.3 * 5, 0),
    ],
)
def test_what_a_piece_adds(
    found: dict[str, Any], longer: dict[str, Any], front_mm: float, back_mm: float
) -> None:
    bare = {**found, "calls": [("Operator", "x")] * 9, "neighbours": []}
    before, after = half_heights_mm(bare), half_heights_mm(bare | longer)
    front_mm += 6.6 if "neighbours" in longer else 0
    assert after == pytest.approx((before[0] + front_mm, before[1] + back_mm), abs=1e-6)


def test_type_gets_smaller_as_a_sheet_gets_longer_and_sooner_on_letter(
    found: dict[str, Any],
) -> None:
    order = ("", "dense", "denser", "densest")
    steps = [density(found | {"stops": [STOP] * n}).split()[0] for n in range(2, 60, 2)]
    assert [order.index(name) for name in steps] == sorted(order.index(name) for name in steps)
    assert steps[-1] == "densest"
    for n in range(2, 60, 2):
        small = density(found | {"stops": [STOP] * n}, letter=True).split()[0]
        assert order.index(small) >= order.index(density(found | {"stops": [STOP] * n}).split()[0])


def test_drawings_keep_their_size_where_the_back_alone_is_long(found: dict[str, Any]) -> None:
    long_back = {**found, "options": ["x" * 66] * 90}
    assert density(long_back) == "densest drawn"
    assert density(long_back | {"stops": [STOP] * 60}) == "densest"


def test_a_long_zone_over_the_sun_s_hours_takes_lines(found: dict[str, Any]) -> None:
    """Forty characters a line; two lines are reckoned with always."""
    sun = {**found, "sun_hours": [("07:00", "90", "1")] * 9}
    short, long_ = sun | {"sun_day": "on 2026-11-02, UTC"}, sun | {"sun_day": "x" * 90}
    lines = -(-(len("Check the compass by the sun ") + 90) // 40) - 2
    higher = half_heights_mm(long_)[0] - half_heights_mm(short)[0]
    assert higher == pytest.approx(3.3 * lines, abs=1e-6)


def test_the_sketch_stands_on_the_half_with_more_room(found: dict[str, Any]) -> None:
    """Banners and flags fill the front, mounts that were weighed the back."""
    full_front = found | {"stops": [STOP] * 12, "options": []}
    full_back = found | {"stops": [], "neighbours": [], "options": ["x" * 66] * 55}
    assert sketch_behind(full_front, density(full_front))
    assert not sketch_behind(full_back, density(full_back))


def test_a_sketch_without_room_is_worth_the_next_smaller_type(found: dict[str, Any]) -> None:
    short = found | {"tune": (), "tune_notes": (), "sky": "", "sun_hours": [], "neighbours": []}
    sizes = [short | {"stops": [STOP] * n, "options": ["x" * 66] * n} for n in range(40)]
    left = [max(rooms_mm(of)[0]) for of in sizes if density(of) == ""]
    assert left
    assert min(left) >= SKETCH_MM
