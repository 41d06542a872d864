"""Magnetic field: shapes, pieces, validity and warnings."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys

import numpy as np
import pytest

from siteplan.physics.angles import magnetic
from siteplan.physics.angles.magnetic import (
    compass_reliable,
    decimal_year,
    magnetic_field,
    model_valid,
)

DAY = dt.date(2026, 7, 2)


@pytest.fixture(scope="module")
def sites():
    rng = np.random.default_rng(5)
    return rng.uniform(-75, 75, 2500), rng.uniform(-180, 180, 2500), rng.uniform(0, 3000, 2500)


def test_pieces_and_single_sites_give_identical_values(sites, monkeypatch):
    whole = magnetic_field(*sites, DAY)
    monkeypatch.setattr(magnetic, "_PIECE", 7)
    part = magnetic_field(*(column[:50] for column in sites), DAY)
    for name in whole._fields:
        np.testing.assert_array_equal(getattr(part, name), getattr(whole, name)[:50])
    alone = magnetic_field(*(column[2400] for column in sites), DAY)
    np.testing.assert_array_equal(alone.declination_deg, whole.declination_deg[2400])


def test_shapes_follow_the_sites():
    assert magnetic_field(10, 20, 0, DAY).declination_deg.shape == ()
    assert magnetic_field([[10], [20]], [1, 2, 3], 0, DAY).horizontal_nt.shape == (2, 3)
    assert magnetic_field([], [], [], DAY).declination_deg.shape == (0,)


def test_longitude_may_be_given_in_any_turn():
    west, round_ = (magnetic_field(40, lon, 0, DAY).declination_deg for lon in (-75, 285))
    np.testing.assert_allclose(west, round_, atol=1e-10)


@pytest.mark.parametrize("day", [dt.date(2024, 12, 31), dt.date(2030, 1, 1), dt.date(1990, 5, 1)])
def test_outside_the_model_s_years_there_is_no_answer(day):
    assert not model_valid(day)
    assert np.isnan(magnetic_field([10, 20], 0, 0, day)).all()


@pytest.mark.parametrize("day", [dt.date(2025, 1, 1), dt.date(2029, 12, 31)])
def test_first_and_last_day_of_the_model(day):
    assert model_valid(day)
    assert np.isfinite(magnetic_field([10, 20], 0, 0, day)).all()


def test_decimal_year_knows_leap_years():
    assert decimal_year(dt.date(2026, 1, 1)) == 2026.0
    np.testing.assert_allclose(decimal_year(dt.date(2028, 7, 1)), 2028 + 182 / 366, atol=1e-12)
    np.testing.assert_allclose(decimal_year(dt.date(2027, 12, 31)), 2027 + 364 / 365, atol=1e-12)


def test_blackout_zone_is_reported_by_intensity_and_not_by_a_warning():
    # WMM2025's dip pole in the north lies near 85.8 N 139 E (from memory).
    field = magnetic_field([85.8, 75.0, 10.0], [139.0, 139.0, 0.0], 0, DAY)
    assert field.horizontal_nt[0] < magnetic.BLACKOUT_NT
    assert magnetic.BLACKOUT_NT < field.horizontal_nt[1] < magnetic.CAUTION_NT
    np.testing.assert_array_equal(compass_reliable(field.horizontal_nt), [False, False, True])


def test_compass_zones():
    # MIL-PRF-89500B, as quoted by the model's own package.
    assert (magnetic.BLACKOUT_NT, magnetic.CAUTION_NT) == (2000, 6000)
    np.testing.assert_array_equal(
        compass_reliable([1999, 5999, 6000, 30_000, np.nan]), [False, False, True, True, False]
    )


def test_unknown_positions_and_poles_have_no_answer_and_spoil_no_other():
    field = magnetic_field([np.nan, 90, -90, 45], [0, 0, 0, 5], [0, 0, 0, 10], DAY)
    np.testing.assert_array_equal(np.isfinite(field.declination_deg), [False, False, False, True])
    alone = magnetic_field(45, 5, 10, DAY)
    np.testing.assert_array_equal(field.declination_deg[3], alone.declination_deg)


def test_geoid_height_moves_the_declination_by_less_than_is_said(sites):
    low, high = (magnetic_field(*sites[:2], h, DAY) for h in (0, 100))
    moved = np.abs(high.declination_deg - low.declination_deg)
    assert moved[compass_reliable(low.horizontal_nt)].max() < 5e-3


def test_impossible_latitude_is_refused():
    with pytest.raises(ValueError, match="within -90 to 90"):
        magnetic_field([10, -91], 0, 0, DAY)


def test_the_package_is_read_but_never_imported():
    code = (
        "import sys, datetime as dt; from siteplan.physics.angles.magnetic import magnetic_field;"
        "magnetic_field(1, 2, 3, dt.date(2026, 1, 1)); sys.exit('wmm' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
