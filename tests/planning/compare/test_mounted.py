"""Mounts that stay: a wall in the way, a parapet, and what the dish on it then sees."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Surroundings
from siteplan.planning.compare.mounted import MOUNTS, mounted
from siteplan.planning.plan import make_plan
from siteplan.planning.site import stance
from tests.planning.compare.trial import at, moved, network, obstacle, turned, with_kit

#: In Spain: 13 E stands to the south-east, 50 W low in the south-west.
PLACE = (40.0, -3.0)
STRONG = {
    "outbound": {"satellite_eirp_dbw": 54, "satellite_g_t_db_k": 6},
    "inbound": {"satellite_eirp_dbw": 54, "satellite_g_t_db_k": 6},
}


def words(new_deg: float, place: tuple[float, float] = PLACE, **known: Any) -> str:
    ours = network(13.0, **STRONG)
    sites = at(place, **{name: [value] for name, value in known.items()})
    _, _, turn = turned(sites, ours, moved(ours, new_deg))
    return str(turn.mount[0])


@pytest.mark.parametrize(
    ("facing", "new", "word"),
    [
        (150.0, 13.0, "yes"),
        (150.0, 0.0, "yes"),
        (150.0, -50.0, "no"),  # 239 degrees: 89 off the way the wall faces
        (200.0, -50.0, "yes"),
        (np.nan, -50.0, "facing_unknown"),
        (np.nan, 13.0, "yes"),  # nothing turns
    ],
)
def test_a_wall_stands_in_the_way_of_its_bracket(facing: float, new: float, word: str) -> None:
    ours = network(13.0, **STRONG)
    sites = at(PLACE, structure=["wall"], wall_facing_deg=[facing])
    assert make_plan(sites, ours).columns["mount"].tolist() == ["wall"]
    assert words(new, structure="wall", wall_facing_deg=facing) == word


def test_what_stays_agrees_with_what_a_plan_there_picks() -> None:
    """Where the wall is in the way a plan picks another mount; where it is not, the bracket."""
    ours = network(13.0, **STRONG)
    facings = np.arange(0.0, 360.0, 15.0)
    n = len(facings)
    sites = at(*[PLACE] * n, structure=["wall"] * n, wall_facing_deg=facings)
    for new in (-50.0, 0.0, 40.0):
        present, there, turn = turned(sites, ours, moved(ours, new))
        bracket = present.columns["mount"] == "wall"
        stays = there.columns["mount"] == "wall"
        assert ((turn.mount == "yes") == stays)[bracket].all()
        assert ((turn.mount == "no") == ~stays)[bracket].all()
        assert bracket.any()


def test_a_steep_dish_may_look_over_its_wall() -> None:
    assert words(-10.0, (2.0, -3.0), structure="wall", wall_facing_deg=100.0) == "over_wall"


@pytest.mark.parametrize(("new", "word"), [(-50.0, "parapet"), (-3.0, "yes")])
def test_a_lower_beam_asks_for_more_room_behind_a_parapet(new: float, word: str) -> None:
    assert words(new, structure="flat_roof", roof_height_m=8.0) == word


def test_poles_turn_and_nothing_is_said_without_an_answer() -> None:
    assert words(-50.0, structure="ground") == "yes"
    assert words(-50.0, (69.0, 40.0), structure="ground") == ""  # below the horizon
    assert len(set(MOUNTS)) == 6


def test_an_engineer_s_mount_is_the_engineer_s() -> None:
    ours = network(13.0, site={"wind_m_s": 75}, **STRONG)
    sites = with_kit(at(PLACE, structure=["wall"], wall_facing_deg=[150.0]), 3.7, 4)
    present, _, turn = turned(sites, ours, moved(ours, 10.0))
    assert present.columns["mount"].tolist() == ["engineered"]
    assert turn.mount.tolist() == ["engineered"]
    same = mounted(sites, present.columns, present.columns, ours)
    assert same.tolist() == ["yes"]


def test_the_dish_looks_from_the_mount_that_it_has() -> None:
    """Not from that which a plan with the other satellite would pick: a pole on the ground."""
    ours = network(13.0, **STRONG)
    other = moved(ours, -50.0)
    sites = at(PLACE, structure=["wall"], wall_facing_deg=[150.0], roof_height_m=[9.0])
    bearing = float(make_plan(sites, other).columns["azimuth_true_deg"][0])
    mast = obstacle("S0001", bearing, np.nan).obstructions
    assert mast is not None
    mast = replace(mast, height_m=np.array([12.0]), distance_m=np.array([30.0]))
    present, there, turn = turned(sites, ours, other, Surroundings(mast))
    assert (present.columns["mount"][0], there.columns["mount"][0]) == ("wall", "pole")
    assert turn.mount.tolist() == ["no"]
    # From a bracket some 8 m up the mast's head stands lower than from a pole.
    assert turn.clearance_deg[0] > there.columns["clearance_deg"][0] + 5


def test_a_stance_stands_as_it_is_told() -> None:
    from siteplan.planning.beams.settings import settings
    from siteplan.planning.kit import pick
    from siteplan.planning.kit.catalogue import installed
    from siteplan.planning.plan import see

    ours = network(13.0, **STRONG)
    sites = with_kit(at(PLACE, PLACE, structure=["ground", "ground"]), 1.2, 2)
    shared = settings(ours, None)[0]
    seen = see(sites, shared)
    found = pick.size(seen.link, shared.kinds, installed(sites), seen.p_pct, np.zeros(2, bool))
    stands = stance.stance(sites, seen.at, found.kit, ours)
    assert stands.kind.tolist() == ["pole", "pole"]
    again = stance.standing_on(stands, np.array(["wall", "engineered"], dtype=object), ours)
    assert again.kind.tolist() == ["wall", "pole"]
    assert again.rim_m[1] == pytest.approx(stands.rim_m[1], abs=1e-12)
    assert again.rim_m[0] != pytest.approx(stands.rim_m[0], abs=1e-3)


def test_what_a_dish_is_tuned_to_is_of_its_beam_there() -> None:
    from siteplan.inputs.network.read import network_from_mapping

    beam = {"name": "spot", "lat": -3.1, "lon": -60.0, "major_deg": 3.0, "minor_deg": 3.0,
            "outbound": {"downlink_ghz": 12.5, "downlink_polarization": "horizontal"}}  # fmt: skip
    ours = network(-61.0)
    there = network_from_mapping(
        {t: getattr(ours, t) for t in ours.model_fields_set} | {"beams": [beam]}
    )
    _, _, turn = turned(at((-3.1, -60.02)), ours, there)
    now, new = turn.tuned[0]
    assert (now[0].polarization, new[0].polarization) == ("vertical", "horizontal")
    assert (now[0].carrier_ghz, new[0].carrier_ghz) == pytest.approx((11.95, 12.5), abs=1e-9)
    assert now[1] == new[1]
