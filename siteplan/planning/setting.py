"""What every result of a plan rests on: geometry, climate, links, sizing, availability."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.geometry import LookAngles, look_angles
from siteplan.physics.angles.magnetic import MagneticField, magnetic_field
from siteplan.physics.propagation.climate import Climate, site_climate, topographic_altitude_m
from siteplan.planning.flags import METHOD_ELEVATION_DEG
from siteplan.planning.kit.pick import Catalogue, Installed, Sizing, catalogue, size
from siteplan.planning.link.availability import Achieved, inbound_achieved, outbound_achieved
from siteplan.planning.link.budget import (
    HubEnd,
    Links,
    Weather,
    hub_end,
    links,
    required_db,
    weather,
)

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Setting:
    """What is the same for all sites of a plan, worked out once."""

    network: Network
    date: dt.date
    kinds: Catalogue
    hub: HubEnd

    @property
    def floor_deg(self) -> float:
        """Elevation under which no kit is picked [deg]: the rule's, and the methods'."""
        return max(self.network.rules.min_elevation_deg, METHOD_ELEVATION_DEG)


def setting(network: Network, today: dt.date | None = None) -> Setting:
    """Return what all sites share: the plan's date, the catalogue, the hub's end of the link.

    Raises
    ------
    NetworkError
        If a MODCOD is unknown or the hub does not see the satellite.
    """
    date = network.network.date or today or dt.date.today()
    for table, carrier in (("outbound", network.outbound), ("inbound", network.inbound)):
        required_db(table, carrier)
    return Setting(network, date, catalogue(network), hub_end(network))


@dataclass(frozen=True)
class Worked:
    """What the steps have worked out for n sites, for the columns to be made from."""

    sites: Sites
    shared: Setting
    altitude_m: FloatArray
    angles: LookAngles
    field: MagneticField
    climate: Climate
    target_pct: FloatArray
    link: Links
    weather: Weather
    sizing: Sizing
    achieved: tuple[Achieved, Achieved]

    @property
    def missing(self) -> NDArray[np.bool_]:
        """Where an antenna or a BUC is missing."""
        return np.isnan(self.sizing.kit.antenna_m) | np.isnan(self.sizing.kit.buc_w)


def work_out(sites: Sites, shared: Setting) -> Worked:
    """Return what every column rests on: geometry, climate, links, sizing, availability."""
    network = shared.network
    altitude_m = _altitude_m(sites)
    angles = look_angles(sites.lat, sites.lon, altitude_m, network.satellite.longitude_deg)
    field = magnetic_field(sites.lat, sites.lon, altitude_m, shared.date)
    climate = site_climate(sites.lat, sites.lon, altitude_m / 1000)
    link = links(network, angles, climate, shared.hub)
    given = ~np.isnan(sites.availability_pct)
    target = np.where(given, sites.availability_pct, network.network.availability_pct)
    at = weather(link, 100 - target)
    installed = Installed(sites.fixed_antenna_m, sites.fixed_buc_w)
    sizing = size(link, shared.kinds, installed, at, angles.elevation_deg >= shared.floor_deg)
    achieved = outbound_achieved(link, sizing.kit), inbound_achieved(link, sizing.kit)
    return Worked(
        sites, shared, altitude_m, angles, field, climate, target, link, at, sizing, achieved
    )


def _altitude_m(sites: Sites) -> FloatArray:
    """Return the altitude of each site [m]: given, else P.1511's."""
    given = ~np.isnan(sites.altitude_m)
    return np.where(given, sites.altitude_m, topographic_altitude_m(sites.lat, sites.lon))


def any_site_sees(sites: Sites, network: Network) -> bool:
    """Return whether the satellite stands above the horizon of any site."""
    angles = look_angles(sites.lat, sites.lon, 0.0, network.satellite.longitude_deg)
    return bool(np.any(angles.geometric_elevation_deg >= 0))
