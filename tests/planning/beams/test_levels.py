"""A site's own EIRP, G/T and SFD, and what they do to its link, its kit and its coverage."""

from __future__ import annotations

import pickle
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.network import ContourLine, Contours, Network
from siteplan.physics.angles.footprint import place_seen, seen_from_satellite
from siteplan.planning.beams.footprints import footprints
from siteplan.planning.beams.levels import levels
from siteplan.planning.coverage.cover import piece_at
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from siteplan.planning.site_budget import site_budgets
from siteplan.results import Plan

SAT = -61.0
RNG = np.random.default_rng(41)
N = 60
LAT, LON = RNG.uniform(-25, 20, N), RNG.uniform(-85, -40, N)
BASE: dict[str, Any] = {
    "network": {"date": "2026-06-01", "availability_pct": 99.5},
    "satellite": {"longitude_deg": SAT},
    "hub": {"lat": -15.8, "lon": -47.9},
    "neighbours": [{"longitude_deg": -58.0, "downlink_level_db": -3, "uplink_dbw_40khz": -6}],
    "outbound": {"cross_polar_level_db": -5},
    "inbound": {"cross_polar_level_db": -5},
}


def network(*contours: Any, **tables: Any) -> Network:
    merged = {k: BASE.get(k, {}) | v if isinstance(v, dict) else v for k, v in tables.items()}
    return Network.model_validate(BASE | merged | {"contours": list(contours)})


def disc(direction: str, *rings: tuple[float, float], at: tuple[float, float] = (0.0, 0.0),
         **keys: Any) -> Contours:  # fmt: skip
    """Return circular contours around a direction: value and radius [deg] of each."""
    turn = np.linspace(0, 2 * np.pi, 241)
    lines = []
    for value, radius in rings:
        lat, lon = place_seen(at[0] + radius * np.cos(turn), at[1] + radius * np.sin(turn), SAT)
        lines.append(ContourLine(value=value, lat=tuple(lat), lon=tuple(lon)))
    return Contours(direction=direction, lines=tuple(lines), **keys)


def flat(direction: str, level: float) -> Contours:
    """Return contours of one level that hold all of the sites."""
    return disc(direction, (level, 8.0))


def planned(checked: Network, **known: Any) -> Plan:
    return make_plan(Sites.at(LAT, LON, **known), checked, with_tables=True)


def numbers(plan: Plan) -> dict[str, Any]:
    kept = {n: v for n, v in plan.columns.items() if v.dtype.kind == "f"}
    return {n: v for n, v in kept.items() if not n.startswith("satellite_")}


@pytest.fixture(scope="module")
def plain() -> Plan:
    return planned(network())


def codes(plan: Plan) -> list[set[str]]:
    return [set(text.split(";")) for text in plan.columns["flags"].tolist()]


def test_without_contours_no_field_of_theirs_is_there(plain: Plan) -> None:
    assert not [n for n in plain.columns if n.startswith("satellite_") or n == "beam"]


def test_a_beam_of_one_level_is_as_the_figures_of_the_file(plain: Plan) -> None:
    """EIRP and G/T of network.toml's defaults, told by contours: then they are no assumption."""
    same = planned(network(flat("down", 48.0), flat("up", 1.0)))
    surer = {"margin_spread_db", "margin_confidence_pct"}
    assert (same.columns["margin_spread_db"] < plain.columns["margin_spread_db"]).any()
    for name, values in ((n, v) for n, v in numbers(plain).items() if n not in surer):
        np.testing.assert_allclose(same.columns[name], values, rtol=0, atol=1e-9, err_msg=name)
    for name, values in ((n, v) for n, v in plain.tables.items() if v.dtype.kind == "f"):
        np.testing.assert_allclose(same.tables[name], values, rtol=0, atol=1e-9, err_msg=name)
    assert same.columns["flags"].tolist() == plain.columns["flags"].tolist()
    assert (same.columns["satellite_sfd_dbw_m2"] == -88.0).all()


def test_a_beam_of_another_level_is_as_that_figure_in_the_file() -> None:
    """Neighbours are told by themselves here: else they stand over the file's EIRP and G/T."""
    alone = [{"longitude_deg": -58.0, "downlink_dbw_mhz": 15}]
    told = network(
        neighbours=alone,
        outbound={"satellite_eirp_dbw": 46.3},
        inbound={"satellite_g_t_db_k": -1.1, "sfd_dbw_m2": -88 + 2.1},
    )
    file, beam = (
        planned(told),
        planned(network(flat("down", 46.3), flat("up", -1.1), neighbours=alone)),
    )
    # What the hub receives and sends to is the file's own.
    for name, values in numbers(file).items():
        np.testing.assert_allclose(beam.columns[name], values, rtol=0, atol=2e-9, err_msg=name)
    assert beam.columns["flags"].tolist() == file.columns["flags"].tolist()


def test_one_decibel_of_g_t_moves_sfd_by_one_the_other_way() -> None:
    one, other = (planned(network(flat("up", level))).columns for level in (1.0, 2.0))
    for name, step in (("satellite_g_t_db_k", 1.0), ("satellite_sfd_dbw_m2", -1.0)):
        np.testing.assert_allclose(other[name] - one[name], step, atol=1e-12)


def test_outside_there_is_no_level_no_kit_and_a_flag() -> None:
    stands = {"fixed_antenna_m": np.where(np.arange(N) % 4 == 0, 1.2, np.nan),
              "fixed_buc_w": np.where(np.arange(N) % 4 == 0, 2.0, np.nan)}  # fmt: skip
    plan = planned(network(disc("down", (46, 3.0), (50, 1.5))), **stands)
    seen = seen_from_satellite(LAT, LON, SAT)
    outside = np.hypot(seen.u_deg, seen.v_deg) > 3.0
    assert 10 < outside.sum() < N - 10
    c = plan.columns
    np.testing.assert_array_equal(["outside_beam" in x for x in codes(plan)], outside)
    blank = [f"satellite_{x}" for x in ("eirp_dbw", "g_t_db_k", "sfd_dbw_m2")]
    blank += ["margin_db", "outbound_margin_db", "inbound_margin_db", "availability_achieved_pct"]
    for name in blank:
        np.testing.assert_array_equal(np.isnan(c[name]), outside, err_msg=name)
    picked = c["kit_source"] == "picked"
    assert not (picked & outside).any()
    free = outside & (np.arange(N) % 4 != 0)
    assert np.isnan(c["antenna_m"][free]).all()
    assert all(r.startswith("The site lies in no beam") for r in c["no_fit_reason"][free])
    assert not any("no_fit" in x for x, o in zip(codes(plan), outside, strict=True) if o)
    told = {r.site_id: r.code for r in plan.facts.remedies}
    assert {told[s] for s in c["site_id"][free].tolist()} == {"outside_beam"}


def test_below_the_horizon_stays_as_it_is() -> None:
    sites = Sites.at(np.array([0.0, 0.0]), np.array([100.0, -61.0]))
    found = make_plan(sites, network(flat("down", 48.0))).columns
    assert found["flags"][0].split(";")[0] == "below_horizon"
    assert "outside_beam" not in found["flags"][0]
    assert np.isnan(found["satellite_eirp_dbw"]).tolist() == [True, False]


def test_of_several_contours_of_a_direction_the_strongest_counts() -> None:
    left, right = disc("down", (46, 3.0), at=(-2, 0)), disc("down", (49, 3.0), at=(2, 0))
    both = network(left, right)
    of = footprints(both)
    assert of is not None
    lat, lon = place_seen(np.array([-4.0, 0.0, 4.0, 0.0]), np.array([0, 0, 0, 5.0]), SAT)
    found = levels(both, of, "", lat, lon)
    np.testing.assert_array_equal(found.eirp_dbw, [46, 49, 49, np.nan])
    np.testing.assert_array_equal(found.outside, [False, False, False, True])
    np.testing.assert_array_equal(found.g_t_db_k, [1, 1, 1, np.nan])


ELLIPSE = {"lat": -5, "lon": -60, "major_deg": 3, "minor_deg": 1.5, "tilt_deg": 30, "peak": 50}


def test_an_ellipse_holds_to_10_db_of_drop() -> None:
    checked = network({"direction": "down", **ELLIPSE})
    of = footprints(checked)
    assert of is not None
    at = seen_from_satellite([-5], [-60], SAT)
    t = np.radians(30)
    along = 1.5 * np.sqrt(np.array([0, 1, 10 / 3, 10.001 / 3]))
    lat, lon = place_seen(at.u_deg + along * np.cos(t), at.v_deg + along * np.sin(t), SAT)
    found = levels(checked, of, "", lat, lon).eirp_dbw
    np.testing.assert_allclose(found, [50, 47, 40, np.nan], atol=1e-6)


def test_budgets_add_up_with_the_site_s_own_levels() -> None:
    plan = planned(network(disc("down", (46, 3.5), (50, 2.0)), {"direction": "up", **ELLIPSE,
                   "major_deg": 12, "minor_deg": 10, "peak": 3}))  # fmt: skip
    inside = np.flatnonzero(~np.isnan(plan.columns["margin_db"]))[:8]
    for k, budget in zip(inside.tolist(), site_budgets(plan, inside), strict=True):
        assert budget.margin_db == pytest.approx(plan.columns["margin_db"][k], abs=1e-9)
        for way, code, field in (
            ("outbound", "beam_eirp", "satellite_eirp_dbw"),
            ("inbound", "beam_g_t", "satellite_g_t_db_k"),
            ("inbound", "beam_sfd", "satellite_sfd_dbw_m2"),
        ):
            parts = budget.way(way).parts
            line = next(x for p in parts for x in p.lines if x.code == code)
            np.testing.assert_allclose(line.values, plan.columns[field][k], atol=1e-9)
            assert ("part" in line.basis) == (way == "inbound")  # edge_db is assumed
        hops = "outbound_up", "outbound_down", "inbound_up", "backoff", "inbound_down"
        for part in (p for w in budget.ways for p in w.parts if p.code in hops):
            total = 0.0
            for line in part.lines:
                sign = {"+": 1.0, "-": -1.0}.get(line.sign)
                if sign is None:
                    np.testing.assert_allclose(total, line.values, atol=1e-9, err_msg=line.code)
                else:
                    total = total + sign * np.array(line.values)
    outside = np.flatnonzero(["outside_beam" in x for x in codes(plan)])[:1]
    (told,) = site_budgets(plan, outside)
    assert told.notes[0].startswith("The site lies in no beam")


def test_coverage_takes_the_levels_of_its_points() -> None:
    checked = network(disc("down", (44, 3.0), (50, 1.0)))
    points = piece_at(LAT, LON, setting(checked))
    middle, most = checked.antennas[(len(checked.antennas) - 1) // 2], checked.bucs[-1]
    kit = {"fixed_antenna_m": middle.diameter_m, "fixed_buc_w": most.rated_w}
    sites = planned(checked, **{k: np.full(N, v) for k, v in kit.items()}).columns
    np.testing.assert_allclose(points["required_antenna_m"], sites["required_antenna_m"], atol=1e-9)
    seen = seen_from_satellite(LAT, LON, SAT)
    outside = np.hypot(seen.u_deg, seen.v_deg) > 3.0
    assert np.isnan(points["antenna_surface_m"][outside]).all()
    assert not np.isnan(points["elevation_deg"]).any()


def test_any_part_of_the_sites_has_the_levels_of_the_whole() -> None:
    checked = network(disc("down", (46, 6.0), (48, 4.0), (50, 2.0), peak=51), flat("up", 2.0))
    whole, shared = planned(checked).columns, pickle.loads(pickle.dumps(footprints(checked)))
    for at in (np.array([3]), np.arange(10, 40), np.arange(0, N, 7)):
        part = make_plan(Sites.at(LAT, LON).take(at), checked).columns
        for name in ("satellite_eirp_dbw", "margin_db", "required_antenna_m"):
            np.testing.assert_array_equal(part[name], whole[name][at], err_msg=name)
        again = levels(checked, shared, "", LAT[at], LON[at]).eirp_dbw
        np.testing.assert_array_equal(again, whole["satellite_eirp_dbw"][at])


def test_the_beam_has_its_name_where_it_is_told() -> None:
    named = disc("down", (46, 3.0), beam="Amazon")
    sites = replace(
        Sites.at(LAT, LON), beam=np.array(["Amazon", "Andes", *[""] * (N - 2)], dtype=object)
    )
    c = make_plan(sites, network(named)).columns
    np.testing.assert_array_equal(c["beam"] == "Amazon", ~np.isnan(c["satellite_eirp_dbw"]))
    assert (
        "Beam 'Andes' is no beam of the network and was left out; there: Amazon."
        in (c["flag_notes"][1])
    )
    assert "input_mended" in c["flags"][1]
    assert "input_mended" not in c["flags"][0]
    bare = make_plan(sites, network()).columns
    assert "Beam 'Amazon' was left out: the network names no beam." in bare["flag_notes"][0]
    assert "beam" not in bare


def test_contours_that_cannot_be_used_are_refused_with_their_value() -> None:
    lines = (ContourLine(value=47.5, lat=(0, 10, 10), lon=(-60, -60, -50)),)
    open_ = network(Contours(direction="down", lines=lines))
    with pytest.raises(NetworkError, match=r"no\. 1 file: the contour of 47\.5 .* is not closed"):
        make_plan(Sites.at(LAT, LON), open_)
    one, other = disc("down", (46, 2.0)), disc("down", (48, 2.0), at=(1, 0))
    two = (*(one.lines or ()), *(other.lines or ()))
    crossing = network(flat("up", 1), Contours(direction="down", lines=two))
    with pytest.raises(NetworkError, match=r"no\. 2 file: the contours of 46 and 48 cross"):
        setting(crossing)
    away = (ContourLine(value=47.5, lat=(0, 10, 0), lon=(100, 100, 110)),)
    with pytest.raises(NetworkError, match="sees none of its contours"):
        setting(network(Contours(direction="down", lines=away)))
    with pytest.raises(
        NetworkError, match=r"no\. 1 lat and lon: the satellite at -61 deg does not"
    ):
        setting(network({"direction": "down", **ELLIPSE, "lon": 120}))
    unread = network({"direction": "down", "file": "a.gpkg", "attribute": "x"})
    with pytest.raises(NetworkError, match=r"no\. 1 file: the file of contours was not read"):
        setting(unread)
