"""The transmission plan: what an operator asks before a network is switched on, from the facts.

All of it rests on what a plan tells as a whole and on counts that merge, so that a plan in parts
gives the same.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from siteplan.answers.hub import HubResult
from siteplan.answers.transmission import (
    HubStation,
    TerminalStation,
    Transmission,
    merged,
)
from siteplan.network import Network
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.planning.capacity.basis import both, of_hub, of_terminals, of_tests, told
from siteplan.planning.capacity.groups import alike, beams_of, groups_of
from siteplan.planning.capacity.pools import network_of
from siteplan.planning.capacity.remarks import PlannedBeam, notes
from siteplan.results import Facts

if TYPE_CHECKING:
    from siteplan.answers.licence import Licence


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
        PlannedBeam(pool, network_of(pool.load.pool, network), _hub_of(pool.load.pool, facts.hubs))
        for pool in facts.capacity.pools
    ]
    counted = [key for key in facts.capacity.assumed if key in _OF_NUMBERS]
    groups = tuple(g for b in beams for g in groups_of(b.pool, b.network, b.hub, counted))
    hubs = tuple(_hubs(facts, network, beams))
    terminals = tuple(station for b in beams for station in _terminals(b))
    tests = of_tests(network)
    stations = (*(of.basis for of in hubs), *(of.basis for of in terminals))
    rests = both(*(of.basis for of in groups), *stations, tests)
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
        notes=tuple(notes(facts, network, beams, groups)),
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


def _hubs(facts: Facts, network: Network, beams: Sequence[PlannedBeam]) -> Iterator[HubStation]:
    """Yield the gateways that serve any pool."""
    licence = facts.licence
    asked: Sequence[Licence | None] = (licence, *licence.others) if licence else ()
    for hub, own in itertools.zip_longest(facts.hubs, asked[: len(facts.hubs)]):
        served = [b for b in beams if b.hub is hub]
        if served:
            yield _hub(hub, own, served)


def _hub(hub: HubResult, licence: Licence | None, served: Sequence[PlannedBeam]) -> HubStation:
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
        basis=of_hub(of, short=hub.short_db > 0),
    )


def _terminals(of: PlannedBeam) -> Iterator[TerminalStation]:
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
