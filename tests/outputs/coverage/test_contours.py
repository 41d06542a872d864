"""Filled contours against fields whose contours are known in closed form."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from siteplan.outputs.coverage import contours

#: A grid of 0.1 deg; the fields below are smooth at that step.
X = np.round(np.arange(-40, 41) * 0.1, 9)
EAST, NORTH = np.meshgrid(X, X)
RADIUS = np.hypot(EAST, NORTH)


def field(values, low, high, x=X, y=X):
    return contours.between(y, x, values, low, high)


def test_a_cone_gives_rings_of_the_right_area():
    """Circles of the cone z = r: pi (b^2 - a^2), to 0.3 % at this step (chords, not arcs)."""
    shape = field(RADIUS, 1, 3)
    assert shape.is_valid
    assert len(shape.geoms) == 1
    assert len(shape.geoms[0].interiors) == 1
    assert shape.area == pytest.approx(np.pi * (9 - 1), rel=3e-3)
    assert shapely.hausdorff_distance(
        shape.geoms[0].interiors[0], shapely.Point(0, 0).buffer(1, 256).exterior
    ) == pytest.approx(0, abs=0.01)


def test_open_ends_take_the_rest():
    inside, outside = field(RADIUS, -np.inf, 2), field(RADIUS, 2, np.inf)
    assert inside.area + outside.area == pytest.approx(64, rel=1e-9)
    assert inside.area == pytest.approx(4 * np.pi, rel=3e-3)


def test_a_saddle_gives_two_parts_on_either_side():
    """z = x y above 1: two corners, of area 2 (8 - 0.5 - ...) = 2 (16 - 1 - ln 16) in [-4, 4]."""
    shape = field(EAST * NORTH, 1, np.inf)
    assert len(shape.geoms) == 2
    assert shape.area == pytest.approx(2 * (16 - 1 - np.log(16)), rel=1e-3)
    middle = field(EAST * NORTH, -1, 1)
    assert len(middle.geoms) == 1
    assert middle.contains(shapely.Point(0, 0))


def test_a_ring_wall_has_a_hole_and_an_island():
    """The wall z = 1 - |r - 2| above 0.5 is a ring; what is below has an island in the middle."""
    wall = 1 - np.abs(RADIUS - 2)
    ring, rest = field(wall, 0.5, np.inf), field(wall, -np.inf, 0.5)
    assert ring.area == pytest.approx(np.pi * (2.5**2 - 1.5**2), rel=4e-3)
    assert len(ring.geoms[0].interiors) == 1
    assert len(rest.geoms) == 2
    assert sum(len(p.interiors) for p in rest.geoms) == 1
    assert rest.area == pytest.approx(64 - ring.area, rel=1e-6)


def test_neighbouring_classes_neither_overlap_nor_leave_gaps():
    wavy = np.sin(3 * EAST) * np.cos(2 * NORTH) + 0.2 * EAST
    levels = [-np.inf, -0.7, -0.2, 0.1, 0.6, np.inf]
    parts = [field(wavy, a, b) for a, b in itertools.pairwise(levels)]
    assert sum(p.area for p in parts) == pytest.approx(64, rel=1e-9)
    assert shapely.union_all(parts).area == pytest.approx(64, rel=1e-9)


def test_gaps_stay_gaps():
    """NaN west of x = 0 (below a horizon, say): nothing is drawn there, not even half a cell."""
    shape = field(np.where(EAST < 0, np.nan, RADIUS), -np.inf, 2)
    assert shape.bounds[0] == pytest.approx(0, abs=1e-12)
    assert shape.area == pytest.approx(2 * np.pi, rel=3e-3)


def test_a_hole_of_nan_inside_is_a_hole():
    values = np.where(RADIUS < 1, np.nan, 1.0)
    shape = field(values, 0, 2)
    assert len(shape.geoms[0].interiors) == 1
    assert not shape.contains(shapely.Point(0, 0))
    # Within a cell of the circle: corners are cut, whole cells are not kept.
    assert 64 - np.pi * 1.2**2 < shape.area < 64 - np.pi * 0.9**2


@pytest.mark.parametrize("values", [np.full_like(RADIUS, np.nan), np.full_like(RADIUS, 9.0)])
def test_nothing_to_draw_is_an_empty_geometry(values):
    shape = field(values, 0, 1)
    assert shape.is_empty
    assert contours.on_grid(shape, 0.01).is_empty
    assert contours.split(shape).is_empty


def test_rounding_keeps_polygons_valid():
    """Noise at the step of the grid: hundreds of slivers that plain rounding would break."""
    rough = np.random.default_rng(5).normal(size=RADIUS.shape)
    shape = field(rough, 0.2, 0.5)
    plain = shapely.transform(shape, lambda xy: np.round(xy, 1))
    assert not plain.is_valid
    for step in (0.1, 0.01, 0.004):
        tidy = contours.on_grid(shape, step)
        assert tidy.is_valid
        assert tidy.geom_type == "MultiPolygon"
        steps = shapely.get_coordinates(tidy) / step
        np.testing.assert_allclose(steps, np.rint(steps), atol=1e-6)
    assert contours.on_grid(shape, 0.004).area == pytest.approx(shape.area, rel=0.02)


def test_only_polygons_are_left_of_a_mixture():
    bow = shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])
    mixed = shapely.GeometryCollection(
        [bow, shapely.Point(5, 5), shapely.LineString([(0, 9), (9, 9)])]
    )
    found = contours.polygons_only(mixed)
    assert found.is_valid
    assert found.area == pytest.approx(2, abs=1e-12)
    touching = [shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)]
    assert contours.polygons_only(touching).is_valid


def test_splitting_at_the_antimeridian_keeps_the_area():
    """A ring about 180 E becomes parts within [-180, 180] (RFC 7946, section 3.1.9)."""
    ring = shapely.MultiPolygon(
        [shapely.Point(180, -17).buffer(3).difference(shapely.Point(180, -17).buffer(1))]
    )
    parts = contours.split(ring)
    assert parts.is_valid
    assert parts.area == pytest.approx(ring.area, rel=1e-9)
    assert parts.bounds[0] == -180
    assert parts.bounds[2] == 180
    widest = max(p.bounds[2] - p.bounds[0] for p in parts.geoms)
    assert widest <= 3 + 1e-9


def test_what_needs_no_splitting_is_left_alone():
    box = shapely.MultiPolygon([shapely.box(-180, -90, 180, 90)])
    assert contours.split(box) is box


def test_outer_rings_run_anticlockwise_and_holes_clockwise():
    """RFC 7946 section 3.1.6, by the sign of the shoelace formula."""
    shape = contours.right_handed(field(RADIUS, 1, 3))

    def doubled_area(ring):
        x, y = np.asarray(ring.coords).T
        return np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])

    for polygon in shape.geoms:
        assert doubled_area(polygon.exterior) > 0
        assert all(doubled_area(hole) < 0 for hole in polygon.interiors)


def test_ground_area_is_the_sphere_s():
    """The whole sphere has 4 pi, the cap north of 60 degrees 2 pi (1 - sin 60)."""
    assert contours.ground_area(shapely.box(-180, -90, 180, 90)) == pytest.approx(
        4 * np.pi, rel=1e-12
    )
    cap = contours.ground_area(shapely.box(-180, 60, 180, 90))
    assert cap == pytest.approx(2 * np.pi * (1 - np.sin(np.pi / 3)), rel=1e-12)
