"""Cloud maps of the user's own, end to end: every way to a figure takes the same maps."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from siteplan.api import (
    MapsError,
    Network,
    Plan,
    add_cloud_maps,
    asbuilt_project,
    map_editions,
    plan_one,
    plan_project,
    plan_sites,
    read_network,
    read_project,
    read_sites,
)
from siteplan.cli import main
from siteplan.inputs.project import find_project
from siteplan.jobs.parts import part, spread
from siteplan.jobs.parts.part import plan_of, run_on_cores, store_task
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.propagation.attenuation import averaging, parts, slant_path
from siteplan.physics.propagation.climate import site_climate, topographic_altitude_m
from siteplan.physics.propagation.cloud import column_coefficient
from siteplan.physics.propagation.mapped.cloud_maps import FOLDER_VARIABLE, OLDER, in_use
from siteplan.physics.propagation.mapped.maps import bilinear
from siteplan.physics.propagation.scintillation import fade_factor
from siteplan.planning.coverage.cover import Columns, Piece, cover, one_by_one, piece_at
from siteplan.planning.coverage.grid import make_grid
from siteplan.planning.setting import setting, with_cloud_maps
from tests.clouds import LEVELS_PCT

#: Places of ITU-R's examples.
LAT, LON = np.array([51.5, 41.9, 33.94, 9.05]), np.array([-0.14, 12.49, 18.43, 38.7])
HUB = np.array([41.9]), np.array([12.49])
NETWORK = (
    "[network]\ndate = 2026-06-01\n[satellite]\nlongitude_deg = 20\n"
    "[hub]\nlat = 41.9\nlon = 12.49\n[rules]\nhub_outage_share = 0.2\n"
)


@pytest.fixture
def project(tmp_path: Path, cloud_folder: Path) -> Path:
    """A project that names the maps in a folder beside it."""
    folder = tmp_path / "trial"
    folder.mkdir()
    rows = [f"S{k},{lat},{lon}" for k, (lat, lon) in enumerate(zip(LAT, LON, strict=True))]
    (folder / "sites.csv").write_text("\n".join(["site_id,lat,lon", *rows]) + "\n")
    (tmp_path / "clouds").symlink_to(cloud_folder, target_is_directory=True)
    (folder / "network.toml").write_text(f'{NETWORK}[methods]\ncloud_maps = "../clouds"\n')
    return folder


def older(project: Path) -> Plan:
    """Return the plan of a project without the maps."""
    (project / "older.toml").write_text(NETWORK)
    return plan_sites(read_sites(project / "sites.csv"), read_network(project / "older.toml"))


def newer(project: Path) -> Plan:
    _, sites, network = read_project(project)
    return plan_sites(sites, network)


def clouds_db(cloud_folder: Path, ghz: float, elevation_deg: np.ndarray) -> np.ndarray:
    """P.840-9 from the grid: eq. 12, the map of 5 %, the slant."""
    liquid = bilinear(in_use(str(cloud_folder)).grid(5), LAT, LON)
    return column_coefficient(ghz) * liquid / np.sin(np.deg2rad(elevation_deg))


def test_a_plan_takes_the_maps_that_its_network_names(
    project: Path, cloud_folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The path counts from the project's folder, wherever the command is given."""
    monkeypatch.chdir(tmp_path)
    plan, before = newer(project), older(project)
    elevation = plan.columns["elevation_deg"]
    for way, ghz in (("downlink", 11.95), ("uplink", 14.25)):
        here = clouds_db(cloud_folder, ghz, elevation)
        np.testing.assert_allclose(plan.columns[f"{way}_cloud_db"], here, rtol=1e-12)
        assert np.all(before.columns[f"{way}_cloud_db"] > here)
    assert np.all(plan.columns["margin_1_8_m_db"] > before.columns["margin_1_8_m_db"])


def test_the_hub_takes_the_same_maps(project: Path, cloud_folder: Path) -> None:
    """Just above 5 % its uplink's fade is sqrt(A_C^2 + A_S^2): cloud by hand from the grid."""
    hub = setting(read_network(project / "network.toml")).hub
    height_m = topographic_altitude_m(*HUB)
    elevation = look_angles(*HUB, height_m, 20.0).elevation_deg
    liquid = bilinear(in_use(str(cloud_folder)).grid(5), *HUB)
    cloud = column_coefficient(14.25) * liquid / np.sin(np.deg2rad(elevation))
    climate = site_climate(*HUB, height_m / 1000, OLDER)  # scintillation asks nothing of clouds
    sigma = averaging(slant_path(14.25, elevation, np.zeros(1), climate), 4.5, 0.65)
    p = 5 * (1 + 1e-9)
    known = np.hypot(cloud, fade_factor(np.array([p])) * sigma)
    np.testing.assert_allclose(hub.up_fade.at(p), known, rtol=1e-6)


def test_above_five_percent_the_levels_of_the_maps_are_taken(cloud_folder: Path) -> None:
    """Interpolated in the logarithm of the percentage, with the coefficient of the edition."""
    maps, elevation = in_use(str(cloud_folder)), np.array([30.0, 40.0, 50.0, 60.0])
    climate = site_climate(LAT, LON, np.zeros(4), maps)
    path = slant_path(20.0, elevation, np.zeros(4), climate)
    low, high = (bilinear(maps.grid(p), LAT, LON) for p in (10, 20))
    weight = np.log(14 / 10) / np.log(20 / 10)
    known = column_coefficient(20.0) * ((1 - weight) * low + weight * high)
    found = parts(path, np.full(4, 14.0), averaging(path, 1.2, 0.65)).cloud
    np.testing.assert_allclose(found, known / np.sin(np.deg2rad(elevation)), rtol=1e-12)


def test_parts_on_other_processes_take_the_same(
    project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(spread, "PART_SITES", 2)
    whole = newer(project)
    outcome = plan_project(project, tmp_path / "out", workers=0, with_map=False, with_sheets=False)
    job = _order(project)
    tasks = [
        part.Task(read_sites(project / "sites.csv").sites, part.Surroundings(),
                  tmp_path / "part-000000.parquet", job, keep=True)
    ]  # fmt: skip
    run_on_cores(1)(iter(tasks))
    for plan in (outcome.plan, part.read_back([tasks[0].path], job)):
        assert plan is not None
        assert plan.facts.cloud_edition == "P.840-9"
        for name in ("downlink_cloud_db", "margin_db", "outbound_availability_pct"):
            np.testing.assert_array_equal(plan.columns[name], whole.columns[name])
    assert outcome.summary["clouds"]["edition"] == "P.840-9"


def test_coverage_takes_the_same(
    project: Path, tmp_path: Path, cloud_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    network = read_network(project / "network.toml")
    plan = newer(project)
    here, older_here = piece_at(LAT, LON, setting(network)), piece_at(
        LAT, LON, setting(with_cloud_maps(network, ""))
    )  # fmt: skip
    assert np.all(here["uplink_attenuation_db"] < older_here["uplink_attenuation_db"])
    np.testing.assert_allclose(here["altitude_m"], plan.columns["altitude_m"], atol=1e-9)
    # What other processes are handed names maps that were added here, too.
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "data"))
    add_cloud_maps(cloud_folder)
    handed = []

    def spread_out(network: Network, pieces: Sequence[Piece]) -> Iterable[Columns]:
        handed.append(network.methods.cloud_maps)
        return one_by_one(network, pieces)

    (project / "network.toml").write_text(NETWORK)
    grid = make_grid((9.0, 38.0, 10.0, 39.0), 0.5)
    cover(grid, read_network(project / "network.toml"), spread=spread_out)
    assert handed == [str(tmp_path / "data" / "cloud-maps")]


def test_one_place_and_what_came_back_take_the_same(
    project: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    plan = newer(project)
    one = plan_one("51.5", "-0.14", network=project / "network.toml")
    assert one.columns["downlink_cloud_db"][0] == plan.columns["downlink_cloud_db"][0]
    (tmp_path / "returned.csv").write_text(
        "site_id,lat,lon,azimuth_true_deg,elevation_deg\nS0,51.5,-0.14,155,30\n"
    )
    built = asbuilt_project(project, tmp_path / "returned.csv")
    for found in (built.planned, built.replanned):
        assert found.columns["downlink_cloud_db"][0] == plan.columns["downlink_cloud_db"][0]


def test_parts_begun_with_other_maps_are_dropped(
    project: Path, tmp_path: Path, cloud_folder: Path
) -> None:
    found = find_project(project)
    before = spread._fingerprint(found, _order(project))
    assert spread._fingerprint(found, _order(project)) == before
    (tmp_path / "clouds").unlink()
    _copy(cloud_folder, tmp_path / "clouds", {5: 1.5})
    assert spread._fingerprint(found, _order(project)) != before
    (project / "network.toml").write_text(NETWORK)
    older_order = _order(project)
    assert older_order.clouds == OLDER.fingerprint
    assert older_order.network.methods.cloud_maps == ""  # a worker's own maps must not come in


def test_a_worker_with_other_maps_stops(project: Path, tmp_path: Path, cloud_folder: Path) -> None:
    order = _order(project)
    sites = read_sites(project / "sites.csv").sites
    task = part.Task(sites, part.Surroundings(), tmp_path / "part-000000.parquet", order)
    assert len(plan_of(task)) == 4
    (tmp_path / "clouds").unlink()
    with pytest.raises(MapsError, match="there is no such folder or ZIP of cloud maps"):
        plan_of(task)
    _copy(cloud_folder, tmp_path / "clouds", {50: 1.5})
    store_task(task)
    with pytest.raises(MapsError, match="a worker finds other cloud maps than the plan was"):
        part.plan_stored(task.path.with_suffix(".task"))


def test_the_summary_names_edition_cause_and_both_residuals(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", str(project), "--output", str(tmp_path / "new"), "--no-map"]) == 0
    assert "Clouds: ITU-R P.840-9 with its own maps" in capsys.readouterr().out
    (project / "network.toml").write_text(NETWORK)
    assert main(["plan", str(project), "--output", str(tmp_path / "old"), "--no-map"]) == 0
    assert "Clouds:" not in capsys.readouterr().out
    new, old = (
        json.loads((tmp_path / name / "summary.json").read_text(encoding="utf-8"))
        for name in ("new", "old")
    )
    assert (new["clouds"]["edition"], new["clouds"]["maps"]) == ("P.840-9", "clouds")
    assert (old["clouds"]["edition"], old["methods"]["cloud"][:13]) == ("P.840-7", "ITU-R P.840-8")
    assert new["methods"]["cloud"].startswith("ITU-R P.840-9")
    assert set(new["methods"]) == set(old["methods"])
    assert new["clouds"]["residual_db"] == old["clouds"]["residual_db"]
    assert old["clouds"]["residual_db"]["17 GHz"] == {"P.840-7": 0.145, "P.840-9": 0.054}
    told = next(limit for limit in old["limits"] if limit.startswith("Clouds"))
    assert "for that cause totals lie above the examples by up to 0.104 dB at 13.75 GHz" in told
    for text in (told, next(limit for limit in new["limits"] if limit.startswith("Clouds"))):
        assert "0.145 dB at 17 GHz and 0.880 dB at 20 GHz" in text
        assert "0.054 dB at 17 GHz and 0.108 dB at 20 GHz" in text


@pytest.mark.parametrize("command", [["check"], ["plan", "--quiet"], ["coverage", "--quiet"]])
def test_maps_that_cannot_be_used_end_a_command_with_2(
    command: list[str], project: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    (tmp_path / "clouds").unlink()
    assert main([command[0], str(project), *command[1:]]) == 2
    told = capsys.readouterr().err
    assert str(tmp_path / "trial" / ".." / "clouds") in told
    assert "there is no such folder or ZIP of cloud maps. Check the path" in told
    assert not (tmp_path / "output" / "trial").exists()


def test_maps_added_once_serve_every_project(
    project: Path, cloud_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    named = newer(project)
    before = older(project)
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "data"))
    assert map_editions()[-1] == ("clouds", "P.840-7", map_editions()[0][2])
    assert main(["maps", "add", str(cloud_folder)]) == 0
    assert str(tmp_path / "data" / "cloud-maps") in capsys.readouterr().out
    assert main(["maps"]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines[0][:4] == ["rain", "rate", "P.837-7", "itur"]
    assert lines[-1] == ["clouds", "P.840-9", str(tmp_path / "data" / "cloud-maps")]
    added = older(project)
    assert added.facts.cloud_maps == "added for all projects"
    np.testing.assert_array_equal(added.columns["margin_db"], named.columns["margin_db"])
    (project / "network.toml").write_text(f'{NETWORK}[methods]\ncloud_maps = ""\n')
    np.testing.assert_array_equal(newer(project).columns["margin_db"], before.columns["margin_db"])
    assert _order(project).network.methods.cloud_maps == ""
    (project / "network.toml").write_text(NETWORK)
    assert _order(project).network.methods.cloud_maps == str(tmp_path / "data" / "cloud-maps")


def test_what_cannot_be_added_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "L_5.txt").write_text("0 0\n")
    assert main(["maps", "add", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert "those for 10, 20, 30, 50 % are missing. Expected names: L_5.txt, L_10.txt" in told
    with pytest.raises(MapsError, match="there is no such folder or ZIP"):
        add_cloud_maps(tmp_path / "nowhere")


def _order(project: Path) -> part.Order:
    """Return what the parts of a run share, as a plan in parts makes it."""
    from siteplan.jobs.asked import Asked, Job

    found, _, network = read_project(project)
    job = Job(found, network, Asked(), project / "out", None, dt.date(2026, 6, 1))
    return replace(spread._order(job, spread.Hands(part.run_here)), assumptions=())


def _copy(source: Path, folder: Path, times: dict[int, float]) -> None:
    """Copy the maps, some of them multiplied."""
    folder.mkdir()
    for p_pct in LEVELS_PCT:
        name = f"v9_l_{p_pct}.npz"
        shutil.copyfile(source / name, folder / name)
        if p_pct in times:
            with np.load(source / name) as archive:
                values = archive["arr_0"] * times[p_pct]
            np.savez(folder / name, values)
