"""Exposure as a plan gives it: limits by rule, distances, the beam's edge."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from siteplan.network import Network
from siteplan.physics.radio.exposure import FieldRegions
from siteplan.planning.link.ends import Kit
from siteplan.planning.site.exposure import Radiator, _beside_m, exposures, rules_in_force
from siteplan.planning.site.exposure import radiator as of_kit


def network(**site: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 0}, "site": site})


def stands(rim_m: Any) -> Any:
    """Return a stance whose rims are at these heights above the ground."""
    return SimpleNamespace(rim_m=rim_m, at_roof_edge=np.zeros(np.shape(rim_m), dtype=bool))


def radiator(power: float, diameter: float = 1.2, elevation: float = 30.0, rim: float = 1.2):
    return Radiator(*(np.array([x]) for x in (power, diameter, 0.65, elevation, rim)))


def test_what_radiates_is_the_rated_power_less_the_feed_s_loss() -> None:
    """40 W through 3.0103 dB are 20 W at the flange; the loss makes no radiator stronger."""
    lossy = Network.model_validate(
        {"satellite": {"longitude_deg": 0}, "terminal": {"tx_loss_db": 10 * np.log10(2)}}
    )
    n = np.array([1.2, 1.8, 2.4])
    kit = Kit(
        antenna_m=n,
        buc_w=np.array([40.0, 8.0, np.nan]),
        source=np.array(["picked"] * 3, dtype=object),
        dish_m=n + 0.1,
        efficiency=n / 4,
        offset_deg=n * 10,
        tried_w=np.array([40.0, 8.0, 100.0]),
        buc_dbw=np.array([15.0, 8.0, 19.0]),
        pattern=np.zeros(3, dtype=np.intp),
        xpi_db=np.full(3, 30.0),
    )
    found = of_kit(kit, n * 20, stands(n - 1), lossy)
    np.testing.assert_allclose(found.power_w, [20, 4, 50], rtol=1e-12)
    np.testing.assert_array_equal(found.diameter_m, n + 0.1)
    np.testing.assert_array_equal(found.efficiency, n / 4)
    np.testing.assert_array_equal(found.elevation_deg, n * 20)
    np.testing.assert_array_equal(found.rim_m, n - 1)


@pytest.mark.parametrize(("key", "count"), [("both", 3), ("47 CFR 1.1310", 1), ("ICNIRP 2020", 2)])
def test_rules_by_key(key: str, count: int) -> None:
    assert len(rules_in_force(network(exposure_limits=key))) == count


def test_both_take_the_longer() -> None:
    """At 14.25 GHz both know 10 W/m2 for the public; workers' 50 W/m2 as well."""
    source = radiator(40.0)
    both, cfr, icnirp = (
        exposures(source, network(exposure_limits=k))
        for k in ("both", "47 CFR 1.1310", "ICNIRP 2020")
    )
    for name in ("public_distance_m", "controlled_distance_m"):
        longest = max(getattr(x, name)[0] for x in (cfr, icnirp))
        assert getattr(both, name)[0] == longest
    assert both.public_distance_m[0] > both.controlled_distance_m[0] > 0


def test_distance_of_the_far_field_by_hand() -> None:
    """100 W into 0.6 m at 14.25 GHz: sqrt(P G / 4 pi S) with S 10 W/m2, beyond 0.6 D^2 / lambda."""
    found = exposures(radiator(100.0, diameter=0.6), network(exposure_limits="47 CFR 1.1310"))
    wavelength = 0.299792458 / 14.25
    gain = 0.65 * (np.pi * 0.6 / wavelength) ** 2
    by_hand = np.sqrt(100 * gain / (4 * np.pi * 10))
    assert by_hand > found.far_field_start_m[0]
    assert found.public_distance_m[0] == pytest.approx(by_hand, rel=1e-9)


def test_16_w_into_1_2_m() -> None:
    """Passes the local figure in the near field, but not the whole-body one: so it counts."""
    found = exposures(radiator(16.0), network(exposure_limits="ICNIRP 2020"))
    assert found.near_field_w_m2[0] == pytest.approx(16 * 0.65 * 16 / (np.pi * 1.44), rel=1e-9)
    assert found.public_distance_m[0] > found.near_field_end_m[0]
    assert found.exposure_rule[0] == "ICNIRP 2020 whole body"


def test_weak_transmitters_keep_the_limit_everywhere() -> None:
    found = exposures(radiator(1.0), network())
    assert (found.public_distance_m[0], found.public_beside_m[0]) == (0, 0)
    assert not found.reachable[0]


@pytest.mark.parametrize(
    ("surface", "near", "beside"),
    [
        (10.0, 10.0, 0.0),  # the limit itself is kept
        (10.001, 10.001, 1.2),
        (1000.0, 1000.0, 1.2),  # a hundredth of it beside the beam
        (1000.1, 1000.1, 1.6),
    ],
)
def test_a_density_at_the_limit_keeps_it(surface: float, near: float, beside: float) -> None:
    """Beside a dish of 1.2 m whose power asks for 1.6 m at -10 dBi (4 pi r^2 S / 0.1)."""
    power = 10.0 * 4 * np.pi * 1.6**2 * 10
    regions = FieldRegions(np.zeros(1), np.zeros(1), np.array([near]), np.array([surface]))
    found = _beside_m(radiator(power), regions, 10.0)
    np.testing.assert_allclose(found, beside, rtol=1e-9)


def test_beside_the_beam_one_diameter_at_least() -> None:
    assert exposures(radiator(40.0), network()).public_beside_m[0] == 1.2
    strong = exposures(radiator(20_000.0, diameter=0.6), network())
    # -10 dBi: sqrt(20 kW x 0.1 / (4 pi 10)).
    assert strong.public_beside_m[0] == pytest.approx(np.sqrt(2000 / (40 * np.pi)), rel=1e-9)


def test_edge_and_head_height() -> None:
    found = exposures(radiator(40.0, elevation=45.0, rim=1.5), network())
    assert found.beam_edge_m[0] == 1.5
    assert found.beam_over_head_m[0] == pytest.approx(1.0, rel=1e-12)
    assert found.reachable[0]
    high = exposures(radiator(40.0, elevation=45.0, rim=4.0), network())
    assert high.beam_over_head_m[0] == 0
    assert not high.reachable[0]


def test_unseen_satellite() -> None:
    found = exposures(radiator(40.0, elevation=np.nan), network())
    assert np.isnan(found.beam_over_head_m[0])
    assert not found.reachable[0]
