"""The rings of the basemap: the arcs in its files, decoded and joined."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

#: A character under this one is the last of a number.
_LAST_BELOW = 63 + 0x20


def decoded(text: str) -> NDArray[np.int64]:
    """Return the whole numbers in a text of the encoded polyline algorithm format."""
    letters = np.frombuffer(text.encode("ascii"), dtype=np.uint8)
    codes = letters.astype(np.int64) - 63
    ends = np.flatnonzero(letters < _LAST_BELOW)
    starts = np.concatenate([[0], ends[:-1] + 1])
    place = np.arange(len(codes)) - np.repeat(starts, ends - starts + 1)
    values = np.add.reduceat((codes & 0x1F) << (5 * place), starts)
    return np.where(values & 1, ~(values >> 1), values >> 1)


@cache
def read(name: str) -> Any:
    """Return what one of the basemap's JSON files holds, not to be changed."""
    return json.loads(resources.files("siteplan").joinpath("basemap", name).read_bytes())


@cache
def arcs() -> tuple[FloatArray, ...]:
    """Return the lines of the basemap, (n, 2) longitude and latitude [deg], without jumps."""
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
    return tuple(points[i:j] for i, j in zip(starts.tolist(), ends.tolist(), strict=True))


@cache
def land_rings() -> tuple[FloatArray, ...]:
    """Return the rings of all land, (n, 2) longitude and latitude [deg], without jumps."""
    return tuple(ring_line(ring) for ring in read("basemap.json")["land"])


def ring_line(ring: Sequence[int]) -> FloatArray:
    """Return a ring of arcs (``~k``: arc k backwards) as (n, 2) longitude and latitude [deg]."""
    lines = arcs()
    return _joined([lines[k] if k >= 0 else lines[~k][::-1] for k in ring])


def _joined(parts: list[FloatArray]) -> FloatArray:
    """Return arcs as one line; each is moved by whole turns to meet the one before."""
    line = [parts[0]]
    for part in parts[1:]:
        turns = round((line[-1].item(-1, 0) - part.item(0, 0)) / 360)
        line.append(np.add(part, (360.0 * turns, 0.0)) if turns else part)
    return np.concatenate(line)
