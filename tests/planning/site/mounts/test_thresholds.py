"""Limits of the mounts' reasons from both sides: at, just below, just above; many sites a call."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.site.mounts.choice import OPTIONS, Mounts, mounts, told, try_mounts
from siteplan.planning.site.mounts.kind import Spot

NAN = float("nan")
#: Winds that bring a load to its limit are worked out for a dish of 1.2 m on these defaults:
#: aperture 1.130973 m2, force coefficient 1.5, 40 kg/m2, gust basis in open country.
AREA_M2 = np.pi / 4 * 1.2**2
WEIGHT_N = 40 * AREA_M2 * 9.80665
HAIR = 1e-6


def network(**site: Any) -> Network:
    return Network.model_validate(
        {"satellite": {"longitude_deg": 0}, "rules": {"wind_basis": "gust_3s"}, "site": site}
    )


def spots(structure: str, **columns: Any) -> Spot:
    """Return sites alike but for the columns that are given (n,)."""
    n = max(np.size(v) for v in columns.values())
    start = {
        "antenna_m": 1.2,
        "roof_height_m": NAN,
        "wall_facing_deg": 180.0,
        "azimuth_true_deg": 180.0,
        "elevation_deg": 40.0,
        "wind_m_s": 11.0,
        "parapet_distance_m": 0.5,
    }
    filled = {k: np.broadcast_to(np.float64(v), n).copy() for k, v in (start | columns).items()}
    return Spot(np.full(n, structure, dtype=object), **filled)


def weighed(at: Spot, **site: Any) -> tuple[Mounts, list[str]]:
    plan = network(**site)
    found = mounts(at, try_mounts(at, plan), plan)
    return found, told(at, found, english())["mount_options"].tolist()


def wind_m_s(drag_n: float, height_m: float) -> float:
    """Return the gust that gives a drag: 1.5 x 0.613 Kz V^2 x area; ASCE 7-16, exposure C."""
    kz = 2.01 * (height_m / 274.32) ** (2 / 9.5)
    return float(np.sqrt(drag_n / (1.5 * 0.613 * kz * AREA_M2)))


def pull_wind(pull_n: float) -> float:
    """The wind at which a fixing is pulled so much, 12 m up.

    Hanging weight x 0.6 / 0.8; along the wall drag x 0.6 / 0.8, which is more than drag / 4.
    """
    return wind_m_s((pull_n - WEIGHT_N * 0.6 / 0.8) / 0.75, 12.0)


def footing_wind(depth_m: float) -> float:
    """The wind at which a footing is so deep: d^3 = k d + 1.09 k h, k = 7.02 P / (S b)."""
    lever = 1.2 + 0.6
    k = depth_m**3 / (depth_m + 1.09 * lever)
    return wind_m_s(k * 15_700 * 0.6 / 7.02, 4.57)  # Kz is flat below 4.57 m


def ballast_wind(ballast_kg: float, height_m: float) -> float:
    """The wind that asks for a ballast against sliding: 1.5 (drag / 0.4 + drag / 3) = W."""
    weight = ballast_kg * 9.80665 + WEIGHT_N
    return wind_m_s(weight / 1.5 / (1 / 0.4 + 1 / 3), height_m)


def roof_wind(load_pa: float, height_m: float) -> float:
    """The wind under which frame and ballast load a base of 2.16 m by 2.16 m so much."""
    return ballast_wind((load_pa * 2.16**2 - WEIGHT_N) / 9.80665, height_m)


PULL, FOOTING = pull_wind(1500.0), footing_wind(1.5)
ROOF_BALLAST, GROUND_BALLAST = ballast_wind(500.0, 12.9), ballast_wind(1000.0, 4.57)

#: Structure, column, value without the reason, value with it, and the reason's words.
LIMITS: list[tuple[str, str, float, float, str]] = [
    ("wall", "wall_facing_deg", 180 + 70.001, 180 + 70, "mount.wall.looks_there"),
    ("wall", "wall_facing_deg", 180 - 70.001, 180 - 70, "mount.wall.looks_there"),
    ("wall", "wall_facing_deg", 180 + 50, 180 + 50.001, "mount.wall.along"),
    ("wall", "wall_facing_deg", 180 - 50, 180 - 50.001, "mount.wall.along"),
    ("wall", "wall_facing_deg", 180 - 70.001, 180 - 70, "mount.wall.along"),
    ("wall", "elevation_deg", 65.0, 65.001, "mount.wall.eaves"),
    ("ground", "antenna_m", 1.2, 1.2001, "mount.pole.large_dishes"),
    ("ground", "antenna_m", 2.4, 2.4001, "mount.pole.too_large"),
    ("ground", "elevation_deg", 15.0, 14.999, "mount.low_beam"),
    ("flat_roof", "antenna_m", 1.8, 1.8001, "mount.roof.too_large"),
    ("flat_roof", "elevation_deg", 20.0, 19.999, "mount.roof.parapet"),
    ("ground", "wind_m_s", FOOTING - HAIR, FOOTING + HAIR, "mount.pole.deep_footing"),
    ("ground", "wind_m_s", GROUND_BALLAST - HAIR, GROUND_BALLAST + HAIR,
     "mount.ground.much_ballast"),
]  # fmt: skip


@pytest.mark.parametrize(("structure", "name", "without", "with_it", "key"), LIMITS)
def test_a_reason_begins_at_its_limit(
    structure: str, name: str, without: float, with_it: float, key: str
) -> None:
    """Sites on both sides of the limit in one call, in no regular order."""
    which = np.array([False, True, True, False, True, False, False])
    _, texts = weighed(spots(structure, **{name: np.where(which, with_it, without)}))
    assert [english()[key] in text for text in texts] == which.tolist()


@pytest.mark.parametrize(("snow_pa", "told_of"), [(0.0, False), (0.5, True), (800.0, True)])
def test_any_snow_speaks_against_a_frame(snow_pa: float, told_of: bool) -> None:
    _, texts = weighed(spots("flat_roof", elevation_deg=[40.0, 41.0]), snow_pa=snow_pa)
    assert [english()["mount.roof.snow"] in text for text in texts] == [told_of] * 2


@pytest.mark.parametrize(
    ("structure", "wind", "key"),
    [
        ("wall", PULL, "mount.wall.strong_pull"),
        ("flat_roof", ROOF_BALLAST, "mount.roof.much_ballast"),
    ],
)
def test_a_load_counts_from_its_limit_on_12_m_up(structure: str, wind: float, key: str) -> None:
    """1500 N on a fixing, 500 kg on a roof: the wind a hair under and over it."""
    which = np.array([True, False, False, True, False, True])
    at = spots(structure, roof_height_m=12.0, wind_m_s=wind + HAIR * np.where(which, 1, -1))
    assert [english()[key] in text for text in weighed(at)[1]] == which.tolist()


PULL_LIMIT, FOOTING_LIMIT = pull_wind(3000.0), footing_wind(2.5)
GROUND_LIMIT, ROOF_LIMIT = ballast_wind(5000.0, 4.57), roof_wind(1500.0, 12.9)

#: Kind, what brings it to its limit from both sides, what else is known, and what is told beyond.
BEYOND: list[tuple[str, str, tuple[float, float], dict[str, float], str]] = [
    ("wall", "wall_facing_deg", (180 + 70, 180 + 70.001), {},
     "the satellite 70.1 deg from the way the wall faces, planning limit 70 deg"),
    ("wall", "wall_facing_deg", (180 - 70, 180 - 70.001), {},
     "the satellite 70.1 deg from the way the wall faces, planning limit 70 deg"),
    ("wall", "elevation_deg", (75.0, 74.999), {"wall_facing_deg": 0.0},
     "the satellite 180.0 deg from the way the wall faces, planning limit 70 deg"),
    ("wall", "antenna_m", (1.2, 1.2001), {}, "a dish of 1.21 m, planning limit 1.2 m"),
    ("wall", "wind_m_s", (PULL_LIMIT - HAIR, PULL_LIMIT + HAIR), {},
     "3001 N pull on a fixing, planning limit 3000 N"),
    ("pole", "wind_m_s", (FOOTING_LIMIT - HAIR, FOOTING_LIMIT + HAIR), {},
     "a footing 2.51 m deep, planning limit 2.5 m"),
    ("ground", "wind_m_s", (GROUND_LIMIT - HAIR, GROUND_LIMIT + HAIR), {},
     "5001 kg of ballast, planning limit 5000 kg"),
    ("non_penetrating", "wind_m_s", (ROOF_LIMIT - HAIR, ROOF_LIMIT + HAIR), {},
     "1501 Pa on the roof, assumed planning limit 1500 Pa"),
]  # fmt: skip
#: Where each kind has its place.
PLACES = {"wall": "wall", "pole": "ground", "ground": "ground", "non_penetrating": "flat_roof"}


@pytest.mark.parametrize(("kind", "name", "sides", "known", "words"), BEYOND)
def test_a_kind_is_out_beyond_its_limit_with_the_number_that_put_it_out(
    kind: str, name: str, sides: tuple[float, float], known: dict[str, float], words: str
) -> None:
    """A hair within the limit and a hair beyond; the number never reads as within it.

    12 m up a bracket hangs, and the centre of a frame on the roof is 12.9 m up.
    """
    which = np.array([True, False, False, True, False, True])
    columns = {"roof_height_m": 12.0, **known, name: np.where(which, sides[1], sides[0])}
    found, texts = weighed(spots(PLACES[kind], **columns))
    assert np.isnan(found.score[:, OPTIONS.index(kind)]).tolist() == which.tolist()
    assert [f": beyond a planning limit: {words}." in text for text in texts] == which.tolist()


def test_ballast_beyond_what_hands_carry_up_is_out_though_the_roof_bears_it() -> None:
    """1500 kg by hand, 12.9 m up: a hair under and over, on a roof for 50 kPa."""
    which = np.array([True, False, True, True, False, False])
    wind = ballast_wind(1500.0, 12.9) + HAIR * np.where(which, 1, -1)
    at = spots("flat_roof", roof_height_m=12.0, wind_m_s=wind)
    found, texts = weighed(at, roof_limit_pa=50_000)
    assert np.isnan(found.score[:, 2]).tolist() == which.tolist()
    told_of = ["1501 kg of ballast to carry up, planning limit 1500 kg" in text for text in texts]
    assert told_of == which.tolist()


def test_a_roofs_given_limit_counts_from_both_sides() -> None:
    """2000 Pa given: the snow of 300 Pa takes its part, so frame and ballast may add 1700 Pa."""
    which = np.array([True, False, True, True, False, False])
    wind = roof_wind(1700.0, 12.9) + HAIR * np.where(which, 1, -1)
    at = spots("flat_roof", roof_height_m=12.0, wind_m_s=wind)
    _, texts = weighed(at, snow_pa=300.0, roof_limit_pa=2000.0)
    told_of = ["2001 Pa on the roof, its given limit 2000 Pa" in text for text in texts]
    assert told_of == which.tolist()
    assert not any("assumed" in text for text in texts)


@pytest.mark.parametrize(
    ("key", "value", "structure", "kind"),
    [
        ("footing_depth_limit_m", 0.5, "ground", 0),
        ("bracket_dish_limit_m", 1.1, "wall", 1),
        ("fixing_pull_limit_n", 100, "wall", 1),
        ("wall_angle_limit_deg", 5, "wall", 1),
        ("roof_limit_pa", 200, "flat_roof", 2),
        ("roof_ballast_limit_kg", 50, "flat_roof", 2),
        ("ground_ballast_limit_kg", 20, "ground", 3),
    ],
)
def test_each_limit_is_a_key_of_the_network_file(
    key: str, value: float, structure: str, kind: int
) -> None:
    at = spots(structure, wall_facing_deg=[170.0, 190.0], wind_m_s=20.0)
    assert np.isfinite(weighed(at)[0].score[:, kind]).all()
    assert np.isnan(weighed(at, **{key: value})[0].score[:, kind]).all()


def test_the_first_kind_is_taken_where_scores_are_equal() -> None:
    """On a pitched roof: pole 45 - 5 - 5, ground frame 45 - 5 - 5; the pole is to budget for."""
    found, _ = weighed(spots("pitched_roof", wall_facing_deg=[0.0, 10.0, 20.0]))
    np.testing.assert_array_equal(found.score, [[35, NAN, NAN, 35]] * 3)
    assert found.mount.tolist() == ["pole"] * 3
    assert found.certainty.tolist() == ["provisional"] * 3


def test_the_wind_on_a_bracket_is_never_that_of_a_low_eave() -> None:
    """A roof height of 0 stands for 'not known', 3 m: the wind at 2 m is not lighter than that."""
    at = spots("wall", roof_height_m=[0.0, 0.5, 2.0, 3.0, NAN], wind_m_s=30.0)
    plan = Network.model_validate({"satellite": {"longitude_deg": 0}})
    pull = try_mounts(at, plan)["wall"].needs["wall_pull_n"]
    np.testing.assert_allclose(pull, pull[0], rtol=1e-12)
