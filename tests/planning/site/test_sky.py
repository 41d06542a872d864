"""Obstacles, clearance, the horizon's grid and the distances to keep."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.site.sky import (
    HEIGHTS_M,
    View,
    half_width_deg,
    horizon_grid_deg,
    obstacles_at,
    sky,
    stand_off_m,
)

NAN = float("nan")


def stand(*rows: dict[str, Any]) -> Obstructions:
    """Return obstacles; what a row leaves out is unknown."""
    first = {"site_id": "S0001", "from_deg": 0.0, "to_deg": 10.0, "elevation_deg": NAN}
    first |= {"height_m": NAN, "distance_m": NAN, "growth_m_per_year": 0.0, "kind": "thing"}
    full = [first | row for row in rows]
    return Obstructions(
        **{
            key: np.array([row[key] for row in full], dtype=object if key in ("site_id", "kind")
                          else float)
            for key in first
        },
        source_row=np.arange(len(full)) + 2,
    )  # fmt: skip


def view(azimuth: float, elevation: float, beam: float = 2.0, rim: float = 1.0) -> View:
    return View(*(np.array([x]) for x in (azimuth, elevation, beam, rim)))


def rules(**site: float) -> Any:
    return Network.model_validate({"satellite": {"longitude_deg": 0}, "site": site}).site


IDS = np.array(["S0001"], dtype=object)


def seen(found: Obstructions, at: View, **site: float) -> Any:
    return sky(at, obstacles_at(found, IDS, at.rim_m, rules(**site)), None)


@pytest.mark.parametrize(
    ("azimuth", "expected"),
    [(5.0, 20.0), (10.5, 20.0), (12.5, 0.0), (359.5, 20.0), (180.0, 0.0)],
)
def test_only_what_stands_within_the_beam_counts(azimuth: float, expected: float) -> None:
    """At 30 degrees the beam's half width of 1 degree spans 1.15 degrees of azimuth."""
    found = seen(stand({"elevation_deg": 20.0}), view(azimuth, 30.0))
    assert found.horizon_deg[0] == pytest.approx(expected, abs=1e-9)
    assert found.clearance_deg[0] == pytest.approx(30 - 1 - expected, abs=1e-9)


def test_the_highest_counts_and_is_named() -> None:
    rows = ({"elevation_deg": 12.0, "kind": "shed"}, {"elevation_deg": 25.0, "kind": "mast"})
    found = seen(stand(*rows), view(5.0, 30.0))
    assert (found.horizon_deg[0], found.kind[0]) == (pytest.approx(25, abs=1e-9), "mast")
    assert found.source[0] == "survey"


def test_height_is_seen_from_the_lower_rim_with_growth() -> None:
    """A tree of 9 m at 20 m, 0.5 m a year for 4 years, from 1 m: atan(10 / 20)."""
    tree = stand({"height_m": 9.0, "distance_m": 20.0, "growth_m_per_year": 0.5})
    found = seen(tree, view(5.0, 60.0), growth_years=4)
    assert found.horizon_deg[0] == pytest.approx(np.degrees(np.arctan(0.5)), abs=1e-9)
    still = seen(tree, view(5.0, 60.0), growth_years=0)
    assert still.horizon_deg[0] == pytest.approx(np.degrees(np.arctan(0.4)), abs=1e-9)


def test_a_tree_known_by_its_angle_grows_as_at_20_m() -> None:
    tree = stand({"elevation_deg": 45.0, "growth_m_per_year": 1.0})
    found = seen(tree, view(5.0, 80.0), growth_years=5)
    assert found.horizon_deg[0] == pytest.approx(np.degrees(np.arctan(25 / 20)), abs=1e-9)


def test_nothing_surveyed_is_no_answer() -> None:
    found = sky(view(5.0, 30.0), None, None)
    assert np.isnan(found.horizon_deg[0])
    assert np.isnan(found.clearance_deg[0])
    assert (found.source[0], found.kind[0]) == ("", "")


def test_terrain_and_survey_together() -> None:
    place = view(5.0, 30.0)
    found = obstacles_at(stand({"elevation_deg": 8.0}), IDS, place.rim_m, rules())
    hilly = sky(place, found, np.array([11.0]))
    assert (hilly.horizon_deg[0], hilly.kind[0]) == (11.0, "terrain")
    assert hilly.source[0] == "survey and terrain"
    level = sky(place, found, np.array([-0.4]))
    assert level.kind[0] == "thing"
    as_high = sky(place, found, np.array([np.degrees(np.arctan(np.tan(np.radians(8.0))))]))
    assert as_high.kind[0] == "thing", "what was surveyed goes before terrain as high"
    alone = sky(place, None, np.array([-0.4]))
    assert alone.horizon_deg[0] == -0.4
    assert alone.source[0] == "terrain"


def test_near_the_zenith_every_bearing_counts() -> None:
    assert half_width_deg(view(5.0, 89.5))[0] == 180
    found = seen(
        stand({"from_deg": 180.0, "to_deg": 200.0, "elevation_deg": 89.0}), view(5.0, 89.5)
    )
    assert found.clearance_deg[0] < 0


def test_grid() -> None:
    found = obstacles_at(
        stand(
            {"from_deg": 350.0, "to_deg": 7.0, "elevation_deg": 10.0},
            {"from_deg": 0.0, "to_deg": 1.0, "elevation_deg": 30.0},
        ),
        np.array(["S0000", "S0001"], dtype=object),
        np.array([1.0, 1.0]),
        rules(),
    )
    grid = horizon_grid_deg(found, 2)
    assert np.isnan(grid[0]).all()
    high = {i * 5: round(float(v), 3) for i, v in enumerate(grid[1]) if v > 0}
    # 350 to 7 touches the cells from 347.5 to 7.5 (the one of 5 reaches to 7.5).
    assert high == {350: 10, 355: 10, 0: 30, 5: 10}


def test_grid_holds_the_highest_and_nothing_below_the_level() -> None:
    """Low things as they are, what lies below the dish as 0, each in its own site's row."""
    found = obstacles_at(
        stand(
            {"from_deg": 100.0, "to_deg": 101.0, "elevation_deg": 0.4},
            {"from_deg": 200.0, "to_deg": 201.0, "elevation_deg": -3.0},
            {"from_deg": 99.0, "to_deg": 111.0, "elevation_deg": 0.2},
            {"from_deg": 290.0, "to_deg": 302.4, "elevation_deg": 5.0, "site_id": "S0000"},
        ),
        np.array(["S0000", "S0001"], dtype=object),
        np.array([1.0, 1.0]),
        rules(),
    )
    grid = horizon_grid_deg(found, 2)
    other, own = ({i * 5: round(float(v), 3) for i, v in enumerate(row) if v != 0} for row in grid)
    assert own == {100: 0.4, 105: 0.2, 110: 0.2}
    assert other == {290: 5.0, 295: 5.0, 300: 5.0}
    assert (grid >= 0).all()


def test_stand_off_by_hand() -> None:
    """To look over 5 m from a rim at 1 m with a beam's edge at 29 - 2 degrees: 4 / tan(27)."""
    found = stand_off_m(view(5.0, 30.0), 2.0)[0]
    by_hand = [(h - 1) / np.tan(np.radians(27)) for h in HEIGHTS_M]
    np.testing.assert_allclose(found, by_hand, rtol=1e-12)
    assert np.isnan(stand_off_m(view(5.0, 2.5), 2.0)).all()
    assert stand_off_m(view(5.0, 30.0, rim=7.0), 2.0)[0, :2].tolist() == [0, 0]


def test_flags_of_a_plan(tropical: Network) -> None:
    """One site blocked, one tight, one clear, one not surveyed."""
    n = 4
    sites = Sites.at(np.full(n, -10.0), np.linspace(-50, -49, n), structure=np.full(n, "ground"))
    bearing = make_plan(sites, tropical).columns
    tops = bearing["elevation_deg"] + np.array([1.0, -2.0, -20.0, 0.0])
    rows = [
        {"site_id": f"S000{i + 1}", "from_deg": float(bearing["azimuth_true_deg"][i]) - 5,
         "to_deg": float(bearing["azimuth_true_deg"][i]) + 5, "elevation_deg": float(tops[i])}
        for i in range(3)
    ]  # fmt: skip
    plan = make_plan(sites, tropical, around=Surroundings(stand(*rows)), with_tables=True)
    flags = [set(x.split(";")) & {"blocked", "sky_tight"} for x in plan.columns["flags"]]
    assert flags == [{"blocked"}, {"sky_tight"}, set(), set()]
    assert "blocks the beam" in plan.columns["flag_notes"][0]
    np.testing.assert_array_equal(np.isnan(plan.columns["clearance_deg"]), [0, 0, 0, 1])
    assert plan.tables["horizon_deg"].shape == (n, 72)
    assert np.isnan(plan.tables["horizon_deg"][3]).all()


def test_obstacles_of_other_chunks_stay_away() -> None:
    found = obstacles_at(
        stand({"site_id": "S0007", "elevation_deg": 5.0}), IDS, np.array([1.0]), rules()
    )
    assert len(found.site) == 0


@pytest.mark.parametrize("roof_height_m", [3.0, 4.0, 6.0, 30.0])
@pytest.mark.parametrize(("spare_elevation_deg", "least"), [(13.9, 19.0), (5.71, 47.0)])
def test_an_obstacle_on_the_same_roof_is_as_far_whatever_the_building(
    roof_height_m: float, spare_elevation_deg: float, least: float
) -> None:
    """5 m on the roof, the rim 0.3 m above it: 4.7 m over the tangent, 19 and 47 m.

    Counted from the ground it was nothing on a roof of 6 m, and 7 m on one of 4 m.
    """
    rim = roof_height_m + 0.3
    at = replace(view(5.0, spare_elevation_deg + 3.0, rim=rim), surface_m=np.array([roof_height_m]))
    found = stand_off_m(at, 2.0)[0]
    assert HEIGHTS_M[1] == 5.0
    assert found[1] == pytest.approx(least, rel=2e-3)
    by_hand = (np.array(HEIGHTS_M) - 0.3) / np.tan(np.radians(spare_elevation_deg))
    np.testing.assert_allclose(found, by_hand, rtol=1e-9)


def test_heights_count_from_the_roof_or_ground_that_the_dish_stands_on() -> None:
    """In the table of the sheet, and in the words beside it; each rim above that surface."""
    kinds = np.array(["flat_roof", "flat_roof", "wall", "wall", "ground"], dtype=object)
    sites = replace(
        Sites.at(np.full(5, 52.0), np.zeros(5), structure=kinds),
        roof_height_m=np.array([4.0, 20.0, 9.0, NAN, 9.0]),
        wall_facing_deg=np.full(5, 180.0),
        fixed_antenna_m=np.full(5, 1.2),
        fixed_buc_w=np.full(5, 3.0),
        wind_m_s=np.full(5, 15.0),
    )
    rules = Network.model_validate({"satellite": {"longitude_deg": 0}})
    found = make_plan(sites, rules, with_tables=True)
    c = found.columns
    assert c["mount"].tolist() == ["non_penetrating", "non_penetrating", "wall", "wall", "pole"]
    assert c["stand_off_from"].tolist() == ["roof", "roof", "roof", "ground", "ground"]
    rim = np.array([0.3, 0.3, -0.6, 2.4, 1.2])
    np.testing.assert_allclose(c["beam_edge_m"], rim, rtol=1e-12)
    away = (np.array(HEIGHTS_M) - rim[:, None]) * c["stand_off_per_m"][:, None]
    np.testing.assert_allclose(found.tables["stand_off_m"], np.maximum(away, 0), rtol=1e-9)
