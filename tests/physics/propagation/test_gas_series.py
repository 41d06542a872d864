"""The series against the line sums that they stand in for."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.propagation import gas, gas_series
from siteplan.physics.propagation.gas_series import gas_db, oxygen_series, vapour_series


def state(n: int) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(6)
    return {
        "pressure_hpa": rng.uniform(500, 1020, n),
        "density_g_m3": rng.uniform(0.5, 25, n),
        "temperature_k": rng.uniform(240, 308, n),
        "vapour_kg_m2": rng.uniform(1, 70, n),
        "altitude_km": rng.uniform(0, 5, n),
    }


@pytest.mark.parametrize("frequency", [1.5, 4.0, 10.7, 11.95, 14.25, 19.7, 29.5, 41.0])
def test_series_equal_the_sums(frequency: float) -> None:
    n = gas_series.SERIES_FROM_SITES
    given, elevation = state(n), np.full(n, 30.0)
    assert oxygen_series(frequency) is not None
    assert vapour_series(frequency) is not None
    many = gas_db(frequency, elevation, **given)
    few = np.concatenate(
        [
            gas_db(frequency, elevation[k : k + 50], **{a: v[k : k + 50] for a, v in given.items()})
            for k in range(0, n, 50)
        ]
    )
    np.testing.assert_allclose(many, few, rtol=gas_series.TOLERANCE)


@pytest.mark.parametrize("frequency", [45.0, 53.0, 60.0, 118.0])
def test_near_oxygens_lines_the_sums_are_used(frequency: float) -> None:
    assert oxygen_series(frequency) is None
    n = gas_series.SERIES_FROM_SITES
    assert np.isfinite(gas_db(frequency, np.full(n, 30.0), **state(n))).all()


def test_outside_the_series_range_the_sums_are_used() -> None:
    n = gas_series.SERIES_FROM_SITES
    given = state(n)
    given["pressure_hpa"][0], given["vapour_kg_m2"][1] = 300.0, 0.05
    given["temperature_k"][2], given["density_g_m3"][3] = 340.0, 60.0
    many = gas_db(14.25, np.full(n, 30.0), **given)
    for k in range(4):
        alone = gas_db(14.25, np.full(1, 30.0), **{a: v[k : k + 1] for a, v in given.items()})
        np.testing.assert_allclose(many[k], alone[0], rtol=gas_series.TOLERANCE)


def test_below_the_horizon_there_is_no_answer() -> None:
    n = gas_series.SERIES_FROM_SITES
    elevation = np.full(n, 30.0)
    elevation[::2] = np.nan
    assert np.isnan(gas_db(14.25, elevation, **state(n))).sum() == n / 2


def test_vapour_alone_matters_little_at_4_ghz() -> None:
    """A limiting case: P.676 figure 1 shows vapour far below oxygen at 4 GHz."""
    dry = gas.oxygen_db_km(4.0, np.array([1013.25]), np.array([7.5]), np.array([288.15]))
    wet = gas.vapour_db_km(4.0, 1013.25, np.array([7.5]), np.array([288.15]))
    assert wet[0] < dry[0] / 5
