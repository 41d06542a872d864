"""Loads as a plan gives them, against figures worked by hand and the published examples."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.fields import FIELDS
from siteplan.inputs.network.assumed import assumptions
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.site import loads
from siteplan.results import Plan


def network(basis: str = "mean_10min", **site: Any) -> Network:
    return Network.model_validate(
        {
            "network": {"date": "2026-06-01"},
            "satellite": {"longitude_deg": 10},
            "antennas": [{"diameter_m": 1.2}],
            "rules": {"wind_basis": basis, "reserve_db": 0},
            "site": site,
        }
    )


def plan_one(structure: str, plan: Network, **known: float) -> Plan:
    extra = {k: np.array([v]) for k, v in known.items()}
    sites = Sites.at(np.array([40.0]), np.array([10.0]),
                     structure=np.array([structure], dtype=object), fixed_antenna_m=np.array([1.2]),
                     **extra)  # fmt: skip
    return make_plan(sites, plan)


def value(plan: Plan, name: str) -> float:
    return float(plan.columns[name][0])


def test_pressure_of_the_eurocode_example() -> None:
    """Steel Buildings in Europe, part 3, appendix B: 26 m/s, category III, 8 m: 659 Pa, 0.5 %."""
    dish = np.array([1.2])
    standing = loads.Standing(np.array([8.0]), np.array([1.0]), np.array([0.3]))
    found = loads.loads(standing, dish, np.array([26.0]), network(terrain_category="III"))
    assert found.pressure_pa[0] == pytest.approx(659, rel=0.005)
    assert found.drag_n[0] == pytest.approx(
        found.pressure_pa[0] * 1.5 * np.pi / 4 * 1.44, rel=1e-12
    )


def test_the_gust_basis_takes_the_other_form() -> None:
    """0.613 Kz V^2 at 10 m in open country: Kz about 1 (ASCE 7: 1.00 at 33 ft, exposure C)."""
    standing = loads.Standing(np.array([10.0]), np.array([1.0]), np.array([0.3]))
    gust, mean = (
        loads.loads(standing, np.array([1.2]), np.array([40.0]), network(basis)).pressure_pa[0]
        for basis in ("gust_3s", "mean_10min")
    )
    assert gust == pytest.approx(0.613 * 1600, rel=0.01)
    # The same number taken for a mean gives about twice the pressure.
    assert 1.7 < mean / gust < 2.8


def test_ballast_by_hand() -> None:
    plan = network(wind_m_s=20, roof_limit_pa=50_000)
    found = plan_one("flat_roof", plan, roof_height_m=6.0)
    assert found.columns["mount"][0] == "non_penetrating"
    drag = value(found, "wind_drag_n")
    lift = drag / 1.5 * 0.5
    mass = 40 * np.pi / 4 * 1.44
    sliding = 1.5 * (drag / 0.4 + lift) / 9.80665 - mass
    tipping = 1.5 * (drag * 0.9 + lift * 1.08) / 1.08 / 9.80665 - mass
    assert value(found, "ballast_kg") == pytest.approx(max(sliding, tipping), rel=1e-9)
    assert found.columns["ballast_governs"][0] == "sliding"
    load = (value(found, "ballast_kg") + mass) * 9.80665 / 2.16**2
    assert value(found, "roof_load_pa") == pytest.approx(load, rel=1e-9)
    assert value(found, "overturning_nm") == pytest.approx(drag * 0.9, rel=1e-9)
    assert value(found, "dish_height_m") == pytest.approx(6.9, rel=1e-12)


def test_snow_adds_to_the_roof() -> None:
    found, snowy = (
        plan_one("flat_roof", network(wind_m_s=20, roof_limit_pa=50_000, snow_pa=snow))
        for snow in (0, 800)
    )
    assert value(snowy, "roof_load_pa") - value(found, "roof_load_pa") == pytest.approx(
        800, abs=1e-6
    )


def test_a_roof_that_a_frame_would_overload_is_flagged_with_the_caveat() -> None:
    """28 m/s: (4.25 x drag) over a base of 2.16 m: 1606 Pa; then no frame is put there."""
    found = plan_one("flat_roof", network(wind_m_s=28))
    assert "roof_load" in found.columns["flags"][0].split(";")
    assert "load the roof with 1607 Pa" in found.columns["flag_notes"][0]
    assert "qualified engineer" in found.columns["flag_notes"][0]
    assert found.columns["mount"][0] != "non_penetrating"
    assert np.isnan(value(found, "roof_load_pa"))
    light = plan_one("flat_roof", network(wind_m_s=25))
    assert "roof_load" not in light.columns["flags"][0].split(";")
    assert light.columns["mount"][0] == "non_penetrating"


def test_an_engineered_mount_has_loads_but_nothing_to_order() -> None:
    """Beyond every limit: a stop, the loads of the least so, and no ballast or footing."""
    found = plan_one("ground", network(wind_m_s=110))
    c = found.columns
    assert (c["mount"][0], c["mount_certainty"][0]) == ("engineered", "provisional")
    assert "mount_engineered" in c["flags"][0].split(";")
    for name in ("wind_drag_n", "overturning_nm", "dish_height_m", "wind_pressure_pa"):
        assert value(found, name) > 0, name
    for name in ("ballast_kg", "pole_embedment_m", "frame_base_m", "wall_pull_n", "roof_load_pa"):
        assert np.isnan(value(found, name)), name


def test_pole_footing_satisfies_its_formula() -> None:
    """IBC 1807.3.2.1: d = A/2 (1 + sqrt(1 + 4.36 h / A)), A = 2.34 P / (S d/3 b)."""
    found = plan_one("ground", network(wind_m_s=30))
    assert found.columns["mount"][0] == "pole"
    depth, drag, lever = (
        value(found, k) for k in ("pole_embedment_m", "wind_drag_n", "dish_height_m")
    )
    a = 2.34 * drag / (15_700 * depth / 3 * 0.6)
    assert depth == pytest.approx(a / 2 * (1 + np.sqrt(1 + 4.36 * lever / a)), rel=1e-9)


def test_wall_fixings_by_hand() -> None:
    found = plan_one("wall", network(wind_m_s=20), wall_facing_deg=180.0, roof_height_m=5.0)
    assert found.columns["mount"][0] == "wall"
    drag = value(found, "wind_drag_n")
    weight = 40 * np.pi / 4 * 1.44 * 9.80665
    hanging = weight * 0.6 / 0.8
    pull = max(drag / 4 + hanging, drag * 0.6 / 0.8 + hanging)
    assert value(found, "wall_pull_n") == pytest.approx(pull, rel=1e-9)
    assert value(found, "wall_shear_n") == pytest.approx(np.hypot(drag, weight) / 4, rel=1e-9)
    for name in ("ballast_kg", "pole_embedment_m", "roof_load_pa"):
        assert np.isnan(value(found, name))


@pytest.mark.parametrize(
    ("change", "name", "grows"),
    [
        ({"friction": 0.6}, "ballast_kg", False),
        ({"safety_factor": 2.0}, "ballast_kg", True),
        ({"force_coefficient": 1.8}, "wind_drag_n", True),
        ({"lift_coefficient": 0.0}, "ballast_kg", False),
        ({"terrain_category": "0"}, "wind_pressure_pa", True),
        ({"terrain_category": "IV"}, "wind_pressure_pa", False),
        ({"frame_base_ratio": 2.0}, "roof_load_pa", False),
    ],
)
def test_what_a_key_changes(change: dict[str, Any], name: str, grows: bool) -> None:
    start = {"wind_m_s": 18, "roof_limit_pa": 50_000}
    before, after = (
        value(plan_one("flat_roof", network(**start | more)), name) for more in ({}, change)
    )
    assert (after > before) == grows
    assert after != before


def test_wind_given_beside_wind_assumed() -> None:
    given = plan_one("ground", network(), wind_m_s=33.0)
    assert (value(given, "wind_design_m_s"), given.columns["wind_source"][0]) == (33, "given")
    assumed = plan_one("ground", network(wind_m_s=27))
    assert (value(assumed, "wind_design_m_s"), assumed.columns["wind_source"][0]) == (27, "assumed")


@pytest.mark.parametrize(("basis", "wind_m_s"), [("mean_10min", 25.0), ("gust_3s", 40.0)])
def test_the_default_wind_follows_its_basis(basis: str, wind_m_s: float) -> None:
    """25 m/s taken for a gust is half the load that it should be; common practice, no source."""
    found = plan_one("ground", network(basis))
    assert (value(found, "wind_design_m_s"), found.columns["wind_source"][0]) == (
        wind_m_s,
        "assumed",
    )
    told_of = {a.key: a for a in assumptions(network(basis))}["site.wind_m_s"]
    assert (told_of.value, told_of.unit) == (f"{wind_m_s:g}", "m/s")


def test_both_default_winds_press_alike_10_m_up_in_open_terrain() -> None:
    """EN 1991-1-4: 390.6 x 2.3523 = 918.9 Pa; ASCE 7: 980.8 x 1.0009 = 981.7 Pa."""
    standing = loads.Standing(np.array([10.0]), np.array([1.0]), np.array([0.3]))
    mean, gust = (
        loads.loads(standing, np.array([1.2]), np.array([plan.design_wind_m_s]), plan).pressure_pa[
            0
        ]
        for plan in (network("mean_10min"), network("gust_3s"))
    )
    assert gust == pytest.approx(mean, rel=0.10)


def test_every_such_figure_carries_its_caveat() -> None:
    words = ("wind_", "ballast_kg", "overturning", "roof_load", "pole_", "wall_pull", "wall_shear")
    words += ("frame_base", "aperture", "near_field", "far_field", "controlled", "public", "beam_")
    named = [
        f for n, f in FIELDS.items() if n.startswith(words) and f.unit and n != "wind_m_s"
        and f.group in ("mount", "exposure")
    ]  # fmt: skip
    assert len(named) == 20
    for field in named:
        assert "for planning, to be confirmed by a qualified engineer" in field.meaning, field.name


def test_distance_from_the_parapet_by_hand() -> None:
    """A parapet of 1.5 m, a rim at 0.3 m: 1.2 / tan(elevation less half of 70 lambda / D)."""
    found = plan_one("flat_roof", network(wind_m_s=15, parapet_m=1.5))
    beam = 70 * 0.299792458 / 11.95 / 1.2
    edge = np.radians(value(found, "elevation_deg") - beam / 2)
    assert value(found, "parapet_distance_m") == pytest.approx(1.2 / np.tan(edge), rel=1e-9)
    low = plan_one("flat_roof", network(wind_m_s=15, parapet_m=0.2))
    assert value(low, "parapet_distance_m") == 0
