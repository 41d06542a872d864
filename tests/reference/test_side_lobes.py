"""Side lobes against the branches of the Recommendations' texts, and figures worked out apart.

Sources: ITU-R S.580-6 with the extension of ITU's Radiocommunication Bureau, ITU-R S.465-6, Radio
Regulations Appendix 8 Annex III, all from transcriptions of the Bureau's notes on antenna patterns.
Figures are computed from the formulas by a separate script: efficiency 0.65, c = 299 792 458 m/s.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.physics.radio.antennas import beamwidth_deg, gain_dbi, wavelength_m
from siteplan.physics.radio.patterns import envelope, first_angle_deg, off_axis_gain_dbi

DIAMETERS = (0.6, 0.75, 0.98, 1.2, 1.8, 2.4, 3.7, 4.5, 9.0)
FREQUENCIES = (6.1, 11.95, 14.25, 20.0, 29.5)
#: Where a text's floor begins at 48 degrees it steps by 0.031 dB, at 15.85 x^-0.6 by less.
STEP_DB = 0.04


def dish(diameter: float, frequency: float) -> tuple[float, float]:
    """Return gain on axis [dBi] and D / lambda."""
    return (
        float(gain_dbi(diameter, 0.65, frequency)),
        float(diameter / wavelength_m(frequency)),
    )


def main_lobe(phi: float, gm: float, x: float, g1: float) -> float | None:
    """Return the gain of the main lobe, or None beyond it."""
    inside = phi < 20 / x * math.sqrt(gm - g1)
    return gm - 2.5e-3 * (x * phi) ** 2 if inside else None


def appendix_8(phi: float, gm: float, x: float) -> float:
    """Appendix 8, Annex III, branch by branch."""
    g1 = 2 + 15 * math.log10(x)
    if (main := main_lobe(phi, gm, x, g1)) is not None:
        return main
    if x >= 100:
        if phi < 15.85 * x**-0.6:
            return g1
        return 32 - 25 * math.log10(phi) if phi < 48 else -10.0
    if phi < 100 / x:
        return g1
    log_x = math.log10(x)
    return 52 - 10 * log_x - 25 * math.log10(phi) if phi < 48 else 10 - 10 * log_x


def s580_any_size(phi: float, gm: float, x: float) -> float:
    """S.580-6, branch by branch, whatever the size."""
    g1 = -1 + 15 * math.log10(x) if x >= 100 else -21 + 25 * math.log10(x)
    if (main := main_lobe(phi, gm, x, g1)) is not None:
        return main
    if phi < (15.85 * x**-0.6 if x >= 100 else 100 / x):
        return g1
    if phi < 19.95:
        return 29 - 25 * math.log10(phi)
    if phi < 26.3:
        return -3.5
    return 32 - 25 * math.log10(phi) if phi < 48 else -10.0


def s580(phi: float, gm: float, x: float) -> float:
    return s580_any_size(phi, gm, x) if x >= 50 else appendix_8(phi, gm, x)


def s465(phi: float, gm: float, x: float) -> float:
    """S.465-6, branch by branch; inside its least angle, its value there is held (our choice)."""
    least = max(1, 100 / x) if x >= 50 else max(2, 114 * x**-1.09)
    g1 = 32 - 25 * math.log10(least)
    if (main := main_lobe(phi, gm, x, g1)) is not None:
        return main
    if phi < least:
        return g1
    return 32 - 25 * math.log10(phi) if phi < 48 else -10.0


@pytest.mark.parametrize("text", [appendix_8, s580, s580_any_size, s465])
@pytest.mark.parametrize("diameter", DIAMETERS)
def test_one_form_against_the_branches(text, diameter):
    for frequency in FREQUENCIES:
        gm, x = dish(diameter, frequency)
        angles = np.append(np.logspace(-2, math.log10(180), 960), np.linspace(0, 180, 40))
        branches = [text(float(phi), gm, x) for phi in angles]
        found = off_axis_gain_dbi(text.__name__, angles, gm, x)
        np.testing.assert_allclose(found, branches, rtol=0, atol=STEP_DB)


# Diameter, frequency, D / lambda, gain on axis, g1, phi_m, phi_r of Appendix 8
APPENDIX_8 = [
    (1.2, 11.95, 47.833, 41.667, 27.196, 1.5906, 2.0906),
    (1.2, 14.25, 57.039, 43.196, 28.343, 1.3513, 1.7532),
    (2.4, 14.25, 114.079, 49.216, 32.858, 0.7091, 0.9241),
]
#: g1 and phi_m of S.580-6 as extended, of the same dishes.
S580 = [(27.196, 1.5906), (22.904, 1.579), (29.858, 0.771)]


@pytest.mark.parametrize("row", APPENDIX_8)
def test_levels_of_appendix_8(row):
    diameter, frequency, wavelengths, gain, g1, phi_m, phi_r = row
    gm, x = dish(diameter, frequency)
    levels = envelope("appendix_8", x)
    assert x == pytest.approx(wavelengths, abs=6e-4)
    assert gm == pytest.approx(gain, abs=6e-4)
    assert levels.plateau_dbi == pytest.approx(g1, abs=6e-4)
    assert 20 / x * math.sqrt(gm - float(levels.plateau_dbi)) == pytest.approx(phi_m, abs=6e-5)
    assert levels.side_deg == pytest.approx(phi_r, abs=1.1e-4)  # the text rounds to 15.85
    if x < 100:
        assert first_angle_deg(x) == pytest.approx(phi_r, abs=6e-5)


@pytest.mark.parametrize(("row", "known"), list(zip(APPENDIX_8, S580, strict=True)))
def test_levels_of_s580(row, known):
    gm, x = dish(*row[:2])
    g1 = float(envelope("s580", x).plateau_dbi)
    assert g1 == pytest.approx(known[0], abs=6e-4)
    assert 20 / x * math.sqrt(gm - g1) == pytest.approx(known[1], abs=6e-4)


# Diameter, frequency, pattern, gains at 1, 2.2, 3.3 and 20 degrees
GAINS = [
    (1.2, 11.95, "appendix_8", (35.95, 26.64, 22.24, 2.68)),
    (1.2, 11.95, "s580", (35.95, 26.64, 22.24, 2.68)),
    (1.2, 14.25, "appendix_8", (35.06, 25.88, 21.48, 1.91)),
    (1.2, 14.25, "s580", (35.06, 20.44, 16.04, -3.50)),
    (2.4, 14.25, "appendix_8", (32.00, 23.44, 19.04, -0.53)),
    (2.4, 14.25, "s580", (29.00, 20.44, 16.04, -3.50)),
]


@pytest.mark.parametrize(("diameter", "frequency", "pattern", "known"), GAINS)
def test_gains(diameter, frequency, pattern, known):
    found = off_axis_gain_dbi(pattern, [1, 2.2, 3.3, 20], *dish(diameter, frequency))
    np.testing.assert_allclose(found, known, rtol=0, atol=0.006)


def test_gains_of_s465_past_its_least_angle():
    known = [24.474, 20.072, 10.873, -0.526, -10.0, -10.0]  # the text has -10.031 at 48 degrees
    found = off_axis_gain_dbi("s465", [2, 3, 7, 20, 48, 120], 49.216, 114.079)
    np.testing.assert_allclose(found, known, rtol=0, atol=6e-4)


def test_least_angles_of_s465():
    found = envelope("s465", [30, 40, 47.833, 60, 100, 300]).side_deg
    np.testing.assert_allclose(found, [2.798, 2.045, 2, 1.667, 1, 1], rtol=0, atol=6e-4)


def test_the_bureaus_step_at_50_wavelengths_is_6_db():
    below, above = off_axis_gain_dbi("s580", 5, 42, [50 - 1e-9, 50])
    assert below - above == pytest.approx(52 - 10 * math.log10(50) - 29, abs=1e-6)
    assert below - above == pytest.approx(6.02, abs=0.011)


# Diameter, pattern, carrier over neighbours with and without an error of pointing.
CARRIER_OVER_NEIGHBOURS = [
    (1.2, "appendix_8", 10.5437, 11.1615),
    (1.2, "s580_any_size", 16.7464, 17.3642),
    (2.4, "appendix_8", 19.6580, 20.1924),
    (2.4, "s580", 22.8504, 23.3848),
]


@pytest.mark.parametrize(("diameter", "pattern", "with_error", "without"), CARRIER_OVER_NEIGHBOURS)
def test_carrier_over_four_neighbours(diameter, pattern, with_error, without):
    """Neighbours at +-2.2 and +-3.3 degrees, topocentric, 11.95 GHz, by a separate script.

    Our carrier's density is -30.2712 dBW/Hz, theirs -31.0630 each; 0.3 dB of pointing loss, which
    means an error of theta3 sqrt(0.3 / 12). The error is taken towards each of them.
    """
    gm, x = dish(diameter, 11.95)
    error = float(beamwidth_deg(diameter, 11.95)) * math.sqrt(0.3 / 12)
    for nearer, known in ((error, with_error), (0.0, without)):
        gains = off_axis_gain_dbi(pattern, np.array([-3.3, -2.2, 2.2, 3.3]), gm, x)
        if nearer:
            separations = np.array([3.3, 2.2, 2.2, 3.3]) - nearer
            gains = off_axis_gain_dbi(pattern, separations, gm, x)
        others = -31.0630 + 10 * math.log10((10 ** (gains / 10)).sum())
        assert -30.2712 - 0.3 + gm - others == pytest.approx(known, abs=2e-4)
