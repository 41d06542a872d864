"""What the sites of a plan share, worked out once: carriers, hub, catalogue, date."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from siteplan.network import Network
from siteplan.planning.kit.catalogue import Catalogue, catalogue
from siteplan.planning.link.ends import HubEnd, hub_end, required_db
from siteplan.planning.place import METHOD_ELEVATION_DEG


@dataclass(frozen=True)
class Setting:
    """What is the same for all sites of a plan."""

    network: Network
    date: dt.date
    kinds: Catalogue
    hub: HubEnd

    @property
    def floor_deg(self) -> float:
        """Elevation under which no kit is picked [deg]: the rule's, and the methods'."""
        return max(self.network.rules.min_elevation_deg, METHOD_ELEVATION_DEG)

    @property
    def install_date(self) -> dt.date:
        """The date of the installation, else the plan's."""
        return self.network.network.install_date or self.date


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
