"""The hub's end under other rain than the method's: its skies kept, its tables made anew."""

from __future__ import annotations

from dataclasses import replace

from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.physics.propagation.attenuation import Attenuation
from siteplan.physics.propagation.mapped.cloud_maps import CloudMaps
from siteplan.planning.link.ends import HubEnd, HubPaths, HubSkies, hub_paths, in_rain, skies_over


@frozen
class HubSky:
    """The hub's paths, None where it has no place; the sky over them, None where no rain counts."""

    network: Network
    paths: HubPaths | None
    skies: HubSkies | None

    def with_rain(self, hub: HubEnd, scale: float) -> HubEnd:
        """Return the hub's end with so many times the rain's attenuation at each percentage."""
        if self.paths is None or self.skies is None or scale == 1:
            return hub
        scaled = rained(self.skies.up, scale), rained(self.skies.down, scale)
        return in_rain(self.network, hub, self.paths, HubSkies(self.skies.p_pct, *scaled))


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
    paths = hub_paths(network, clouds)
    return HubSky(network, paths, skies_over(network, paths))
