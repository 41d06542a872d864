"""Hub antennas to compare: the hub's end of the link with each."""

from __future__ import annotations

from typing import NamedTuple

from siteplan.network import Network
from siteplan.planning.link.ends import HubEnd, hub_under, skies_behind
from siteplan.planning.link.hub.rained import HubSky


class Size(NamedTuple):
    """A hub antenna that is compared: its diameter [m], and network and hub's end with it."""

    diameter_m: float
    network: Network
    hub: HubEnd

    @property
    def key(self) -> str:
        """The head of the keys that its margins are counted by."""
        return f"{self.diameter_m:g}"


def sizes(network: Network, sky: HubSky) -> tuple[Size, ...]:
    """Return the antennas of ``[hub] antennas_m``, rising, but for the one that is planned.

    ``sky`` is the hub's, behind the antenna that is planned.
    """
    found, (paths, skies) = [], (sky.paths, sky.skies)
    for diameter_m in sorted(set(network.hub.antennas_m) - {network.hub.antenna_m}):
        other = network.hub.model_copy(update={"antenna_m": diameter_m})
        changed = network.model_copy(update={"hub": other})
        own = skies if paths is None or skies is None else skies_behind(changed, paths, skies)
        found.append(Size(diameter_m, changed, hub_under(changed, paths, own)))
    return tuple(found)
