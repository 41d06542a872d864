"""Flags: stable codes, one sentence each, the worst first."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

import numpy as np
import pytest

from siteplan.fields import FLAGS
from siteplan.model import Note, Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

Maker = Callable[..., Plan]


def codes(plan: Plan, i: int = 0) -> list[str]:
    text: str = plan.columns["flags"][i]
    return text.split(";") if text else []


@pytest.mark.parametrize(
    ("lat", "lon", "code", "words"),
    [
        (50.0, 90.0, "below_horizon", "deg below the horizon: check the sign"),
        (51.0, 0.0, "below_min_elevation", "the least of 10 deg that the network file sets"),
        (58.0, 8.0, "method_range", "no longer hold"),
        (51.0, -4.0, "low_elevation", "survey the horizon"),
        (5.7, -76.7, "heavy_rain", "mm/h for 0.01 % of the year"),
        (-3.1, -60.0, "near_vertical", "leans back 86 deg"),
        (-0.2, -60.7, "azimuth_sensitive", "position error of 1 km"),
    ],
)
def test_places(
    tropical: Network, plan_of: Maker, lat: float, lon: float, code: str, words: str
) -> None:
    plan = plan_of(lat, lon, tropical)
    assert code in codes(plan)
    assert words in plan.columns["flag_notes"][0]


def test_a_plain_site_has_few_flags(tropical: Network, plan_of: Maker) -> None:
    plan = plan_of(35.0, -85.0, tropical, network={"availability_pct": 99.5})
    assert codes(plan) == []


def test_offset_dish_leans_less(tropical: Network, plan_of: Maker) -> None:
    antennas = [{"diameter_m": 1.8, "offset_angle_deg": 22.0}]
    plan = plan_of(-3.1, -60.0, tropical, antennas=antennas)
    assert "near_vertical" not in codes(plan)


def test_margin_short_and_negative(tropical: Network, plan_of: Maker) -> None:
    def installed(size: float) -> Plan:
        known = {"fixed_antenna_m": np.array([size]), "fixed_buc_w": np.array([3.0])}
        return plan_of(35.0, -85.0, tropical, known)

    needed = float(installed(1.2).columns["required_antenna_m"][0])
    assert "margin_short" in codes(installed(needed - 0.03))
    assert "margin_negative" in codes(installed(needed / 2))
    assert not {"margin_short", "margin_negative"} & set(codes(installed(needed + 0.01)))


def test_power_share(tropical: Network, plan_of: Maker) -> None:
    known = {"fixed_antenna_m": np.array([3.7]), "fixed_buc_w": np.array([20.0])}
    plan = plan_of(35.0, -85.0, tropical, known)
    assert "power_share" in codes(plan)


def test_compass_and_model_date(tropical: Network, plan_of: Maker) -> None:
    arctic = plan_of(72.0, -95.0, tropical)
    assert "compass_unreliable" in codes(arctic)
    late = plan_of(35.0, -85.0, tropical, network={"date": "2031-01-01"})
    assert "magnetic_model_date" in codes(late)
    assert "compass_unreliable" not in codes(late)
    assert np.isnan(late.columns["azimuth_magnetic_deg"][0])


def test_notes_of_the_reading_become_flags(tropical: Network) -> None:
    doubts = ("note.coordinate_doubt.twins", "note.coordinate_doubt.one_decimal")
    notes = {1: tuple(map(Note.of, doubts))}
    sites = Sites.at(np.array([35.0, 36.0]), np.array([-85.0, -86.0]))
    plan = make_plan(Sites(**{**vars(sites), "notes": MappingProxyType(notes)}), tropical)
    assert "coordinate_doubt" not in codes(plan, 0)
    assert codes(plan, 1)[0] == "coordinate_doubt"
    assert plan.columns["flag_notes"][1].startswith(
        "Latitude and longitude are the same number. Coordinates with one decimal:"
    )


def test_codes_are_known_and_in_order(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    order = list(FLAGS)
    for i in range(len(plan)):
        found = codes(plan, i)
        assert found == sorted(found, key=order.index)
        assert bool(found) == bool(plan.columns["flag_notes"][i])
