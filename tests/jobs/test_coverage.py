"""Coverage of a project, end to end: command, files, areas, land, antimeridian and pole."""

from __future__ import annotations

import importlib.util
import json
import math

import geopandas
import numpy as np
import pytest
import shapely

from siteplan.api import coverage_project, read_project
from siteplan.cli import main
from siteplan.inputs.network.read import network_from_mapping
from siteplan.jobs import coverage
from siteplan.jobs.asked import Wanted
from siteplan.jobs.opened import Found
from siteplan.model import Sites
from siteplan.outputs.coverage.land import land
from siteplan.planning.coverage.cover import QUANTITIES, one_by_one, piece_at
from siteplan.planning.setting import setting
from tests.samples import FROZEN

CLASSES = {
    "quantity": str,
    "low": (float, int, type(None)),
    "high": (float, int, type(None)),
    "label": str,
    "unit": str,
}


def make_project(folder, sites, network):
    folder.mkdir(parents=True)
    rows = "\n".join(f"S{k},{lat},{lon}" for k, (lat, lon) in enumerate(sites))
    (folder / "sites.csv").write_text(f"site_id,lat,lon\n{rows}\n")
    (folder / "network.toml").write_text(network)
    return folder


@pytest.fixture
def fiji(tmp_path):
    """Sites on both sides of 180, a satellite in sight of them."""
    network = "[satellite]\nlongitude_deg = 172\n"
    return make_project(
        tmp_path / "fiji", [(-18.1, 178.4), (-16.8, -179.9), (-19, -178.5)], network
    )


def features(folder):
    found = json.loads((folder / "coverage.geojson").read_text(encoding="utf-8"))
    assert found["type"] == "FeatureCollection"
    return found["features"]


def check_geojson(folder):
    """Every feature is valid, right-handed and inside the world (RFC 7946, 3.1.6 and 3.1.9)."""
    found = features(folder)
    for feature in found:
        shape = shapely.geometry.shape(feature["geometry"])
        assert shape.is_valid
        assert shape.geom_type == "MultiPolygon"
        west, south, east, north = shape.bounds
        assert -180 <= west < east <= 180
        assert -90 <= south < north <= 90
        for part in shape.geoms:
            assert part.exterior.is_ccw
            assert not any(hole.is_ccw for hole in part.interiors)
        assert set(feature["properties"]) == set(CLASSES)
        for key, kind in CLASSES.items():
            assert isinstance(feature["properties"][key], kind)
    assert {f["properties"]["quantity"] for f in found} == set(QUANTITIES)
    return found


def of(found, quantity):
    return {
        f["properties"]["label"]: shapely.geometry.shape(f["geometry"])
        for f in found
        if f["properties"]["quantity"] == quantity
    }


# --- the samples ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["river_clinics", "fjord_substations"])
def test_the_samples(name, tmp_path, capsys):
    out = tmp_path / name
    arguments = ["coverage", str(FROZEN / name), "--step", "0.5", "--output", str(out)]
    assert main(arguments) == 0
    shown = capsys.readouterr().out
    assert "1.2 m will do" in shown
    assert "points; coverage.geojson, coverage.gpkg" in shown
    found = check_geojson(out)
    table = geopandas.read_file(out / "coverage.gpkg")
    assert table.crs == "EPSG:4326"
    assert set(table.columns) == {"altitude_m", *QUANTITIES, "geometry"}
    frame = shapely.box(*table.total_bounds)
    for quantity in ("elevation_deg", "rain_rate_mm_h"):
        union = shapely.union_all(list(of(found, quantity).values()))
        assert union.area == pytest.approx(frame.area, rel=1e-6), "the classes fill the frame"


def test_points_of_the_grid_lie_in_their_class(tmp_path):
    """Contours and grid agree at the nodes but for those that rounding puts on a line."""
    written = coverage_project(FROZEN / "fjord_substations", tmp_path / "out", step_deg=0.5)
    table = geopandas.read_file(written.folder / "coverage.gpkg")
    table = table[table["elevation_deg"] > 7.01]
    labels = of(features(written.folder), "required_antenna_m")
    for label, low, high in (("1.2 m will do", 0, 1.2), ("1.8 m", 1.2, 1.8), ("2.4 m", 1.8, 2.4)):
        inside = table["required_antenna_m"].between(low + 0.01, high - 0.01)
        assert inside.sum() > 10
        assert shapely.dwithin(labels[label], table.geometry[inside].to_numpy(), 1e-4).all()


def test_grid_equals_planning_at_the_nodes(tmp_path):
    written = coverage_project(FROZEN / "river_clinics", tmp_path / "out", step_deg=1)
    table = geopandas.read_file(written.folder / "coverage.gpkg")
    shared = setting(read_project(FROZEN / "river_clinics")[2])
    here = piece_at(table.geometry.y.to_numpy(), table.geometry.x.to_numpy(), shared)
    for name in QUANTITIES:
        np.testing.assert_allclose(table[name], here[name], rtol=0, atol=0.051, err_msg=name)
    np.testing.assert_allclose(table["elevation_deg"], here["elevation_deg"], atol=0.0051)


# --- land and areas -------------------------------------------------------------------------


def test_cut_to_land_no_point_is_at_sea(tmp_path):
    written = coverage_project(FROZEN / "fjord_substations", tmp_path, step_deg=0.5, land_only=True)
    table = geopandas.read_file(written.folder / "coverage.gpkg")
    ground = land((50, -5, 75, 40)).buffer(1e-6)
    assert shapely.contains(ground, table.geometry.to_numpy()).all()
    assert len(table) == written.points > 500
    rounding = ground.buffer(2e-4)
    for shape in of(check_geojson(written.folder), "elevation_deg").values():
        assert shape.difference(rounding).area < 1e-9
        assert not shape.contains(shapely.Point(2.5, 64)), "the Norwegian Sea"
    sea = shapely.points([[2.0, 65.0], [19.0, 61.5], [5.0, 57.5]])
    assert not shapely.intersects(shapely.union_all(table.geometry.to_numpy()), sea).any()


def test_an_area_from_a_file_cuts_contours_and_grid(fiji, tmp_path):
    ring = [[177, -19], [-178, -19], [-178, -16], [177, -16], [177, -19]]
    hole = [[179, -18], [179, -17], [179.5, -17], [179.5, -18], [179, -18]]
    text = json.dumps({"type": "Polygon", "coordinates": [ring, hole]})
    (tmp_path / "area.json").write_text(text)
    written = coverage_project(fiji, tmp_path / "out", step_deg=0.25, area=tmp_path / "area.json")
    found = of(check_geojson(written.folder), "rain_rate_mm_h")
    assert sum(shape.area for shape in found.values()) == pytest.approx(15 - 0.5, rel=1e-6)
    table = geopandas.read_file(written.folder / "coverage.gpkg")
    assert not table.geometry.intersects(shapely.box(179.01, -17.99, 179.49, -17.01)).any()
    assert len(table) == 21 * 13 - 3


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("not json", "area.json: it cannot be read as a vector file"),
        ('{"type": "Point", "coordinates": [178, -17]}', "area.json: there is no polygon in it"),
    ],
)
def test_a_bad_area_file_is_a_clear_message(fiji, tmp_path, capsys, text, message):
    (tmp_path / "area.json").write_text(text)
    arguments = ["coverage", str(fiji), "--area", str(tmp_path / "area.json"), "--output"]
    assert main([*arguments, str(tmp_path / "out")]) == 2
    assert message in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("step", ["0", "-1", "11", "nan"])
def test_a_step_out_of_range_is_a_clear_message(fiji, tmp_path, capsys, step):
    assert main(["coverage", str(fiji), "--step", step, "--output", str(tmp_path / "out")]) == 2
    assert "Use 0.01 to 10 deg, such as 0.25" in capsys.readouterr().err


def test_an_area_between_the_nodes_is_a_clear_message(fiji, tmp_path):
    ring = [[178.1, -17.1], [178.2, -17.1], [178.2, -17.2], [178.1, -17.1]]
    (tmp_path / "a.json").write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}))
    with pytest.raises(coverage.ProjectError, match="no point of a grid of 5 deg lies in the area"):
        coverage_project(fiji, tmp_path / "out", step_deg=5, area=tmp_path / "a.json")


# --- the antimeridian and the pole ----------------------------------------------------------


def test_fiji_is_covered_across_the_antimeridian(fiji, tmp_path):
    written = coverage_project(fiji, tmp_path / "out", step_deg=0.25)
    west, east = written.covered.coverage.grid.lon[[0, -1]]
    assert (west, east) == (177.75, 182.0)
    found = of(check_geojson(written.folder), "elevation_deg")
    whole = shapely.union_all(list(found.values()))
    south, north = written.covered.coverage.grid.lat[[0, -1]]
    assert whole.area == pytest.approx((east - west) * (north - south), rel=1e-6)
    assert not whole.intersects(shapely.box(-170, -20, 170, -10)), "nothing goes round the world"
    table = geopandas.read_file(written.folder / "coverage.gpkg")
    assert (table.geometry.x > 177).sum() + (table.geometry.x < -177).sum() == len(table)


def test_a_doubted_site_far_away_does_not_stretch_the_area(tmp_path):
    """Whole and in parts; the stray one lies on the other side of Greenwich, its sign lost."""
    near = [(-1.2345 - k / 7, 36.5123 + k / 9) for k in range(8)]
    network = "[satellite]\nlongitude_deg = 30\n"
    alone = make_project(tmp_path / "near", near, network)
    strayed = make_project(tmp_path / "far", [*near, (-1.7777, -36.9876)], network)
    frames = [
        coverage_project(folder, tmp_path / f"out{k}", step_deg=0.5).covered.coverage.grid.frame
        for k, folder in enumerate((alone, strayed))
    ]
    assert frames[0] == frames[1]
    found = Found(network_from_mapping({"satellite": {"longitude_deg": 30}}))
    _, site_list, _ = read_project(strayed)
    found.add(site_list)
    assert found.doubted.tolist() == [False] * 8 + [True]
    laid = coverage.lay(coverage.Places(found.lat, found.lon, found.doubted), Wanted(0.5))
    assert laid.grid.frame == frames[0]


def test_sites_given_by_eastings_are_covered(tmp_path):
    """The reference system of network.toml holds here too."""
    project = tmp_path / "grid"
    project.mkdir()
    rows = "S1,250000,9850000\nS2,260000,9860000\n"
    (project / "sites.csv").write_text(f"site_id,easting,northing\n{rows}")
    network = '[satellite]\nlongitude_deg = 30\n[sites]\ncrs = "EPSG:32737"\n'
    (project / "network.toml").write_text(network)
    south, west, _, _ = coverage_project(
        project, tmp_path / "out", step_deg=0.5
    ).covered.coverage.grid.frame
    assert -3 < south < 0
    assert 35 < west < 38


def test_the_polar_north_is_covered_as_far_as_the_satellite_is_seen(tmp_path):
    """81.3 degrees from the sub-satellite point is the horizon of a sphere (cos = 6378/42164)."""
    sites = [(78.2, 15.6), (80.0, 25.0)]
    folder = make_project(tmp_path / "north", sites, "[satellite]\nlongitude_deg = 15\n")
    ring = [[-60, 70], [90, 70], [90, 90], [-60, 90], [-60, 70]]
    (folder / "area.geojson").write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}))
    written = coverage_project(folder, tmp_path / "out", step_deg=0.5, area=folder / "area.geojson")
    found = check_geojson(written.folder)
    below = of(found, "elevation_deg")["below the horizon"]
    horizon = math.degrees(math.acos(6378.137 / 42164.17))
    assert below.contains(shapely.Point(15, horizon + 1))
    assert not below.intersects(shapely.Point(15, horizon - 1))
    drawn = shapely.union_all(list(of(found, "uplink_attenuation_db").values()))
    assert not drawn.intersects(shapely.Point(15, 85)), "no figure below the horizon"
    assert drawn.contains(shapely.Point(15, 75))
    unserved = of(found, "required_antenna_m")["no kit: elevation below 10°"]
    assert unserved.contains(shapely.Point(15, 85))


def test_the_whole_world_has_no_seam(tmp_path):
    network = network_from_mapping({"satellite": {"longitude_deg": 180}})
    ring = [[-180, -80], [180, -80], [180, 80], [-180, 80], [-180, -80]]
    path = tmp_path / "world.geojson"
    path.write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}))
    sites = Sites.at(np.array([0.0]), np.array([180.0]))
    covered = coverage.work_out(coverage.lay(sites, coverage.Wanted(2.5, path)), network)
    coverage.write(covered, tmp_path)
    classes = of(check_geojson(tmp_path), "elevation_deg")
    for lat in (-55, -20, 2, 33, 60):
        west, east = (
            {label for label, shape in classes.items() if shape.intersects(shapely.Point(lon, lat))}
            for lon in (-180, 180)
        )
        assert west == east != set()
    table = geopandas.read_file(tmp_path / "coverage.gpkg")
    assert not table.geometry.duplicated().any()
    assert len(table) == 144 * 65


# --- files and options ----------------------------------------------------------------------


def test_what_else_lies_in_the_folder_stays(fiji, tmp_path):
    out = tmp_path / "out"
    assert main(["plan", str(fiji), "--output", str(out), "--quiet"]) == 0
    before = {p.name for p in out.iterdir()}
    assert main(["coverage", str(fiji), "--output", str(out), "--quiet"]) == 0
    assert before | {"coverage.geojson", "coverage.gpkg"} <= {p.name for p in out.iterdir()}


def test_the_network_file_may_ask_for_it(fiji, tmp_path):
    ring = [[178, -18], [179, -18], [179, -17], [178, -17], [178, -18]]
    (fiji / "area.geojson").write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}))
    with (fiji / "network.toml").open("a") as file:
        file.write('[coverage]\nstep_deg = 0.25\narea = "area.geojson"\nland_only = true\n')
    assert main(["plan", str(fiji), "--output", str(tmp_path / "out"), "--quiet"]) == 0
    assert len(geopandas.read_file(tmp_path / "out" / "coverage.gpkg")) < 25
    written = coverage_project(fiji, tmp_path / "own", step_deg=0.5)
    assert written.covered.coverage.grid.step_deg == 0.5
    assert written.covered.coverage.grid.frame == (-18, 178, -17, 179)


def test_plan_writes_coverage_only_where_asked(fiji, tmp_path):
    for name, options in (("without", []), ("with", ["--coverage", "0.5"])):
        arguments = ["plan", str(fiji), "--output", str(tmp_path / name), "--quiet", *options]
        assert main(arguments) == 0
    assert not (tmp_path / "without" / "coverage.geojson").exists()
    check_geojson(tmp_path / "with")
    plain, backed = ((tmp_path / n / "map.html").stat().st_size for n in ("without", "with"))
    assert plain < backed < plain + 60_000


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ('[[overlays]]\nfile = "roads.gpkg"\n', "[[overlays]] no. 1 file"),
        ('[coverage]\narea = "roads.gpkg"\n', "[coverage] area"),
        (
            '[[antennas]]\ndiameter_m = 1\npattern = "file"\npattern_file = "roads.gpkg"\n',
            "[[antennas]] no. 1 pattern_file",
        ),
    ],
)
@pytest.mark.parametrize("command", ["plan", "check", "coverage"])
def test_a_missing_file_is_told_before_anything_is_planned(fiji, capsys, command, table, key):
    with (fiji / "network.toml").open("a") as file:
        file.write(table)
    assert main([command, str(fiji)]) == 2
    said = capsys.readouterr().err
    assert f"network.toml, {key}: there is no file 'roads.gpkg' in the project. Check" in said


def test_a_step_out_of_range_stops_the_plan(fiji, tmp_path, capsys):
    arguments = ["plan", str(fiji), "--coverage", "50", "--output", str(tmp_path / "out")]
    assert main(arguments) == 2
    assert "a step of 50 deg is out of range" in capsys.readouterr().err


def test_a_damaged_overlay_is_a_clear_message(fiji, tmp_path, capsys):
    (fiji / "overlays").mkdir()
    (fiji / "overlays" / "roads.geojson").write_text('{"type": "FeatureCollection", "features": [')
    assert main(["plan", str(fiji), "--output", str(tmp_path / "out")]) == 2
    assert "roads.geojson: it cannot be read as a vector file" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_geotiff_s_pixels_are_the_nodes(fiji, tmp_path):
    rasterio = pytest.importorskip("rasterio")
    written = coverage_project(fiji, tmp_path / "out", step_deg=0.25)
    grid = written.covered.coverage.grid
    with rasterio.open(tmp_path / "out" / "coverage.tif") as file:
        assert file.crs.to_epsg() == 4326
        assert file.count == 1 + len(QUANTITIES)
        row, col = file.index(grid.lon[3], grid.lat[2])
        name = list(written.covered.coverage.columns)[1]
        value = file.read(2)[row, col]
    assert value == pytest.approx(written.covered.coverage.columns[name][2, 3], rel=1e-6)


def test_without_rasterio_the_other_files_are_written(fiji, tmp_path, capsys, monkeypatch):
    find = importlib.util.find_spec
    monkeypatch.setattr(
        "importlib.util.find_spec", lambda name, *a: None if name == "rasterio" else find(name, *a)
    )
    assert main(["coverage", str(fiji), "--output", str(tmp_path / "out")]) == 0
    written = {p.name for p in (tmp_path / "out").iterdir()}
    assert written == {".siteplan.json", "coverage.geojson", "coverage.gpkg"}
    assert "siteplan[terrain]" in capsys.readouterr().out


def test_coverage_is_spread_where_somebody_spreads_it():
    """The workers that were asked for do the work; without any, this process does."""
    network = network_from_mapping({"satellite": {"longitude_deg": 172}})
    sites = Sites.at(np.array([-17.0, -18.0]), np.array([177.0, 178.0]))
    laid = coverage.lay(sites, Wanted(0.5))
    called = []

    def spread(*given):
        called.append(given)
        return one_by_one(*given)

    far = coverage.work_out(laid, network, spread=spread)
    near = coverage.work_out(laid, network)
    assert len(called) == 1
    for name, values in near.coverage.columns.items():
        np.testing.assert_array_equal(values, far.coverage.columns[name])
