"""Antenna gain and beamwidth against a filed exhibit and aperture theory."""

from __future__ import annotations

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import j0, j1

from siteplan.physics.radio.antennas import beamwidth_deg, gain_dbi, wavelength_m

# FCC file SES-LIC-20180501-00417, radiation hazard exhibit: D 1.2 m, lambda 0.02103807 m,
# efficiency 0.65, gain 43.20 dBi.
FREQUENCY_GHZ = 0.299792458 / 0.02103807


def test_exhibit_of_a_licence_file():
    np.testing.assert_allclose(wavelength_m(FREQUENCY_GHZ), 0.02103807, rtol=1e-12)
    np.testing.assert_allclose(gain_dbi(1.2, 0.65, FREQUENCY_GHZ), 43.20, atol=5e-3)


def taper_pattern(u, edge):
    """Return the field pattern of an aperture lit by edge + (1 - edge)(1 - r^2)."""
    lit = quad(lambda r: (edge + (1 - edge) * (1 - r * r)) * j0(u * r) * r, 0, 1)[0]
    return lit / quad(lambda r: (edge + (1 - edge) * (1 - r * r)) * r, 0, 1)[0]


def half_power_factor(edge):
    """Return the beamwidth times D/lambda [deg] of a circular aperture with a taper."""
    u = brentq(lambda v: taper_pattern(v, edge) - np.sqrt(0.5), 0.5, 3)
    return np.degrees(2 * u / np.pi)


def test_beamwidth_factor_lies_among_those_of_tapered_apertures():
    # Aperture theory: 58.9 for uniform light, 72.8 for a parabolic taper to nothing (Silver,
    # Microwave Antenna Theory and Design, table 6.2); 70 belongs to a strong edge taper.
    uniform, dark_edge = half_power_factor(1.0), half_power_factor(0.0)
    np.testing.assert_allclose([uniform, dark_edge], [58.9, 72.8], atol=0.06)
    ours = beamwidth_deg(1.0, FREQUENCY_GHZ) / wavelength_m(FREQUENCY_GHZ)
    np.testing.assert_allclose(ours, 70, atol=1e-9)
    assert uniform < 70 < dark_edge


def test_uniform_aperture_has_the_gain_of_its_area():
    # Directivity by integrating the Airy pattern over the sphere: 4 pi A / lambda^2 for large D.
    wavelengths = 50.0
    size = np.pi * wavelengths

    def power(theta):
        u = size * np.sin(theta)
        return (2 * j1(u) / u) ** 2 * np.sin(theta) if u > 0 else 0.0

    total = 2 * np.pi * quad(power, 0, np.pi / 2, limit=2000)[0]
    ours = gain_dbi(wavelengths * float(wavelength_m(12.0)), 1.0, 12.0)
    np.testing.assert_allclose(ours, 10 * np.log10(4 * np.pi / total), atol=0.1)
