"""Files of contours: any vector file, lines or polygons; what cannot be used is named."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pytest
import shapely

from siteplan.errors import NetworkError
from siteplan.inputs.network.contours import with_contours
from siteplan.jobs.opened import read_network
from siteplan.network import ContourLine, Contours, Network

RING = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 0.0)]
TOML = """[satellite]
longitude_deg = 5
[[contours]]
direction = "down"
file = "{file}"
attribute = "level"
"""


def write(
    folder: Path, geometries: list[Any], levels: list[Any], *, crs: str = "EPSG:4326",
    file: str = "c.gpkg",
) -> Path:  # fmt: skip
    """Write a file of contours and a network.toml that names it."""
    frame = geopandas.GeoDataFrame({"level": levels, "note": "x"}, geometry=geometries, crs=crs)
    frame.to_file(folder / file)
    (folder / "network.toml").write_text(TOML.format(file=file), encoding="utf-8")
    return folder / "network.toml"


def lines_of(network: Network) -> list[tuple[float, list[tuple[float, float]]]]:
    lines = network.contours[0].lines or ()
    return [(x.value, list(zip(x.lon, x.lat, strict=True))) for x in lines]


def refused(path: Path, *told: str) -> None:
    with pytest.raises(NetworkError, match=".*".join(map(re.escape, told))):
        read_network(path)


@pytest.mark.parametrize("file", ["c.gpkg", "c.geojson", "c.shp"])
def test_lines_come_with_their_values(tmp_path: Path, file: str) -> None:
    path = write(tmp_path, [shapely.LineString(RING)], [48.5], file=file)
    ((value, points),) = lines_of(read_network(path))
    assert value == 48.5
    np.testing.assert_allclose(points, RING, atol=1e-9)


def test_polygons_give_their_borders_and_those_of_their_holes(tmp_path: Path) -> None:
    hole = [(7.0, 1.0), (8.0, 1.0), (8.0, 2.0), (7.0, 1.0)]
    both = shapely.MultiPolygon([(RING, [hole]), (shapely.affinity.translate(
        shapely.Polygon(RING), 30).exterior.coords, [])])  # fmt: skip
    found = lines_of(read_network(write(tmp_path, [both], [50])))
    assert [value for value, _ in found] == [50, 50, 50]
    assert sorted(len(points) for _, points in found) == [4, 4, 4]
    assert min(lon for _, points in found[:2] for lon, _ in points) == 0


def test_other_reference_systems_are_converted(tmp_path: Path) -> None:
    mercator = [(111319.4908 * x, 0.0) for x in (1, 2, 3)]
    path = write(tmp_path, [shapely.LineString(mercator)], [48], crs="EPSG:3857")
    ((_, points),) = lines_of(read_network(path))
    np.testing.assert_allclose(points, [(1, 0), (2, 0), (3, 0)], atol=1e-6)


def test_longitudes_run_on_across_the_antimeridian(tmp_path: Path) -> None:
    line = shapely.LineString([(175, 0), (-175, 0), (-170, 5)])
    ((_, points),) = lines_of(read_network(write(tmp_path, [line], [48])))
    assert [lon for lon, _ in points] == pytest.approx([175, 185, 190], abs=1e-9)


def test_values_may_be_text_with_a_number(tmp_path: Path) -> None:
    path = write(tmp_path, [shapely.LineString(RING)], [" 47.5 "], file="c.geojson")
    assert lines_of(read_network(path))[0][0] == 47.5


def test_what_cannot_be_used_is_named(tmp_path: Path) -> None:
    line = shapely.LineString(RING)
    path = write(tmp_path, [line, line], [48, 200])
    refused(path, "c.gpkg, shape 2: level = 200 is no level", "0 to 80 dBW")
    write(tmp_path, [line], ["high"], file="c.geojson")
    refused(path, "c.geojson, shape 1: level = 'high' is no number")
    write(tmp_path, [line, line], [48.0, None], file="c.geojson")
    refused(path, "c.geojson, shape 2: level is blank", "0 to 80 dBW")
    write(tmp_path, [shapely.Point(1, 1)], [48], file="p.geojson")
    refused(path, "p.geojson: there is no line and no polygon in it")
    text = path.read_text("utf-8")
    path.write_text(text.replace('"level"', '"eirp"'), encoding="utf-8")
    refused(path, "[[contours]] no. 1 attribute: there is no column 'eirp' in p.geojson",
            "Columns there: level, note")  # fmt: skip
    path.write_text(text.replace("p.geojson", "q.geojson"), encoding="utf-8")
    refused(path, "[[contours]] no. 1 file: there is no file 'q.geojson' in the project")
    (tmp_path / "q.geojson").write_text("{", encoding="utf-8")
    refused(path, "q.geojson")


def test_a_drop_under_the_peak_is_no_level(tmp_path: Path) -> None:
    path = write(tmp_path, [shapely.LineString(RING)], [-3])
    refused(path, "level = -3 is no level of direction = 'down'", "a drop under the peak is none")


def test_lines_that_are_there_already_stay(tmp_path: Path) -> None:
    of = Contours(direction="up", lines=(ContourLine(value=1.0, lat=(0, 1), lon=(0, 1)),))
    network = Network.model_validate({"satellite": {"longitude_deg": 1}, "contours": [of]})
    assert with_contours(network, tmp_path) is network
    assert read_network({"satellite": {"longitude_deg": 1}, "contours": [of]}) == network
    assert network.without_lines == ()


def test_contours_without_a_file_read_nothing(tmp_path: Path) -> None:
    bare = Network.model_validate({"satellite": {"longitude_deg": 1}})
    assert with_contours(bare, tmp_path) is bare


def test_a_mapping_finds_files_from_where_one_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, [shapely.LineString(RING)], [48])
    monkeypatch.chdir(tmp_path)
    told = {"direction": "down", "file": "c.gpkg", "attribute": "level"}
    found = read_network({"satellite": {"longitude_deg": 5}, "contours": [told]})
    assert found.contour_files == {"[[contours]] no. 1 file": "c.gpkg"}
    assert lines_of(found)[0][0] == 48
    assert json.loads(found.model_dump_json())["contours"][0]["lines"][0]["value"] == 48
