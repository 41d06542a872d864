"""What turning dishes takes: angles by the shortest way, kit that stays, the sky over there."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.planning.compare.repointing import FITS, HORIZON
from siteplan.planning.plan import make_plan
from tests.planning.compare.trial import (
    at,
    moved,
    network,
    obstacle,
    turned,
    with_kit,
)

#: A sphere for the ellipsoid turns angles by less than this [deg].
ON_A_SPHERE_DEG = 0.3


def by_sphere(lat: float, lon: float, satellite: float) -> tuple[float, float, float]:
    """Azimuth, elevation and skew on a sphere [deg].

    Roddy, Satellite Communications, 4th ed., sections 3.2 (look angles) and 5.2 (polarization),
    written with vectors.
    """
    phi, lam, s = (math.radians(x) for x in (lat, lon, satellite))
    up = np.array([math.cos(phi) * math.cos(lam), math.cos(phi) * math.sin(lam), math.sin(phi)])
    east = np.array([-math.sin(lam), math.cos(lam), 0.0])
    north = np.cross(up, east)
    ray = 42164.17 * np.array([math.cos(s), math.sin(s), 0.0]) - 6378.137 * up
    ray /= np.linalg.norm(ray)
    azimuth = math.degrees(math.atan2(ray @ east, ray @ north)) % 360
    elevation = math.degrees(math.asin(ray @ up))
    # Both verticals across the ray: the satellite's north axis and the site's own.
    right = np.cross(ray, up) / np.linalg.norm(np.cross(ray, up))
    pole = np.array([0.0, 0.0, 1.0])
    skew = math.degrees(math.atan2(pole @ right, pole @ np.cross(right, ray)))
    return azimuth, elevation, (skew + 90) % 180 - 90


CASES = {
    "between two, in the north": ((45.0, 10.0), 25.0, -5.0),
    "between two, in the south, over north": ((-30.0, 20.0), 10.0, 30.0),
    "in the south, back over north": ((-30.0, 20.0), 30.0, 10.0),
    "either side of the antimeridian": ((-18.0, 178.0), 170.0, -170.0),
    "from beyond 180, other way written": ((20.0, -179.0), 190.0, 165.0),
    "at the equator, from east to west of it": ((0.5, 0.0), 20.0, -20.0),
}


@pytest.mark.parametrize("case", CASES)
def test_angles_change_by_the_shortest_way(case: str) -> None:
    place, old, new = CASES[case]
    ours = network(old)
    _, there, turn = turned(at(place), ours, moved(ours, new))
    before, after = by_sphere(*place, old), by_sphere(*place, new)
    azimuth = (after[0] - before[0] + 180) % 360 - 180
    skew = (after[2] - before[2] + 90) % 180 - 90
    assert turn.azimuth_deg[0] == pytest.approx(azimuth, abs=ON_A_SPHERE_DEG)
    assert turn.elevation_deg[0] == pytest.approx(after[1] - before[1], abs=ON_A_SPHERE_DEG)
    assert turn.skew_deg[0] == pytest.approx(skew, abs=ON_A_SPHERE_DEG)
    assert abs(turn.azimuth_deg[0]) <= 180
    assert abs(turn.skew_deg[0]) <= 90
    assert there.columns["azimuth_true_deg"][0] == pytest.approx(after[0], abs=ON_A_SPHERE_DEG)


def test_signs_are_those_of_the_hemisphere() -> None:
    """A satellite further west: from the north a turn to the right, from the south to the left."""
    ours = network(10.0)
    _, _, turn = turned(at((40.0, 0.0), (-40.0, 0.0)), ours, moved(ours, -10.0))
    assert turn.azimuth_deg[0] > 0 > turn.azimuth_deg[1]
    assert turn.azimuth_deg[0] == pytest.approx(-turn.azimuth_deg[1], abs=0.01)
    assert turn.skew_deg[0] == pytest.approx(-turn.skew_deg[1], abs=0.01)
    assert turn.elevation_deg == pytest.approx([0, 0], abs=0.01)  # as far to either side


def test_the_same_place_asks_for_no_turn() -> None:
    ours = network(-61.0)
    sites = at((-3.1, -60.02), (-30.0, -61.0), (45.0, -100.0))
    present, there, turn = turned(sites, ours, moved(ours, 299.0))
    for change in (turn.azimuth_deg, turn.elevation_deg, turn.skew_deg):
        np.testing.assert_allclose(change, 0, atol=1e-9)
    np.testing.assert_allclose(turn.margin_db, present.columns["margin_db"], atol=1e-9)
    assert (turn.fits == "yes").all()
    assert there.columns["antenna_m"].tolist() == present.columns["antenna_m"].tolist()


def test_a_turn_to_or_from_what_is_not_seen_is_blank() -> None:
    ours = network(0.0)
    _, _, turn = turned(at((0.0, 60.0), (0.0, 0.0)), ours, moved(ours, -50.0))
    assert np.isnan(turn.azimuth_deg[0])
    assert np.isnan(turn.elevation_deg[0])
    # Straight below the present satellite a bearing has no meaning; the elevation has.
    assert np.isnan(turn.azimuth_deg[1])
    assert turn.elevation_deg[1] < -50
    assert turn.fits.tolist() == ["out_of_view", "yes"]


def test_kit_that_stays_is_judged_as_if_installed() -> None:
    """The margin there equals that of a plain plan with this kit as installed."""
    ours = network(-61.0)
    other = moved(ours, -100.0, satellite_eirp_dbw=46.0)
    sites = at((-3.1, -60.02), (5.0, -75.0), (-25.0, -48.0), (-12.0, -77.0))
    present, there, turn = turned(sites, ours, other)
    c = present.columns
    assert (c["antenna_m"] != there.columns["antenna_m"]).any()
    plain = make_plan(with_kit(sites, c["antenna_m"], c["buc_w"]), other).columns
    np.testing.assert_allclose(turn.margin_db, plain["margin_db"], atol=1e-9)
    np.testing.assert_allclose(turn.after_reserve_db, plain["margin_after_reserve_db"], atol=1e-9)
    for name in ("expected_c_n_db", "tx_power_w"):
        np.testing.assert_allclose(getattr(turn, name), plain[name], atol=1e-9, err_msg=name)
    reserve = other.rules.reserve_db
    expected = np.where(
        plain["margin_db"] >= reserve,
        "yes",
        np.where(plain["margin_db"] >= 0, "under_reserve", "no"),
    )
    assert turn.fits.tolist() == expected.tolist()
    assert set(turn.fits) > {"no"}


def test_installed_kit_that_no_longer_does_is_told() -> None:
    ours = network(-61.0)
    sites = with_kit(at((-3.1, -60.02)), 1.8, 2)
    present, _, turn = turned(sites, ours, moved(ours, -61.0, satellite_eirp_dbw=40.0))
    assert present.columns["margin_db"][0] > 0 > turn.margin_db[0]
    assert turn.fits.tolist() == ["no"]


def test_words_at_the_edges_of_the_rules() -> None:
    ours = network(-61.0, rules={"min_elevation_deg": 30})
    sites = at((-3.1, -60.02), (-3.1, -60.02))
    _, there, turn = turned(sites, ours, moved(ours, -5.0))
    assert 5 < there.columns["elevation_deg"][0] < 30
    assert turn.fits.tolist() == ["below_minimum"] * 2


def test_no_kit_has_no_answer_and_an_open_sky_one() -> None:
    ours = network(-61.0, network={"availability_pct": 99.99, "date": "2026-09-01"},
                   outbound={"satellite_eirp_dbw": 30})  # fmt: skip
    _, _, turn = turned(at((-3.1, -60.02)), ours, moved(ours, -61.0, satellite_eirp_dbw=55.0),
                        obstacle("S0001", 200.0, 3.0))  # fmt: skip
    assert turn.fits.tolist() == [""]
    assert np.isnan(turn.margin_db[0])
    assert turn.horizon.tolist() == ["clear"]


@pytest.mark.parametrize(("top", "word"), [(3.0, "clear"), (80.0, "blocked"), (None, "")])
def test_the_horizon_is_judged_in_the_new_direction(top: float | None, word: str) -> None:
    ours, place = network(-61.0), (-25.0, -48.0)
    other = moved(ours, -30.0)
    seen = make_plan(at(place), other).columns
    bearing, up = float(seen["azimuth_true_deg"][0]), float(seen["elevation_deg"][0])
    old = float(make_plan(at(place), ours).columns["azimuth_true_deg"][0])
    assert abs((bearing - old + 180) % 360 - 180) > 20
    if top is None:
        _, _, turn = turned(at(place), ours, other)
    else:
        around = obstacle("S0001", bearing, top)
        present, _, turn = turned(at(place), ours, other, around)
        assert present.columns["clearance_deg"][0] > 30, "free where it looks today"
        assert turn.clearance_deg[0] == pytest.approx(up - top, abs=2)  # half a beam's width
    assert turn.horizon.tolist() == [word]


def test_a_horizon_just_under_the_beam_is_tight() -> None:
    ours, place = network(-61.0, site={"clearance_deg": 5}), (-25.0, -48.0)
    other = moved(ours, -30.0)
    seen = make_plan(at(place), other).columns
    bearing, up = float(seen["azimuth_true_deg"][0]), float(seen["elevation_deg"][0])
    _, _, turn = turned(at(place), ours, other, obstacle("S0001", bearing, up - 4))
    assert turn.horizon.tolist() == ["tight"]


def test_the_sky_of_a_kept_dish_is_that_of_its_own_beam() -> None:
    """Where the new plan picks another dish, the clearance is of the one that stands."""
    ours = network(-61.0)
    other = moved(ours, -75.0, satellite_eirp_dbw=45.0)
    sites = at((-25.0, -48.0))
    bearing = float(make_plan(sites, other).columns["azimuth_true_deg"][0])
    around = obstacle("S0001", bearing, 20.0)
    present, there, turn = turned(sites, ours, other, around)
    small, large = present.columns["antenna_m"][0], there.columns["antenna_m"][0]
    assert small < large
    plain = make_plan(
        with_kit(sites, small, present.columns["buc_w"][0]), other, around=around
    ).columns
    assert turn.clearance_deg[0] == pytest.approx(plain["clearance_deg"][0], abs=1e-9)
    # Beams are 70 lambda / D wide: the smaller dish's lower edge lies lower.
    assert turn.clearance_deg[0] < there.columns["clearance_deg"][0]


def test_every_word_is_one_of_the_list() -> None:
    assert len(set(FITS)) == 6
    assert len(set(HORIZON)) == 3
