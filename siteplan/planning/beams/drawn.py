"""The contours of a network's beams as lines on the ground, for the map."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.model import Overlay
from siteplan.network import Beam, Contours, Network
from siteplan.network.beams.contours import UNITS, Direction
from siteplan.network.beams.shapes import Ellipse
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
    """Return a layer of lines for each direction that has contours, and one of service areas.

    Of a file its own lines, as far as the satellite sees them; of an ellipse the lines of its edge
    and of the 10 dB where it ends. Each is named by its level, and where there are several beams by
    the beam before it; an area by its beam.
    """
    layers: dict[Direction, list[tuple[Any, str]]] = {}
    several, stands = len(network.beam_names) > 1, network.satellite.longitude_deg
    for of in network.contours:
        named = f"{of.beam} " if several else ""
        found = layers.setdefault(of.direction, [])
        found += ((line, named + level) for line, level in _named(of, stands))
    only = "" if several else "".join(network.beam_names)
    drawn_ = [_layer(f"{_NAMES[way][0]} {only}".strip(), _NAMES[way][1], found)
              for way, found in layers.items() if found]  # fmt: skip
    areas = [(shape, beam.name) for beam in network.beams for shape in _area(beam, stands)]
    return (*drawn_, *([_layer("Service areas", "green", areas)] if areas else ()))


def _layer(name: str, color: str, lines: Sequence[tuple[Any, str]]) -> Overlay:
    shapes, labels = zip(*lines, strict=True)
    return Overlay(name, color, tuple(shapes), tuple(labels))


def _area(beam: Beam, satellite_lon_deg: float) -> Iterator[Any]:
    """Yield the outlines of a beam's service area (shapely), where it has one of its own."""
    import shapely

    if beam.area_wkt is not None:
        for part in shapely.get_parts([shapely.from_wkt(beam.area_wkt)]):
            yield from (shapely.LineString(r) for r in (part.exterior, *part.interiors))
    elif beam.is_ellipse:
        lat, lon = _ellipse(beam, beam.edge_db, satellite_lon_deg)
        yield from _seen(lat, lon, satellite_lon_deg)


def _named(of: Contours, satellite_lon_deg: float) -> Iterator[tuple[Any, str]]:
    """Yield the lines of an entry (shapely) with their levels as text."""
    for value, lat, lon in _lines(of, satellite_lon_deg):
        for line in _seen(lat, lon, satellite_lon_deg):
            yield line, f"{value:g} {UNITS[of.direction]}"


def _seen(lat: FloatArray, lon: FloatArray, satellite_lon_deg: float) -> Iterator[Any]:
    """Yield the pieces (shapely) of a line of points (k,) [deg] that the satellite sees.

    What an ellipse has beyond the limb has no place on the ground: NaN.
    """
    import shapely

    known = np.isfinite(lat) & np.isfinite(lon)
    hidden = ~known
    hidden[known] = seen_from_satellite(lat[known], lon[known], satellite_lon_deg).hidden
    cuts = np.flatnonzero(np.diff(hidden)) + 1
    for part, away in zip(
        np.split(np.column_stack([lon, lat]), cuts), np.split(hidden, cuts), strict=True
    ):
        if len(part) > 1 and not away[0]:
            yield shapely.linestrings(part)


def _lines(
    of: Contours, satellite_lon_deg: float
) -> Iterator[tuple[float, FloatArray, FloatArray]]:
    """Yield level, latitudes and longitudes (k,) [deg] of each line of an entry."""
    for line in of.lines or ():
        yield line.value, np.array(line.lat), np.array(line.lon)
    if not of.is_ellipse or of.peak is None:
        return
    for drop in dict.fromkeys((of.edge_db, MOST_DROP_DB)):
        if drop <= MOST_DROP_DB:
            yield of.peak - drop, *_ellipse(of, drop, satellite_lon_deg)


def _ellipse(
    of: Ellipse, drop_db: float, satellite_lon_deg: float
) -> tuple[FloatArray, FloatArray]:
    """Return latitudes and longitudes (k,) [deg] of an ellipse's line at a drop."""
    at = seen_from_satellite([of.lat or 0.0], [of.lon or 0.0], satellite_lon_deg)
    bearing = np.linspace(0, 2 * np.pi, _AROUND)
    widths = of.major_deg or 0.0, of.minor_deg or 0.0
    away = ellipse_radius_deg(
        bearing, drop_db, widths_deg=widths, tilt_deg=of.tilt_deg, edge_db=of.edge_db
    )
    u, v = at.u_deg + away * np.cos(bearing), at.v_deg + away * np.sin(bearing)
    return place_seen(u, v, satellite_lon_deg)
