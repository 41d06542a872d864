"""Limits of EIRP density off the axis: the published segments, their jumps, and dishes under them.

Sources: 47 CFR 25.218(f) by way of 25.226 of 2018 and of 25.209(a)(2), and 25.138(a)(1) after 2018,
in public copies; ITU-R S.524-9, ITU-R S.728-1, ETSI EN 301 428 and EN 301 459 from memory; 47 CFR
25.204 in a public copy.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.physics.radio.antennas import beamwidth_deg, gain_dbi, wavelength_m
from siteplan.physics.radio.masks import (
    horizon_limit_dbw,
    horizon_reference_khz,
    limit_db,
    mask_names,
    named_mask,
)
from siteplan.physics.radio.off_axis import Radiator, allowed_feed_dbw, density_dbw, tightest

#: Mask, uplink [GHz], reference [kHz], from, and the segments: from, to [deg], a, b.
MASKS = [
    (
        *("47cfr25_ku", 14.25, 4, "satellite"),
        [(1.5, 7, 15, 25), (7, 9.2, -6, 0), (9.2, 19.1, 18, 25), (19.1, 180, -14, 0)],
    ),
    (
        *("47cfr25_ka", 29.5, 1000, "satellite"),
        [(2, 7, 32.5, 25), (7, 9.2, 11.5, 0), (9.2, 19.1, 35.5, 25), (19.1, 180, 3.5, 0)],
    ),
    (
        *("s524_9", 6.0, 4, "axis"),
        [(2.5, 7, 32, 25), (7, 9.2, 11, 0), (9.2, 48, 35, 25), (48, 180, -7, 0)],
    ),
    (
        *("s524_9", 14.25, 40, "axis"),
        [(2.5, 7, 39, 25), (7, 9.2, 18, 0), (9.2, 48, 42, 25), (48, 180, 0, 0)],
    ),
    (
        *("s524_9", 29.0, 40, "axis"),
        [(2, 7, 19, 25), (7, 9.2, -2, 0), (9.2, 48, 22, 25), (48, 180, -10, 0)],
    ),
    (
        *("s728_1", 14.25, 40, "axis"),
        [(2.5, 7, 33, 25), (7, 9.2, 12, 0), (9.2, 48, 36, 25), (48, 180, -6, 0)],
    ),
    (
        *("en301428", 14.25, 40, "axis"),
        [(2.5, 7, 33, 25), (7, 9.2, 12, 0), (9.2, 48, 36, 25), (48, 180, -6, 0)],
    ),
    (
        *("en301459", 29.75, 40, "axis"),
        [(1.8, 7, 19, 25), (7, 9.2, -2, 0), (9.2, 48, 22, 25), (48, 180, -10, 0)],
    ),
]
#: Steps [dB] at 7, 9.2 and the last angle at which segments meet, as published.
JUMPS = {
    ("47cfr25_ku", 14.25): (0.127, -0.095, 0.026),
    ("47cfr25_ka", 29.5): (0.127, -0.095, 0.026),
    ("s524_9", 6.0): (0.127, -0.095, 0.031),
    ("s524_9", 14.25): (0.127, -0.095, 0.031),
    ("s524_9", 29.0): (0.127, -0.095, 10.03),
    ("s728_1", 14.25): (0.127, -0.095, 0.031),
    ("en301428", 14.25): (0.127, -0.095, 0.031),
    ("en301459", 29.75): (0.127, -0.095, 10.03),
}


def test_every_mask_stands_here() -> None:
    assert {name for name, *_ in MASKS} == set(mask_names())


@pytest.mark.parametrize(("name", "uplink", "reference", "angle_from", "segments"), MASKS)
def test_three_points_of_each_segment(name, uplink, reference, angle_from, segments):
    mask = named_mask(name, uplink)
    assert (mask.reference_khz, mask.angle_from) == (reference, angle_from)
    for start, end, a, b in segments:
        points = np.array([start * (1 + 1e-9), math.sqrt(start * end), end * (1 - 1e-9)])
        known = [a - b * math.log10(point) for point in points]
        np.testing.assert_allclose(limit_db(mask, points), known, rtol=0, atol=1e-9)
        np.testing.assert_allclose(limit_db(mask, -points), known, rtol=0, atol=1e-9)


@pytest.mark.parametrize(("name", "uplink", "segments"), [(m[0], m[1], m[4]) for m in MASKS])
def test_jumps_are_the_published_ones_and_the_lower_side_counts_there(name, uplink, segments):
    mask = named_mask(name, uplink)
    meetings = [segment[0] for segment in segments[1:]]
    for angle, known in zip(meetings, JUMPS[name, uplink], strict=True):
        below, at, above = limit_db(mask, angle * np.array([1 - 1e-12, 1, 1 + 1e-12]))
        assert above - below == pytest.approx(known, abs=0.002)
        assert at == pytest.approx(min(below, above), abs=1e-9)


@pytest.mark.parametrize(("name", "uplink", "segments"), [(m[0], m[1], m[4]) for m in MASKS])
def test_nothing_is_limited_inside_the_first_angle(name, uplink, segments):
    first = segments[0][0]
    found = limit_db(named_mask(name, uplink), [0, first / 2, first * (1 - 1e-9), 180.1])
    assert np.isnan(found).all()
    assert np.isfinite(limit_db(named_mask(name, uplink), [first, 180])).all()


# Mask, uplink, {angle: limit}, by a separate script.
VALUES = [
    (
        *("47cfr25_ku", 14.25),
        {1.5: 10.598, 3: 3.072, 5: -2.474, 8: -6, 10: -7, 15: -11.402, 30: -14},
    ),
    ("s524_9", 14.25, {2.5: 29.051, 3: 27.072, 8: 18, 10: 17, 30: 5.072, 60: 0}),
    ("s728_1", 14.25, {3: 21.072, 8: 12, 10: 11, 30: -0.928, 60: -6}),
    ("s524_9", 29.0, {2: 11.474, 3: 7.072, 8: -2, 10: -3, 30: -14.928, 60: -10}),
    ("47cfr25_ka", 29.5, {2: 24.974, 3: 20.572, 10: 10.5, 15: 6.098, 30: 3.5}),
]


@pytest.mark.parametrize(("name", "uplink", "known"), VALUES)
def test_values(name, uplink, known):
    found = limit_db(named_mask(name, uplink), list(known))
    np.testing.assert_allclose(found, list(known.values()), rtol=0, atol=6e-4)


def test_masks_at_3_degrees_in_40_khz():
    """47 CFR 13.07, S.728-1 21.07, S.524-9 27.07 dBW/40 kHz."""
    found = {name: float(limit_db(named_mask(name, 14.25), 3)) for name in ("s728_1", "s524_9")}
    assert found["s728_1"] == pytest.approx(21.07, abs=0.006)
    assert found["s524_9"] == pytest.approx(27.07, abs=0.006)
    per_4_khz = float(limit_db(named_mask("47cfr25_ku", 14.25), 3))
    assert per_4_khz + 10 == pytest.approx(13.07, abs=0.006)


def test_the_gain_of_25_209_is_14_db_above_the_ku_mask():
    """47 CFR 25.209(a)(2): 29 - 25 log to 7, 8 to 9.2, 32 - 25 log to 19.1, 0 beyond [dBi]."""
    known = [29 - 25 * math.log10(3), 8, 32 - 25 * math.log10(12), 0]
    found = limit_db(named_mask("47cfr25_ku", 14.25), [3, 8, 12, 50]) + 14
    np.testing.assert_allclose(found, known, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("narrow", "wide", "known"), [(4, 40, 10.0), (40, 1000, 13.979), (4, 1000, 23.979)]
)
def test_densities_in_other_bandwidths(narrow, wide, known):
    found = density_dbw(3, 2e6, wide) - density_dbw(3, 2e6, narrow)
    assert found == pytest.approx(known, abs=6e-4)


# Diameter, BUC [W], symbol rate; margin, angle, allowed [W] by S.580 and by Appendix 8.
DISHES = [
    (1.2, 2, 256e3, (-2.1741, 1.500, 0.858), (-4.0265, 1.947, 0.560)),
    (1.8, 3, 256e3, (-0.1886, 1.500, 2.034), (-3.8659, 1.500, 0.872)),
    (2.4, 3, 128e3, (-2.9457, 1.500, 1.078), (-5.9457, 1.500, 0.540)),
]


@pytest.mark.parametrize(("diameter", "watts", "rate", "s580", "appendix_8"), DISHES)
def test_dishes_under_the_ku_mask_of_47_cfr(diameter, watts, rate, s580, appendix_8):
    """14.25 GHz, efficiency 0.65, 0.5 dB of line, 1 dB of back-off, 0.3 dB of pointing loss."""
    mask = named_mask("47cfr25_ku", 14.25)
    feed = 10 * math.log10(watts) - 0.5 - 1
    error = beamwidth_deg(diameter, 14.25) * math.sqrt(0.3 / 12)
    for pattern, known in (("s580", s580), ("appendix_8", appendix_8)):
        dish = Radiator(pattern, gain_dbi(diameter, 0.65, 14.25), diameter / wavelength_m(14.25))
        margin, angle = tightest(mask, dish, feed, rate, displaced_deg=error)
        allowed = 10 ** (allowed_feed_dbw(mask, dish, rate, displaced_deg=error) / 10)
        assert margin == pytest.approx(known[0], abs=1e-3)
        assert angle == pytest.approx(known[1], abs=1e-3)
        assert allowed == pytest.approx(known[2], abs=1e-3)


def test_the_error_and_the_density_of_the_first_of_them():
    assert beamwidth_deg(1.2, 14.25) * math.sqrt(0.3 / 12) == pytest.approx(0.1940, abs=6e-5)
    feed = 10 * math.log10(2) - 1.5
    assert density_dbw(feed, 256e3, 4) == pytest.approx(-16.5515, abs=6e-5)


# Dish at 512 ksym/s; margins with 1, 2 and 3 W by S.580 and by Appendix 8.
MARGINS = [
    (1.2, (3.85, 0.84, -0.92), (1.99, -1.02, -2.78)),
    (1.8, (7.59, 4.58, 2.82), (3.92, 0.91, -0.86)),
    (2.4, (7.85, 4.84, 3.07), (4.85, 1.84, 0.07)),
]


@pytest.mark.parametrize(("diameter", "s580", "appendix_8"), MARGINS)
def test_margins_at_512_ksym_s(diameter, s580, appendix_8):
    """The same, from a prototype: to the two digits that it told."""
    error = beamwidth_deg(diameter, 14.25) * math.sqrt(0.3 / 12)
    for pattern, known in (("s580", s580), ("appendix_8", appendix_8)):
        dish = Radiator(pattern, gain_dbi(diameter, 0.65, 14.25), diameter / wavelength_m(14.25))
        feed = 10 * np.log10([1, 2, 3]) - 1.5
        mask = named_mask("47cfr25_ku", 14.25)
        margin, _ = tightest(mask, dish, feed, 512e3, displaced_deg=error)
        np.testing.assert_allclose(margin, known, rtol=0, atol=0.0101)


def test_the_horizon_of_47_cfr_25_204():
    """40 dBW/4 kHz to 0 degrees, 40 + 3 theta to 5; 64 and 64 + 3 theta dBW/MHz above 15 GHz."""
    found = horizon_limit_dbw(14.25, [-2, 0, 1, 5, 5.01])
    np.testing.assert_allclose(found, [40, 40, 43, 55, np.nan], rtol=0, atol=1e-9)
    found = horizon_limit_dbw(29.5, [-2, 0, 1, 5, 5.01])
    np.testing.assert_allclose(found, [64, 64, 67, 79, np.nan], rtol=0, atol=1e-9)
    assert horizon_reference_khz([1.5, 15, 15.01]).tolist() == [4, 4, 1000]
