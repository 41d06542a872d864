"""The basemap: what it covers, that nothing jumps across the world, that borders are shared."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from siteplan.basemap import make as make_basemap

#: Longitude and latitude of real cities, from memory, well inside land.
CITIES = {
    "Nairobi": (36.82, -1.29),
    "Madrid": (-3.70, 40.42),
    "Delhi": (77.21, 28.61),
    "Beijing": (116.40, 39.90),
    "Brasilia": (-47.93, -15.78),
    "Denver": (-104.99, 39.74),
    "Moscow": (37.62, 55.75),
    "Alice Springs": (133.88, -23.70),
    "Khartoum": (32.53, 15.55),
    "Antananarivo": (47.52, -18.91),
    "Anadyr's hinterland": (176.0, 65.5),
    "Chukotka beyond 180": (-176.0, 67.0),
    "South Pole": (0.0, -89.5),
}
OCEANS = {
    "Gulf of Guinea": (0.0, 0.0),
    "Mid-Pacific": (-150.0, 0.0),
    "North Atlantic": (-40.0, 45.0),
    "Indian Ocean": (80.0, -30.0),
    "Pacific at 180": (180.0, 30.0),
    "Southern Ocean": (120.0, -58.0),
    "Bay of Bengal": (88.0, 15.0),
    "North Pole": (0.0, 89.0),
}

Points = NDArray[np.float64]


def polyline(text: str) -> Points:
    """Decode the encoded polyline format, written from its description, not from the encoder."""
    numbers: list[int] = []
    value = shift = 0
    for letter in text:
        bits = ord(letter) - 63
        value += (bits % 32) * 2**shift
        shift += 5
        if bits < 32:
            numbers.append(value // 2 if value % 2 == 0 else -(value + 1) // 2)
            value = shift = 0
    return np.cumsum(np.array(numbers, dtype=np.float64).reshape(-1, 2), axis=0)


@pytest.fixture(scope="module")
def raw() -> dict[str, Any]:
    text = resources.files("siteplan").joinpath("basemap", "basemap.json").read_text("ascii")
    found: dict[str, Any] = json.loads(text)
    return found


@pytest.fixture(scope="module")
def arcs(raw: dict[str, Any]) -> list[Points]:
    return [polyline(text) * raw["step_deg"] for text in raw["arcs"]]


def ring_points(ring: list[int], arcs: list[Points]) -> Points:
    """Join the arcs of a ring, moving each by whole turns to meet the one before."""
    points = arcs[ring[0]] if ring[0] >= 0 else arcs[~ring[0]][::-1]
    for k in ring[1:]:
        arc = arcs[k] if k >= 0 else arcs[~k][::-1]
        turns = np.round((points[-1, 0] - arc[0, 0]) / 360)
        points = np.vstack([points, arc + np.array([360 * turns, 0])])
    return points


class Land:
    """Even-odd test of points against the rings, in the world and its copies to either side."""

    def __init__(self, rings: list[Points]) -> None:
        self.tree = shapely.STRtree([shapely.Polygon(ring) for ring in rings])

    def holds(self, lon: Points, lat: Points) -> NDArray[np.bool_]:
        odd = np.zeros(len(lon), dtype=bool)
        for turn in (-360, 0, 360):
            hits = self.tree.query(shapely.points(lon + turn, lat), predicate="within")[0]
            odd |= np.bincount(hits, minlength=len(lon)) % 2 == 1
        return odd


@pytest.fixture(scope="module")
def land(raw: dict[str, Any], arcs: list[Points]) -> Land:
    return Land([ring_points(ring, arcs) for ring in raw["land"]])


def test_cities_lie_on_land(land: Land) -> None:
    on_land = land.holds(*np.array(list(CITIES.values())).T)
    missing = [name for name, on in zip(CITIES, on_land, strict=True) if not on]
    assert missing == []


def test_oceans_are_sea(land: Land) -> None:
    on_land = land.holds(*np.array(list(OCEANS.values())).T)
    wrong = [name for name, on in zip(OCEANS, on_land, strict=True) if on]
    assert wrong == []


def test_the_earth_s_land_has_its_known_area(land: Land) -> None:
    # About 29 % of the Earth is land (Charette and Smith 2010: oceans 361.9 of 510.1 Mkm2,
    # hence 148 Mkm2 of land). Sampled evenly over the sphere; 20,000 points give +-0.3 %,
    # and the source leaves the Caspian Sea out of the land but counts lakes as land.
    rng = np.random.default_rng(7)
    lon = rng.uniform(-180, 180, 20_000)
    lat = np.degrees(np.arcsin(rng.uniform(-1, 1, 20_000)))
    share = float(land.holds(lon, lat).mean())
    assert share == pytest.approx(148 / 510, abs=0.015)


def test_no_segment_jumps_across_the_world(raw: dict[str, Any], arcs: list[Points]) -> None:
    drawn = {*raw["coast"], *raw["border"]}
    longest = max(np.abs(np.diff(arcs[k][:, 0])).max(initial=0) for k in drawn)
    # The longest straight line is the border along the 49th parallel, some 28 degrees.
    assert longest < 30
    # Only the closing line along the pole, which is filled and never stroked, is long.
    long = [k for k, arc in enumerate(arcs) if np.abs(np.diff(arc[:, 0])).max(initial=0) > 180]
    assert len(long) == 1
    assert long[0] not in drawn
    assert arcs[long[0]][:, 1].min() == pytest.approx(-90, abs=1e-9)


def test_rings_close(raw: dict[str, Any], arcs: list[Points]) -> None:
    for ring in raw["land"]:
        points = ring_points(ring, arcs)
        gap = points[-1] - points[0]
        assert abs(gap[1]) < 1e-9
        assert abs(gap[0] - 360 * np.round(gap[0] / 360)) < 1e-9


def test_a_border_is_one_line_for_both_neighbours(raw: dict[str, Any]) -> None:
    assert set(raw["coast"]).isdisjoint(raw["border"])
    assert len(raw["border"]) == len(set(raw["border"]))
    used = {k if k >= 0 else ~k for ring in raw["land"] for k in ring}
    assert used.isdisjoint(raw["border"]), "a border between countries is no edge of the land"


def test_the_file_is_small(raw: dict[str, Any]) -> None:
    size = len(resources.files("siteplan").joinpath("basemap", "basemap.json").read_bytes())
    assert size < 300_000


@pytest.mark.parametrize(
    ("numbers", "text"),
    # Worked example of the format's published description: -179.9832104 at 1e-5 is `~oia@.
    [([[0, -17998321]], "?`~oia@"), ([[0, 0], [0, 0]], "????"), ([[1, -1]], "A@")],
)
def test_encoding_follows_the_published_format(numbers: list[list[int]], text: str) -> None:
    assert make_basemap.encoded(np.array(numbers)) == text


def test_encoding_round_trip() -> None:
    steps = np.random.default_rng(3).integers(-36000, 36000, (200, 2))
    np.testing.assert_array_equal(polyline(make_basemap.encoded(steps)), steps)


def test_simplifying_keeps_the_ends_and_the_tolerance() -> None:
    t = np.linspace(0, 6, 400)
    line = np.column_stack([t, np.sin(t)])
    steps = make_basemap.simplified(line) * make_basemap.STEP_DEG
    assert len(steps) < 100
    np.testing.assert_allclose(steps[[0, -1]], line[[0, -1]], atol=make_basemap.STEP_DEG / 2 + 1e-9)
    off = shapely.distance(shapely.points(line), shapely.LineString(steps))
    # The tolerance, and half a step each way of the grid.
    assert off.max() < make_basemap.TOLERANCE_DEG + make_basemap.STEP_DEG


def square(west: float, south: float) -> list[list[float]]:
    return [[west, south], [west + 1, south], [west + 1, south + 1], [west, south + 1]]


def test_two_countries_share_their_border_and_a_split_world_is_joined() -> None:
    # Two squares side by side across the antimeridian: 179..180 and 180..181 (written -180..-179).
    topology = {
        "transform": {"scale": [1, 1], "translate": [0, 0]},
        "arcs": [
            [[180, 0], [0, 1]],
            [[180, 1], [-1, 0], [0, -1], [1, 0]],
            [[180, 0], [-359, 0], [0, 1], [359, 0]],
        ],
        "objects": {
            "countries": {
                "geometries": [
                    {"type": "Polygon", "arcs": [[0, 1]]},
                    {"type": "Polygon", "arcs": [[2, ~0]]},
                ]
            },
            "land": {"geometries": [{"type": "MultiPolygon", "arcs": [[[2, 1]]]}]},
        },
    }
    made = make_basemap.basemap(topology)
    assert len(made["border"]) == 1
    assert len(made["coast"]) == 2
    arcs = [polyline(text) * made["step_deg"] for text in made["arcs"]]
    ring = ring_points(made["land"][0], arcs)
    assert np.ptp(ring[:, 0]) == pytest.approx(2, abs=1e-9)
