"""What a field rests on: place fields do not change with the kit, kit fields go with it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import siteplan
from siteplan.fields import FIELDS
from siteplan.inputs.network.read import network_from_mapping
from tests.planning.others import with_faint
from tests.priced import with_costs

#: Rain, roofs and walls; no pair of the small catalogue meets the target there.
SITES = {
    "site_id": ["A", "B", "C", "D"],
    "lat": [-3.10, -2.53, -4.25, -3.5],
    "lon": [-60.02, -44.30, -69.95, -61.1],
    "structure": ["flat_roof", "wall", "ground", "pitched_roof"],
    "wall_facing_deg": [np.nan, 300.0, np.nan, np.nan],
    "roof_height_m": [np.nan, 8.0, np.nan, np.nan],
    "cable_m": [2.0, 2.0, 2.0, 2.0],
}


def planned(antennas_m: list[float], bucs_w: list[float]) -> Any:
    network = {
        "satellite": {"longitude_deg": -61.0},
        "network": {"date": "2026-03-01", "availability_pct": 97.15},  # 99.0 of a year
        "antennas": [{"diameter_m": d} for d in antennas_m],
        "bucs": [{"rated_w": w} for w in bucs_w],
    }
    return siteplan.plan(SITES, with_costs(network_from_mapping(with_faint(network))))


@pytest.fixture(scope="module")
def small() -> Any:
    return planned([0.75], [2.0])


@pytest.fixture(scope="module")
def large() -> Any:
    return planned([1.2], [40.0, 200.0])


def test_the_small_catalogue_fits_nowhere_and_the_large_one_everywhere(small, large) -> None:
    assert small["antenna_m"].isna().all()
    assert small["buc_w"].isna().all()
    assert large["antenna_m"].notna().all()
    assert large["buc_w"].notna().all()


def test_a_field_of_the_place_is_the_same_with_any_kit(small, large) -> None:
    for field in FIELDS.values():
        if field.rests_on == "place":
            assert small[field.name].equals(large[field.name]), field.name


def test_a_field_of_the_kit_is_blank_without_one(small, large) -> None:
    found = [field.name for field in FIELDS.values() if field.rests_on in ("dish", "buc", "kit")]
    assert {"antenna_m", "buc_w", "ballast_kg", "wall_pull_n"} <= set(found)
    for name in found:
        # Kit of the large catalogue has cables that work, and nothing smaller that nearly did.
        if name in ("cable_advice", "near_miss"):
            continue
        blank = small[name].isna() | (small[name] == "")
        assert blank.all(), name
        given = large[name].notna() & (large[name] != "")
        assert given.any(), name


def test_a_field_of_what_was_tried_is_shown_without_a_kit(small) -> None:
    """At every site but where there is nothing to say: no larger antenna, no survey; what would
    change the pair at those where a whole step of a figure does."""
    silent = {
        *("next_antenna_m", "next_antenna_margin_db"),
        *("horizon_at_satellite_deg", "horizon_source", "obstacle_kind", "clearance_deg"),
        *("outages_over_10_s", "outages_over_10_min"),  # too steep for the method, say the notes
    }
    assert small["most_sensitive"].astype(bool).any()
    for field in FIELDS.values():
        if field.rests_on in ("tried", "either") and field.name != "most_sensitive":
            shown = small[field.name].notna() & (small[field.name] != "")
            assert shown.tolist() == [field.name not in silent] * 4, field.name
