"""The order in which a crew visits sites: group by group, each a short round.

A large group is first cut into compact rounds of at most `ROUND_SITES`. Each round follows the
spanning tree's walk (Rosenkrantz, Stearns and Lewis, 1977: at most twice the shortest tour),
then crossings are undone (2-opt; Croes, 1958) as an open way. Straight lines: roads decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Most sites of one round: what one file of sheets holds.
ROUND_SITES: Final = 300


class Round(NamedTuple):
    """Sites of one group in the order of their visit; ``part`` counts a group's rounds from 1."""

    group: str
    part: int
    sites: IntArray


def rounds(group: NDArray[np.object_], lat: FloatArray, lon: FloatArray) -> list[Round]:
    """Return the rounds of all sites, group by group in the order of their names.

    Parameters
    ----------
    group : (n,) array of str
        Group of each site, empty for none.
    lat, lon : (n,) arrays
        Where they stand [deg].

    Returns
    -------
    list of Round
        Every site once.
    """
    if not len(lat):
        return []
    points = unit_vectors(lat, lon)
    names, code = np.unique(group.astype(str), return_inverse=True)
    order = np.argsort(code, kind="stable")
    ends = np.cumsum(np.bincount(code, minlength=len(names)))[:-1]
    return [
        Round(str(name), part + 1, sites)
        for name, members in zip(names, np.split(order, ends), strict=True)
        for part, sites in enumerate(_in_turn(list(_cells(members, points)), points))
    ]


def way_km(sites: IntArray, lat: FloatArray, lon: FloatArray) -> float:
    """Return the length of the way along ``sites`` in straight lines [km]."""
    return float(legs_km(sites, lat, lon).sum())


def legs_km(sites: IntArray, lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return the straight way from each of ``sites`` (n,) to the next, (n - 1,) [km]."""
    points = unit_vectors(lat[sites], lon[sites])
    return np.asarray(6371.0 * np.linalg.norm(np.diff(points, axis=0), axis=1))


def unit_vectors(lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return places as points (n, 3) on a sphere of radius 1: no edge at the antimeridian."""
    phi, lam = np.radians(lat), np.radians(lon)
    return np.stack([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)], axis=1)


def _cells(members: IntArray, points: FloatArray) -> Iterator[IntArray]:
    """Yield compact cells of at most ``ROUND_SITES``: halves across the longest extent."""
    if len(members) <= ROUND_SITES:
        yield members
        return
    own = points[members]
    axis = int(np.argmax(np.ptp(own, axis=0)))
    order = members[np.argsort(own[:, axis], kind="stable")]
    # Whole rounds on the left, so that few rounds are left half empty.
    left = -(-len(members) // ROUND_SITES) // 2 * ROUND_SITES
    yield from _cells(order[:left], points)
    yield from _cells(order[left:], points)


def _in_turn(cells: list[IntArray], points: FloatArray) -> Iterator[IntArray]:
    """Yield each cell's sites in visiting order; a cell starts near the end of the last one."""
    last: FloatArray | None = None
    for cell in cells:
        route = cell[_route(points[cell])]
        if last is not None:
            ends = np.linalg.norm(points[route[[0, -1]]] - last, axis=1)
            route = route[::-1] if ends[1] < ends[0] else route
        last = points[route[-1]]
        yield route


def _route(points: FloatArray) -> IntArray:
    """Return a short open way through points (n, 3) as their indices."""
    if len(points) < 4:
        return np.arange(len(points))
    apart = np.sqrt(sum(np.subtract.outer(axis, axis) ** 2 for axis in points.T))
    start = int(np.argmax(apart.sum(axis=1)))
    return _uncrossed(_walk(_tree(apart), start), apart)


def _tree(apart: FloatArray) -> list[list[int]]:
    """Return the neighbours of each point on the shortest spanning tree (Kruskal, 1956).

    Those behind it in the list come first, then those ahead of it, each in the list's order. A
    round is small, and scipy's import takes longer than all rounds of a small plan.
    """
    n = len(apart)
    one, other = np.triu_indices(n, 1)
    order = np.argsort(apart[one, other], kind="stable")
    behind: list[list[int]] = [[] for _ in range(n)]
    ahead: list[list[int]] = [[] for _ in range(n)]
    part = list(range(n))
    left = n - 1
    for i, j in zip(one[order].tolist(), other[order].tolist(), strict=True):
        a, b = _root(part, i), _root(part, j)
        if a != b:
            part[a] = b
            behind[i].append(j)
            ahead[j].append(i)
            left -= 1
            if not left:
                break
    return [sorted(x) + sorted(y) for x, y in zip(behind, ahead, strict=True)]


def _root(part: list[int], k: int) -> int:
    """Return what stands for a point's part of the tree, the way there halved."""
    while part[k] != k:
        part[k] = part[part[k]]
        k = part[k]
    return k


def _walk(near: list[list[int]], start: int) -> IntArray:
    """Return all points in the order in which a walk along the tree first meets them."""
    met, waiting = [], [(start, -1)]
    while waiting:
        point, before = waiting.pop()
        met.append(point)
        waiting += [(k, point) for k in reversed(near[point]) if k != before]
    return np.array(met, dtype=np.int64)


def _uncrossed(way: IntArray, apart: FloatArray) -> IntArray:
    """Return the way with pieces turned round as long as that shortens it, best piece first."""
    n = len(way)
    behind = np.tri(n, k=1, dtype=bool)
    between, onward = apart[np.ix_(way, way)], np.zeros((n, n))
    for _ in range(4 * n):
        legs = np.append(np.diagonal(between, 1), 0.0)
        # Turning way[i + 1 .. j] replaces the legs after i and after j; past the end is free.
        onward[:-1, :-1] = between[1:, 1:]
        gain = legs[:, None] + legs[None, :] - between - onward
        np.copyto(gain, 0.0, where=behind)
        i, j = np.unravel_index(int(np.argmax(gain)), gain.shape)
        if gain[i, j] <= 1e-9:
            break
        turned = slice(i + 1, j + 1)
        way = np.concatenate([way[: i + 1], way[turned][::-1], way[j + 1 :]])
        between[turned] = between[turned][::-1].copy()
        between[:, turned] = between[:, turned][:, ::-1].copy()
    return way
