"""Pointing aids of a plan, against closed forms and plain differences."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.geometry import look_angles
from siteplan.planning.plan import make_plan


def network(polarization: str = "vertical", **site: float) -> Network:
    ways = {
        "uplink_polarization": polarization,
        "downlink_polarization": polarization,
    }
    return Network.model_validate(
        {
            "network": {"date": "2026-06-01"},
            "satellite": {"longitude_deg": 10},
            "antennas": [{"diameter_m": 1.8, "offset_angle_deg": 22}, {"diameter_m": 2.4}],
            "outbound": ways,
            "inbound": ways,
            "site": site,
        }
    )


@pytest.fixture(scope="module")
def sites() -> Sites:
    lat, lon = np.array([45.0, 45.0, 60.0, -30.0]), np.array([7.0, 7.0, -5.0, 30.0])
    fixed = np.array([1.8, 2.4, 1.8, 1.8])
    return Sites.at(lat, lon, fixed_antenna_m=fixed)


def test_inclinometer_is_elevation_less_offset(sites: Sites) -> None:
    c = make_plan(sites, network()).columns
    rim = c["elevation_deg"] - np.array([22, 0, 22, 22])
    np.testing.assert_allclose(c["inclinometer_deg"], rim, atol=1e-12)
    # The far northern site's rim leans forward.
    assert c["inclinometer_deg"][2] < 0


def test_steps_along_the_orbit(sites: Sites) -> None:
    """Central differences over 0.1 degree equal half of what 0.2 degree does."""
    c = make_plan(sites, network()).columns
    ahead, behind = (
        look_angles(sites.lat, sites.lon, c["altitude_m"], 10 + d) for d in (0.1, -0.1)
    )
    for field, angle in (
        ("azimuth_step_deg", "azimuth_true_deg"),
        ("elevation_step_deg", "elevation_deg"),
        ("skew_step_deg", "skew_deg"),
    ):
        by_hand = (getattr(ahead, angle) - getattr(behind, angle)) / 2
        np.testing.assert_allclose(c[field], by_hand, atol=1e-9)
    # A satellite further east stands at a smaller azimuth in the north, a larger in the south.
    assert (c["azimuth_step_deg"][:3] < 0).all()
    assert c["azimuth_step_deg"][3] > 0


def test_circular_feeds_have_no_skew_to_change(sites: Sites) -> None:
    assert np.isnan(make_plan(sites, network("circular")).columns["skew_step_deg"]).all()


def test_loss_for_a_tenth_of_a_degree(sites: Sites) -> None:
    """12 (0.1 / b)^2 with b = 70 lambda / D at 14.25 GHz (Maral and Bousquet, chapter 5)."""
    c = make_plan(sites, network()).columns
    beam = 70 * 0.299792458 / 14.25 / np.array([1.8, 2.4, 1.8, 1.8])
    np.testing.assert_allclose(c["loss_0_1_deg_db"], 12 * (0.1 / beam) ** 2, rtol=1e-9)


def test_acceptance_is_expected_less_the_tolerance(sites: Sites) -> None:
    c = make_plan(sites, network(acceptance_db=1.5)).columns
    np.testing.assert_array_equal(c["expected_c_n_db"], c["outbound_clear_es_n0_db"])
    np.testing.assert_allclose(c["expected_c_n_db"] - c["acceptance_c_n_db"], 1.5, atol=1e-12)
