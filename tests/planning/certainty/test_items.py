"""What each item changes where the key alone does not say it: pointing, target, lighter paths."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.beams.settings import settings
from siteplan.planning.certainty.items import ITEMS, Stand
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Dish
from siteplan.planning.plan import see

C = 299_792_458.0


def pointed(**terminal: float) -> Network:
    """A network whose terminals point as told."""
    return Network.model_validate({"satellite": {"longitude_deg": -61}, "terminal": terminal})


@pytest.mark.parametrize(("size", "ghz"), [(1.2, 14.25), (1.8, 11.95)])
def test_more_error_adds_to_what_the_loss_means(size: float, ghz: float) -> None:
    """12 (d / theta3)^2, theta3 = 70 lambda / D (Maral and Bousquet), by hand."""
    theta = 70 * C / (ghz * 1e9) / size
    error = theta * np.sqrt(0.3 / 12)
    dish = Dish(size, 0.65)
    assert mispointing.loss_db(pointed(), dish, ghz) == 0.3
    loss = mispointing.loss_db(pointed(), dish, ghz, 0.2)
    assert loss == pytest.approx(12 * ((error + 0.2) / theta) ** 2, rel=1e-9)
    given = mispointing.loss_db(pointed(pointing_error_deg=0.1), dish, ghz, 0.2)
    assert given == pytest.approx(12 * (0.3 / theta) ** 2, rel=1e-9)


@pytest.mark.parametrize("terminal", [{}, {"pointing_error_deg": 0.1}])
def test_sites_side_by_side_point_as_each_would_alone(terminal: dict[str, float]) -> None:
    """Where nothing is added to one of them, its loss is the one given."""
    network, dish, more = pointed(**terminal), Dish(1.8, 0.65), np.array([0.0, 0.2, 0.3])
    for of in (mispointing.loss_db, mispointing.error_deg):
        each = [of(network, dish, 14.0, m) for m in more.tolist()]
        np.testing.assert_array_equal(of(network, dish, 14.0, more), each)
    within = [bool(mispointing.within_beam(network, dish, m)) for m in more.tolist()]
    assert mispointing.within_beam(network, dish, more).tolist() == within
    largest = [float(mispointing.largest_under_m(network, m)) for m in more.tolist()]
    assert mispointing.largest_under_m(network, more).tolist() == largest


@pytest.mark.parametrize("terminal", [{}, {"pointing_error_deg": 0.1}, {"pointing_loss_db": 1.0}])
def test_the_largest_dish_is_where_the_beam_ends(terminal: dict[str, float]) -> None:
    network = pointed(**terminal)
    largest = float(mispointing.largest_under_m(network, 0.2))
    assert 0.5 < largest < 10
    for size, within in ((largest * 0.999, True), (largest * 1.001, False)):
        assert bool(mispointing.within_beam(network, Dish(size, 0.65), 0.2)) is within
    assert mispointing.largest_under_m(pointed(pointing_loss_db=4.0), 0.2) == 0.0
    assert mispointing.largest_m(pointed()) == float("inf")


def test_a_lighter_stand_says_the_same_and_has_no_climate() -> None:
    network = Network.model_validate({"satellite": {"longitude_deg": -61}})
    sites = Sites.at(np.array([-3.0, 10.0]), np.array([-60.0, -70.0]))
    shared = settings(network)[0]
    seen = see(sites, shared)
    stand = Stand(seen.link, seen.p_pct, shared)
    light = stand.lighter()
    assert light.link.site.up.path.climate is None
    sigma = np.full(2, 0.2)
    for item in ITEMS:
        if item.name == "rain":
            ours, theirs = (item.at(s).link.site.down for s in (light, stand))
            p = np.array([0.1, 5.0])
            np.testing.assert_array_equal(ours.sky(p, sigma).total, theirs.sky(p, sigma).total)
    with pytest.raises(ValueError, match="without its climate"):
        light.link.site.up.sky(np.full(2, 10.0), sigma)
    often = Stand(seen.link, np.full(2, 4.0), shared)
    assert often.lighter() is often


def test_the_outage_is_at_most_halved_or_doubled() -> None:
    network = Network.model_validate({"satellite": {"longitude_deg": -61}})
    sites = Sites.at(np.zeros(4), np.full(4, -61.0))
    shared = settings(network)[0]
    link = see(sites, shared).link
    stand = Stand(link, np.array([0.5, 0.2, 0.15, 0.04]), shared)
    less, more_ = (
        next(i for i in ITEMS if i.code == f"availability_{s}") for s in ("minus", "plus")
    )
    np.testing.assert_allclose(less.at(stand).p_pct, [0.6, 0.3, 0.25, 0.08], rtol=1e-12)
    np.testing.assert_allclose(more_.at(stand).p_pct, [0.4, 0.1, 0.075, 0.02], rtol=1e-12)
    np.testing.assert_allclose(more_.at(stand, 0.5).p_pct, [0.45, 0.15, 0.1125, 0.03], rtol=1e-12)
