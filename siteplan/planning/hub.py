"""What the hub's place means for every site: too low to plan, or a caution that all should read."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.errors import NetworkError
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.link.ends import HubEnd
from siteplan.planning.place import HEAVY_HUB_RAIN_MM_H, METHOD_ELEVATION_DEG
from siteplan.words import beside

#: Under so much elevation a hub's own sky deserves a second look [deg]; common practice, no source.
LOW_HUB_DEG = 10.0


def check(hub: HubEnd) -> None:
    """Raise where the hub sees the satellite lower than the methods for its rain hold.

    ITU-R P.618-14 and P.676-13 hold from 5 degrees of elevation. NaN, no place, is no fault.

    Raises
    ------
    NetworkError
        If it does.
    """
    if hub.elevation_deg < METHOD_ELEVATION_DEG:
        raise NetworkError(
            f"the hub sees the satellite at"
            f" {beside(hub.elevation_deg, METHOD_ELEVATION_DEG, 1)} deg: under"
            f" {METHOD_ELEVATION_DEG:g} deg the methods for its rain and gas do not hold, and every"
            " site's link rests on them.",
            where="network.toml, [hub] lat and lon",
            fix="Check their signs and [satellite] longitude_deg; else plan with another hub or"
            " satellite. Without lat and lon the plan goes without the hub's rain.",
        )


def short(hub: HubEnd) -> Iterator[str]:
    """Yield by how much a hub's amplifier lacks clear sky's power: which one, of several hubs."""
    if hub.short_db > 0:
        yield english().one("caution.hub_short", short_db=hub.short_db)


def cautions(hub: HubEnd, network: Network) -> Iterator[str]:
    """Yield what must be known of the hub before the plan is believed, in sentences.

    A hub that is not placed has no rain; where the sites are to have all of an outage, nobody asks.
    """
    if network.hub.lat is None and network.rules.hub_outage_share != 0:
        yield english()["caution.hub_unplaced"]
    if hub.elevation_deg < LOW_HUB_DEG:
        yield english().one("caution.hub_low", elevation_deg=hub.elevation_deg)
    rained_on = network.rules.hub_outage_share != 0 and hub.rain_rate_mm_h >= HEAVY_HUB_RAIN_MM_H
    if rained_on and network.hub.power_control_db == 0:
        yield english().one("caution.hub_rain", rain_rate_mm_h=hub.rain_rate_mm_h)
    if network.neighbours and network.hub.lat is None:
        yield english()["caution.hub_neighbours"]
