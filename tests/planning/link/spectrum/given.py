"""Links whose every figure is given: one site, its sky and separations set by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.geometry import free_space_loss_db, spreading_loss_db_m2
from siteplan.planning.link.ends import Links
from siteplan.planning.plan import see
from siteplan.planning.setting import setting

#: Keys that make every source of interference count.
ALL_ON: dict[str, Any] = {
    "neighbours": [
        {"longitude_deg": -63.0, "uplink_dbw_40khz": 8.0},
        {"longitude_deg": -58.5, "downlink_level_db": -1.5, "hub_level_db": 1.0},
    ],
    "outbound": {"cross_polar_level_db": -2.0},
    "inbound": {"cross_polar_level_db": 1.0},
    "terminal": {"pointing_error_deg": 0.2},
}


def network(**tables: Any) -> Network:
    """Return a network with a satellite at 61 degrees west and a hub that is placed."""
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01"},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    }
    changed = {k: v if isinstance(v, list) else base.get(k, {}) | v for k, v in tables.items()}
    return Network.model_validate(base | changed)


def all_on(**tables: Any) -> Network:
    """Return the same with `ALL_ON`, tables changed beside."""
    changed = {k: v if isinstance(v, list) else ALL_ON.get(k, {}) | v for k, v in tables.items()}
    return network(**(ALL_ON | changed))


def links_at(checked: Network, lat: Sequence[float], lon: Sequence[float]) -> Links:
    """Return the links of points."""
    sites = Sites.at(np.array(lat, dtype=float), np.array(lon, dtype=float))
    return see(sites, setting(checked)).link


def worked_link(checked: Network, *, km: float, separations_deg: Sequence[float] = ()) -> Links:
    """Return a link of a given length behind a sky that radiates at 275 K, at both ends.

    Gas takes 0.12 dB of the site's uplink, 0.10 dB of the hub's downlink.
    """
    link = links_at(checked, [-3.1], [-60.0])
    far = np.full(1, km)
    up = replace(link.site.up, path=replace(link.site.up.path, gas_db=np.full(1, 0.12)))
    site = replace(
        link.site,
        up=up,
        radiating_k=np.full(1, 275.0),
        spreading_db_m2=spreading_loss_db_m2(far),
        free_space_db=free_space_loss_db(far, checked.outbound.downlink_ghz),
    )
    hub = replace(
        link.hub,
        radiating_k=np.full(1, 275.0),
        down_gas_db=np.full(1, 0.10),
        free_space_db=free_space_loss_db(far, checked.inbound.downlink_ghz),
    )
    others = link.interference
    if others is not None and separations_deg:
        others = replace(others, separation_deg=np.array(separations_deg)[:, None])
    return replace(link, site=site, hub=hub, interference=others)
