"""``[satellite]``: the orbital position, and the neighbours along the arc."""

from __future__ import annotations

from siteplan.network.spectrum.patterns import xpi_key
from siteplan.network.table import Table, key


class Satellite(Table):
    """``[satellite]``: the orbital position."""

    name: str = key("", "Name of the satellite, for headings", max_length=200)
    longitude_deg: float = key(
        ..., "Orbital position, east positive (west negative)", "deg", ge=-180, le=360
    )
    tilt_deg: float = key(
        0.0,
        "Turn of the satellite's vertical polarization from the earth's axis, as seen from the"
        " earth facing it, clockwise positive",
        "deg",
        ge=-90,
        le=90,
    )
    station_keeping_deg: float | None = key(
        None,
        "How far the satellite strays from its place in a day: half of its station-keeping box"
        " (absent: 0.05; usual are 0.05 to 0.1)",
        "deg",
        ge=0,
        le=5,
    )
    neighbours_deg: tuple[float, ...] = key(
        (),
        "Orbital positions of neighbouring satellites, to tell them apart when pointing",
        "deg",
        min_length=0,
        max_length=12,
    )
    xpi_db: float = xpi_key(30, "the satellite's antennas")
