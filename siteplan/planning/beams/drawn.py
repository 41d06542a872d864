"""The contours of a network's beams as lines on the ground, for the map."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.model import Overlay
from siteplan.network import Contours, Network
from siteplan.network.beams.contours import UNITS, Direction
from siteplan.physics.angles.footprint import (
    MOST_DROP_DB,
    ellipse_radius_deg,
    place_seen,
    seen_from_satellite,
)

#: What each direction's lines are called, and their colour: dark both, told apart by their labels.
_NAMES: dict[Direction, tuple[str, str]] = {
    "down": ("EIRP contours", "black"),
    "up": ("G/T contours", "purple"),
}
#: Points of an ellipse's line.
_AROUND = 181


def drawn(network: Network) -> tuple[Overlay, ...]:
    """Return a layer of lines for each beam and direction that has contours.

    Of a file its own lines, as far as the satellite sees them; of an ellipse the lines of its edge
    and of the 10 dB where it ends. Each is named by its level.
    """
    layers: dict[tuple[str, Direction], list[tuple[Any, str]]] = {}
    for of in network.contours:
        found = layers.setdefault((of.beam, of.direction), [])
        found += _named(of, network.satellite.longitude_deg)
    return tuple(_layer(*key, found) for key, found in layers.items() if found)


def _layer(beam: str, direction: Direction, lines: Sequence[tuple[Any, str]]) -> Overlay:
    name, color = _NAMES[direction]
    shapes, labels = zip(*lines, strict=True)
    return Overlay(f"{name} {beam}".strip(), color, tuple(shapes), tuple(labels))


def _named(of: Contours, satellite_lon_deg: float) -> Iterator[tuple[Any, str]]:
    """Yield the lines of an entry (shapely) with their levels as text."""
    import shapely

    for value, lat, lon in _lines(of, satellite_lon_deg):
        hidden = seen_from_satellite(lat, lon, satellite_lon_deg).hidden
        cuts = np.flatnonzero(np.diff(hidden)) + 1
        for part, away in zip(
            np.split(np.column_stack([lon, lat]), cuts), np.split(hidden, cuts), strict=True
        ):
            if len(part) > 1 and not away[0]:
                yield shapely.linestrings(part), f"{value:g} {UNITS[of.direction]}"


def _lines(
    of: Contours, satellite_lon_deg: float
) -> Iterator[tuple[float, FloatArray, FloatArray]]:
    """Yield level, latitudes and longitudes (k,) [deg] of each line of an entry."""
    for line in of.lines or ():
        yield line.value, np.array(line.lat), np.array(line.lon)
    if not of.is_ellipse or of.peak is None:
        return
    at = seen_from_satellite([of.lat or 0.0], [of.lon or 0.0], satellite_lon_deg)
    bearing = np.linspace(0, 2 * np.pi, _AROUND)
    widths = of.major_deg or 0.0, of.minor_deg or 0.0
    for drop in dict.fromkeys((of.edge_db, MOST_DROP_DB)):
        if drop > MOST_DROP_DB:
            continue
        away = ellipse_radius_deg(
            bearing, drop, widths_deg=widths, tilt_deg=of.tilt_deg, edge_db=of.edge_db
        )
        u, v = at.u_deg + away * np.cos(bearing), at.v_deg + away * np.sin(bearing)
        yield of.peak - drop, *place_seen(u, v, satellite_lon_deg)
