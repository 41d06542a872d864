"""How many carriers the traffic of a pool asks for, and how full they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from siteplan.answers.capacity import Demand, PoolLoad
from siteplan.network import Network
from siteplan.network.capacity.applications import Asked
from siteplan.physics.radio.queues import MOST_LINES, lines_for, offered_to_slots
from siteplan.planning.applications.carried import asked
from siteplan.planning.capacity.traffic import PER_CARRIER, PER_KBIT_S

#: What a quotient may pass a whole number by, for the digits of a double, and not ask for one more.
_HAIR = 1e-9


class Need(NamedTuple):
    """What the traffic of a pool asks for.

    ``outbound_load`` is the share of time that one outbound carrier needs, NaN if its rate is not
    known; a number of carriers or lines is None where it is not known, lines where there are none.
    """

    outbound_load: float
    outbound_carriers: int | None
    inbound_carriers: int | None
    lines: int | None


def need(load: PoolLoad, network: Network, factor: float = 1.0) -> Need:
    """Return what a pool's traffic asks for, times a factor of growth."""
    outbound = math.nan if _unknown(load, 0) else factor * load.asked_in_all(0) / PER_CARRIER
    circuits = tuple(circuits_of(load, network, factor))
    lines = _sum([of.lines for of in circuits]) if circuits else None
    return Need(
        outbound,
        None if math.isnan(outbound) else max(whole_up(outbound), 1),
        _inbound_carriers(load, network, factor, circuits),
        lines,
    )


def whole_up(number: float) -> int:
    """Return the whole number from a number up, what rounding alone puts beyond one apart.

    >>> whole_up(2.0000000000000004), whole_up(2.001)
    (2, 3)
    """
    return math.ceil(number - _HAIR * max(1.0, abs(number)))


def offered_kbit_s(load: PoolLoad, way: int, factor: float = 1.0) -> float:
    """Return what a pool offers [kbit/s], outbound (0) or inbound (1)."""
    return factor * load.offered_in_all(way) / PER_KBIT_S


def rate_kbit_s(load: PoolLoad, way: int) -> float:
    """Return what a carrier carries for a pool [kbit/s]: its bits over the time they take.

    The harmonic mean of the sites' rates, each weighed by its bits; NaN where nothing is known.
    """
    if not load.asked_in_all(way):
        return math.nan
    return offered_kbit_s(load, way) / (load.asked_in_all(way) / PER_CARRIER)


def _unknown(load: PoolLoad, way: int) -> bool:
    """Whether nobody knows what a carrier carries: no site that has traffic has a rate."""
    return load.offered_in_all(way) > 0 and load.asked_in_all(way) == 0


class Circuit(NamedTuple):
    """Circuits of one kind: the traffic of all sites, a line's rate, and the lines for it.

    ``lines`` is None where the traffic is beyond what is looked through.
    """

    offered_kbit_s: float
    line_kbit_s: float
    lines: int | None


def circuits_of(load: PoolLoad, network: Network, factor: float = 1.0) -> Iterator[Circuit]:
    """Yield a pool's circuits by Erlang's loss formula, those of all sites together.

    Those of ``[traffic]``, where its access is ``circuit`` and any site has it; then those of each
    application. A site with another rate than a line's counts as so many lines' worth of traffic.
    """
    traffic = network.traffic
    if (
        traffic.access == "circuit"
        and traffic.inbound_kbit_s > 0
        and load.applied < max(load.sites, 1)
    ):
        yield _circuit(factor * load.offered[1] / PER_KBIT_S, traffic.inbound_kbit_s, network)
    for of, demand in _with(load, network):
        if of.access == "circuit" and of.inbound_kbit_s > 0:
            offered = factor * demand.offered[1] / PER_KBIT_S
            yield _circuit(offered, of.inbound_kbit_s, network)


def _circuit(offered_kbit_s: float, line_kbit_s: float, network: Network) -> Circuit:
    erlangs = offered_kbit_s / line_kbit_s
    known = erlangs <= MOST_LINES / 2
    lines = lines_for(erlangs, network.traffic.blocking_pct / 100) if known else None
    return Circuit(offered_kbit_s, line_kbit_s, lines)


def _with(load: PoolLoad, network: Network) -> Iterator[tuple[Asked, Demand]]:
    """Yield the applications of a pool, each with its demand."""
    each = {of.name: of for of in asked(network)}
    yield from ((each[demand.name], demand) for demand in load.demands)


def _sum(counts: list[int | None]) -> int | None:
    """Return the sum of counts; None where one is not known."""
    known = [count for count in counts if count is not None]
    return sum(known) if len(known) == len(counts) else None


def _inbound_carriers(
    load: PoolLoad, network: Network, factor: float, circuits: tuple[Circuit, ...]
) -> int | None:
    """Return the inbound carriers, one at least; None where that is not known.

    Turns given out, chance and circuits share carriers: each asks for a part of their time by its
    own utilisation, and the sum is rounded up once.
    """
    if _unknown(load, 1):
        return None
    parts = [factor * time / PER_CARRIER / share for time, share in _times(load, network)]
    for of in circuits if load.offered_in_all(1) else ():
        each = _lines_each(load, network, of)
        if of.lines is None or each == 0:
            return None
        parts.append(of.lines / each)
    return max(whole_up(math.fsum(parts)), 1)


def _times(load: PoolLoad, network: Network) -> Iterator[tuple[int, float]]:
    """Yield what is asked of carriers' time, circuits apart, and what of it may be used."""
    if network.traffic.access != "circuit":
        yield load.asked[1], network.traffic.used
    for of, demand in _with(load, network):
        if of.access != "circuit":
            yield demand.asked[1], network.traffic.used_by(of.access)


def _lines_each(load: PoolLoad, network: Network, of: Circuit) -> int:
    """Return how many lines one inbound carrier holds."""
    return math.floor(
        rate_kbit_s(load, 1) * network.traffic.used_by("circuit") / of.line_kbit_s + _HAIR
    )


def repeated(network: Network) -> float:
    """Return the share of bursts by chance that meet another one, at the utilisation [ratio]."""
    return 1 - math.exp(-offered_to_slots(network.traffic.used))
