"""One place from the command line, read as a sites table is."""

from __future__ import annotations

import numpy as np

from siteplan.errors import NetworkError, SitesError
from siteplan.inputs.sites.coordinates import parse_coordinates
from siteplan.inputs.sites.spelling import UnreadableAngle, parse_angle
from siteplan.model import Sites


def one_site(
    lat: str, lon: str, *, altitude_m: float | None = None, availability_pct: float | None = None
) -> Sites:
    """Return one checked site.

    Parameters
    ----------
    lat, lon : str
        Coordinates [deg], decimal or DMS.
    altitude_m, availability_pct : float, optional
        Altitude above sea level [m], -500 to 9000, and availability target [%], 50 to 99.999.

    Raises
    ------
    SitesError
        If a coordinate cannot be read, or a number is out of range.
    """
    place = parse_coordinates(np.array([lat], dtype=object), np.array([lon], dtype=object))
    for fault in place.findings.faults.get(0, []):
        raise SitesError(f"{fault.value!r} {fault.reason}.", where=fault.key, fix=fault.fix)
    known = {}
    for name, value, low, high in (
        ("altitude_m", altitude_m, -500.0, 9000.0),
        ("availability_pct", availability_pct, 50.0, 99.999),
    ):
        if value is not None and not low <= value <= high:
            raise SitesError(
                f"{value:g} is out of range.", where=name, fix=f"Give {low:g} to {high:g}."
            )
        known[name] = np.array([np.nan if value is None else value])
    notes = {0: tuple(place.findings.notes.get(0, []))} if place.findings.notes else {}
    return Sites.at(place.lat, place.lon, notes=notes, **known)


def orbital_position_deg(text: str) -> float:
    """Return an orbital position [deg], east positive, from ``-61``, ``61W`` or ``299``.

    Raises
    ------
    NetworkError
        If the text is no angle, or none between -180 and 360.
    """
    try:
        angle = parse_angle(text)
    except UnreadableAngle as error:
        raise NetworkError(
            f"{text!r} {error.reason}.", where="satellite", fix="Write -61, 61W or 299."
        ) from None
    if angle.letter in ("N", "S", "O") or not -180 <= angle.degrees <= 360:
        raise NetworkError(
            f"{text!r} is no orbital position.", where="satellite", fix="Write -61, 61W or 299."
        )
    return angle.degrees
