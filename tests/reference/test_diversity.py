"""The gain of a second station: ITU-R P.618-14 section 2.2.4.2, worked apart from the package."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.physics.propagation.diversity import Baseline, gain_db

#: Rain [dB], distance [km], frequency [GHz], elevation [deg], angle [deg]: gain [dB]. Worked by
#: script from the Recommendation's formula, whose text was read in two transcriptions.
WORKED = (
    (5.0, 10.0, 14.25, 40.0, 90.0, 2.846),
    (10.0, 5.0, 14.25, 40.0, 90.0, 5.633),
    (20.0, 20.0, 30.0, 40.0, 90.0, 9.590),
)


@pytest.mark.parametrize(("rain", "km", "ghz", "el", "psi", "gain"), WORKED)
def test_worked_gains(
    rain: float, km: float, ghz: float, el: float, psi: float, gain: float
) -> None:
    """Printed to 0.001 dB."""
    assert float(gain_db(rain, ghz, el, Baseline(km, psi))) == pytest.approx(gain, abs=6e-4)


@pytest.mark.parametrize(("rain", "km", "ghz", "el", "psi", "gain"), WORKED)
def test_the_formula_term_by_term(
    rain: float, km: float, ghz: float, el: float, psi: float, gain: float
) -> None:
    """P.618-14 section 2.2.4.2: gain by distance, frequency, elevation and baseline, multiplied."""
    a = 0.78 * rain - 1.94 * (1 - math.exp(-0.11 * rain))
    b = 0.59 * (1 - math.exp(-0.1 * rain))
    terms = a * (1 - math.exp(-b * km)), math.exp(-0.025 * ghz), 1 + 0.006 * el, 1 + 0.002 * psi
    found = float(gain_db(rain, ghz, el, Baseline(km, psi)))
    assert found == pytest.approx(math.prod(terms), abs=1e-12)
    assert math.prod(terms) == pytest.approx(gain, abs=6e-4)


def test_no_distance_no_gain() -> None:
    rain = np.linspace(0, 40, 9)
    np.testing.assert_array_equal(gain_db(rain, 20.0, 30.0, Baseline(0.0, 90.0)), 0.0)
