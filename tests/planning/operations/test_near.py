"""Which sites share the weather of one: few and many are found alike, ties by their order."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.planning.operations import near
from siteplan.planning.operations.near import NAMED, NEAR_KM, Nearest


def named(n: int) -> np.ndarray:
    return np.array([f"S{k}" for k in range(n)], dtype=object)


def nearest_ids(
    site_id: np.ndarray, lat: np.ndarray, lon: np.ndarray
) -> tuple[tuple[str, ...], ...]:
    return Nearest(site_id, lat, lon).of(0, len(site_id))


def test_few_and_many_are_found_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scipy's tree and all pairs, across 180 degrees of longitude and at the pole."""
    rng = np.random.default_rng(3)
    lat = np.concatenate([rng.uniform(-3, 3, 150), rng.uniform(88, 90, 50)])
    lon = np.concatenate([rng.uniform(178, 182, 150), rng.uniform(-180, 180, 50)])
    by_all = nearest_ids(named(200), lat, lon)
    monkeypatch.setattr(near, "_FEW", 0)
    assert nearest_ids(named(200), lat, lon) == by_all
    assert {len(each) for each in by_all} >= {0, NAMED}


def test_the_sites_named_are_those_of_the_great_circle() -> None:
    rng = np.random.default_rng(4)
    lat, lon = rng.uniform(40, 42, 60), rng.uniform(5, 7, 60)
    phi, lam = np.radians(lat), np.radians(lon)
    cosine = np.sin(phi)[:, None] * np.sin(phi) + np.cos(phi)[:, None] * np.cos(phi) * np.cos(
        np.subtract.outer(lam, lam)
    )
    away = 6371.0 * np.arccos(np.clip(cosine, -1, 1))
    np.fill_diagonal(away, np.inf)
    for k, told in enumerate(nearest_ids(named(60), lat, lon)):
        order = [j for j in np.argsort(away[k]) if away[k][j] <= NEAR_KM][:NAMED]
        assert told == tuple(f"S{j}" for j in order)


@pytest.mark.parametrize("few", [2000, 0])
def test_of_two_as_near_the_first_is_named_first(few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(near, "_FEW", few)
    told = nearest_ids(named(4), np.full(4, 10.0), np.array([0.0, 0.1, 0.1, 0.1]))
    assert told[0] == ("S1", "S2", "S3")
    assert told[2] == ("S1", "S3", "S0")


def test_one_site_has_none_near() -> None:
    assert nearest_ids(named(1), np.zeros(1), np.zeros(1)) == ((),)
    assert nearest_ids(named(0), np.zeros(0), np.zeros(0)) == ()
