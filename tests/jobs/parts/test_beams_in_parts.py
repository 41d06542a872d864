"""A project with many beams: in parts, as coverage, as a site, as a budget and as built."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import numpy as np
import pytest

from siteplan.api import budget_project, plan_project, read_network
from siteplan.jobs.parts import spread
from siteplan.model import Sites
from siteplan.planning.beams.assign import candidates
from siteplan.planning.beams.settings import settings
from siteplan.planning.coverage.cover import best_at, reference_kit
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected
from tests.planning.beams.two import SAMPLE

BEAMS = """
[[beams]]
name = "west"
lat = -5.5
lon = -66.5
major_deg = 2.0
minor_deg = 1.4
outbound = { satellite_eirp_dbw = 50 }
inbound = { satellite_g_t_db_k = 2.5, sfd_dbw_m2 = -90 }

[[beams]]
name = "east"
area = "east.geojson"
outbound = { satellite_eirp_dbw = 47.5, downlink_ghz = 12.3 }
inbound = { symbol_rate_msps = 0.512, uplink_polarization = "circular" }
hub = { lat = -1.45, lon = -48.5 }

[regulation]
masks = ["47cfr25_ku"]
"""
EAST = """{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {},
"geometry": {"type": "Polygon", "coordinates": [[[-66, -8], [-55, -8], [-55, 0], [-66, 0],
[-66, -8]]]}}]}"""
#: What a plan in parts may tell of otherwise than a whole one.
SUMMARY = ("sites", "beams", "in_no_beam", "verdict", "counts", "fewest", "licence", "link")
QUIET = {"with_map": False, "with_sheets": False}


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    (folder / "east.geojson").write_text(EAST, encoding="utf-8")
    with (folder / "network.toml").open("a", encoding="utf-8") as file:
        file.write(BEAMS)
    return folder


@pytest.fixture(scope="module")
def whole(project: Path) -> Plan:
    plan = plan_project(project, project.parent / "whole", **QUIET).plan
    assert plan is not None
    return plan


def test_the_sample_has_sites_in_both_in_several_and_in_none(whole: Plan) -> None:
    """Else the rest of this file would say little."""
    beam, other = whole.columns["beam"], whole.columns["other_beam"]
    assert min((beam == name).sum() for name in ("west", "east", "")) > 3
    assert (other != "").sum() > 3


def test_parts_give_the_whole_bit_for_bit(
    project: Path, whole: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 25)
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert parts.plan is not None
    assert list(parts.plan.columns) == list(whole.columns)
    for name, values in whole.columns.items():
        np.testing.assert_array_equal(parts.plan.columns[name], values, err_msg=name)
    assert parts.plan.facts.remedies == whole.facts.remedies
    for name in ("sites.csv", "kit.csv", "sun.csv", "regulation/types.csv", "regulation/sites.csv"):
        assert (parts.folder / name).read_bytes() == (
            project.parent / "whole" / name
        ).read_bytes(), name
    again = plan_project(project, tmp_path / "again", **QUIET).summary
    assert {k: parts.summary.get(k) for k in SUMMARY} == {k: again.get(k) for k in SUMMARY}


def test_the_licence_has_the_stations_of_every_beam_s_carriers(project: Path, whole: Plan) -> None:
    with (project.parent / "whole" / "regulation" / "types.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    hubs = [row for row in rows if row["kind"] == "hub"]
    assert [row["beams"] for row in hubs] == ["west", "east"]
    assert {row["symbol_rate_msps"] for row in rows if row["beams"] == "east"} >= {"0.512000"}
    sites = sum(int(row["sites"]) for row in rows if row["kind"] == "terminal")
    assert sites == (~np.isnan(whole.columns["off_axis_margin_db"])).sum()


def test_transits_are_told_of_both_hubs(project: Path, whole: Plan) -> None:
    assert {of["hub"] for of in whole.facts.hub_sun} == {"Hub of west", "Hub of east"}
    text = (project.parent / "whole" / "sun.csv").read_text(encoding="utf-8")
    assert "Hub of west" in text
    assert "Hub of east" in text


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    for name in ("west", "east"):
        i = int(np.flatnonzero(whole.columns["beam"] == name)[0])
        budget = budget_project(project, str(whole.columns["site_id"][i]))
        assert budget.margin_db == pytest.approx(whole.columns["margin_db"][i], abs=1e-9)


def test_a_site_in_a_beam_is_accepted_as_any(project: Path, whole: Plan) -> None:
    c = whole.columns
    known = ~np.isnan(c["expected_c_n_db"])
    rows = [int(np.flatnonzero((c["beam"] == name) & known)[0]) for name in ("west", "east")]
    found = as_expected(project, whole, *rows).columns
    np.testing.assert_allclose(found["c_n_difference_db"], 0, atol=ROUNDED_DB)
    isolation = ["isolation" in told.lower() for told in found["findings"].tolist()]
    assert isolation == [True, False], "a circular feed has none to measure"


def test_coverage_is_that_of_a_site_with_the_reference_kit_in_its_beam(
    project: Path,
) -> None:
    network = read_network(project / "network.toml")
    passes = settings(network)
    lat, lon = (v.ravel() for v in np.meshgrid(np.arange(-9.0, 2.0, 1.5), np.arange(-75, -48, 1.5)))
    found = best_at(lat, lon, network, passes)
    kit = reference_kit(passes[0].kinds, 1)
    known = {"fixed_antenna_m": kit.dish_m[0], "fixed_buc_w": kit.tried_w[0]}
    known = {name: np.full(len(lat), value) for name, value in known.items()}
    alone = {}
    for name in ("west", "east"):
        beam = np.full(len(lat), name, dtype=object)
        alone[name] = make_plan(Sites.at(lat, lon, beam=beam, **known), network).columns
    sites = Sites.at(lat, lon)
    could = candidates(sites, network, passes[0].footprints)
    for k, name in enumerate(("west", "east")):
        only = could[:, k] & (could.sum(axis=1) == 1)
        assert only.sum() > 3
        np.testing.assert_allclose(
            found["required_antenna_m"][only], alone[name]["required_antenna_m"][only], rtol=1e-9
        )
    both = could.all(axis=1)
    assert both.sum() > 3
    least = np.fmin(*(alone[name]["required_antenna_m"] for name in ("west", "east")))
    np.testing.assert_allclose(found["required_antenna_m"][both], least[both], rtol=1e-9)
    assert np.isnan(found["required_antenna_m"][~could.any(axis=1)]).all()
