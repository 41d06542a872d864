"""Rings in one another: levels between two contours, at peaks and in holes, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.angles.footprint import LIMB_DEG, Ring, ring
from siteplan.planning.beams.nest import CrossingError, Nest, nest


def box(west: float, south: float, east: float, north: float) -> Ring:
    """Return a rectangle in the plane of directions."""
    u = np.array([west, east, east, west, west], dtype=float)
    v = np.array([south, south, north, north, south], dtype=float)
    return Ring(u, v, (np.array([u, v]),))


def level(of: Nest, *points: tuple[float, float]) -> list[float]:
    u, v = np.array(points, dtype=float).T
    return [float(x) for x in of.levels(u, v)]


NESTED = [(48.0, box(0, 0, 4, 4)), (50.0, box(1, 1, 3, 3))]


def test_midway_between_parallel_contours_is_the_mean_and_on_one_its_value() -> None:
    found = level(nest(NESTED, None), (0.5, 2), (0.25, 2), (1, 2), (0, 2), (0, 0), (4, 1.5))
    np.testing.assert_allclose(found[:2], [49, 48.5], atol=1e-12)
    assert found[2:] == [50, 48, 48, 48]  # exactly


def test_nothing_is_told_outside_the_outermost_contour() -> None:
    outside = level(nest(NESTED, 51), (-1e-6, 2), (9, 9), (np.nan, 2))
    assert np.isnan(outside).all()


def test_inside_the_innermost_is_the_peak_or_that_contour() -> None:
    assert level(nest(NESTED, 51.5), (2, 2), (1, 2)) == [51.5, 50]
    assert level(nest(NESTED, None), (2, 2)) == [50]


def test_the_order_in_the_file_does_not_matter() -> None:
    points = np.random.default_rng(3).uniform(-1, 5, (2, 500))
    one, other = nest(NESTED, 51), nest(NESTED[::-1], 51)
    np.testing.assert_array_equal(one.levels(*points), other.levels(*points))


def test_two_peaks_hold_and_only_the_highest_has_the_peak() -> None:
    """Within 46 lie 48 on the left, and 48 with 50 in it on the right."""
    rings = [(46.0, box(0, 0, 10, 4)), (48.0, box(1, 1, 3, 3)), (48.0, box(5, 0.5, 9, 3.5))]
    found = nest([*rings, (50.0, box(6, 1.5, 8, 2.5))], 52)
    assert level(found, (2, 2), (7, 2)) == [48, 52]
    np.testing.assert_allclose(
        level(found, (0.5, 2), (5.5, 2), (4, 2)), [47, 49, 46 + 4 / 3], atol=1e-12
    )


def test_of_rings_of_one_value_the_innermost_counts_and_a_hole_has_no_peak() -> None:
    """A ring of 48 in that of 48 is a hole: the level falls again within it, to a dip of 46."""
    hole = [(48.0, box(0, 0, 10, 10)), (48.0, box(3, 3, 7, 7))]
    assert level(nest(hole, None), (1, 5), (5, 5), (3, 5)) == [48, 48, 48]
    assert level(nest(hole, 55), (1, 5), (5, 5), (3, 5)) == [55, 48, 48]
    dip = nest([*hole, (46.0, box(4, 4, 6, 6))], 55)
    np.testing.assert_allclose(level(dip, (3.5, 5)), [47], atol=1e-12)
    assert level(dip, (5, 5)) == [46]


def test_a_peak_beside_a_hole_is_drawn_from_the_nearer_of_both_lines_of_a_value() -> None:
    """Between the border of the hole, 48, and the ring of 50."""
    rings = [(48.0, box(0, 0, 20, 10)), (48.0, box(3, 3, 7, 7)), (50.0, box(9, 3, 12, 7))]
    np.testing.assert_allclose(level(nest(rings, None), (7.5, 5)), [48.5], atol=1e-12)


def test_bands_whose_holes_are_the_next_contour_are_contours() -> None:
    """Polygons of bands: the hole of the one is the border of the next."""
    bands = [*NESTED, (48.0, box(1, 1, 3, 3))]
    np.testing.assert_allclose(level(nest(bands, None), (0.5, 2)), [49], atol=1e-12)
    twice = [*NESTED, *NESTED]
    assert len(nest(twice, None).rings) == 2


def test_contours_that_cross_are_refused_with_both_values() -> None:
    with pytest.raises(CrossingError, match="of 48 and 50 cross"):
        nest([(48.0, box(0, 0, 4, 4)), (50.0, box(2, 2, 6, 5))], None)
    beside = nest([(48.0, box(0, 0, 4, 4)), (50.0, box(4, 0, 8, 4))], None)
    assert level(beside, (2, 2), (6, 2)) == [48, 50]


def test_each_direction_is_worked_out_apart() -> None:
    """The same for one place as for many, to the last bit."""
    u, v = np.random.default_rng(4).uniform(-1, 11, (2, 2000))
    rings = [(48.0, box(0, 0, 10, 4)), (49.0, box(1, 1, 3, 3)), (50.0, box(5, 0.5, 9, 3.5))]
    found = nest([*rings, (51.0, box(6, 1.5, 8, 2.5))], 52)
    whole = found.levels(u, v)
    ones = np.concatenate([found.levels(u[k : k + 7], v[k : k + 7]) for k in range(0, 2000, 7)])
    np.testing.assert_array_equal(whole, ones)
    assert 300 < np.isnan(whole).sum() < 1700


def test_levels_are_those_of_plain_distances() -> None:
    """A thousand directions against distances to each edge, worked out one by one."""
    turn = np.linspace(0, 2 * np.pi, 301)
    discs = []
    for value, r in ((44.0, 5.0), (46.0, 4.2), (48.0, 3.0), (50.0, 1.4), (51.0, 0.5)):
        u, v = 0.4 + r * np.cos(turn), r * np.sin(turn)
        u[-1], v[-1] = u[0], v[0]
        discs.append((value, Ring(u, v, (np.array([u, v]),))))
    points = np.random.default_rng(5).uniform(-4, 4, (1000, 2))
    found = nest(discs, None).levels(*points.T)
    away = np.array([[_far(p, r.parts[0]) for _, r in discs] for p in points])
    values = np.array([v for v, _ in discs])
    radius = np.hypot(points[:, 0] - 0.4, points[:, 1])
    inside = (radius[:, None] < np.array([5.0, 4.2, 3.0, 1.4, 0.5])).sum(axis=1)
    between = (inside > 0) & (inside < 5) & (away.min(axis=1) > 1e-3)
    assert between.sum() > 700
    for k in np.flatnonzero(between).tolist():
        a, b = inside[k] - 1, inside[k]
        part = away[k, a] / (away[k, a] + away[k, b])
        assert found[k] == pytest.approx(values[a] + (values[b] - values[a]) * part, abs=1e-9)


def _far(point: np.ndarray, line: np.ndarray) -> float:
    start, step = line[:, :-1].T, np.diff(line).T
    at = np.clip(((point - start) * step).sum(1) / (step**2).sum(1), 0, 1)
    return float(np.hypot(*(start + at[:, None] * step - point).T).min())


def test_contours_cut_at_the_limb_nest_and_the_limb_is_no_contour() -> None:
    """Circles around a place near the limb: there the level is drawn in between the true lines."""
    turn = np.linspace(0, 2 * np.pi, 721)
    rings = []
    for value, r in ((44.0, 40.0), (46.0, 30.0), (48.0, 20.0)):
        found = ring(r * np.sin(turn), 75 + r * np.cos(turn), 0)
        assert found is not None
        rings.append((value, found))
    of = nest(rings, 50)
    assert [r.parent for r in of.rings] == [-1, 0, 1]
    assert level(of, (LIMB_DEG, 0)) == [50]  # on the limb, in the innermost
    between = level(of, (8.0, LIMB_DEG * 0.38), (7.9, LIMB_DEG * 0.36))
    assert all(44 < x < 48 for x in between)


def test_a_line_across_the_earth_holds_the_side_with_the_higher_contours() -> None:
    lat = np.linspace(-85, 85, 300)
    rings = []
    for value, lon in ((44.0, -30.0), (46.0, -20.0), (48.0, 10.0)):
        found = ring(lat, np.full(300, lon), 0)
        assert found is not None
        rings.append((value, found))
    east = nest(rings, None)
    np.testing.assert_array_equal(np.isnan(level(east, (-6, 0), (6, 0))), [True, False])
    assert level(east, (8, 0)) == [48]
    west = nest([(92 - value, of) for value, of in rings], None)
    np.testing.assert_array_equal(np.isnan(level(west, (-6, 0), (6, 0))), [False, True])
