"""Frozen types of what lies behind the sites: grid, coverage, overlays. Imports nothing of ours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

#: South, west, north, east [deg]; east may pass 180 where an area lies across the antimeridian.
Frame = tuple[float, float, float, float]


@dataclass(frozen=True)
class Grid:
    """Nodes of a regular grid: latitudes (r,) south to north, longitudes (c,) west to east [deg].

    Longitudes run on past 180 instead of jumping.
    """

    lat: FloatArray
    lon: FloatArray
    step_deg: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return len(self.lat), len(self.lon)

    @property
    def frame(self) -> Frame:
        """The outermost nodes [deg]."""
        return float(self.lat[0]), float(self.lon[0]), float(self.lat[-1]), float(self.lon[-1])

    @property
    def points(self) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of every node (r * c,), row by row."""
        lat, lon = np.meshgrid(self.lat, self.lon, indexing="ij")
        return lat.ravel(), lon.ravel()


@dataclass(frozen=True, slots=True)
class Band:
    """A class of a quantity: from ``low`` to ``high`` (infinite at open ends), and its words.

    ``care`` marks what cannot be served with the catalogue, or at all.
    """

    low: float
    high: float
    label: str
    care: bool = False

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        """Low and high, None at an open end."""
        low, high = (None if math.isinf(v) else v for v in (self.low, self.high))
        return low, high


@dataclass(frozen=True)
class Coverage:
    """Quantities on a grid, arrays (r, c).

    ``columns`` holds result fields (see ``siteplan.fields``), NaN where there is no answer.
    ``surfaces`` holds, by the same names, what contours are drawn through: the same values,
    carried on where the field is blank but the surface goes on. Where ``elevation_deg`` is
    below ``floor_deg`` no kit is given. ``note`` says what the figures rest on.
    """

    grid: Grid
    columns: Mapping[str, FloatArray]
    surfaces: Mapping[str, FloatArray]
    bands: Mapping[str, tuple[Band, ...]]
    floor_deg: float
    note: str


@dataclass(frozen=True, slots=True)
class Overlay:
    """A map layer of the user's own.

    ``shapes`` are single shapely geometries in (lon, lat) [deg] on WGS 84, longitudes without
    jumps; ``labels`` the names (as many) that the file gives them, empty where it gives none.
    ``color`` is one of the names in ``siteplan.network``, or empty.
    """

    name: str
    color: str
    shapes: tuple[Any, ...]
    labels: tuple[str, ...]
