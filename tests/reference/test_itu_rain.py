"""Rain against ITU-R's own examples: specific attenuation, rate, height, slant path.

Source: ITU-R Study Group 3, validation examples for the delivery of propagation prediction
methods, revision 8.3.0 (P.618-14) and 5.1 (the others). Rows are transcribed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.propagation.climate import site_climate, topographic_altitude_m
from siteplan.physics.propagation.mapped.maps import bilinear, grid
from siteplan.physics.propagation.rain import rain_coefficients, rain_db, rain_fade

# el [deg], f [GHz], R [mm/h], tau [deg], k, alpha, gamma_r [dB/km]: P.838-3
SPECIFIC = [
    (31.07699124, 14.25, 26.48052, 0, 0.03975488, 1.12418043, 1.58130839),
    (46.35969261, 14.25, 27.13586832, 0, 0.04030344, 1.11376017, 1.5920842),
    (40.232036, 14.25, 33.936232, 0, 0.04007624, 1.11804138, 2.06173213),
    (31.07699124, 29, 26.48052, 0, 0.22106804, 0.95320005, 5.02180189),
    (46.35969261, 29, 27.13586832, 0, 0.21978097, 0.9484851, 5.03135479),
    (40.232036, 29, 33.936232, 0, 0.22031404, 0.9504446, 6.27846024),
    (22.27833468, 14.25, 50.639304, 0, 0.03949319, 1.12925336, 3.32139638),
    (22.27833468, 29, 50.639304, 0, 0.22168203, 0.95543001, 9.42430244),
    (48.24117054, 14.25, 63.62668149, 90, 0.04226474, 1.07871664, 3.72901264),
    (20.14335809, 14.25, 42.91007183, 90, 0.04319835, 1.0631531, 2.35032323),
    (85.80459566, 14.25, 99.13558978, 90, 0.04133039, 1.09499629, 6.34064598),
    (48.24117054, 29, 63.62668149, 90, 0.21517927, 0.93116621, 10.28699163),
    (20.14335809, 29, 42.91007183, 90, 0.21298877, 0.92265917, 6.83364556),
    (85.80459566, 29, 99.13558978, 90, 0.21737148, 0.93950825, 16.3183686),
]

# lat, lon, R0.01 [mm/h]: P.837-7, digital map at 0.01 %
RATE = [
    (3.133, 101.7, 99.1481136),
    (23, 30, 0),
    (28.717, 77.3, 63.5972464),
    (41.9, 12.49, 33.936232),
]

# lat, lon, h0 [km], h_r [km]: P.839-4
HEIGHT = [
    (3.133, 101.7, 4.59797440, 4.95797440),
    (23, 30, 4.16800000, 4.52800000),
    (28.717, 77.3, 4.89820404, 5.25820404),
    (41.9, 12.49, 2.68749333, 3.04749333),
]

# lat, lon, height [km]: P.1511-2
ALTITUDE = [
    (3.133, 101.7, 0.05125146),
    (23, 30, 0.18759375),
    (28.717, 77.3, 0.20938370),
    (41.9, 12.49, 0.04612299),
    (9.050000, 38.700000, 2.53986188),
]

# lat, lon, h_s [km], f [GHz], el [deg], tau [deg], p [%], R0.01 [mm/h], A_rain [dB]: P.618-14
SLANT = [
    (51.5, -0.14, 0.031382984, 14.25, 31.07699124, 0, 1, 26.48052, 0.495317069),
    (33.94, 18.43, 0, 14.25, 46.35969261, 0, 1, 27.13586832, 0.421017025),
    (41.9, 12.49, 0.046122988, 14.25, 40.232036, 0, 0.1, 33.936232, 2.696765133),
    (51.5, -0.14, 0.031382984, 14.25, 31.07699124, 0, 0.01, 26.48052, 6.798072267),
    (33.94, 18.43, 0, 14.25, 46.35969261, 0, 0.01, 27.13586832, 5.941806096),
    (41.9, 12.49, 0.046122988, 14.25, 40.232036, 0, 0.001, 33.936232, 17.67155766),
    (51.5, -0.14, 0.031382984, 29, 31.07699124, 0, 1, 26.48052, 2.207786043),
    (33.94, 18.43, 0, 29, 46.35969261, 0, 1, 27.13586832, 1.960636113),
    (41.9, 12.49, 0.046122988, 29, 40.232036, 0, 0.1, 33.936232, 10.73100773),
    (51.5, -0.14, 0.031382984, 29, 31.07699124, 0, 0.01, 26.48052, 23.44444523),
    (33.94, 18.43, 0, 29, 46.35969261, 0, 0.01, 27.13586832, 21.24861968),
    (41.9, 12.49, 0.046122988, 29, 40.232036, 0, 0.001, 33.936232, 54.25561152),
    (22.9, -43.23, 0, 14.25, 22.27833468, 0, 1, 50.639304, 1.706901281),
    (22.9, -43.23, 0, 14.25, 22.27833468, 0, 0.1, 50.639304, 8.271647438),
    (22.9, -43.23, 0, 14.25, 22.27833468, 0, 0.01, 50.639304, 18.94410356),
    (22.9, -43.23, 0, 14.25, 22.27833468, 0, 0.001, 50.639304, 29.91171296),
    (22.9, -43.23, 0, 29, 22.27833468, 0, 1, 50.639304, 6.813368079),
    (22.9, -43.23, 0, 29, 22.27833468, 0, 0.1, 50.639304, 29.31896844),
    (22.9, -43.23, 0, 29, 22.27833468, 0, 0.01, 50.639304, 59.62576355),
    (22.9, -43.23, 0, 29, 22.27833468, 0, 0.001, 50.639304, 83.5996391),
    (28.717, 77.3, 0.209383699, 14.25, 48.24117054, 90, 1, 63.61888808, 1.274463613),
    (9.05, 38.7, 2.539861878, 14.25, 20.14335809, 90, 1, 42.91007183, 1.012353973),
    (3.133, 101.7, 0.051251456, 14.25, 85.80459566, 90, 0.1, 99.15117186, 11.00145492),
    (28.717, 77.3, 0.209383699, 14.25, 48.24117054, 90, 0.01, 63.61888808, 14.87213733),
    (9.05, 38.7, 2.539861878, 14.25, 20.14335809, 90, 0.01, 42.91007183, 12.28976033),
    (3.133, 101.7, 0.051251456, 14.25, 85.80459566, 90, 0.001, 99.15117186, 28.81950409),
    (28.717, 77.3, 0.209383699, 29, 48.24117054, 90, 1, 63.61888808, 5.887821871),
    (9.05, 38.7, 2.539861878, 29, 20.14335809, 90, 1, 42.91007183, 3.70158394),
    (3.133, 101.7, 0.051251456, 29, 85.80459566, 90, 0.1, 99.15117186, 48.81996807),
    (28.717, 77.3, 0.209383699, 29, 48.24117054, 90, 0.01, 63.61888808, 52.83372062),
    (9.05, 38.7, 2.539861878, 29, 20.14335809, 90, 0.01, 42.91007183, 35.97037673),
    (3.133, 101.7, 0.051251456, 29, 85.80459566, 90, 0.001, 99.15117186, 96.67521082),
]


@pytest.mark.parametrize("row", SPECIFIC)
def test_specific_attenuation(row: tuple[float, ...]) -> None:
    el, f, rate, tau, k_known, alpha_known, gamma_known = row
    k, alpha = rain_coefficients(f, np.array([el]), np.array([tau]))
    assert k[0] == pytest.approx(k_known, abs=6e-9)  # printed to 8 decimals
    assert alpha[0] == pytest.approx(alpha_known, abs=6e-9)
    assert k[0] * rate ** alpha[0] == pytest.approx(gamma_known, rel=1e-7)


@pytest.mark.parametrize("row", RATE)
def test_rain_rate(row: tuple[float, ...]) -> None:
    lat, lon, known = row
    rate = bilinear(grid("rain_rate"), np.array([lat]), np.array([lon]))
    assert rate[0] == pytest.approx(known, abs=1e-6)


@pytest.mark.parametrize("row", HEIGHT)
def test_rain_height(row: tuple[float, ...]) -> None:
    lat, lon, _, known = row
    climate = site_climate(np.array([lat]), np.array([lon]), np.zeros(1))
    assert climate.rain_height_km[0] == pytest.approx(known, abs=1e-6)


@pytest.mark.parametrize("row", ALTITUDE)
def test_topographic_altitude(row: tuple[float, ...]) -> None:
    lat, lon, known_km = row
    height_m = topographic_altitude_m(np.array([lat]), np.array([lon]))
    assert height_m[0] / 1000 == pytest.approx(known_km, abs=1e-6)


@pytest.mark.parametrize("row", SLANT)
def test_rain_attenuation(row: tuple[float, ...]) -> None:
    lat, lon, altitude, f, el, tau, p, rate, known = row
    assert P_RANGE_PCT[0] <= p <= P_RANGE_PCT[1]
    height = bilinear(grid("isotherm"), np.array([lat]), np.array([lon])) + 0.36
    fade = rain_fade(
        f,
        np.array([el]),
        np.array([tau]),
        lat=np.array([lat]),
        altitude_km=np.array([altitude]),
        rain_rate_mm_h=np.array([rate]),
        rain_height_km=height,
    )
    assert rain_db(fade, np.array([p]))[0] == pytest.approx(known, rel=1e-6)


def test_the_path_under_5_degrees_by_hand() -> None:
    """P.618-14 section 2.2.1.1, steps 2 to 9, at 3 degrees, rain height 4.5 km, 12 GHz, 45 mm/h.

    Step 2, eq. 2: 2 x 4.5 / (sqrt(0.052336^2 + 2 x 4.5 / 8500) + 0.052336) = 78.973 km, where
    eq. 1 of the higher paths would give 85.983 km.
    """
    elevation = math.radians(3.0)
    slant = 9.0 / (math.sqrt(math.sin(elevation) ** 2 + 9.0 / 8500) + math.sin(elevation))
    assert slant == pytest.approx(78.973, abs=5e-4)
    k, alpha = (float(x[0]) for x in rain_coefficients(12.0, np.array([3.0]), np.array([45.0])))
    gamma = k * 45.0**alpha
    ground = slant * math.cos(elevation)
    reduced = 1 + 0.78 * math.sqrt(ground * gamma / 12.0) - 0.38 * (1 - math.exp(-2 * ground))
    zeta = math.degrees(math.atan(4.5 / (ground / reduced)))
    assert zeta > 3.0, "so that step 7 takes the shorter path"
    path = ground / reduced / math.cos(elevation)
    # Step 8 at 10 degrees of latitude: chi = 36 - 10.
    bracket = 31 * (1 - math.exp(-3.0 / 27)) * math.sqrt(path * gamma) / 12.0**2 - 0.45
    by_hand = gamma * path / (1 + math.sqrt(math.sin(elevation)) * bracket)
    fade = rain_fade(
        12.0,
        np.array([3.0, 5.0]),
        np.full(2, 45.0),
        lat=np.full(2, 10.0),
        altitude_km=np.full(2, 0.5),
        rain_rate_mm_h=np.full(2, 45.0),
        rain_height_km=np.full(2, 5.0),
    )
    assert fade.at_001_db[0] == pytest.approx(by_hand, rel=1e-12)
    # At 5 degrees itself eq. 1 holds: 4.5 / sin 5.
    ground = 4.5 / math.tan(math.radians(5.0))
    k, alpha = (float(x[0]) for x in rain_coefficients(12.0, np.array([5.0]), np.array([45.0])))
    gamma = k * 45.0**alpha
    reduced = 1 + 0.78 * math.sqrt(ground * gamma / 12.0) - 0.38 * (1 - math.exp(-2 * ground))
    path = ground / reduced / math.cos(math.radians(5.0))
    bracket = 31 * (1 - math.exp(-5.0 / 27)) * math.sqrt(path * gamma) / 12.0**2 - 0.45
    by_hand = gamma * path / (1 + math.sqrt(math.sin(math.radians(5.0))) * bracket)
    assert fade.at_001_db[1] == pytest.approx(by_hand, rel=1e-12)
