"""Land as polygons: on which side real places lie, across the antimeridian and at the pole."""

from __future__ import annotations

import json
from importlib import resources

import numpy as np
import pytest
import shapely

from siteplan.basemap.make import encoded
from siteplan.basemap.rings import decoded
from siteplan.outputs.coverage.land import land

#: Longitude and latitude of real places, from memory, far from any shore.
ON_LAND = {
    "Nairobi": (36.82, -1.29),
    "Madrid": (-3.70, 40.42),
    "Brasilia": (-47.93, -15.78),
    "Moscow": (37.62, 55.75),
    "Anadyr's hinterland": (176.0, 65.5),
    "Chukotka beyond 180": (-176.0, 67.0),
    "South Pole": (0.0, -89.5),
}
AT_SEA = {
    "Gulf of Guinea": (0.0, 0.0),
    "Pacific at 180": (180.0, 30.0),
    "Indian Ocean": (80.0, -30.0),
    "Caspian Sea": (50.5, 42.0),
    "North Pole": (0.0, 89.0),
}


@pytest.fixture(scope="module")
def world():
    return land((-90, -180, 90, 180))


def test_the_world_is_valid(world):
    assert world.is_valid
    assert world.geom_type == "MultiPolygon"
    assert world.bounds[0] >= -180
    assert world.bounds[2] <= 180


@pytest.mark.parametrize("name", ON_LAND)
def test_land_holds_places_on_land(world, name):
    assert world.contains(shapely.Point(ON_LAND[name]))


@pytest.mark.parametrize("name", AT_SEA)
def test_land_holds_no_place_at_sea(world, name):
    assert not world.contains(shapely.Point(AT_SEA[name]))


def test_land_takes_29_percent_of_the_globe(world):
    """From memory: 149 of 510 million km2, so 29 %; the Caspian and lakes move it by less."""
    flat = shapely.transform(
        world, lambda xy: np.column_stack([xy[:, 0], np.sin(np.radians(xy[:, 1]))])
    )
    assert flat.area / (360 * 2) == pytest.approx(0.29, abs=0.01)


def test_fiji_lies_on_both_sides_of_180():
    """Viti Levu (178.0 E, 17.8 S) and Vanua Levu's neighbour Taveuni (180.0, 16.9 S)."""
    fiji = land((-19, 177, -16, 182))
    assert fiji.contains(shapely.Point(178.0, -17.8))
    assert fiji.bounds[0] >= 177
    assert any(p.bounds[0] >= 179.5 for p in fiji.geoms), "islands east of 180 run on"
    assert shapely.area(land((-19, -183, -16, -178))) == pytest.approx(fiji.area, rel=1e-6)


def test_a_frame_at_sea_has_no_land():
    assert land((-1, -1, 1, 1)).is_empty


def test_decoding_undoes_encoding():
    rng = np.random.default_rng(2)
    steps = rng.integers(-20_000, 20_000, size=(500, 2))
    deltas = decoded(encoded(steps)).reshape(-1, 2)
    np.testing.assert_array_equal(np.cumsum(deltas, axis=0), steps)


def test_the_format_is_the_published_one():
    """The worked example of the encoded polyline algorithm format: three points at 1e-5 deg."""
    found = np.cumsum(decoded("_p~iF~ps|U_ulLnnqC_mqNvxq`@").reshape(-1, 2), axis=0)
    expected = [[3850000, -12020000], [4070000, -12095000], [4325200, -12645300]]
    np.testing.assert_array_equal(found, expected)


def test_lines_of_the_basemap_decode():
    raw = json.loads(resources.files("siteplan").joinpath("basemap", "basemap.json").read_bytes())
    for text in raw["arcs"][::50]:
        assert len(decoded(text)) % 2 == 0
