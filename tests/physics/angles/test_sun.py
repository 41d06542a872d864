"""The sun's place: shapes, times, crossings of a bearing, hours of a day."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.physics.angles.sun import (
    days_since_j2000,
    hourly_sun,
    right_ascension_declination,
    subsolar_point,
    sun_position,
    times_at_azimuth,
    times_from_days,
)

DATES = st.dates(dt.date(2020, 1, 1), dt.date(2040, 12, 31))


def turn_between(a, b):
    """Return the unsigned difference of two angles. [deg]"""
    return np.abs(np.remainder(np.asarray(a) - b + 180, 360) - 180)


def test_days_and_times_are_each_other_s_inverse():
    times = np.array(["2026-03-20T12:34:56", "1999-12-31T23:59:59", "NaT"], dtype="datetime64[s]")
    days = days_since_j2000(times)
    np.testing.assert_array_equal(times_from_days(days), times)
    assert days_since_j2000(np.datetime64("2000-01-01T12:00")) == 0
    np.testing.assert_allclose(days[1], -0.5 - 1 / 86_400, atol=1e-12)
    assert np.isnan(days[2])


def test_times_are_rounded_to_the_second():
    assert times_from_days(0.6 / 86_400) == np.datetime64("2000-01-01T12:00:01")


def test_declination_stays_within_the_tropics():
    _, declination = right_ascension_declination(np.arange(8000, 15_000, 0.5))
    # Obliquity of the ecliptic about 23.437 degrees in these years (Meeus, chapter 22).
    np.testing.assert_allclose([declination.max(), declination.min()], [23.44, -23.44], atol=0.01)


def test_subsolar_point_moves_west_by_a_turn_a_day():
    days = np.linspace(9000, 9365, 2000)
    now, soon = subsolar_point(days), subsolar_point(days + 1 / 24)
    moved = turn_between(now.longitude_deg, soon.longitude_deg)
    # The sun's day is up to 30 s longer or shorter than 24 h (equation of time).
    np.testing.assert_allclose(moved, 15, atol=0.006)


def test_sun_is_overhead_at_the_subsolar_point():
    times = np.datetime64("2026-01-01T00:00") + np.arange(0, 8760, 100) * np.timedelta64(1, "h")
    under = subsolar_point(days_since_j2000(times))
    sun = sun_position(times, under.declination_deg, under.longitude_deg)
    np.testing.assert_allclose(sun.elevation_deg, 90, atol=1e-5)
    night = sun_position(times, -under.declination_deg, under.longitude_deg + 180)
    np.testing.assert_allclose(night.elevation_deg, -90, atol=1e-5)


def test_positions_broadcast_and_scalars_give_zero_dimensions():
    times = np.datetime64("2026-06-01T10:00") + np.arange(3) * np.timedelta64(1, "h")
    sun = sun_position(times, [[10.0], [50.0]], 20.0)
    assert sun.azimuth_true_deg.shape == (2, 3)
    one = sun_position(times[1], 50.0, 20.0)
    assert one.elevation_deg.shape == ()
    np.testing.assert_allclose(one, [angle[1, 1] for angle in sun], atol=1e-9)


@given(DATES, st.floats(-66, 66), st.floats(-180, 179.99), st.floats(0, 359.99))
def test_sun_stands_on_the_bearing_at_the_times_given(date, lat, lon, azimuth):
    times = times_at_azimuth(date, lat, lon, azimuth)
    found = times[~np.isnat(times)]
    sun = sun_position(found, lat, lon)
    assert (sun.elevation_deg > 0).all()
    # A second moves the azimuth by 0.005 degree, and by more with the sun near the zenith.
    allowed = 0.005 / np.cos(np.radians(sun.elevation_deg)) + 1e-4
    assert (turn_between(sun.azimuth_true_deg, azimuth) < allowed).all()
    midnight = np.datetime64(date, "s") - np.timedelta64(round(lon * 240), "s")
    since = (found - midnight) / np.timedelta64(1, "h")
    assert ((since > -0.01) & (since < 24.01)).all()


@given(DATES, st.floats(-60, 60), st.floats(-180, 179.99), st.floats(0, 359.99))
def test_no_crossing_is_missed(date, lat, lon, azimuth):
    midnight = np.datetime64(date, "s") - np.timedelta64(round(lon * 240), "s")
    times = midnight + np.arange(0, 86_401, 120).astype("timedelta64[s]")
    sun = sun_position(times, lat, lon)
    signed = np.remainder(sun.azimuth_true_deg - azimuth + 180, 360) - 180
    up = (sun.elevation_deg[:-1] > 0.5) & (sun.elevation_deg[1:] > 0.5)
    # A change of sign that is not the jump at the opposite bearing.
    passes = up & (signed[:-1] * signed[1:] < 0) & (np.abs(signed[:-1] - signed[1:]) < 180)
    found = times_at_azimuth(date, lat, lon, azimuth)
    assert np.sum(~np.isnat(found)) >= passes.sum()


def test_tropical_sun_can_pass_a_bearing_twice():
    # At 10 N in June the sun rises north of east, swings a little south and comes back north.
    times = times_at_azimuth(dt.date(2026, 6, 21), 10, 0, 68)
    assert not np.isnat(times).any()
    assert times[0] < times[1]


def test_bearing_that_the_sun_never_reaches_has_no_time():
    times = times_at_azimuth(dt.date(2026, 12, 21), [50.0, 50.0], 10, [0.0, 180.0])
    np.testing.assert_array_equal(np.isnat(times), [[True, True], [False, True]])


def test_noon_of_the_equation_of_time():
    # Equation of time on 3 November about +16.4 min, on 11 February about -14.2 min
    # (Meeus, chapter 28): the sun is due south that much before or after 12:00 at 0 E.
    for date, minutes in ((dt.date(2026, 11, 3), -16.4), (dt.date(2026, 2, 11), 14.2)):
        noon = times_at_azimuth(date, 50, 0, 180)[0]
        late = (noon - np.datetime64(f"{date}T12:00")) / np.timedelta64(1, "m")
        np.testing.assert_allclose(late, minutes, atol=0.15)


def test_hours_of_a_day():
    midnight = np.datetime64("2026-06-21", "s")
    sun = hourly_sun(midnight, [50.0, -80.0], 0.0)
    at_seven = sun_position(midnight + np.timedelta64(7, "h"), 50.0, 0.0)
    assert sun.azimuth_true_deg[0, 7] == pytest.approx(float(at_seven.azimuth_true_deg), abs=1e-9)
    each = hourly_sun(midnight + np.array([0, 1]) * np.timedelta64(1, "h"), [50.0, 50.0], 0.0)
    np.testing.assert_allclose(each.elevation_deg[0, 1:], each.elevation_deg[1, :-1], atol=1e-12)
    assert sun.azimuth_true_deg.shape == (2, 24)
    # At 50 N the sun is up for arccos(-tan 50 tan 23.44) = 121.1 degrees, 8 h 4 min, to either side
    # of noon at 12:02: at the hours from 4 to 20. At 80 S it is not.
    np.testing.assert_array_equal(
        np.flatnonzero(np.isfinite(sun.elevation_deg[0])), np.arange(4, 21)
    )
    assert np.isnan(sun.azimuth_true_deg[1]).all()
    morning = np.isfinite(sun.azimuth_true_deg[0]) & (np.arange(24) < 12)
    assert (sun.azimuth_true_deg[0][morning] < 180).all()
