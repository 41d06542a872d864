"""No mount beyond a planning limit is chosen, and no load grows lighter with wind or height.

The limits are common practice, no source; so are the figures that they are set by.
"""

from __future__ import annotations

import functools
import itertools
from typing import Any

import numpy as np
import pytest

from siteplan.network import Network
from siteplan.planning.site.mounts.choice import Mounts, mounts, try_mounts
from siteplan.planning.site.mounts.kind import Spot
from tests.planning.site.mounts.reason_rows import LIMITS, MOUNTS, Bears, Rules

NAN = float("nan")


def network(basis: str = "mean_10min", **site: Any) -> Network:
    return Network.model_validate(
        {"satellite": {"longitude_deg": 0}, "rules": {"wind_basis": basis}, "site": site}
    )


def spots(structure: Any, dish: Any, wind: Any, *, height: Any = NAN, facing: Any = 180.0,
          elevation: Any = 40.0) -> Spot:  # fmt: skip
    columns = np.broadcast_arrays(structure, dish, wind, height, facing, elevation)
    words, *numbers = columns
    dish_m, wind_m_s, height_m, facing_deg, elevation_deg = (np.float64(x) for x in numbers)
    return Spot(
        structure=words.astype(object),
        antenna_m=dish_m,
        roof_height_m=height_m,
        wall_facing_deg=facing_deg,
        azimuth_true_deg=np.full(len(words), 180.0),
        elevation_deg=elevation_deg,
        wind_m_s=wind_m_s,
        parapet_distance_m=np.full(len(words), 0.5),
    )


def needs(dish: Any, wind: float, **known: Any) -> dict[str, Any]:
    """Return what every kind asks for with the defaults, by its field (n,)."""
    of = try_mounts(spots(np.full(len(dish), "wall"), np.array(dish), wind, **known), network())
    return {f"{kind}.{k}": v for kind, tried in of.items() for k, v in tried.needs.items()}


# --- the figures that the limits are set by -------------------------------------------------


def test_what_dishes_ask_for_at_the_default_wind() -> None:
    """Worked at 25 m/s, category II, a roof of 6 m, footings of 0.6 m; common practice."""
    found = needs([1.2, 1.8, 2.4], 25.0, height=6.0)
    np.testing.assert_allclose(found["non_penetrating.ballast_kg"][1:], [1286, 2315], atol=0.5)
    np.testing.assert_allclose(found["wall.wall_pull_n"][:2], [1345, 4541], rtol=2e-4)
    np.testing.assert_allclose(found["pole.pole_embedment_m"], [1.32, 1.89, 2.48], atol=0.005)
    assert found["non_penetrating.roof_load_pa"][0] == pytest.approx(1300, abs=50)


def test_a_roof_frame_of_21_t_a_pull_of_16_kn_and_a_footing_of_9_m_are_never_chosen() -> None:
    """Ever worse winds and dishes: what is chosen keeps its limits, or an engineer designs it."""
    dish, wind = (x.ravel() for x in np.meshgrid([1.2, 2.4, 3.7, 5.0], [30.0, 50.0, 80.0, 110.0]))
    for structure in ("ground", "flat_roof", "wall"):
        at = spots(np.full(len(dish), structure), dish, wind, height=12.0)
        of = try_mounts(at, network())
        mount = mounts(at, of, network()).mount
        assert "engineered" in mount
        for kind, name, limit in (
            ("non_penetrating", "ballast_kg", 1500),
            ("ground", "ballast_kg", 5000),
            ("wall", "wall_pull_n", 3000),
            ("pole", "pole_embedment_m", 2.5),
        ):
            assert (of[kind].needs[name][mount == kind] <= limit).all()


def test_a_frame_on_the_ground_wins_where_the_footing_would_be_too_deep() -> None:
    """2.4 m at 26 m/s asks for a footing of 2.5 m and more, and for some 1.6 t of blocks."""
    at = spots(np.array(["ground"] * 3), 2.4, np.array([25.0, 26.0, 60.0]))
    assert mounts(at, try_mounts(at, network()), network()).mount.tolist() == [
        "pole",
        "ground",
        "engineered",
    ]


# --- 58,800 combinations --------------------------------------------------------------------

STRUCTURES = ("", "ground", "flat_roof", "pitched_roof", "wall")
DISHES_M = (0.75, 0.9, 1.2, 1.5, 1.8, 2.4, 3.7)
WINDS_M_S = (10.0, 20.0, 25.0, 30.0, 40.0, 55.0, 70.0)
FACINGS_DEG = (NAN, 0.0, 45.0, 90.0, 110.0, 180.0, 250.1, 315.0)
ELEVATIONS_DEG = (6.0, 15.0, 40.0, 74.9, 80.0)
HEIGHTS_M = (NAN, 0.0, 2.0, 6.0, 12.0, 40.0)


@functools.cache
def combined() -> Spot:
    """Every combination of structure, dish, wind, facing, elevation and height."""
    rows = itertools.product(
        STRUCTURES, DISHES_M, WINDS_M_S, FACINGS_DEG, ELEVATIONS_DEG, HEIGHTS_M
    )
    words, dish, wind, facing, elevation, height = zip(*rows, strict=True)
    assert len(words) == 58_800
    return spots(
        np.array(words), np.array(dish), np.array(wind), facing=np.array(facing),
        elevation=np.array(elevation), height=np.array(height),
    )  # fmt: skip


@functools.cache
def chosen(limit_pa: float | None) -> tuple[Mounts, Rules]:
    given = {} if limit_pa is None else {"roof_limit_pa": limit_pa}
    plan = network("gust_3s", **given)
    found = mounts(combined(), try_mounts(combined(), plan), plan)
    return found, Rules(0.0, limit_pa or 1500.0, limit_pa is not None)


@pytest.mark.parametrize("limit_pa", [None, 5000.0])
def test_no_chosen_mount_is_beyond_a_limit_and_every_one_has_a_kind(limit_pa: float | None) -> None:
    """Loads worked out anew by hand; a wall's angle counts under 75 degrees of elevation."""
    found, rules = chosen(limit_pa)
    bears = Bears(combined(), rules)
    assert set(found.mount) == {*MOUNTS.values(), "engineered"}
    assert set(found.certainty) == {"decided", "provisional"}
    for limit in LIMITS:
        here = found.mount == MOUNTS[limit.kind]
        value = limit.value(bears)[here]
        assert here.any()
        assert not (value > limit.most(rules) * (1 + 1e-9)).any(), limit.key
    assert not ((found.mount == "wall") & bears.on("ground")).any()
    assert not ((found.mount == "non_penetrating") & ~bears.on("flat_roof", "")).any()


def test_engineered_is_always_provisional() -> None:
    found, _ = chosen(None)
    designed = found.mount == "engineered"
    assert (found.excess[designed] > 1).all()
    assert (found.excess[~designed] <= 1).all()
    assert set(found.certainty[designed]) == {"provisional"}


def test_an_assumed_roof_limit_leaves_every_frame_on_a_roof_provisional() -> None:
    """A limit that is given, though it be the same, decides it."""
    assumed, _ = chosen(None)
    given, _ = chosen(5000.0)
    frame = assumed.mount == "non_penetrating"
    assert set(assumed.certainty[frame]) == {"provisional"}
    on_roof = (given.mount == "non_penetrating") & (combined().structure == "flat_roof")
    assert set(given.certainty[on_roof]) == {"decided"}
    flat = combined().structure == "flat_roof"
    assert set(assumed.certainty[flat]) == {"provisional"}


# --- wind, height and size ------------------------------------------------------------------


def loaded(at: Spot, basis: str) -> dict[str, Any]:
    """Return pressure, force, moment and needs of every kind (n,), by name."""
    found = {}
    for kind, tried in try_mounts(at, network(basis)).items():
        numbers = {k: v for k, v in tried.needs.items() if v.dtype != object}
        for name, values in (tried.load._asdict() | numbers).items():
            found[f"{kind}.{name}"] = values
    return found


@pytest.mark.parametrize("basis", ["mean_10min", "gust_3s"])
@pytest.mark.parametrize("more", ["wind", "height", "dish"])
def test_more_of_it_never_lightens_a_load(basis: str, more: str) -> None:
    """10,000 at random, a roof height of 0 among them; a roof's pressure may fall with the dish."""
    rng = np.random.default_rng(8)
    n = 10_000
    heights = rng.choice([0.0, 0.3, 2.0, 3.0, 6.0, 40.0], n) + rng.choice([0.0, 1.0], n) * 3.7
    start = {"dish": rng.uniform(0.4, 5, n), "wind": rng.uniform(5, 70, n), "height": heights}
    step = {"dish": rng.uniform(0, 2, n), "wind": rng.uniform(0, 30, n)}
    step["height"] = rng.choice([0.1, 0.5, 2.0, 30.0], n)
    words = np.full(n, "wall")
    less = loaded(spots(words, **start), basis)
    heavy = loaded(spots(words, **start | {more: start[more] + step[more]}), basis)
    for name, values in less.items():
        if more == "dish" and name.endswith("roof_load_pa"):
            continue
        assert (heavy[name] >= values * (1 - 1e-12)).all(), name
