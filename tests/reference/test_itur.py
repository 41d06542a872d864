"""The array forms against the itur package (MIT), an independent implementation of the same texts.

itur 0.4.0 carries P.618-13, P.676-12, P.836-6, P.837-7, P.838-3, P.839-4, P.840-8, P.453-13.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.physics.propagation.attenuation import averaging, parts, slant_path
from siteplan.physics.propagation.climate import (
    moisture_above_frozen,
    site_climate,
    topographic_altitude_m,
)
from siteplan.physics.propagation.gas import oxygen_db_km, vapour_db_km
from siteplan.physics.propagation.gas_series import gas_db

FloatArray = NDArray[np.float64]


@pytest.fixture(scope="module")
def points() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Latitude, longitude, altitude [km] and elevation of 300 places that all see rain."""
    rng = np.random.default_rng(20260601)
    lat, lon = rng.uniform(-55, 70, 600), rng.uniform(-180, 180, 600)
    altitude = np.clip(topographic_altitude_m(lat, lon) / 1000, 1e-9, None)
    climate = site_climate(lat, lon, altitude)
    wet = (climate.rain_height_km > altitude) & (climate.rain_rate_mm_h > 1)
    keep = np.flatnonzero(wet)[:300]
    return lat[keep], lon[keep], altitude[keep], rng.uniform(5.5, 89, 300)


@pytest.mark.parametrize("frequency", [6.0, 11.95, 14.25, 19.7, 29.5])
def test_gas_equals_itur(points: tuple[FloatArray, ...], frequency: float) -> None:
    from itur.models.itu676 import gaseous_attenuation_slant_path

    lat, lon, altitude, elevation = points
    climate = site_climate(lat, lon, altitude)
    wet = climate.moisture
    ours = gas_db(
        frequency,
        elevation,
        pressure_hpa=climate.pressure_hpa,
        density_g_m3=wet.density_g_m3,
        temperature_k=climate.temperature_k,
        vapour_kg_m2=wet.vapour_kg_m2,
        altitude_km=altitude,
    )
    with np.errstate(over="ignore"):  # itur works out a term that it drops below 20 GHz
        theirs = gaseous_attenuation_slant_path(
            frequency,
            elevation,
            wet.density_g_m3,
            climate.pressure_hpa,
            climate.temperature_k,
            wet.vapour_kg_m2,
            altitude,
        )
    np.testing.assert_allclose(ours, theirs.value, rtol=1e-9)


@pytest.mark.parametrize("frequency", [4.0, 11.95, 22.235, 29.5, 60.0])
def test_specific_attenuation_equals_itur(frequency: float) -> None:
    """What air takes on a kilometre; of vapour, slant paths use the ratio to a reference alone."""
    from itur.models import itu676

    density, t_k = np.array([0.5, 7.5, 22.0]), np.array([261.0, 288.15, 303.0])
    for pressure in (850.0, 1013.25):
        wet = itu676.gammaw_exact(frequency, pressure, density, t_k).value
        np.testing.assert_allclose(vapour_db_km(frequency, pressure, density, t_k), wet, rtol=1e-9)
        dry = itu676.gamma0_exact(frequency, pressure, density, t_k).value
        hpa = np.full(3, pressure)
        np.testing.assert_allclose(oxygen_db_km(frequency, hpa, density, t_k), dry, rtol=1e-9)


@pytest.mark.parametrize("frequency", [11.95, 14.25, 29.5])
@pytest.mark.parametrize("p", [0.01, 0.3, 5.0, 14.0])
def test_every_part_equals_itur(points: tuple[FloatArray, ...], frequency: float, p: float) -> None:
    import itur

    lat, lon, altitude, elevation = points
    climate = site_climate(lat, lon, altitude)
    path = slant_path(frequency, elevation, np.full(len(lat), 30.0), climate)
    ours = parts(path, np.array([p]), averaging(path, 1.2, 0.65))

    def theirs(level: float, ghz: float = frequency) -> list[FloatArray]:
        with warnings.catch_warnings():  # itur warns of rain beyond 5 %, which is not used
            warnings.filterwarnings("ignore", message="The method to compute the rain")
            found = itur.atmospheric_attenuation_slant_path(
                lat, lon, ghz, elevation, level, 1.2, hs=altitude,
                R001=climate.rain_rate_mm_h, eta=0.65, tau=30.0, return_contributions=True,
            )  # fmt: skip
        return [np.asarray(part.value) for part in found]

    gas, cloud, _, _, _ = theirs(max(p, 5.0))  # P.618-14 freezes at 5 %, P.618-13 at 1 %
    rain = theirs(p)[2]
    scintillation = theirs(p, min(frequency, 20.0))[3]  # itur goes on beyond the method's range
    rain = rain if p <= 5 else np.zeros_like(rain)
    np.testing.assert_allclose(ours.gas, gas, rtol=1e-9)
    np.testing.assert_allclose(ours.cloud, cloud, rtol=1e-9)
    np.testing.assert_allclose(ours.rain, rain, rtol=1e-9)
    np.testing.assert_allclose(ours.scintillation, scintillation, rtol=1e-9)
    total = gas + np.sqrt((rain + cloud) ** 2 + scintillation**2)
    np.testing.assert_allclose(ours.total, total, rtol=1e-9)


def test_maps_equal_itur(points: tuple[FloatArray, ...]) -> None:
    from itur.models import itu836, itu837, itu840, itu1510

    lat, lon, altitude, _ = points
    climate = site_climate(lat, lon, altitude)
    rain = itu837.rainfall_rate(lat, lon, 0.01).value
    np.testing.assert_allclose(climate.rain_rate_mm_h, rain, rtol=1e-9)
    kelvin = itu1510.surface_mean_temperature(lat, lon).value
    np.testing.assert_allclose(climate.temperature_k, kelvin, rtol=1e-12)
    some = moisture_above_frozen(lat, lon, altitude, np.full(len(lat), 7.5))
    vapour = itu836.total_water_vapour_content(lat, lon, 7.5, altitude).value
    np.testing.assert_allclose(some.vapour_kg_m2, vapour, rtol=1e-9)
    cloud = itu840.columnar_content_reduced_liquid(lat, lon, 7.5).value
    np.testing.assert_allclose(some.cloud_kg_m2, cloud, rtol=1e-9)


def test_altitude_within_half_a_metre_of_itur(points: tuple[FloatArray, ...]) -> None:
    """itur's rounded axes move it by decimetres on slopes; ITU-R's examples agree with ours."""
    from itur.models.itu1511 import topographic_altitude

    lat, lon, _, _ = points
    ours = np.maximum(topographic_altitude_m(lat, lon) / 1000, 1e-9)
    np.testing.assert_allclose(ours, topographic_altitude(lat, lon).value, atol=5e-4)
