"""Coverage on a grid: nodes, the plan's own figures at them, classes and levels."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.read import network_from_mapping, read_network
from siteplan.model import Sites
from siteplan.physics.propagation.climate import topographic_altitude_m
from siteplan.planning.coverage import cover as coverage
from siteplan.planning.coverage.bands import (
    MOST_SIZES,
    antenna_bands,
    elevation_bands,
    level_bands,
    nice_levels,
)
from siteplan.planning.coverage.grid import MOST_NODES, around, make_grid
from siteplan.planning.coverage.relief import relief_heights
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from tests.samples import FROZEN

#: Columns of a plan that coverage gives too.
SHARED = ("altitude_m", *coverage.QUANTITIES)


@pytest.fixture(params=["river_clinics", "fjord_substations"])
def network(request):
    return read_network(FROZEN / request.param / "network.toml")


def world(step_deg=7.5):
    return make_grid((-90, -180, 90, 180), step_deg)


# --- the grid -------------------------------------------------------------------------------


def test_nodes_are_whole_multiples_of_the_step_and_cover_the_frame():
    grid = make_grid((-3.1, 10.26, 4.9, 12.0), 0.25)
    np.testing.assert_allclose(np.mod(grid.lat, 0.25), 0, atol=1e-12)
    np.testing.assert_allclose(np.diff(grid.lon), 0.25, rtol=0, atol=1e-12)
    assert grid.frame == (-3.25, 10.25, 5.0, 12.0)


def test_a_frame_across_the_antimeridian_runs_on():
    """Fiji lies from some 177 E to 178 W."""
    grid = make_grid((-19, 176.9, -16, 182.1), 0.5)
    assert grid.lon[0] == 176.5
    assert grid.lon[-1] == 182.5
    assert (np.diff(grid.lon) > 0).all()


def test_no_node_is_beyond_a_pole():
    assert world().frame == (-90, -180, 90, 180)
    assert make_grid((85, 0, 90, 10), 0.7).frame[2] == pytest.approx(89.6, abs=1e-9)


def test_a_whole_turn_ends_where_it_began():
    grid = make_grid((0, -180, 1, 180), 0.3)
    assert grid.lon[-1] - grid.lon[0] == pytest.approx(360, abs=1e-9)


def test_a_frame_of_no_width_has_two_nodes_each_way():
    assert make_grid((2, 3, 2, 3), 1).shape == (2, 2)


def test_too_many_nodes_are_refused_with_a_step_that_does():
    frame = (-60, -180, 60, 180)
    with pytest.raises(NetworkError, match=r"coverage step: .* makes 432,048,001 points") as caught:
        make_grid(frame, 0.01)
    step = float(re.search(r"Use ([\d.]+) deg", str(caught.value))[1])
    assert 0.1 < step < 0.12
    assert math.prod(make_grid(frame, step).shape) <= MOST_NODES


def test_the_area_around_sites_has_a_margin():
    assert around((0, 10, 20, 50)) == pytest.approx((-2, 6, 22, 54), abs=1e-12)
    assert around((10, 10, 11, 11)) == pytest.approx((9.5, 9.5, 11.5, 11.5), abs=1e-12)
    south, west, north, east = around((-89, -179, 89, 179))
    assert (south, north) == (-90, 90)
    assert east - west == pytest.approx(360, abs=1e-9)


# --- the figures ----------------------------------------------------------------------------


def test_nodes_equal_the_plan_of_sites_with_the_reference_kit(network):
    """To the last bits: the same functions, in the same order."""
    lat, lon = world().points
    kit = coverage.reference_kit(setting(network).kinds, len(lat))
    sites = Sites.at(lat, lon, fixed_antenna_m=kit.antenna_m, fixed_buc_w=kit.buc_w)
    with np.errstate(over="ignore"):
        planned = make_plan(sites, network)
        here = coverage.piece_at(lat, lon, setting(network))
    seen = np.isfinite(planned.columns["elevation_deg"])
    assert 0.2 < seen.mean() < 0.8, "both sides of the horizon are in it"
    # Attenuation is the plan's where nothing of the outage goes to the hub.
    whole = {
        "uplink_attenuation_db": planned.columns["inbound_site_outage_pct"],
        "downlink_attenuation_db": planned.columns["outbound_site_outage_pct"],
    }
    outage = 100 - network.usual_target_pct
    for name in SHARED:
        at = np.isclose(whole[name], outage, rtol=1e-9) if name in whole else slice(None)
        np.testing.assert_allclose(
            here[name][at], planned.columns[name][at], rtol=1e-12, err_msg=name
        )


def test_attenuation_is_that_of_the_whole_outage_whatever_the_hub_leaves_the_site() -> None:
    """The same with a hub in the rain, however strong its power control, and with none."""
    lat, lon = np.array([-45.0, -20.0, 5.0]), np.array([170.0, 140.0, 120.0])

    def at(hub: dict[str, float]) -> dict[str, np.ndarray]:
        read = network_from_mapping({"satellite": {"longitude_deg": 150}, "hub": hub})
        return coverage.piece_at(lat, lon, setting(read))

    none = at({})
    for control_db in (0.0, 8.0):
        wet = at({"lat": 1.3, "lon": 103.8, "power_control_db": control_db})
        for name in ("uplink_attenuation_db", "downlink_attenuation_db"):
            np.testing.assert_allclose(wet[name], none[name], rtol=1e-12)
    network = network_from_mapping({"satellite": {"longitude_deg": 150}})
    planned = make_plan(Sites.at(lat, lon), network).columns
    np.testing.assert_allclose(
        none["uplink_attenuation_db"], planned["uplink_attenuation_db"], rtol=1e-2
    )


def test_required_antenna_is_the_plan_s_where_it_picks_the_largest_buc(network):
    """Sites that get the largest BUC and an antenna of the same efficiency need the same dish."""
    lat, lon = world(3).points
    strongest = max(network.bucs, key=lambda buc: buc.rated_w)
    network = network.model_copy(update={"bucs": (strongest,)})
    with np.errstate(over="ignore"):
        planned = make_plan(Sites.at(lat, lon), network)
        here = coverage.piece_at(lat, lon, setting(network))
    largest = planned.columns["buc_w"] == strongest.rated_w
    assert largest.sum() > 10
    np.testing.assert_allclose(
        here["required_antenna_m"][largest],
        planned.columns["required_antenna_m"][largest],
        rtol=1e-5,
    )


def test_cover_is_the_same_in_one_chunk_or_many(network, monkeypatch):
    grid = make_grid((-20, -70, 20, -20), 2)
    whole = coverage.cover(grid, network)
    monkeypatch.setattr(coverage, "CHUNK_SITES", 100)
    told = []
    parts = coverage.cover(grid, network, progress=told.append)
    assert told[-1] == math.prod(grid.shape)
    assert len(told) > 3
    for name, values in whole.columns.items():
        np.testing.assert_allclose(parts.columns[name], values, rtol=1e-9, err_msg=name)


def test_longitudes_may_be_any_turn(network):
    lat, lon = np.array([-17.0, 5.0]), np.array([178.5, -30.0])
    shared = setting(network)
    here, there = coverage.piece_at(lat, lon, shared), coverage.piece_at(lat, lon + 360, shared)
    for name, values in here.items():
        np.testing.assert_allclose(there[name], values, rtol=1e-9, err_msg=name)


def test_surfaces_go_on_where_the_field_is_blank(network):
    covered = coverage.cover(world(), network)
    elevation, surface = (g["elevation_deg"] for g in (covered.columns, covered.surfaces))
    assert np.isfinite(surface).all()
    assert (surface[np.isnan(elevation)] < 0).all()
    needed, drawn = (g["required_antenna_m"] for g in (covered.columns, covered.surfaces))
    np.testing.assert_array_equal(np.isnan(drawn), np.isnan(elevation))
    beyond = np.isnan(needed) & ~np.isnan(drawn)
    assert beyond.sum() > 5
    assert set(drawn[beyond].tolist()) == {30.0}


def test_points_beyond_the_largest_dish_lie_on_the_far_side():
    """With little satellite power no dish of 30 m does, and none is told apart from a small one."""
    network = network_from_mapping(
        {"satellite": {"longitude_deg": 0}, "outbound": {"satellite_eirp_dbw": 5}}
    )
    found = coverage.piece_at(np.array([0.0, 30.0]), np.array([0.0, 10.0]), setting(network))
    assert np.isnan(found["required_antenna_m"]).all()
    assert found["antenna_surface_m"].tolist() == [30.0, 30.0]


# --- classes --------------------------------------------------------------------------------


def test_diameter_classes_are_the_catalogue():
    bands = antenna_bands([1.2, 1.8, 2.4])
    assert [b.label for b in bands] == ["1.2 m will do", "1.8 m", "2.4 m", "more than 2.4 m"]
    assert [b.bounds for b in bands] == [(None, 1.2), (1.2, 1.8), (1.8, 2.4), (2.4, None)]
    assert [b.care for b in bands] == [False, False, False, True]


def test_many_sizes_are_thinned_and_the_largest_stays():
    bands = antenna_bands(np.arange(1, 31) / 10)
    assert len(bands) == MOST_SIZES + 1
    assert bands[0].label == "0.1 m will do"
    assert bands[-1].label == "more than 3 m"


def test_elevation_has_the_floor_and_the_horizon_where_they_matter():
    low = elevation_bands([20, 40], 10, -5)
    assert [b.label for b in low] == [
        "below the horizon", "0 to 10°", "10 to 20°", "20 to 40°", "40° or more",
    ]  # fmt: skip
    assert low[0].care
    assert [b.low for b in elevation_bands([70, 80], 10, 61)] == [-math.inf, 70, 80]
    assert elevation_bands([0, 20], 10, 5)[0].label == "below 10°"


@pytest.mark.parametrize(("low", "high"), [(0, 1), (12.3, 97), (-5, 5), (1e-3, 2e-3), (880, 1e4)])
def test_levels_are_round_few_and_inside(low, high):
    levels = nice_levels(np.linspace(low, high, 501))
    assert 3 <= len(levels) <= 7
    assert low < levels[0] < levels[-1] < high
    steps = np.diff(levels)
    np.testing.assert_allclose(steps, steps[0], rtol=1e-6)
    lead = float(f"{steps[0]:e}".split("e")[0])
    assert min(abs(lead - n) for n in (1, 2, 5)) < 1e-4


def test_outliers_do_not_stretch_the_levels():
    values = np.append(np.linspace(2, 6, 500), [4000.0, np.nan, np.inf])
    assert nice_levels(values)[-1] <= 6


@pytest.mark.parametrize("values", [[np.nan, np.nan], [3.0, 3.0], []])
def test_no_levels_without_a_range(values):
    assert nice_levels(np.array(values)) == []
    assert [b.label for b in level_bands([], "dB")] == ["all values"]


def test_classes_follow_on_one_another(network):
    for bands in coverage.cover(world(), network).bands.values():
        assert math.isinf(bands[0].low)
        assert math.isinf(bands[-1].high)
        assert all(a.high == b.low for a, b in itertools.pairwise(bands))


def test_the_note_says_what_the_figures_rest_on(network):
    note = coverage.cover(world(15), network).note
    assert "3 W" in note
    assert "99.8 %" in note
    assert "1.8 m" in note


# --- heights for the relief -----------------------------------------------------------------


def test_heights_lie_in_even_steps_of_mercator():
    """Web Mercator's ordinate is ln tan(pi/4 + lat/2) (EPSG guidance note 7-2, method 1024)."""
    grid = make_grid((40, 0, 70, 20), 1)
    height, lat, lon = relief_heights(grid)
    assert height.shape == (len(lat), len(lon))
    assert max(height.shape) <= 640
    y = np.log(np.tan(np.pi / 4 + np.radians(lat) / 2))
    np.testing.assert_allclose(np.diff(y), y[1] - y[0], rtol=1e-9)
    np.testing.assert_allclose(np.diff(np.radians(lon)), y[0] - y[1], rtol=0.01)
    spot = topographic_altitude_m(lat[50:51], lon[60:61])
    assert height[50, 60] == pytest.approx(spot[0], abs=1e-6)


def test_heights_of_a_small_area_are_not_finer_than_the_map():
    height, _, _ = relief_heights(make_grid((10, 10, 11, 11), 0.1))
    assert max(height.shape) <= 25


def test_no_heights_where_the_map_ends():
    assert relief_heights(make_grid((86, 0, 90, 30), 1)) is None
    _, lat, _ = relief_heights(make_grid((80, 0, 90, 30), 1))
    assert lat[0] < 85
