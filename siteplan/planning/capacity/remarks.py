"""What is to be known of a transmission plan, in sentences: what is unknown, what does not fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from siteplan.answers.capacity import Capacity, PoolCapacity
from siteplan.answers.hub import HubResult
from siteplan.answers.transmission import CarrierGroup
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.capacity.pools import WHOLE
from siteplan.results import Facts

#: Bands that overlap by less only touch [MHz].
_HERTZ_MHZ = 1e-6
#: So many beams are named in a sentence, and told of what is too small.
_NAMED = 5


class PlannedBeam(NamedTuple):
    """A pool with its network and its gateway."""

    pool: PoolCapacity
    network: Network
    hub: HubResult | None

    @property
    def name(self) -> str:
        """The pool's name."""
        return self.pool.load.pool


def notes(
    facts: Facts, network: Network, beams: Sequence[PlannedBeam], groups: Sequence[CarrierGroup]
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
    yield from _unlike_carriers(beams, facts.hubs)
    yield from _overlaps(beams, groups)
    yield from _too_small(found)


def _unlike_carriers(beams: Sequence[PlannedBeam], hubs: Sequence[HubResult]) -> Iterator[str]:
    """Yield where a hub's amplifier is worked out for another number of carriers than planned."""
    for hub in hubs:
        planned = sum(len(b.pool.of("outbound")) for b in beams if b.hub is hub)
        if planned and planned != hub.carriers:
            told = {"hub": hub.name, "planned": planned, "carriers": hub.carriers}
            yield english().one("transmission.hub_carriers", **told)


def _overlaps(beams: Sequence[PlannedBeam], groups: Sequence[CarrierGroup]) -> Iterator[str]:
    """Yield where outbound and inbound carriers of a pool stand on one another."""
    pairs = list(zip(beams, groups[::2], groups[1::2], strict=True))
    for end in ("uplink", "downlink"):
        if found := [b.name for b, out, back in pairs if _overlap(out, back, end)]:
            yield english().one("transmission.overlap", end=end, beams=_named(found))


def _overlap(one: CarrierGroup, other: CarrierGroup, end: str) -> bool:
    """Whether the blocks of two groups meet on the same polarization, up or down."""
    polarization = f"{end}_polarization"
    (low, high), (bottom, top) = (_block_mhz(of, end) for of in (one, other))
    meets = low < top - _HERTZ_MHZ and bottom < high - _HERTZ_MHZ
    return meets and getattr(one, polarization) == getattr(other, polarization)


def _block_mhz(of: CarrierGroup, end: str) -> tuple[float, float]:
    """Return the band that the carriers of a group occupy [MHz]."""
    centres = [1000 * getattr(centre, f"{end}_ghz") for centre in of.centres]
    half = of.occupied_mhz / 2
    return min(centres) - half, max(centres) + half


def _unknown(facts: Facts, network: Network, beams: Sequence[PlannedBeam]) -> Iterator[str]:
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
    for key, holds in _LACKS.items():
        if here := [b.name for b in beams if holds(b.network)]:
            text = words[f"transmission.{key}"]
            yield text if len(here) == len(beams) else _of(here, text)


#: What holds for the beams of some networks: the end of its sentence's key, and of which.
_LACKS: dict[str, Callable[[Network], bool]] = {
    "no_place": lambda network: network.hub.lat is None,
    "no_hpa": lambda network: network.hub.hpa_w is None,
    "no_modcod": lambda network: any(
        way.es_n0_db is not None for way in (network.outbound, network.inbound)
    ),
    "free": lambda network: network.inbound.power_share == "free",
}


def _of(beams: Sequence[str], text: str) -> str:
    """Return a sentence behind the names of the beams that it holds for."""
    more = f" and {len(beams) - _NAMED} more" if len(beams) > _NAMED else ""
    return english().one("caution.of_beams", beams=", ".join(beams[:_NAMED]) + more, caution=text)


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
