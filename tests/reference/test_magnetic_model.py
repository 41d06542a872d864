"""World Magnetic Model against the test values that its makers publish."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from siteplan.physics.angles.magnetic import (
    MODEL_END_YEAR,
    MODEL_NAME,
    MODEL_START_YEAR,
    magnetic_field,
)

# WMM2025 test values (NOAA NCEI): date, height [km], latitude, longitude, declination [deg].
# 2025.5 is noon of 2 July: the day's start differs by 0.0014 year, under 0.001 degree.
WMM2025_TEST_VALUES = [
    (dt.date(2025, 1, 1), 0, 80, 0, 1.28),
    (dt.date(2025, 1, 1), 0, 0, 120, -0.16),
    (dt.date(2025, 1, 1), 0, -80, 240, 68.78),
    (dt.date(2025, 7, 2), 6, -36, -137, 20.28),
    (dt.date(2026, 1, 1), 62, -14, 99, -1.43),
    (dt.date(2027, 1, 1), 44, -43, -111, 24.31),
    (dt.date(2028, 1, 1), 49, 20, 167, 5.10),
]


@pytest.mark.parametrize(("day", "height_km", "lat", "lon", "declination"), WMM2025_TEST_VALUES)
def test_published_declinations(day, height_km, lat, lon, declination):
    field = magnetic_field(lat, lon, height_km * 1e3, day)
    np.testing.assert_allclose(field.declination_deg, declination, atol=0.01)


def test_name_and_years_are_those_of_the_coefficient_file():
    from wmm import wmm_calc

    model = wmm_calc()
    model.setup_time(dyear=2026.0)
    assert model.coef_dict["model_name"] == MODEL_NAME
    assert (model.coef_dict["epoch"], model.max_year) == (MODEL_START_YEAR, MODEL_END_YEAR)


def test_field_equals_that_of_the_agency_s_package():
    import warnings

    from wmm import wmm_calc

    rng = np.random.default_rng(12)
    lat, lon = rng.uniform(-89, 89, 400), rng.uniform(-180, 180, 400)
    height_km = rng.uniform(0, 5, 400)
    day = dt.date(2028, 4, 1)
    model = wmm_calc()
    model.setup_time(dyear=2028 + 91 / 366)
    model.setup_env(lat, lon, height_km)
    with warnings.catch_warnings():  # of the zones about the poles, which are asked for here
        warnings.filterwarnings("ignore", message=r"(Warning|Caution): \(lat, lon, alt")
        north, east, _ = model.forward_base()
    field = magnetic_field(lat, lon, height_km * 1e3, day)
    np.testing.assert_allclose(field.horizontal_nt, np.hypot(north, east), rtol=1e-6, atol=1e-3)
    turned = field.declination_deg - np.degrees(np.arctan2(east, north))
    turned = (turned + 180) % 360 - 180
    steep = field.horizontal_nt < 2000  # next to a dip pole the bearing hangs on the last digits
    np.testing.assert_allclose(turned[~steep], 0, atol=1e-5)
