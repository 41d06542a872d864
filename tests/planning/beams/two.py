"""Two beams that overlap, with carriers and a hub of their own, over the sample's sites."""

from __future__ import annotations

from functools import cache
from typing import Any

from siteplan.jobs.opened import find, opened
from siteplan.model import Sites
from siteplan.network import Network
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
WEST: dict[str, Any] = {
    "name": "west", "lat": -5.5, "lon": -66.5, "major_deg": 2.0, "minor_deg": 1.4,
    "outbound": {"satellite_eirp_dbw": 50.0},
    "inbound": {"satellite_g_t_db_k": 2.5, "sfd_dbw_m2": -90.0},
}  # fmt: skip
EAST: dict[str, Any] = {
    "name": "east", "lat": -4.0, "lon": -60.5, "major_deg": 2.0, "minor_deg": 1.4,
    "outbound": {"satellite_eirp_dbw": 47.5, "downlink_ghz": 12.3,
                 "downlink_polarization": "horizontal"},
    "hub": {"lat": -1.45, "lon": -48.5},
}  # fmt: skip


@cache
def sites_and_network() -> tuple[Sites, Network]:
    """The sample's sites and its network, without beams."""
    project, network = find(SAMPLE)
    return opened(project, network).site_list.sites, network


def with_beams(network: Network, *beams: dict[str, Any], **over: Any) -> Network:
    """A network with beams, and with other tables."""
    given = {k: getattr(network, k) for k in network.model_fields_set}
    return Network.model_validate({**given, "beams": list(beams), **over})
