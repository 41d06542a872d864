"""The hub's end under other rain than the method's: its skies kept, its tables made anew."""

from __future__ import annotations

from dataclasses import dataclass, replace

from siteplan.network import Network
from siteplan.physics.propagation.attenuation import Attenuation
from siteplan.physics.propagation.mapped.cloud_maps import CloudMaps
from siteplan.planning.link.ends import HubEnd, HubPaths, HubSkies, hub_paths, hub_tables, in_rain


@dataclass(frozen=True)
class HubSky:
    """The hub's paths and the sky over them; None where its rain is not counted."""

    network: Network
    over: tuple[HubPaths, HubSkies] | None

    def with_rain(self, hub: HubEnd, scale: float) -> HubEnd:
        """Return the hub's end with so many times the rain's attenuation at each percentage."""
        if self.over is None or scale == 1:
            return hub
        paths, skies = self.over
        scaled = rained(skies.up, scale), rained(skies.down, scale)
        return in_rain(self.network, hub, paths, HubSkies(skies.p_pct, *scaled))


def rained(sky: Attenuation, scale: float) -> Attenuation:
    """Return a sky with so many times its rain."""
    return replace(sky, rain=sky.rain * scale)


def hub_sky(network: Network, clouds: CloudMaps) -> HubSky:
    """Return the sky over a network's hub.

    Raises
    ------
    NetworkError
        If the hub does not see the satellite.
    """
    paths = None if network.rules.hub_outage_share == 0 else hub_paths(network, clouds)
    return HubSky(network, None if paths is None else (paths, hub_tables(network, paths)))
