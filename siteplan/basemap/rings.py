"""The rings of the basemap: the arcs in its files, decoded and joined."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: A character under this one is the last of a number.
_LAST_BELOW = 63 + 0x20


def decoded(text: str) -> NDArray[np.int64]:
    """Return the whole numbers in a text of the encoded polyline algorithm format."""
    letters = np.frombuffer(text.encode("ascii"), dtype=np.uint8)
    ends = np.flatnonzero(letters < _LAST_BELOW)
    starts = np.concatenate([[0], ends[:-1] + 1])
    bits = (letters - np.uint8(63)) & np.uint8(0x1F)
    values = bits[starts].astype(np.int64)
    # Most numbers have two letters: those that have one more each time are few.
    longer = np.flatnonzero(ends > starts)
    for place in range(1, int((ends - starts).max(initial=0)) + 1):
        values[longer] |= bits[starts[longer] + place].astype(np.int64) << (5 * place)
        longer = longer[ends[longer] > starts[longer] + place]
    signed: NDArray[np.int64] = (values >> 1) ^ -(values & 1)
    return signed


@cache
def read(name: str) -> Any:
    """Return what one of the basemap's JSON files holds, not to be changed."""
    return json.loads(resources.files("siteplan").joinpath("basemap", name).read_bytes())


class Lines(NamedTuple):
    """Lines one behind the other: ``points`` (n, 2) are longitude and latitude [deg].

    ``starts`` (m + 1,) are the lines' first points, and the end of the last.
    """

    points: FloatArray
    starts: IntArray

    def each(self) -> tuple[FloatArray, ...]:
        """Return each line for itself."""
        return tuple(self.points[i:j] for i, j in pairwise(self.starts.tolist()))

    def boxes(self) -> FloatArray:
        """Return west, south, east and north of each line (m, 4) [deg]."""
        first = self.starts[:-1]
        ends = np.minimum.reduceat(self.points, first), np.maximum.reduceat(self.points, first)
        return np.concatenate(ends, axis=1)


@cache
def _arcs() -> Lines:
    raw = read("basemap.json")
    # All in one go: each alone takes ten times as long.
    text = "".join(raw["arcs"])
    steps = decoded(text).reshape(-1, 2)
    numbers = np.cumsum(np.frombuffer(text.encode("ascii"), dtype=np.uint8) < _LAST_BELOW)
    ends = numbers[np.cumsum([len(arc) for arc in raw["arcs"]]) - 1] // 2
    starts = np.concatenate([[0], ends[:-1]])
    along = np.cumsum(steps, axis=0)
    ahead = np.repeat(along[starts] - steps[starts], ends - starts, axis=0)
    points = (along - ahead) * raw["step_deg"]
    return Lines(points, np.append(starts, ends[-1]))


@cache
def arcs() -> tuple[FloatArray, ...]:
    """Return the lines of the basemap, (n, 2) longitude and latitude [deg], without jumps."""
    return _arcs().each()


@cache
def _land() -> Lines:
    return ring_lines(read("basemap.json")["land"])


@cache
def land_rings() -> tuple[FloatArray, ...]:
    """Return the rings of all land, (n, 2) longitude and latitude [deg], without jumps."""
    return _land().each()


@cache
def land_points() -> FloatArray:
    """Return the points of all rings of land, (n, 2) longitude and latitude [deg]."""
    return _land().points


@cache
def arc_boxes() -> FloatArray:
    """Return west, south, east and north of each of the basemap's lines (m, 4) [deg]."""
    return _arcs().boxes()


@cache
def land_boxes() -> FloatArray:
    """Return west, south, east and north of each ring of land (m, 4) [deg]."""
    return _land().boxes()


class Outlines(NamedTuple):
    """All rings of all countries, as in `Lines`, and the country (m,) of each, rising."""

    points: FloatArray
    starts: IntArray
    country: IntArray


@cache
def outlines() -> Outlines:
    """Return the rings of all countries of the basemap."""
    countries = read("countries.json")["countries"]
    found = ring_lines([ring for rings in countries for ring in rings])
    country = np.repeat(np.arange(len(countries)), [len(rings) for rings in countries])
    return Outlines(*found, country)


@cache
def outline_boxes() -> FloatArray:
    """Return west, south, east and north of each of the countries' rings (m, 4) [deg]."""
    return Lines(*outlines()[:2]).boxes()


def ring_line(ring: Sequence[int]) -> FloatArray:
    """Return a ring of arcs (``~k``: arc k backwards) as (n, 2) longitude and latitude [deg]."""
    return ring_lines([ring]).points


def ring_lines(rings: Sequence[Sequence[int]]) -> Lines:
    """Return rings of arcs (``~k``: arc k backwards), all in one go: it is many times as quick.

    Each arc is moved by whole turns to meet the one before.
    """
    points, starts = _arcs()
    given = np.array([arc for ring in rings for arc in ring])
    arc, back = np.where(given < 0, ~given, given), given < 0
    count = starts[arc + 1] - starts[arc]
    first, last = starts[arc], starts[arc + 1] - 1
    first, last = np.where(back, last, first), np.where(back, first, last)
    behind = np.cumsum(count)
    step = np.repeat(np.where(back, -1, 1), count)
    at = np.repeat(first, count) + step * (np.arange(behind[-1]) - np.repeat(behind - count, count))
    heads = np.cumsum([0, *(len(ring) for ring in rings)])
    turns = _turns(points[first, 0], points[last, 0], heads[:-1])
    line = points[at]
    line[:, 0] += np.repeat(360 * turns, count)
    return Lines(line, np.append(0, behind)[heads])


def _turns(first: FloatArray, last: FloatArray, heads: IntArray) -> FloatArray:
    """Return by how many whole turns each arc (n,) is moved, by its longitudes at both ends."""
    jump = np.zeros(len(first))
    jump[1:] = np.round((last[:-1] - first[1:]) / 360)
    jump[heads] = 0
    turns = np.cumsum(jump)
    own = np.diff(heads, append=len(first))
    return turns - np.repeat(turns[heads], own)
