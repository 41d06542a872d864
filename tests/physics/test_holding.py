"""Ballast, footing, fixings: statics that must close, and cases by hand."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.constants import GRAVITY_M_S2
from siteplan.physics.holding import ballast, pole_embedment_m, wall_reactions

#: Usual figures of the network file: they are the caller's.
SOIL_PA_PER_M = 15_700.0
HOLDING = {"friction": 0.4, "safety": 1.5}

forces = st.floats(50, 20_000)
lengths = st.floats(0.2, 5)
frictions = st.floats(0.2, 0.7)


@given(forces, st.floats(0, 2000), st.tuples(lengths, lengths), st.floats(0, 100), frictions)
def test_ballast_just_holds(drag, lift, sides, mount, friction):
    lever, base = sides
    out = ballast(drag, lift, lever, base, mount_kg=mount, friction=friction, safety=1.5)
    weight = (out.ballast_kg + mount) * GRAVITY_M_S2
    grip, tipping = friction * (weight - 1.5 * lift), 1.5 * (drag * lever + lift * base / 2)
    assert grip >= 1.5 * drag * (1 - 1e-9)
    assert weight * base / 2 >= tipping * (1 - 1e-9)
    if out.ballast_kg > 0:
        slack = min(grip / (1.5 * drag), weight * base / 2 / tipping)
        np.testing.assert_allclose(slack, 1, rtol=1e-9)


def test_ballast_by_hand():
    # Drag 1000 N, no lift, lever 1 m, base 2 m, friction 0.4, safety 1.5: sliding 3750 N,
    # overturning 1500 N; the frame's 40 kg are taken off.
    out = ballast(1000, 0, 1, 2, mount_kg=40, **HOLDING)
    expected = [3750 / 9.80665 - 40, 1500 / 9.80665 - 40, 3750 / 9.80665 - 40, 3750 / 4]
    np.testing.assert_allclose(out, expected, rtol=1e-12)


def test_lift_and_smooth_roofs_cost_ballast():
    plain = ballast(1000, 0, 1, 2, **HOLDING).ballast_kg
    assert ballast(1000, 300, 1, 2, **HOLDING).ballast_kg > plain
    assert ballast(1000, 0, 1, 2, **HOLDING | {"friction": 0.6}).ballast_kg < plain
    assert ballast(0, 0, 1, 2, **HOLDING).ballast_kg == 0


def test_a_heavy_mount_needs_no_ballast():
    out = ballast(100, 0, 1, 2, mount_kg=500, **HOLDING)
    np.testing.assert_allclose(out.ballast_kg, 0, atol=0)
    np.testing.assert_allclose(out.roof_load_pa, 500 * 9.80665 / 4, rtol=1e-12)


@given(forces, lengths, st.floats(0.2, 1.5), st.floats(8000, 60_000))
def test_embedment_solves_the_code_s_formula(drag, lever, footing, soil):
    depth = pole_embedment_m(drag, lever, footing, soil)
    a = 2.34 * drag / (soil * depth / 3 * footing)
    np.testing.assert_allclose(a / 2 * (1 + np.sqrt(1 + 4.36 * lever / a)), depth, rtol=1e-9)


def test_embedment_without_wind_is_nothing_and_grows_with_the_lever():
    assert pole_embedment_m(0, 2, 0.4, SOIL_PA_PER_M) < 1e-9
    assert (np.diff(pole_embedment_m(1500, [0.0, 1, 2, 4], 0.4, SOIL_PA_PER_M)) > 0).all()
    assert pole_embedment_m([1000, 2000], [[1], [2], [3]], 0.4, SOIL_PA_PER_M).shape == (3, 2)


def test_wall_pull_by_hand():
    # 1200 N off the wall: 300 N a fixing; 400 N hanging 0.5 m out on rows 0.4 m apart: 250 N.
    out = wall_reactions(1200, 400, 0.5, (0.4, 10.0))
    np.testing.assert_allclose(out.pull_n, 300 + 250, rtol=1e-12)
    np.testing.assert_allclose(out.shear_n, np.hypot(300, 100), rtol=1e-12)


def test_wind_along_the_wall_rules_where_the_stand_off_is_long():
    # 1200 N x 0.8 m over two fixings 0.3 m apart: 1600 N.
    out = wall_reactions(1200, [0, 200], 0.8, (0.4, 0.3))
    # 200 N hanging 0.8 m out on rows 0.4 m apart add 200 N.
    np.testing.assert_allclose(out.pull_n, [1600, 1800], rtol=1e-12)


def test_a_dish_above_its_bracket_pulls_and_twists_more():
    level, raised, lowered = (
        wall_reactions(1200, 400, 0.3, (0.4, 0.4), rise_m=r) for r in (0, 1, -1)
    )
    assert raised.pull_n > level.pull_n
    assert raised.shear_n > level.shear_n
    np.testing.assert_allclose(raised, lowered, rtol=1e-12)


def test_a_dish_beside_the_bracket_s_middle_by_hand():
    # 1200 N, 1 m above the middle of fixings 0.3 m by 0.4 m apart: a couple of 1200 N m. Off the
    # wall two of them hold it at 0.4 m, 1500 N each; in the wall's plane four, each 0.25 m from
    # the middle, 1200 N each.
    level, raised = (wall_reactions(1200, 0, 0.0, (0.4, 0.3), rise_m=rise) for rise in (0, 1))
    np.testing.assert_allclose(raised.pull_n - level.pull_n, 1500, rtol=1e-12)
    np.testing.assert_allclose(raised.shear_n - level.shear_n, 1200, rtol=1e-12)


def test_vector_equals_scalars():
    drag, lever = np.array([500.0, 1500.0]), np.array([1.0, 2.0])
    together = ballast(drag, 100, lever, 2, **HOLDING)
    for k in range(2):
        alone = ballast(drag[k], 100, lever[k], 2, **HOLDING)
        np.testing.assert_array_equal([field[k] for field in together], alone)
    deep = pole_embedment_m(drag, lever, 0.4, SOIL_PA_PER_M)
    alone = [pole_embedment_m(*pair, 0.4, SOIL_PA_PER_M) for pair in zip(drag, lever, strict=True)]
    np.testing.assert_allclose(deep, alone, rtol=1e-12)
