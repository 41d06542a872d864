"""Small plans whose sun transits lie where clocks and calendars go wrong."""

from __future__ import annotations

import numpy as np

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan


def sun_plan(
    *places: tuple[float, float],
    satellite_deg: float,
    date: str = "2026-02-01",
    network_zone: str = "",
    own_zones: tuple[str, ...] = (),
) -> Plan:
    """Return a plan of places (lat, lon), with the tables of transits, all in one group."""
    lat, lon = (np.array(values) for values in zip(*places, strict=True))
    zones = np.array(own_zones or [""] * len(places), dtype=object)
    network = Network.model_validate(
        {
            "network": {"date": date, "timezone": network_zone},
            "satellite": {"longitude_deg": satellite_deg},
            "hub": {"lat": float(lat[0]), "lon": float(lon[0])},
        }
    )
    sites = Sites.at(lat, lon, timezone=zones)
    return make_plan(sites, network, with_tables=True)
