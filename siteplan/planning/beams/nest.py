"""Contours as rings that lie in one another, in the plane of directions from the satellite.

A site lies in one ring, the innermost that holds it, and outside those right within it: the level
is drawn in between those two values by the distances to the nearest line of either. Nothing is
drawn beyond the outermost ring.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.physics.angles.footprint import Ring

#: Nearer to a line than this is on it [deg], some 0.6 mm on the ground.
_ON_LINE_DEG = 1e-9
#: Rings that overlap by less than this part of the smaller one lie beside one another, and in one
#: another where all but this part does: borders that two rings share are not the same to the bit.
_HAIR = 1e-4


class CrossingError(ValueError):
    """Two rings cross."""

    def __init__(self, values: tuple[float, float]) -> None:
        """Keep the values of the two."""
        low, high = sorted(values)
        super().__init__(f"the contours of {low:g} and {high:g} cross")


@frozen(eq=False)
class Held:
    """A ring in its place: ``area`` is what it holds, ``line`` what of it is a contour (shapely).

    ``parent`` is the ring around it, -1 without one; ``inside`` are those right within it;
    ``rises`` tells that the level grows as one goes in.
    """

    value: float
    area: Any
    line: Any
    parent: int
    inside: tuple[int, ...]
    rises: bool


@frozen(eq=False)
class Nest:
    """The rings of a contour file, those outside before those within; ``peak`` or None."""

    rings: tuple[Held, ...]
    peak: float | None

    @cached_property
    def highest(self) -> float:
        """The greatest value of a ring."""
        return max((ring.value for ring in self.rings), default=float("-inf"))

    def levels(self, u_deg: FloatArray, v_deg: FloatArray) -> FloatArray:
        """Return the levels in directions (n,) [deg]: NaN outside the outermost ring.

        Each direction is worked out apart from the others.
        """
        found = np.full(len(u_deg), np.nan)
        holder = self._holders(u_deg, v_deg)
        for k in np.unique(holder[holder >= 0]).tolist():
            at = np.flatnonzero(holder == k)
            found[at] = self._between(k, u_deg[at], v_deg[at])
        self._on_the_edge(found, u_deg, v_deg)
        return found

    def _holders(self, u_deg: FloatArray, v_deg: FloatArray) -> IntArray:
        """Return the innermost ring that holds each direction (n,), -1 outside all."""
        import shapely

        holder = np.where(np.isnan(u_deg + v_deg), -2, -1)
        for k, ring in enumerate(self.rings):
            at = np.flatnonzero((holder == ring.parent) & _in_box(ring.area, u_deg, v_deg))
            held = shapely.intersects_xy(ring.area, u_deg[at], v_deg[at])
            holder[at[held]] = k
        return np.asarray(np.maximum(holder, -1), dtype=np.intp)

    def _between(self, k: int, u_deg: FloatArray, v_deg: FloatArray) -> FloatArray:
        """Return the levels of directions whose innermost ring is number ``k``."""
        import shapely

        points, own = shapely.points(u_deg, v_deg), self.rings[k]
        same = [own, *(r for r in self._inside(own) if r.value == own.value)]
        others = [r for r in self._inside(own) if r.value != own.value]
        here_deg, _ = _nearest(same, points)
        if not others:
            top = own.rises and own.value == self.highest and self.peak is not None
            inner = self.peak if top and self.peak is not None else own.value
            return np.where(here_deg <= _ON_LINE_DEG, own.value, inner)
        there_deg, value = _nearest(others, points)
        part = here_deg / np.maximum(here_deg + there_deg, _ON_LINE_DEG)
        level = own.value + (value - own.value) * part
        level = np.where(there_deg <= _ON_LINE_DEG, value, level)
        return np.where(here_deg <= _ON_LINE_DEG, own.value, level)

    def _inside(self, ring: Held) -> list[Held]:
        return [self.rings[k] for k in ring.inside]

    def _on_the_edge(self, found: FloatArray, u_deg: FloatArray, v_deg: FloatArray) -> None:
        """Put in the value of an outermost ring where a direction lies on its line."""
        import shapely

        for ring in (r for r in self.rings if r.parent < 0):
            at = np.flatnonzero(np.isnan(found) & _in_box(ring.area, u_deg, v_deg))
            points = shapely.points(u_deg[at], v_deg[at])
            found[at[shapely.dwithin(ring.line, points, _ON_LINE_DEG)]] = ring.value


def _in_box(area: Any, u_deg: FloatArray, v_deg: FloatArray) -> BoolArray:
    """Return which directions (n,) lie in the box around an area, a hair added."""
    west, south, east, north = area.bounds
    return np.asarray(
        (u_deg >= west - _ON_LINE_DEG)
        & (u_deg <= east + _ON_LINE_DEG)
        & (v_deg >= south - _ON_LINE_DEG)
        & (v_deg <= north + _ON_LINE_DEG)
    )


def _nearest(rings: Sequence[Held], points: Any) -> tuple[FloatArray, FloatArray]:
    """Return the distance [deg] to the nearest of some rings' lines (n,), and that ring's value.

    Of several that are as near the least value.
    """
    import shapely

    lines = np.array([ring.line for ring in rings], dtype=object)
    values = np.array([ring.value for ring in rings])
    if len(rings) == 1:
        return shapely.distance(lines[0], points), np.full(len(points), values[0])
    tree = shapely.STRtree(lines)
    (of, which), far = tree.query_nearest(points, return_distance=True)
    distance, value = np.full(len(points), np.inf), np.full(len(points), np.inf)
    np.minimum.at(distance, of, far)
    np.minimum.at(value, of, values[which])
    return distance, value


def nest(rings: Iterable[tuple[float, Ring]], peak: float | None) -> Nest:
    """Return rings with their values, each in its place.

    Raises
    ------
    CrossingError
        If two of them cross.
    """
    import shapely

    drawn = sorted(_areas(list(rings)), key=lambda d: (-d[1].area, d[0]))
    drawn = _own_only(drawn)
    parents = _parents(drawn)
    for _, area, line in drawn:
        shapely.prepare(area)
        shapely.prepare(line)
    rises: list[bool] = []
    for k, (value, _, _) in enumerate(drawn):
        above = parents[k]
        if above < 0 or value != drawn[above][0]:
            rises.append(above < 0 or value > drawn[above][0])
        else:
            rises.append(not rises[above])
    return Nest(
        tuple(
            Held(*one, parents[k], tuple(i for i, p in enumerate(parents) if p == k), rises[k])
            for k, one in enumerate(drawn)
        ),
        peak,
    )


#: A ring's value, what it holds, and its line (shapely).
_Drawn = tuple[float, Any, Any]


def _areas(rings: list[tuple[float, Ring]]) -> list[_Drawn]:
    """Return rings as areas and lines, those that could be closed two ways the way that fits."""
    import shapely

    found = []
    for value, ring in rings:
        area = shapely.polygons(np.column_stack([ring.u_deg, ring.v_deg]))
        if ring.other is not None:
            area = _fitting((area, shapely.polygons(ring.other.T)), value, rings)
        line = shapely.multilinestrings([shapely.linestrings(part.T) for part in ring.parts])
        found.append((value, shapely.make_valid(area), line))
    return found


def _fitting(ways: tuple[Any, Any], value: float, rings: list[tuple[float, Ring]]) -> Any:
    """Return which of two areas holds more of the higher contours and less of the lower ones."""
    import shapely

    scores = []
    for area in ways:
        held = [
            (1 if other > value else -1) * (2 * shapely.intersects_xy(area, *part).mean() - 1)
            for other, ring in rings
            if other != value
            for part in ring.parts
        ]
        scores.append(sum(held))
    return ways[0] if scores[0] >= scores[1] - 1e-9 else ways[1]


def _own_only(drawn: list[_Drawn]) -> list[_Drawn]:
    """Return rings without those told twice.

    A hole's border that is another contour's too, as where bands are drawn, is that one's.
    """
    import shapely

    kept: list[_Drawn] = []
    areas = np.array([area for _, area, _ in drawn], dtype=object)
    for value, area, line in drawn:
        twins = [k for k in np.flatnonzero(_alike(area, areas)) if drawn[k][1] is not area]
        again = any(k[0] == value and bool(_alike(area, np.array([k[1]]))[0]) for k in kept)
        others = [k for k in twins if drawn[k][0] != value]
        hole = any(
            d[0] == value and d[1].area > area.area * (1 + _HAIR) and shapely.covers(d[1], area)
            for d in drawn
        )
        if not again and not (others and hole):
            kept.append((value, area, line))
    return kept


def _alike(area: Any, areas: Any) -> BoolArray:
    """Return which areas (k,) are one with an area, but for the last bits."""
    import shapely

    near = np.isclose(shapely.area(areas), area.area, rtol=_HAIR, atol=0)
    boxes = np.abs(shapely.bounds(areas) - np.array(area.bounds)).max(axis=1)
    near &= boxes <= _ON_LINE_DEG
    far = np.flatnonzero(near)
    near[far] = [_shared(area, areas[k]) >= 1 - _HAIR for k in far]
    return np.asarray(near)


def _shared(one: Any, other: Any) -> float:
    """Return what part of the smaller of two areas the other holds."""
    return float(one.intersection(other).area / min(one.area, other.area))


def _parents(drawn: list[_Drawn]) -> list[int]:
    """Return the smallest ring around each, -1 without one; the rings come by falling area.

    Raises
    ------
    CrossingError
        If two of them cross.
    """
    import shapely

    parents = [-1] * len(drawn)
    for k, j in itertools.combinations(range(len(drawn)), 2):
        large, small = drawn[k][1], drawn[j][1]
        if not shapely.intersects(large, small):
            continue
        if not shapely.contains_properly(large, small):
            part = _shared(large, small)
            if _HAIR < part < 1 - _HAIR:
                raise CrossingError((drawn[k][0], drawn[j][0]))
            if part <= _HAIR:
                continue
        parents[j] = k
    return parents
