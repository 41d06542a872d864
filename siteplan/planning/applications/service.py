"""What the applications of sites ask for: traffic of the busy hour, and the delay of one hop."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextArray, TextColumn
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.constants import SPEED_OF_LIGHT_M_S
from siteplan.physics.propagation.climate import topographic_altitude_m
from siteplan.planning.applications.carried import asked, carried, names, target_sources
from siteplan.planning.capacity.traffic import offered_kbit_s
from siteplan.planning.place import Place
from siteplan.planning.step import Raised, flag

#: Speed of light [km/ms].
LIGHT_KM_MS = SPEED_OF_LIGHT_M_S / 1e6


@frozen(eq=False)
class Service(Arrays):
    """What the applications of sites (n,) ask for.

    ``least_ms`` is the shortest delay that any of a site's applications allows [ms], ``strictest``
    its name; NaN and '' where none sets any.
    """

    applications: TextColumn
    target_source: TextColumn
    outbound_offered_kbit_s: Column
    inbound_offered_kbit_s: Column
    hop_delay_ms: Column
    least_ms: FloatArray
    strictest: TextArray


def service(sites: Sites, at: Place, network: Network) -> Service | None:
    """Return what the applications of sites (n,) ask for; None of a network that lists none.

    What a site offers is the sum over its applications, a stream for many sites counted in full at
    each of them: that it is sent once is for the carriers to know. A site without applications
    offers what ``[traffic]`` says.
    """
    if not network.applications:
        return None
    here, each = carried(sites, network), asked(network)
    allowed = np.array([np.inf if of.max_delay_ms is None else of.max_delay_ms for of in each])
    theirs = np.where(here, allowed, np.inf)
    least = theirs.min(axis=1)
    called = np.array([of.name for of in each], dtype=object)[theirs.argmin(axis=1)]
    free = np.isinf(least)
    out, back = (_offered_kbit_s(sites, here, network, way) for way in ("outbound", "inbound"))
    return Service(
        applications=names(sites, network),
        target_source=target_sources(sites, network),
        outbound_offered_kbit_s=out,
        inbound_offered_kbit_s=back,
        hop_delay_ms=hop_delay_ms(at.slant_range_km, network),
        least_ms=np.where(free, np.nan, least),
        strictest=np.where(free, "", called).astype(object),
    )


def _offered_kbit_s(sites: Sites, here: BoolArray, network: Network, way: str) -> FloatArray:
    traffic = network.traffic
    rates = [of.sessions * getattr(of, f"{way}_kbit_s") * of.activity for of in asked(network)]
    own = getattr(sites, f"{way}_kbit_s")
    usual = offered_kbit_s(own, getattr(traffic, f"{way}_kbit_s"), traffic.activity)
    offered = np.where(here.any(axis=1), here @ np.array(rates, dtype=float), usual)
    return np.asarray(offered)


def hop_delay_ms(slant_range_km: FloatArray, network: Network) -> FloatArray:
    """Return the time from end to end over one hop [ms], one way.

    Up from the site and down to the hub, or the other way round, at the speed of light, and
    ``[traffic] processing_ms`` for modems and hub: (site's slant range + hub's) / c + processing.
    Where the hub is not placed its way counts as long as the site's: 2 x slant range / c +
    processing.

    Parameters
    ----------
    slant_range_km : (n,) array
        From the sites to the satellite; NaN where it is not seen.
    network : Network
    """
    hub_km = hub_range_km(network)
    both_km = 2 * slant_range_km if hub_km is None else slant_range_km + hub_km
    return np.asarray(both_km / LIGHT_KM_MS + network.traffic.processing_ms)


def hub_range_km(network: Network) -> float | None:
    """Return the way from the hub to the satellite [km]; None where no hub is placed."""
    hub, satellite = network.hub, network.satellite
    if hub.lat is None or hub.lon is None:
        return None
    lat, lon = np.array([hub.lat]), np.array([hub.lon])
    altitude_m = topographic_altitude_m(lat, lon)
    angles = look_angles(lat, lon, altitude_m, satellite.longitude_deg, tilt_deg=satellite.tilt_deg)
    return float(angles.slant_range_km[0])


def raised(of: Service | None) -> Iterator[Raised]:
    """Yield the flag of sites whose applications cannot wait for one hop."""
    if of is not None:
        told = {"hop_delay_ms": of.hop_delay_ms, "max_delay_ms": of.least_ms}
        yield flag("delay_too_long", of.hop_delay_ms > of.least_ms, name=of.strictest, **told)
