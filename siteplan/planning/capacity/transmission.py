"""The transmission plan: what an operator asks before a network is switched on, from the facts.

All of it rests on what a plan tells as a whole and on counts that merge, so that a plan in parts
gives the same.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from siteplan.answers import Licence
from siteplan.answers.capacity import Capacity, PoolCapacity
from siteplan.answers.hub import HubResult
from siteplan.answers.transmission import (
    CarrierGroup,
    HubStation,
    TerminalStation,
    Transmission,
    merged,
)
from siteplan.messages import english
from siteplan.network import Network
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.planning.capacity.basis import both, of_hub, of_terminals, of_tests, told
from siteplan.planning.capacity.groups import alike, beams_of, groups_of
from siteplan.planning.capacity.pools import WHOLE, network_of
from siteplan.results import Facts

#: So many beams are named in a sentence.
_NAMED = 5


class _Beam(NamedTuple):
    """A pool with its network and its gateway."""

    pool: PoolCapacity
    network: Network
    hub: HubResult | None

    @property
    def name(self) -> str:
        return self.pool.load.pool


def transmission(facts: Facts, network: Network) -> Transmission | None:
    """Return the transmission plan; None of facts without a capacity.

    Parameters
    ----------
    facts : Facts
        Of the whole plan, with capacity, hubs and licence.
    network : Network
    """
    if facts.capacity is None:
        return None
    beams = [
        _Beam(pool, network_of(pool.load.pool, network), _hub_of(pool.load.pool, facts.hubs))
        for pool in facts.capacity.pools
    ]
    counted = [key for key in facts.capacity.assumed if key in _OF_NUMBERS]
    groups = tuple(g for b in beams for g in groups_of(b.pool, b.network, b.hub, counted))
    hubs = tuple(_hubs(facts, network, beams))
    terminals = tuple(station for b in beams for station in _terminals(b))
    tests = of_tests(network)
    rests = both(*(of.basis for of in (*groups, *hubs, *terminals)), tests)
    return Transmission(
        groups=groups,
        alike=alike(groups),
        hubs=hubs,
        terminals=terminals,
        types=_types(terminals),
        leased_mhz=facts.capacity.leased_mhz,
        cross_polar_db=network.site.cross_polar_db,
        acceptance_db=network.site.acceptance_db,
        masks=tuple(mask.name for mask in facts.licence.masks) if facts.licence else (),
        notes=tuple(_notes(facts, network, beams, groups)),
        assumed=told(rests, [b.network for b in beams] or [network]),
        basis=tests,
    )


#: What numbers of carriers rest on.
_OF_NUMBERS = tuple(
    f"traffic.{key}"
    for key in ("outbound_kbit_s", "inbound_kbit_s", "activity", "access", "utilisation",
                "blocking_pct")
)  # fmt: skip


def _hub_of(pool: str, hubs: Sequence[HubResult]) -> HubResult | None:
    """Return the gateway of a pool; the only one serves all."""
    if len(hubs) == 1:
        return hubs[0]
    return next((hub for hub in hubs if pool in hub.beams), None)


# --- stations -------------------------------------------------------------------------------


def _hubs(facts: Facts, network: Network, beams: Sequence[_Beam]) -> Iterator[HubStation]:
    """Yield the gateways that serve any pool."""
    licence = facts.licence
    asked: Sequence[Licence | None] = (licence, *licence.others) if licence else ()
    for hub, own in itertools.zip_longest(facts.hubs, asked[: len(facts.hubs)]):
        served = [b for b in beams if b.hub is hub]
        if served:
            yield _hub(hub, own, served)


def _hub(hub: HubResult, licence: Licence | None, served: Sequence[_Beam]) -> HubStation:
    of = served[0].network
    allowed = licence.hub.allowed_feed_w if licence else math.nan
    return HubStation(
        name=hub.name,
        beams=tuple(name for b in served for name in beams_of(b.pool)),
        lat=math.nan if of.hub.lat is None else of.hub.lat,
        lon=math.nan if of.hub.lon is None else of.hub.lon,
        antenna_m=hub.antenna_m,
        tx_gain_dbi=hub.tx_gain_dbi,
        g_t_db_k=hub.g_t_clear_db_k,
        carriers=hub.carriers,
        eirp_dbw=hub.eirp_dbw,
        feed_w=hub.feed_w,
        greatest_feed_w=hub.feed_w * 10 ** (hub.control_db / 10),
        allowed_feed_w=allowed,
        mask=hub.mask,
        hpa_w=hub.hpa_w,
        needed_hpa_w=hub.needed_hpa_w,
        hpa_backoff_db=hub.hpa_backoff_db,
        power_control_db=hub.control_db,
        redundancy=hub.redundancy,
        basis=of_hub(of),
    )


def _terminals(of: _Beam) -> Iterator[TerminalStation]:
    """Yield the types of terminals of a pool."""
    ghz, basis = of.network.inbound.uplink_ghz, of_terminals(of.network)
    for one in of.pool.load.terminals:
        gain = float(gain_dbi(one.antenna_m, one.efficiency, ghz))
        yield TerminalStation(beams_of(of.pool), one, ghz, gain, basis)


def _types(terminals: Iterable[TerminalStation]) -> tuple[TerminalStation, ...]:
    """Return types with those of beams that send at one frequency told once, by size."""
    found: dict[tuple[tuple[float, float, float], float], TerminalStation] = {}
    for of in terminals:
        key = of.type.kind, of.uplink_ghz
        if key not in found:
            found[key] = of
            continue
        known = found[key]
        (type_,) = merged(known.type, of.type)
        figures = known.basis[0] | of.basis[0], tuple(both(known.basis, of.basis))
        found[key] = replace(known, beams=(*known.beams, *of.beams), type=type_, basis=figures)
    return tuple(found[key] for key in sorted(found))


# --- in words -------------------------------------------------------------------------------


def _notes(
    facts: Facts, network: Network, beams: Sequence[_Beam], groups: Sequence[CarrierGroup]
) -> Iterator[str]:
    """Yield what is to be known of the figures, in sentences: first what is not known."""
    words, found = english(), facts.capacity
    assert found is not None
    yield from _unknown(facts, network, beams)
    if found.traffic_assumed:
        yield words["transmission.traffic"]
    if any(len(of.centres) > 1 for of in groups):
        yield words["transmission.tune"]
    if any(of.least_satellite_eirp_dbw != of.satellite_eirp_dbw
           for of in groups if not math.isnan(of.satellite_eirp_dbw)):  # fmt: skip
        yield words["transmission.contours"]
    yield from _too_small(found)


def _unknown(facts: Facts, network: Network, beams: Sequence[_Beam]) -> Iterator[str]:
    """Yield what is not known, and why."""
    words = english()
    if not beams:
        yield words["transmission.no_beam"]
    without = [b.name for b in beams if not b.pool.load.terminals]
    if without:
        yield words.one("transmission.no_terminal", beams=_named(without))
    named = {b.name for b in beams}
    if unused := [beam.name for beam in network.beams if beam.name not in named]:
        yield words.one("transmission.unused", beams=_named(unused))
    if facts.licence is None:
        yield words["transmission.no_mask"]
    if any(b.network.hub.lat is None for b in beams):
        yield words["transmission.no_place"]
    if any(b.network.hub.hpa_w is None for b in beams):
        yield words["transmission.no_hpa"]
    if any(way.es_n0_db is not None for b in beams
           for way in (b.network.outbound, b.network.inbound)):  # fmt: skip
        yield words["transmission.no_modcod"]
    if any(b.network.inbound.power_share == "free" for b in beams):
        yield words["transmission.free"]


def _too_small(found: Capacity) -> Iterator[str]:
    """Yield what is too small already, each sentence once."""
    several = len(found.pools) > 1
    for pool in found.pools[:_NAMED]:
        for one in pool.overflows:
            if one.year == 0:
                yield f"{pool.load.pool}: {one.text}" if several else one.text


def _named(beams: Sequence[str]) -> str:
    """Return beams by name; the pool of a network without beams has none."""
    if list(beams) == [WHOLE]:
        return english()["transmission.of_network"]
    more = f" and {len(beams) - _NAMED} more" if len(beams) > _NAMED else ""
    return english().one("transmission.of_beams", beams=", ".join(beams[:_NAMED]) + more)
