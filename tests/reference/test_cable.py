"""Cable resistance and loss against the wire gauge's definition and transmission-line theory."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.network.site import typical_cables
from siteplan.physics.radio.cable import clad_steel_ohm_km, core_resistance_ohm_km


def gauge_mm(number):
    """Return the diameter of an American wire gauge (ASTM B258): 0.127 mm x 92^((36-n)/39)."""
    return 0.127 * 92 ** ((36 - number) / 39)


@pytest.mark.parametrize(
    ("name", "number"),
    [("75 ohm, series 59", 20), ("75 ohm, series 6", 18), ("75 ohm, series 11", 14)],
)
def test_cores_of_the_series_are_those_of_their_gauge(name, number):
    cores = {row.cable.name: row.cable.core_mm for row in typical_cables()}
    np.testing.assert_allclose(cores[name], gauge_mm(number), atol=5e-4)


def test_18_awg_copper_has_20_9_ohm_per_km():
    # ASTM B258 table: 6.385 ohm per 1000 ft, 20.95 ohm/km, at 20 C.
    np.testing.assert_allclose(core_resistance_ohm_km(gauge_mm(18)), 20.95, atol=5e-3)


@pytest.mark.parametrize("row", typical_cables(), ids=lambda row: row.cable.name)
def test_loss_lies_above_that_of_an_ideal_copper_line(row):
    # Skin effect on smooth copper (Pozar, Microwave Engineering, section 2.7): attenuation
    # R / 2 Z with R = Rs / (pi d) + Rs / (pi D); D from impedance with foam of er 1.5.
    surface_ohm = np.sqrt(np.pi * 1e9 * 4e-7 * np.pi * 1.7241e-8)
    ratio = np.exp(row.impedance_ohm * np.sqrt(1.5) / 59.96)
    d = row.cable.core_mm * 1e-3
    resistance = surface_ohm / np.pi * (1 / d + 1 / (ratio * d))
    ideal = 100 * 8.686 * resistance / (2 * row.impedance_ohm)
    assert ideal < row.cable.loss_db_100m < 1.7 * ideal


def test_a_clad_steel_core_of_18_awg_has_some_94_to_100_ohm_per_km():
    # 28.6 ohm per 1000 ft, 93.8 ohm/km: a usual data-sheet figure of series 6 cable with a core of
    # copper-clad steel (common practice, no source; from memory). 21 % by ASTM B869: 99.8 ohm/km.
    copper = core_resistance_ohm_km(gauge_mm(18))
    np.testing.assert_allclose(clad_steel_ohm_km(copper), 93.8, rtol=0.07)
    np.testing.assert_allclose(clad_steel_ohm_km(copper), copper / 0.21, rtol=1e-12)
