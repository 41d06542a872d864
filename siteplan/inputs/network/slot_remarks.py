"""What a network takes for a satellite that nobody told, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from siteplan.inputs.satellites import LEVEL_KEYS, Satellite
from siteplan.messages import english
from siteplan.network import Network
from siteplan.network.spectrum.neighbours import is_same

_WAYS = ("outbound", "inbound")
_NAMES = {"satellite_eirp_dbw": "EIRP", "satellite_g_t_db_k": "G/T", "sfd_dbw_m2": "SFD"}
#: What contours tell: the way, and the level.
_DRAWN = {"down": ("outbound", "satellite_eirp_dbw"), "up": ("inbound", "satellite_g_t_db_k")}
#: Other keys that are the satellite's, of the carriers and of ``[satellite]``: told where given.
_CARRIED = {
    "bandwidth and back-offs of the transponder": (
        *("transponder_mhz", "input_backoff_db", "output_backoff_db"),
    ),
    "C/I": ("ci_db",),
}
_OF_SATELLITE = {
    "tilt_deg": "tilt",
    "station_keeping_deg": "station keeping",
    "xpi_db": "isolation",
}


def remarks(network: Network, of: Satellite, own: Mapping[str, Any], left: int) -> Iterator[str]:
    """Yield what was taken from the network for a satellite, and what was left out.

    Parameters
    ----------
    network : Network
        The project's.
    of : Satellite
        What is told of the satellite.
    own : mapping
        Tables of beams, contours and neighbours that are its own.
    left : int
        How many of the network's neighbours with levels do not stand beside it.
    """
    words = english()
    other = not is_same(of.longitude_deg, network.satellite.longitude_deg)
    figures = ", ".join((*_untold(of, own), *_given(network)))
    if figures:
        yield words.one("compare.as_network" if other else "compare.as_planned", figures=figures)
    if network.beams or network.contours:
        yield words["compare.beams_left" if of.levels or of.files else "compare.beams_kept"]
    if "neighbours" not in own:
        if left:
            yield words.one("compare.neighbours_left", count=left)
        if of.neighbours_deg is None and (network.satellite.neighbours_deg or network.neighbours):
            yield words["compare.neighbours_kept" if other else "compare.neighbours_same"]
    yield words["compare.rest_kept"]


def _untold(of: Satellite, own: Mapping[str, Any]) -> Iterator[str]:
    """Yield the levels that nobody told, with their way where the other way's was told."""
    for level, name in _NAMES.items():
        ways = [way for way in _WAYS if not _is_told(of, own, way, level)]
        if ways:
            yield name if len(ways) == len(_WAYS) else f"{ways[0]} {name}"


def _is_told(of: Satellite, own: Mapping[str, Any], way: str, level: str) -> bool:
    """Whether a row, its contours or each of its beams tells a level of one way."""
    if any(LEVEL_KEYS[key][0] == level and way in LEVEL_KEYS[key][1] for key in of.levels):
        return True
    if any(_DRAWN.get(each.get("direction")) == (way, level) for each in own.get("contours", ())):
        return True
    beams = [beam for beam in own.get("beams", ()) if isinstance(beam, Mapping)]
    return bool(beams) and all(level in (beam.get(way) or {}) for beam in beams)


def _given(network: Network) -> Iterator[str]:
    """Yield what else the network tells of its own satellite."""
    given = network.outbound.model_fields_set | network.inbound.model_fields_set
    for name, keys in _CARRIED.items():
        if given & set(keys):
            yield name
    for key, name in _OF_SATELLITE.items():
        if key in network.satellite.model_fields_set:
            yield name
