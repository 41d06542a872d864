"""What the sites of a plan share, worked out once: carriers, hub, catalogue, date."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import field
from functools import cached_property

from siteplan.errors import MapsError, NetworkError
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.physics.propagation.mapped import cloud_maps
from siteplan.physics.propagation.mapped.cloud_files import CloudFilesError
from siteplan.physics.propagation.mapped.cloud_maps import CloudMaps
from siteplan.planning.beams.footprints import Footprints, footprints
from siteplan.planning.hub import check
from siteplan.planning.kit.catalogue import Catalogue, catalogue
from siteplan.planning.link import coding
from siteplan.planning.link.ends import HubEnd, hub_under, required_db
from siteplan.planning.link.hub.rained import HubSky, hub_sky
from siteplan.planning.link.hub.sizes import Size, sizes
from siteplan.planning.link.spectrum.limits import Limits, limits
from siteplan.planning.place import METHOD_ELEVATION_DEG


@frozen
class Setting:
    """What is the same for all sites of a plan.

    ``network`` names the cloud maps in use, so that another process takes the same. ``hub_sky`` is
    what the hub's end was made of, to be asked under other rain. ``own`` holds
    the network of each beam that shares this setting by its name: empty where the network file's
    levels serve every site.
    """

    network: Network
    date: dt.date
    kinds: Catalogue
    hub: HubEnd
    hub_sky: HubSky
    clouds: cloud_maps.CloudMaps
    limits: Limits | None = None
    footprints: Footprints | None = None
    own: Mapping[str, Network] = field(default_factory=dict)

    @property
    def floor_deg(self) -> float:
        """Elevation under which no kit is picked [deg]: the rule's, and the methods'."""
        return max(self.network.rules.min_elevation_deg, METHOD_ELEVATION_DEG)

    @cached_property
    def hub_sizes(self) -> tuple[Size, ...]:
        """The hub's end with each antenna that the network file compares; made when asked for."""
        return sizes(self.network, self.hub_sky)

    @property
    def install_date(self) -> dt.date:
        """The date of the installation, else the plan's."""
        return self.network.network.install_date or self.date


def setting(network: Network, today: dt.date | None = None) -> Setting:
    """Return what all sites share: the date, the catalogue, the hub's end, the cloud maps.

    Raises
    ------
    NetworkError
        If a MODCOD is unknown, a pattern has no rows, contours cannot be used, or the hub does
        not see the satellite or sees it too low.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    check_patterns(network)
    date = network.network.date or today or dt.date.today()
    for table, carrier in (("outbound", network.outbound), ("inbound", network.inbound)):
        required_db(table, carrier)
        coding.check(table, carrier)
    clouds = clouds_of(network)
    named = with_cloud_maps(network, clouds.place)
    hub, sky = _hub_end(network, clouds)
    check(hub)
    return Setting(
        named, date, catalogue(network), hub, sky, clouds, limits(network), footprints(network)
    )


#: The hub's ends that were last made, newest last: a plan is checked, then made, with the same one.
_MADE: list[tuple[Network, CloudMaps, tuple[HubEnd, HubSky]]] = []
_MOST_KEPT = 8


def _hub_end(network: Network, clouds: CloudMaps) -> tuple[HubEnd, HubSky]:
    """Return the hub's end and its sky; its tables take as long as a plan of some sites."""
    for of, maps, made in _MADE:
        if maps is clouds and of == network:
            return made
    sky = hub_sky(network, clouds)
    made = hub_under(network, sky.paths, sky.skies), sky
    _MADE.append((network, clouds, made))
    del _MADE[:-_MOST_KEPT]
    return made


def check_patterns(network: Network) -> None:
    """Raise where a pattern comes from a file whose rows nobody has read.

    Raises
    ------
    NetworkError
        Naming the antenna or the hub.
    """
    for place in network.without_gains:
        raise NetworkError(
            'pattern = "file" has no rows: the file was not read.',
            where=f"network.toml, {place} pattern_file",
            fix="Read the network with siteplan.read_network(path), or give pattern_gains"
            " (siteplan.network.PatternGains).",
        )


def clouds_of(network: Network) -> cloud_maps.CloudMaps:
    """Return the cloud maps that a network names, else those at hand.

    Raises
    ------
    MapsError
        If the maps of the user's own cannot be used.
    """
    with told_as_ours():
        return cloud_maps.in_use(network.methods.cloud_maps)


@contextmanager
def told_as_ours() -> Iterator[None]:
    """Turn what is wrong with files of cloud maps into an error that a user can mend."""
    try:
        yield
    except CloudFilesError as error:
        raise MapsError(error.what, where=error.where, fix=error.fix) from None


def with_cloud_maps(network: Network, place: str | None) -> Network:
    """Return a network that names the place of its cloud maps."""
    if network.methods.cloud_maps == place:
        return network
    methods = network.methods.model_copy(update={"cloud_maps": place})
    return network.model_copy(update={"methods": methods})
