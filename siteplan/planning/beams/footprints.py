"""The footprints of a network's beams: what each entry of ``[[contours]]`` gives in a direction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Protocol

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.errors import NetworkError
from siteplan.frozen import frozen
from siteplan.network import Contours, Network
from siteplan.network.beams.contours import Direction
from siteplan.network.beams.shapes import Ellipse
from siteplan.physics.angles.footprint import (
    MOST_DROP_DB,
    OpenLineError,
    Ring,
    ellipse_drop_db,
    ring,
    seen_from_satellite,
)


class Shape(Protocol):
    """What tells a level in directions from the satellite."""

    def levels(self, u_deg: FloatArray, v_deg: FloatArray) -> FloatArray:
        """Return the levels in directions (n,) [deg], NaN where it tells none."""


@frozen
class Lobe:
    """An elliptical beam: its centre and widths [deg], the level there, and the drop [dB]."""

    peak: float
    centre_deg: tuple[float, float]
    widths_deg: tuple[float, float]
    tilt_deg: float
    edge_db: float

    def levels(self, u_deg: FloatArray, v_deg: FloatArray) -> FloatArray:
        """Return the levels in directions (n,) [deg], NaN where the drop is over 10 dB."""
        drop = ellipse_drop_db(
            *(u_deg, v_deg),
            centre_deg=self.centre_deg,
            widths_deg=self.widths_deg,
            tilt_deg=self.tilt_deg,
            edge_db=self.edge_db,
        )
        held = np.round(drop, 9) <= MOST_DROP_DB
        return np.where(held, self.peak - drop, np.nan)


@frozen(eq=False)
class Footprints:
    """What the beams of a satellite give where: shapes by beam and direction."""

    satellite_lon_deg: float
    shapes: Mapping[tuple[str, Direction], tuple[Shape, ...]]

    def level(
        self, beam: str, direction: Direction, lat: FloatArray, lon: FloatArray
    ) -> FloatArray | None:
        """Return the level of a beam at places (n,), NaN outside; None where it has no contours.

        Of several shapes the strongest counts.
        """
        shapes = self.shapes.get((beam, direction), ())
        if not shapes:
            return None
        seen = seen_from_satellite(lat, lon, self.satellite_lon_deg)
        found = shapes[0].levels(seen.u_deg, seen.v_deg)
        for shape in shapes[1:]:
            found = np.fmax(found, shape.levels(seen.u_deg, seen.v_deg))
        return found

    def __getstate__(self) -> dict[str, object]:
        """Return the state for another process: read-only mappings cannot be sent."""
        return vars(self) | {"shapes": dict(self.shapes)}


def footprints(network: Network) -> Footprints | None:
    """Return the footprints of a network; None without ``[[contours]]``.

    Raises
    ------
    NetworkError
        A file of contours was not read; a contour that is not closed, crosses another one, or is
        not seen from the satellite at all: with its value.
    """
    if not network.contours:
        return None
    for place in network.without_lines:
        raise NetworkError(
            "the file of contours was not read.",
            where=f"network.toml, {place} file",
            fix="Read the network with siteplan.read_network(path), or give lines"
            " (siteplan.network.ContourLine).",
        )
    position = network.satellite.longitude_deg
    found: dict[tuple[str, Direction], tuple[Shape, ...]] = {}
    for number, of in enumerate(network.contours, 1):
        key = (of.beam, of.direction)
        place = f"network.toml, [[contours]] no. {number}"
        found[key] = (*found.get(key, ()), _shape(of, position, place))
    return Footprints(position, MappingProxyType(found))


def _shape(of: Contours, satellite_lon_deg: float, place: str) -> Shape:
    if of.is_ellipse:
        return _lobe(of, satellite_lon_deg, place)
    from siteplan.planning.beams.nest import CrossingError, nest

    found = rings(of, satellite_lon_deg, place)
    try:
        return nest(found, of.peak)
    except CrossingError as error:
        raise NetworkError(
            f"{error}.", where=f"{place} file", fix="Mend the lines: each value holds the next."
        ) from None


def _lobe(of: Contours, satellite_lon_deg: float, place: str) -> Lobe:
    """Return the ellipse of an entry that gives one."""
    centre = seen_centre_deg(of, satellite_lon_deg, place)
    widths = of.major_deg or 0.0, of.minor_deg or 0.0
    return Lobe(of.peak or 0.0, centre, widths, of.tilt_deg, of.edge_db)


def seen_centre_deg(
    of: Ellipse, satellite_lon_deg: float, place: str, what: str = ""
) -> tuple[float, float]:
    """Return the direction of an ellipse's centre from the satellite: east, north [deg].

    Raises
    ------
    NetworkError
        The satellite does not see it: with its place, and ``what`` it is the centre of.
    """
    at = seen_from_satellite([of.lat or 0.0], [of.lon or 0.0], satellite_lon_deg)
    if at.hidden[0]:
        raise NetworkError(
            f"the satellite at {satellite_lon_deg:g} deg does not see lat = {of.lat:g},"
            f" lon = {of.lon:g}{what}.",
            where=f"{place} lat and lon",
            fix="Check their signs and [satellite] longitude_deg (east positive).",
        )
    return float(at.u_deg[0]), float(at.v_deg[0])


def rings(of: Contours, satellite_lon_deg: float, place: str) -> Sequence[tuple[float, Ring]]:
    """Return the rings of an entry's lines with their values, those that are seen.

    Raises
    ------
    NetworkError
        A line that is not closed, or none that the satellite sees.
    """
    found = []
    for line in of.lines or ():
        try:
            drawn = ring(line.lat, line.lon, satellite_lon_deg)
        except OpenLineError as error:
            raise NetworkError(
                f"the contour of {line.value:g} near lat {line.lat[0]:.2f}, lon"
                f" {line.lon[0]:.2f} is not closed: {error}.",
                where=f"{place} file",
                fix="Close it, or draw it to the limb of the earth as the satellite sees it.",
            ) from None
        if drawn is not None:
            found.append((line.value, drawn))
    if not found:
        raise NetworkError(
            f"the satellite at {satellite_lon_deg:g} deg sees none of its contours.",
            where=f"{place} file",
            fix="Check the file, and [satellite] longitude_deg (east positive).",
        )
    return found
