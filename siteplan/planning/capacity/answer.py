"""Traffic, carriers and lease of a plan as one answer, from the counts of what sites offer."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from siteplan.answers.capacity import Capacity, PoolCapacity, PoolLoad
from siteplan.answers.hub import HubResult
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.capacity.carriers import need, rate_kbit_s, repeated
from siteplan.planning.capacity.growth import Amplifier, overflows_of, years_of
from siteplan.planning.capacity.lease import carriers, rounded_up_mhz, slots, total_mhz
from siteplan.planning.capacity.pools import WHOLE, network_of

#: What says how much traffic there is: where nobody gives any of it, there is no demand known.
_DEMAND = ("outbound_kbit_s", "inbound_kbit_s", "activity")
#: Keys of ``[traffic]`` that no number of carriers rests on.
_NO_LOAD = ("processing_ms",)
#: Keys of ``[traffic]`` that count with some accesses alone.
_OF_ACCESS = {"utilisation": ("assigned", "contention"), "blocking_pct": ("circuit",)}


def capacity(
    loads: Iterable[PoolLoad], network: Network, hubs: Iterable[HubResult] = ()
) -> Capacity:
    """Return what the network carries and what is leased for it, pool by pool.

    Parameters
    ----------
    loads : iterable of PoolLoad
        Of all sites, one a pool.
    network : Network
    hubs : iterable of HubResult
        What each gateway gives: its amplifier is judged where the network file gives one.
    """
    counted = tuple(loads)
    amplifiers = {name: one for hub in hubs for name, one in _amplifiers(hub)}
    usual = amplifiers.get(WHOLE, Amplifier())
    found = tuple(
        _pool(load, network_of(load.pool, network), amplifiers.get(load.pool, usual))
        for load in counted
    )
    told = any(sum(load.told) for load in counted)
    return Capacity(
        pools=found,
        leased_mhz=round(math.fsum(pool.leased_mhz for pool in found), 9),
        traffic_assumed=not told and not network.traffic.model_fields_set & set(_DEMAND),
        assumed=tuple(_assumed(counted, network)),
    )


def _amplifiers(hub: HubResult) -> Iterator[tuple[str, Amplifier]]:
    """Yield a gateway's amplifier by the names of the pools that it serves.

    Of its rated power each outbound carrier takes a like share, losses, power control and back-off
    included.
    """
    if not math.isnan(hub.hpa_w):
        own = Amplifier(hub.hpa_w, hub.needed_hpa_w / hub.carriers)
        yield from ((name, own) for name in hub.beams or (WHOLE,))


def _pool(load: PoolLoad, network: Network, amplifier: Amplifier) -> PoolCapacity:
    """Return what one pool needs."""
    pair, of = slots(load, network), need(load, network)
    years = years_of(load, network, pair, amplifier)
    return PoolCapacity(
        load=load,
        rates_kbit_s=(rate_kbit_s(load, 0), rate_kbit_s(load, 1)),
        carriers=carriers(load.pool, pair, of),
        leased_mhz=rounded_up_mhz(math.fsum(total_mhz(pair, of)), network.lease.step_mhz),
        years=years,
        overflows=overflows_of(years, network, pair, amplifier),
        notes=tuple(_notes(load, network)),
    )


def _notes(load: PoolLoad, network: Network) -> Iterator[str]:
    """Yield what is to be known of a pool's figures, in sentences."""
    words, traffic = english(), network.traffic
    now = need(load, network)
    if load.left_out:
        yield words.one("capacity.note.left_out", count=load.left_out)
    for k, way in enumerate(("outbound", "inbound")):
        if load.unrated_in_all(k) and load.asked_in_all(k):
            yield words.one("capacity.note.unrated", count=load.unrated_in_all(k), way=way)
    unknown = {"outbound": now.outbound_carriers is None, "inbound": now.inbound_carriers is None}
    if ways := [way for way, known in unknown.items() if known]:
        yield words.one("capacity.note.unknown", ways=" and ".join(ways))
    if not load.power_equivalent_mhz:
        yield words["capacity.note.no_terminal"]
    if traffic.access == "contention":
        yield words.one("capacity.note.contention", repeated_pct=100 * repeated(network))
    if traffic.access == "circuit" and load.told[1]:
        yield words["capacity.note.unlike_lines"]


def _assumed(loads: tuple[PoolLoad, ...], network: Network) -> Iterator[str]:
    """Yield the keys that nobody gave and that the figures rest on."""
    traffic, lease = network.traffic, network.lease
    for key in type(traffic).model_fields:
        counts = traffic.access in _OF_ACCESS.get(key, (traffic.access,))
        told = key in _NO_LOAD or all(_all_told(load, key) for load in loads)
        if key not in traffic.model_fields_set and counts and not told:
            yield f"traffic.{key}"
    yield from (f"lease.{k}" for k in type(lease).model_fields if k not in lease.model_fields_set)
    for way in ("outbound", "inbound"):
        if "frame_efficiency" not in getattr(network, way).model_fields_set:
            yield f"{way}.frame_efficiency"


def _all_told(load: PoolLoad, key: str) -> bool:
    """Whether sites or their applications give a key of ``[traffic]`` in all of a pool."""
    if key in ("activity", "access") and load.applied and load.applied == load.sites:
        return True
    way = {"outbound_kbit_s": 0, "inbound_kbit_s": 1}.get(key)
    return way is not None and load.told[way] == load.sites


def figures(found: Capacity) -> dict[str, Any]:
    """Return the answer as plain data, for the summary; what is not known is left out.

    Of carriers, which are alike, the first of each direction stands for all.
    """
    return {
        "leased_mhz": found.leased_mhz,
        "traffic_assumed": found.traffic_assumed,
        "assumed": list(found.assumed),
        "pools": [_figures(pool) for pool in found.pools],
    }


def _figures(pool: PoolCapacity) -> dict[str, Any]:
    names = ("outbound", "inbound")
    rates = zip(names, pool.rates_kbit_s, strict=True)
    carriers = {way: pool.of(way) for way in names}
    return {
        "pool": pool.load.pool,
        "sites": pool.load.sites,
        "left_out": pool.load.left_out,
        "leased_mhz": pool.leased_mhz,
        "carrier_kbit_s": _known(dict(rates)),
        "carriers": {way: len(those) for way, those in carriers.items()},
        "lease": {way: _carrier(those[0]) for way, those in carriers.items()},
        "years": [_known(asdict(year)) for year in pool.years],
        "overflows": [asdict(one) for one in pool.overflows],
        "notes": list(pool.notes),
    }


def _carrier(of: Any) -> dict[str, Any]:
    """Return what each carrier of a direction is leased, without its name and place."""
    apart = ("pool", "direction", "number", "centre_offset_mhz")
    return _known({k: v for k, v in asdict(of).items() if k not in apart})


def _known(values: dict[str, Any]) -> dict[str, Any]:
    """Return what is known, decimals that doubles make left off."""
    return {
        k: round(v, 9) + 0.0 if isinstance(v, float) else v
        for k, v in values.items()
        if v is not None and v == v  # noqa: PLR0124
    }
