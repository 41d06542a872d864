"""A sample with contours of EIRP and an ellipse of G/T: whole, in parts, as a budget, as built."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import geopandas
import numpy as np
import pytest
import shapely

from siteplan.api import budget_project, coverage_project, plan, plan_project
from siteplan.jobs.opened import read_network
from siteplan.jobs.parts import spread
from siteplan.results import Plan
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
CONTOURS = """
[[contours]]
direction = "down"
beam = "Amazon"
file = "eirp.gpkg"
attribute = "eirp_dbw"
peak = 51

[[contours]]
direction = "up"
beam = "Amazon"
lat = -3
lon = -60
major_deg = 3
minor_deg = 2
tilt_deg = 20
peak = 4
"""
FIELDS = ("satellite_eirp_dbw", "satellite_g_t_db_k", "satellite_sfd_dbw_m2")
#: What a plan in parts may tell of otherwise than a whole one.
SUMMARY = ("sites", "served", "verdict", "counts", "fewest", "limits")


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with three circles around Manaus, and an ellipse."""
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    turn = np.linspace(0, 2 * np.pi, 200)
    rings = [
        shapely.LineString(np.column_stack([-60 + r * np.cos(turn), -3 + r * np.sin(turn)]))
        for r in (7.0, 5.0, 2.0)
    ]
    frame = geopandas.GeoDataFrame({"eirp_dbw": [46, 48, 50]}, geometry=rings, crs="EPSG:4326")
    frame.to_file(folder / "eirp.gpkg")
    path = folder / "network.toml"
    path.write_text(path.read_text(encoding="utf-8") + CONTOURS, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def whole(project: Path) -> Plan:
    folder = project.parent / "whole"
    plan = plan_project(project, folder, with_sheets=False, map_options={"plain": True}).plan
    assert plan is not None
    return plan


def test_sites_lie_in_the_beam_and_outside(whole: Plan) -> None:
    c = whole.columns
    outside = np.array(["outside_beam" in f.split(";") for f in c["flags"]])
    assert 10 < outside.sum() < len(outside) - 20
    np.testing.assert_array_equal(c["beam"] == "", outside)
    for name in (*FIELDS, "margin_db"):
        np.testing.assert_array_equal(np.isnan(c[name]), outside, err_msg=name)
    assert np.nanmin(c["satellite_eirp_dbw"]) > 46
    assert np.nanmax(c["satellite_eirp_dbw"]) == 51


def test_parts_give_the_whole_bit_for_bit(
    project: Path, whole: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 25)
    parts = plan_project(
        project, tmp_path / "parts", workers=0, tables=("csv",), with_map=False, with_sheets=False
    )
    assert parts.plan is not None
    assert list(parts.plan.columns) == list(whole.columns)
    for name, values in whole.columns.items():
        np.testing.assert_array_equal(parts.plan.columns[name], values, err_msg=name)
    rows = [
        (folder / "sites.csv").read_bytes() for folder in (project.parent / "whole", parts.folder)
    ]
    assert rows[0] == rows[1]
    told = json.loads((project.parent / "whole" / "summary.json").read_text(encoding="utf-8"))
    assert {k: parts.summary[k] for k in SUMMARY} == {k: told[k] for k in SUMMARY}


def test_the_map_holds_the_contours_with_their_levels(project: Path, whole: Plan) -> None:
    text = (project.parent / "whole" / "map.html").read_text(encoding="utf-8")
    data = text.split('id="siteplan-data"')[1].split(">", 1)[1].split("</script>")[0]
    layers = {layer["name"]: layer for layer in json.loads(data)["behind"]["overlays"]}
    assert list(layers) == ["EIRP contours Amazon", "G/T contours Amazon"]
    eirp, g_t = layers.values()
    assert [text for *_, text in eirp["labels"]] == ["46 dBW", "48 dBW", "50 dBW"]
    assert [text for *_, text in g_t["labels"]] == ["1 dB/K", "-6 dB/K"]
    assert len(eirp["lines"]) == 3
    assert not eirp["rings"]
    assert eirp["colors"] != g_t["colors"]
    assert len(whole) > 50


def test_one_place_has_the_levels_of_the_site_there(project: Path, whole: Plan) -> None:
    c, network = whole.columns, read_network(project / "network.toml")
    for i in np.flatnonzero(c["beam"] == "Amazon")[[0, 7, 20]].tolist():
        alone = plan([(c["lat"][i], c["lon"][i])], network)
        for name in FIELDS:
            assert alone[name].iloc[0] == pytest.approx(c[name][i], abs=1e-9), name


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    c = whole.columns
    i = int(np.flatnonzero((c["beam"] != "") & ~np.isnan(c["tx_power_w"]))[3])
    budget = budget_project(project, str(c["site_id"][i]))
    assert budget.margin_db == pytest.approx(c["margin_db"][i], abs=1e-9)
    lines = {x.code: x.values[0] for way in ("outbound", "inbound") for x in budget.way(way).lines}
    for code, name in zip(("beam_eirp", "beam_g_t", "beam_sfd"), FIELDS, strict=True):
        assert lines[code] == pytest.approx(c[name][i], abs=1e-9)
    outside = str(c["site_id"][np.flatnonzero(c["beam"] == "")[0]])
    assert "outside the contours" in budget_project(project, outside).notes[0]


def test_coverage_is_blank_outside_the_beam(project: Path, tmp_path: Path) -> None:
    coverage_project(project, tmp_path / "cover", step_deg=1.0)
    grid = geopandas.read_file(tmp_path / "cover" / "coverage.gpkg")
    lat, lon = grid.geometry.y.to_numpy(), grid.geometry.x.to_numpy()
    required = grid["required_antenna_m"].to_numpy(dtype=float)
    far = np.hypot(lat + 3, lon + 60) > 7.6
    near = np.hypot(lat + 3, lon + 60) < 2
    assert far.sum() > 20
    assert np.isnan(required[far]).all()
    assert not np.isnan(required[near]).any()


def test_a_site_is_accepted_by_what_its_own_level_lets_expect(project: Path, whole: Plan) -> None:
    c = whole.columns
    i = int(np.flatnonzero((c["beam"] != "") & (c["kit_source"] == "picked"))[5])
    found = as_expected(project, whole, i)
    assert found.columns["c_n_difference_db"][0] == pytest.approx(0, abs=ROUNDED_DB)
    again = found.replanned.columns
    assert again["satellite_eirp_dbw"][0] == pytest.approx(c["satellite_eirp_dbw"][i], abs=1e-6)
