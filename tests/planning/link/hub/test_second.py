"""A second hub in the link: rain less its gain, at either frequency; none changes no bit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.network import Network
from siteplan.physics.propagation.attenuation import averaging
from siteplan.physics.propagation.diversity import Baseline, gain_db
from siteplan.planning.link.ends import HubPaths, hub_end, hub_paths, hub_sky
from siteplan.planning.link.fading import fading
from siteplan.planning.setting import clouds_of

P_PCT = (0.001, 0.01, 0.1, 1.0, 3.0, 20.0)


def network(**hub: Any) -> Network:
    place = {"lat": -3.1, "lon": -60.0}
    return Network.model_validate({"satellite": {"longitude_deg": -40.0}, "hub": place | hub})


def paths(of: Network) -> HubPaths:
    found = hub_paths(of, clouds_of(of))
    assert found is not None
    return found


@pytest.mark.parametrize("km", [None, 0.0])
def test_none_and_no_distance_change_no_bit(km: float | None) -> None:
    plain, other = network(), network(diversity_km=km, diversity_bearing_deg=77)
    one, two = hub_end(plain, clouds_of(plain)), hub_end(other, clouds_of(other))
    for name in ("up_fade", "down_fade"):
        np.testing.assert_array_equal(
            getattr(one, name).loss_db, getattr(two, name).loss_db, err_msg=name
        )


@pytest.mark.parametrize("way", ["up", "down"])
def test_only_the_rain_falls_by_the_gain_at_its_frequency(way: str) -> None:
    of = network(diversity_km=8, diversity_bearing_deg=10)
    found = paths(of)
    path, psi = getattr(found, way), found.second.psi_deg if found.second else -1
    azimuth = float(found.angles.azimuth_true_deg[0])
    away = abs(10 - azimuth) % 180
    assert psi == pytest.approx(min(away, 180 - away), abs=1e-9)
    sigma = averaging(path, of.hub.antenna_m, of.hub.efficiency)
    for p in P_PCT:
        plain = fading(path, 0.0, None).sky(np.array([p]), sigma)
        less = hub_sky(of, path, found.second, p)
        gain = gain_db(plain.rain, path.frequency_ghz, path.elevation_deg, Baseline(8, psi))
        np.testing.assert_allclose(less.rain, np.maximum(plain.rain - gain, 0), atol=1e-3, rtol=0)
        for part in ("gas", "cloud", "scintillation"):
            np.testing.assert_array_equal(getattr(less, part), getattr(plain, part), err_msg=part)


def test_fades_fall_with_the_distance_and_never_rise_with_time() -> None:
    before: Any = None
    for km in (0, 2, 5, 10, 20, 40):
        of = network(diversity_km=km, diversity_bearing_deg=100)
        end = hub_end(of, clouds_of(of))
        fades = np.concatenate([end.up_fade.loss_db, end.down_fade.loss_db])
        assert (np.diff(end.up_fade.loss_db) <= 0).all()
        assert (np.diff(end.down_fade.loss_db) <= 0).all()
        if before is not None:
            assert (fades <= before + 1e-9).all()
            assert (fades < before - 0.01).any() == (km <= 20)
        before = fades


def test_without_a_bearing_the_least_is_gained() -> None:
    ends = [
        hub_end(of, clouds_of(of)).up_fade.at(0.01)
        for of in (
            network(diversity_km=10),
            network(diversity_km=10, diversity_bearing_deg=0),
            network(diversity_km=10, diversity_bearing_deg=0.0 + 90),
        )
    ]
    assert float(ends[0]) >= max(float(ends[1]), float(ends[2]))


def test_what_rain_turns_over_follows_from_the_rain_that_is_left() -> None:
    crossed = {"inbound": {"cross_polar_level_db": 0.0}}
    bare = network().model_dump(exclude_unset=True) | crossed
    one = Network.model_validate(bare)
    two = Network.model_validate(bare | {"hub": bare["hub"] | {"diversity_km": 15}})
    leaks = [hub_end(of, clouds_of(of)).depolarized for of in (one, two)]
    assert leaks[0] is not None
    assert leaks[1] is not None
    assert float(leaks[1].at(0.01)) > float(leaks[0].at(0.01)) + 0.5
