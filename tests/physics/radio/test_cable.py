"""Cable: scaling, the supply's quadratic and its limit, levels."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.radio.cable import (
    cable_loss_db,
    core_resistance_ohm_km,
    longest_run_m,
    loop_resistance_ohm,
    modem_input_dbm,
    modem_output_dbm,
    slope_db,
    supply_at_load,
)

#: Between dish and modem; common practice.
L_BAND_MHZ = (950.0, 2150.0)


def test_loss_grows_with_length_and_the_root_of_frequency():
    np.testing.assert_allclose(cable_loss_db([100, 50], 1000, 21.5), [21.5, 10.75], rtol=1e-12)
    np.testing.assert_allclose(cable_loss_db(100, 2250, 20), 30, rtol=1e-12)


def test_slope_is_the_difference_of_the_band_s_ends():
    # 0.3 x 21.5 (sqrt 2.15 - sqrt 0.95) by hand.
    np.testing.assert_allclose(slope_db(30, 21.5, L_BAND_MHZ), 3.1711, atol=1e-3)
    np.testing.assert_allclose(slope_db(0, 21.5, L_BAND_MHZ), 0, atol=0)


def test_clad_steel_resists_several_times_more_than_copper():
    # Copper-clad steel of 21 % of copper's conductivity (ASTM B869, from memory).
    ratio = core_resistance_ohm_km(1.024, clad_steel=True) / core_resistance_ohm_km(1.024)
    np.testing.assert_allclose(ratio, 1 / 0.21, rtol=1e-12)


def test_loop_counts_core_and_shield():
    np.testing.assert_allclose(loop_resistance_ohm([100, 200], 21, 10), [3.1, 6.2], rtol=1e-12)


def test_supply_collapses_where_the_linear_form_still_promises_16_volts():
    # 60 W at 24 V over 100 m at 31 ohm/km: 576 < 4 x 60 x 3.1.
    loop = loop_resistance_ohm(100, 31, 0)
    np.testing.assert_allclose(24 - 60 / 24 * loop, 16.25, atol=1e-9)
    assert all(np.isnan(value) for value in supply_at_load(24, 60, loop))


@given(st.floats(12, 60), st.floats(1, 200), st.floats(0, 5))
def test_supply_obeys_kirchhoff_and_joule(supply, load, loop):
    point = supply_at_load(supply, load, loop)
    if 4 * load * loop > supply**2:
        assert np.isnan(point.voltage_v)
        return
    np.testing.assert_allclose(point.voltage_v + point.current_a * loop, supply, rtol=1e-9)
    np.testing.assert_allclose(point.voltage_v * point.current_a, load, rtol=1e-9)
    np.testing.assert_allclose(point.lost_w + load, supply * point.current_a, rtol=1e-9)
    # The upper root: what a rising supply settles on.
    assert point.voltage_v >= supply / 2


def test_no_resistance_no_drop():
    np.testing.assert_allclose(supply_at_load(24, 60, 0), [24, 2.5, 0], rtol=1e-12)


@given(st.floats(20, 60), st.floats(5, 200), st.floats(5, 60), st.floats(5, 150))
def test_longest_run_is_where_the_voltage_just_arrives(supply, load, least, ohm_km):
    length = longest_run_m(supply, load, least, ohm_km)
    if least >= supply:
        assert length == 0
        return
    inside = supply_at_load(supply, load, loop_resistance_ohm(length * 0.999, ohm_km, 0))
    beyond = supply_at_load(supply, load, loop_resistance_ohm(length * 1.001, ohm_km, 0))
    assert inside.voltage_v >= least
    # V^2 - V0 V + P R = 0 has no root where the loop passes V0^2 / 4 P.
    if length * 1.001 * ohm_km / 1000 > supply**2 / (4 * load):
        assert np.isnan(beyond.voltage_v)
    else:
        assert beyond.voltage_v < least


def test_receive_level():
    # -120 dBW is -90 dBm; 60 dB of gain and 10 dB of cable leave -40 dBm.
    np.testing.assert_allclose(modem_input_dbm(-120, 60, [10, 20]), [-40, -50], atol=1e-12)


def test_drive_level():
    # 2 W is 33.01 dBm; a gain of 60 dB needs -26.99 dBm at the BUC, and the cable adds 12 dB.
    np.testing.assert_allclose(modem_output_dbm(2, 60, 12), -14.99, atol=5e-3)


def test_scalars_give_zero_dimensions():
    for value in (
        cable_loss_db(10, 1000, 20),
        slope_db(10, 20, L_BAND_MHZ),
        core_resistance_ohm_km(1),
        loop_resistance_ohm(10, 1, 1),
        *supply_at_load(24, 10, 1),
        longest_run_m(24, 10, 18, 30),
        modem_input_dbm(-120, 60, 10),
        modem_output_dbm(2, 60, 10),
    ):
        assert isinstance(value, np.ndarray)
        assert value.shape == ()
