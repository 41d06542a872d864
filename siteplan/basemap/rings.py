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


def decoded(text: str) -> NDArray[np.int64]:
    """Return the whole numbers in a text of the encoded polyline algorithm format."""
    codes = np.frombuffer(text.encode("ascii"), dtype=np.uint8).astype(np.int64) - 63
    last = codes < 0x20
    ends = np.flatnonzero(last)
    starts = np.concatenate([[0], ends[:-1] + 1])
    place = np.arange(len(codes)) - np.repeat(starts, ends - starts + 1)
    values = np.add.reduceat((codes & 0x1F) << (5 * place), starts)
    return np.where(values & 1, ~(values >> 1), values >> 1)


def read(name: str) -> Any:
    """Return what one of the basemap's JSON files holds."""
    return json.loads(resources.files("siteplan").joinpath("basemap", name).read_bytes())


@cache
def arcs() -> tuple[FloatArray, ...]:
    """Return the lines of the basemap, (n, 2) longitude and latitude [deg], without jumps."""
    raw = read("basemap.json")
    return tuple(
        np.cumsum(decoded(text).reshape(-1, 2), axis=0) * raw["step_deg"] for text in raw["arcs"]
    )


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
        turns = np.round((line[-1][-1, 0] - part[0, 0]) / 360)
        line.append(np.add(part, (360 * turns, 0)))
    return np.vstack(line)
