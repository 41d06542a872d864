"""How many carriers the traffic of a pool asks for, and how full they are."""

from __future__ import annotations

import math
from typing import NamedTuple

from siteplan.answers.capacity import PoolLoad
from siteplan.network import Network
from siteplan.physics.radio.queues import MOST_LINES, lines_for, offered_to_slots
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
    outbound = math.nan if _unknown(load, 0) else factor * load.asked[0] / PER_CARRIER
    lines = lines_of(load, network, factor)
    return Need(
        outbound,
        None if math.isnan(outbound) else max(whole_up(outbound), 1),
        _inbound_carriers(load, network, factor, lines),
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
    return factor * load.offered[way] / PER_KBIT_S


def rate_kbit_s(load: PoolLoad, way: int) -> float:
    """Return what a carrier carries for a pool [kbit/s]: its bits over the time they take.

    The harmonic mean of the sites' rates, each weighed by its bits; NaN where nothing is known.
    """
    if not load.asked[way]:
        return math.nan
    return offered_kbit_s(load, way) / (load.asked[way] / PER_CARRIER)


def _unknown(load: PoolLoad, way: int) -> bool:
    """Whether nobody knows what a carrier carries: no site that has traffic has a rate."""
    return load.offered[way] > 0 and load.asked[way] == 0


def lines_of(load: PoolLoad, network: Network, factor: float = 1.0) -> int | None:
    """Return the lines of a pool's circuits by Erlang's loss formula; None for other accesses.

    A site with another rate than a line's counts as so many lines' worth of traffic.
    """
    traffic = network.traffic
    if traffic.access != "circuit" or traffic.inbound_kbit_s == 0:
        return None
    erlangs = offered_kbit_s(load, 1, factor) / traffic.inbound_kbit_s
    if erlangs > MOST_LINES / 2:
        return None
    return lines_for(erlangs, traffic.blocking_pct / 100)


def _inbound_carriers(
    load: PoolLoad, network: Network, factor: float, lines: int | None
) -> int | None:
    """Return the inbound carriers, one at least; None where that is not known."""
    traffic = network.traffic
    if _unknown(load, 1):
        return None
    if traffic.access != "circuit":
        return max(whole_up(factor * load.asked[1] / PER_CARRIER / traffic.used), 1)
    if not load.offered[1]:
        return 1
    if lines is None:
        return None
    each = math.floor(rate_kbit_s(load, 1) * traffic.used / traffic.inbound_kbit_s + _HAIR)
    return None if each == 0 else max(whole_up(lines / each), 1)


def repeated(network: Network) -> float:
    """Return the share of bursts by chance that meet another one, at the utilisation [ratio]."""
    return 1 - math.exp(-offered_to_slots(network.traffic.used))
