"""Loads at heights and sizes that tell, each figure worked by hand; many unlike sites in a call."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.choice import try_mounts
from siteplan.planning.site.mounts.kind import Spot
from siteplan.results import Plan

NAN = float("nan")
#: Kz at 30 m: 2.01 x (30 / 274.32)^(2 / 9.5), by logarithms: ln 0.109361 = -2.213101, times
#: 0.2105263 = -0.465916; e^-0.465916 = 0.627560; times 2.01 = 1.261396.
KZ_30 = 1.261396


def network(basis: str = "gust_3s", **site: Any) -> Network:
    return Network.model_validate(
        {
            "network": {"date": "2026-06-01"},
            "satellite": {"longitude_deg": 10},
            "rules": {"wind_basis": basis, "reserve_db": 0},
            "site": {"roof_limit_pa": 50_000, "roof_ballast_limit_kg": 50_000} | site,
        }
    )


def planned(rules: Network, structure: list[str], **known: Any) -> Plan:
    n = len(structure)
    filled = {k: np.broadcast_to(np.float64(v), n).copy() for k, v in known.items()}
    sites = Sites.at(np.full(n, 40.0), np.full(n, 10.0),
                     structure=np.array(structure, dtype=object), **filled)  # fmt: skip
    return make_plan(sites, rules)


def spot(dish_m: Any, roof_m: float = NAN, wind_m_s: float = 30.0) -> Spot:
    dish = np.atleast_1d(np.float64(dish_m))
    n = len(dish)
    column = {
        name: np.full(n, value)
        for name, value in {
            "roof_height_m": roof_m,
            "wall_facing_deg": 180.0,
            "azimuth_true_deg": 180.0,
            "elevation_deg": 40.0,
            "wind_m_s": wind_m_s,
            "parapet_distance_m": 0.0,
        }.items()
    }
    return Spot(np.full(n, "wall", dtype=object), dish, **column)


@pytest.mark.parametrize(
    ("exposure", "kz"),
    # B: 2.01 (30 / 365.76)^(2 / 7) = 0.98376; D: 2.01 (30 / 213.36)^(2 / 11.5) = 1.42897.
    # ASCE 7-16 table 26.10-1 has 0.99, 1.26 and 1.43 at 100 ft (30.5 m; from memory).
    [("B", 0.98376), ("C", KZ_30), ("D", 1.42897)],
)
def test_a_gust_at_30_m(exposure: str, kz: float) -> None:
    """A frame on a roof of 29.1 m: rim 0.3 m, centre of 1.2 m another 0.6 m: 30 m above ground."""
    c = planned(network(gust_exposure=exposure), ["flat_roof"] * 3, roof_height_m=29.1,
                wind_m_s=[20.0, 30.0, 25.0], fixed_antenna_m=1.2).columns  # fmt: skip
    np.testing.assert_allclose(c["dish_height_m"], 30.0, rtol=1e-12)
    by_hand = 0.613 * kz * np.array([400.0, 900.0, 625.0])
    np.testing.assert_allclose(c["wind_pressure_pa"], by_hand, rtol=5e-5)


def test_gusts_at_many_heights_in_one_plan() -> None:
    """Each site's own height: 30 m gets 1.26, 10 m 1.00, a pole at 1.8 m what 4.57 m has: 0.85."""
    structure = ["ground", "flat_roof", "wall", "flat_roof", "ground", "wall", "flat_roof"]
    roof = [NAN, 29.1, 10.0, 9.1, 50.0, 30.0, NAN]
    c = planned(network(), structure, roof_height_m=roof, wall_facing_deg=180.0, wind_m_s=30.0,
                fixed_antenna_m=1.2).columns  # fmt: skip
    height = [1.8, 30.0, 10.0, 10.0, 1.8, 30.0, 6.9]
    np.testing.assert_allclose(c["dish_height_m"], height, rtol=1e-12)
    # 0.84881 = 2.01 (4.57 / 274.32)^0.2105263; 1.00093 and 0.92572 with 10 and 6.9 m.
    kz = np.array([0.84881, KZ_30, 1.00093, 1.00093, 0.84881, KZ_30, 0.92572])
    np.testing.assert_allclose(c["wind_pressure_pa"], 0.613 * 900 * kz, rtol=2e-5)
    np.testing.assert_allclose(
        c["wind_drag_n"], 0.613 * 900 * kz * 1.5 * np.pi / 4 * 1.44, rtol=2e-5
    )


def test_a_mean_wind_at_30_m_and_on_a_pole() -> None:
    """Category II: k_r 0.19, ln(30 / 0.05) = 6.39693, ln(2 / 0.05) = 3.68888 at 2 m and below.

    c_e = (1 + 7 / ln) (0.19 ln)^2: 2.09427 x 1.47724 = 3.09374, and 2.89760 x 0.49124 = 1.42342;
    times 0.625 V^2.
    """
    c = planned(network("mean_10min"), ["flat_roof", "ground", "flat_roof"],
                roof_height_m=29.1, wind_m_s=[20.0, 25.0, 25.0], fixed_antenna_m=1.2
                ).columns  # fmt: skip
    by_hand = [250.0 * 3.09374, 390.625 * 1.42342, 390.625 * 3.09374]
    np.testing.assert_allclose(c["wind_pressure_pa"], by_hand, rtol=1e-5)


def test_a_brackets_lever_grows_with_the_dish() -> None:
    """A dish of 2.4 m cannot stand 0.6 m off the wall: half of it, 1.2 m; up to 1.2 m, 0.6 m.

    10 m up a gust of 30 m/s presses 0.613 x 1.00093 x 900 = 552.21 Pa. 2.4 m: drag 552.21 x 1.5 x
    4.52389 = 3747.2 N, weight 40 x 4.52389 x 9.80665 = 1774.6 N; hanging 1774.6 x 1.2 / 0.8 =
    2661.9 N, along the wall 3747.2 x 1.2 / 0.8 = 5620.8 N; shear hypot(3747.2, 1774.6) / 4.
    """
    dish = np.array([2.4, 1.2, 0.9, 1.8])
    tried = try_mounts(spot(dish, roof_m=10.0), network())["wall"]
    np.testing.assert_allclose(tried.standing.lever_m, [1.2, 0.6, 0.6, 0.9], rtol=1e-12)
    np.testing.assert_allclose(tried.needs["wall_pull_n"][0], 8282.7, rtol=1e-4)
    np.testing.assert_allclose(tried.needs["wall_shear_n"][0], 1036.5, rtol=1e-4)
    np.testing.assert_allclose(tried.load.moment_nm[0], 3747.2 * 1.2, rtol=1e-4)
    # 1.2 m: drag 936.8 N, weight 443.65 N: 936.8 x 0.75 + 443.65 x 0.75 = 1035.3 N.
    np.testing.assert_allclose(tried.needs["wall_pull_n"][1], 1035.3, rtol=1e-4)
    np.testing.assert_allclose(tried.load.moment_nm[1], 936.8 * 0.6, rtol=1e-4)


def test_a_bracket_that_is_longer_than_half_the_dish_stays_so() -> None:
    tried = try_mounts(spot([2.4, 1.2]), network(bracket_stand_off_m=1.5))["wall"]
    np.testing.assert_allclose(tried.standing.lever_m, [1.5, 1.5], rtol=1e-12)


def test_where_a_bracket_hangs() -> None:
    """At roof height where that is given and above zero, else 3 m; the rim never below ground.

    Its height is counted from the roof where there is one: people stand on it.
    """
    roof = np.array([NAN, 0.0, 5.0, 0.4])
    standing = loads.on_wall(np.array([1.2, 1.8, 2.4, 1.2]), roof, network())
    np.testing.assert_allclose(standing.height_m, [3.0, 3.0, 5.0, 0.4], rtol=1e-12)
    np.testing.assert_allclose(standing.base_m, [0.0, 0.0, 5.0, 0.4], rtol=1e-12)
    np.testing.assert_allclose(standing.rim_m, [2.4, 2.1, -1.2, -0.4], rtol=1e-12)


def test_roof_and_ground_frames_by_height_and_size() -> None:
    """The same frame: on the ground its wind is that of 4.57 m and below, on the roof of 30 m.

    1.8 m, 30 m/s: area 2.54469 m2, mass 101.788 kg, base 3.24 m. Ground: Kz 0.84881, pressure
    468.29 Pa, drag 1787.48 N; sliding 1.5 (drag / 0.4 + drag / 3) = 7596.8 N, less 998.2 N of
    its own: 672.87 kg. Roof of 28.8 m: centre at 30 m, 1.261396 / 0.84881 of that drag: 2656.3 N;
    sliding 11289.4 N, less 998.2 N: 1049.4 kg, so (1049.4 + 101.8) x 9.80665 / 10.4976 Pa = 1075.4.
    """
    tried = try_mounts(spot([1.8, 1.8, 1.2], roof_m=28.8), network())
    ground, roof = tried["ground"].needs, tried["non_penetrating"].needs
    np.testing.assert_allclose(ground["ballast_kg"][:2], 672.87, rtol=2e-5)
    np.testing.assert_allclose(roof["ballast_kg"][:2], 1049.4, rtol=2e-5)
    np.testing.assert_allclose(roof["roof_load_pa"][:2], 1075.4, rtol=5e-5)
    np.testing.assert_allclose(ground["frame_base_m"], [3.24, 3.24, 2.16], rtol=1e-12)
    assert ground["ballast_governs"].tolist() == ["sliding"] * 3


def test_a_narrow_frame_tips_and_a_wide_one_slides() -> None:
    """Friction 1 and a base of 0.8 times the dish: tipping asks for more; 3 times: sliding.

    1.2 m: lever 0.9 m, sliding 1.5 (D + D / 3) = 2 D; tipping, base 0.96 m: 1.5 (D x 0.9 +
    D / 3 x 0.48) / 0.48 = 3.3125 D; base 3.6 m: 1.5 (D x 0.9 + D / 3 x 1.8) / 1.8 = 1.25 D.
    """
    drag = 0.613 * 0.84881 * 900 * 1.5 * np.pi / 4 * 1.44
    mass = 40 * np.pi / 4 * 1.44
    for ratio, factor, governs in ((0.8, 3.3125, "overturning"), (3.0, 2.0, "sliding")):
        rules = network(friction=1.0, frame_base_ratio=ratio)
        needs = try_mounts(spot([1.2, 1.2]), rules)["ground"].needs
        by_hand = factor * drag / 9.80665 - mass
        np.testing.assert_allclose(needs["ballast_kg"], by_hand, rtol=3e-5)
        assert needs["ballast_governs"].tolist() == [governs] * 2


def test_a_pole_in_a_plan_of_many_gets_its_own_footing() -> None:
    """Levers of 1.8, 2.1 and 2.4 m with 1.2, 1.8 and 2.4 m, each put back into the formula.

    IBC 1807.3.2.1: d = A / 2 (1 + sqrt(1 + 4.36 h / A)), A = 2.34 P / (S d / 3 x 0.6).
    """
    dish = np.array([2.4, 1.2, 1.8, 1.2])
    wind = np.array([25.0, 25.0, 35.0, 40.0])
    c = planned(network(), ["ground"] * 4, fixed_antenna_m=dish, wind_m_s=wind).columns
    assert c["mount"].tolist() == ["pole"] * 4
    lever = np.array([2.4, 1.8, 2.1, 1.8])
    drag = 0.613 * 0.84881 * wind**2 * 1.5 * np.pi / 4 * dish**2
    a = 2.34 * drag / (15_700 * c["pole_embedment_m"] / 3 * 0.6)
    np.testing.assert_allclose(
        c["pole_embedment_m"], a / 2 * (1 + np.sqrt(1 + 4.36 * lever / a)), rtol=2e-5
    )
    np.testing.assert_allclose(c["overturning_nm"], drag * lever, rtol=2e-5)


def test_rims_and_heights_of_every_structure_in_one_plan() -> None:
    """What people stand on and the rim above it, as the sky and the beam take them."""
    structure = ["flat_roof", "ground", "wall", "", "pitched_roof", "flat_roof", "wall", "ground"]
    roof = [12.0, 12.0, 12.0, 12.0, 12.0, NAN, NAN, NAN]
    c = planned(network(), structure, roof_height_m=roof, wall_facing_deg=180.0,
                wind_m_s=20.0, fixed_antenna_m=1.2, fixed_buc_w=3.0).columns  # fmt: skip
    kinds = ["non_penetrating", "pole", "wall"]
    assert c["mount"][:3].tolist() == kinds
    assert c["mount"][3:5].tolist() == ["pole", "wall"]
    np.testing.assert_allclose(
        c["dish_height_m"], [12.9, 1.8, 12.0, 1.8, 12.0, 6.9, 3.0, 1.8], rtol=1e-12
    )
    np.testing.assert_allclose(
        c["beam_edge_m"], [0.3, 1.2, -0.6, 1.2, -0.6, 0.3, 2.4, 1.2], rtol=1e-12
    )
    for name, mount in (
        ("roof_load_pa", "non_penetrating"),
        ("pole_embedment_m", "pole"),
        ("wall_pull_n", "wall"),
        ("ballast_kg", "non_penetrating"),
        ("overturning_nm", None),
    ):
        here = c["mount"] == mount if mount else c["mount"] != ""
        np.testing.assert_array_equal(~np.isnan(c[name]), here, err_msg=name)
