"""What the network carries and what is leased for it: loads, carriers, megahertz, years ahead."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.answers import _Answer
from siteplan.answers.transmission import TerminalType, merged


@dataclass(frozen=True, slots=True)
class PoolLoad:
    """What the sites of a pool offer in the busy hour, as whole numbers: parts of a plan add up.

    ``sites`` have kit and are counted, ``left_out`` have none. Offered traffic is in millionths of
    a bit a second, what it asks for of a carrier in 1e-12 of one; that is 0 where nobody knows what
    a carrier carries, and of the ``unrated`` sites, to which none ever gets through. ``told`` are
    the sites whose own traffic the sites table gives. ``power_equivalent_mhz`` is the largest of
    its terminals' inbound carriers in clear sky; 0 without any. Pairs are outbound and inbound.
    ``terminals`` are its terminals by type, where they were counted.
    """

    pool: str
    sites: int = 0
    left_out: int = 0
    offered: tuple[int, int] = (0, 0)
    asked: tuple[int, int] = (0, 0)
    unrated: tuple[int, int] = (0, 0)
    told: tuple[int, int] = (0, 0)
    power_equivalent_mhz: float = 0.0
    terminals: tuple[TerminalType, ...] = ()

    def plus(self, other: PoolLoad) -> PoolLoad:
        """Return the load of both: other sites of the same pool."""
        return PoolLoad(
            pool=self.pool,
            sites=self.sites + other.sites,
            left_out=self.left_out + other.left_out,
            offered=_both(self.offered, other.offered),
            asked=_both(self.asked, other.asked),
            unrated=_both(self.unrated, other.unrated),
            told=_both(self.told, other.told),
            power_equivalent_mhz=max(self.power_equivalent_mhz, other.power_equivalent_mhz),
            terminals=merged(*self.terminals, *other.terminals),
        )


def _both(one: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
    return one[0] + other[0], one[1] + other[1]


@dataclass(frozen=True, slots=True, eq=False)
class LeasedCarrier(_Answer):
    """One carrier of a lease: what it occupies, what its power is worth, what is leased for it.

    ``number`` counts the carriers of a direction in a pool. ``balance_db`` is its power-equivalent
    bandwidth over what it occupies: 0 where both are used up alike. There it gets by a change of
    its level by ``balancing_change_db``, or, its power kept, at ``balancing_msps``.
    ``centre_offset_mhz`` is its place in the frequency plan: from the middle of all carriers of its
    direction in the pool. What is not known is NaN.
    """

    pool: str
    direction: str
    number: int
    symbol_rate_msps: float
    occupied_mhz: float
    power_equivalent_mhz: float
    leased_mhz: float
    balance_db: float
    balancing_change_db: float
    balancing_msps: float
    centre_offset_mhz: float


@dataclass(frozen=True, slots=True, eq=False)
class CapacityYear(_Answer):
    """A pool in a year from now: its sites, what they offer, and what carries that.

    ``outbound_load`` is the time that one outbound carrier needs for a second of traffic: over 1
    it is overloaded; ``outbound_msps`` is the symbol rate that would just do. ``lines`` are those
    of circuits. ``leased_mhz`` is rounded up to the step of the lease; ``hpa_w`` the power that
    the hub's amplifier needs. What is not known is NaN, a number of carriers or lines then None.
    """

    year: int
    sites: float
    outbound_offered_kbit_s: float
    inbound_offered_kbit_s: float
    outbound_load: float
    outbound_msps: float
    outbound_carriers: int | None
    inbound_carriers: int | None
    lines: int | None
    power_equivalent_mhz: float
    leased_mhz: float
    hpa_w: float = math.nan


@dataclass(frozen=True, slots=True)
class Overflow:
    """What is first too small, in which year from now, and what to do, in words.

    ``what`` is one of ``OVERFLOWS``.
    """

    what: str
    year: int
    text: str


#: What may be too small.
OVERFLOWS = ("outbound", "inbound", "hpa", "lease", "transponder_band", "transponder_power")


@dataclass(frozen=True, slots=True, eq=False)
class PoolCapacity(_Answer):
    """What the sites that share inbound carriers need: now, and year by year.

    ``carriers`` and ``leased_mhz`` are today's, those of ``years[0]``. ``overflows`` go by year.
    ``rates_kbit_s`` are what a carrier carries for these sites, outbound and inbound: their
    traffic over the time that it needs. ``notes`` are sentences.
    """

    load: PoolLoad
    rates_kbit_s: tuple[float, float]
    carriers: tuple[LeasedCarrier, ...]
    leased_mhz: float
    years: tuple[CapacityYear, ...]
    overflows: tuple[Overflow, ...] = ()
    notes: tuple[str, ...] = ()

    def of(self, direction: str) -> tuple[LeasedCarrier, ...]:
        """Return today's carriers of a direction, in the order of the frequency plan."""
        return tuple(c for c in self.carriers if c.direction == direction)


@dataclass(frozen=True, slots=True, eq=False)
class Capacity(_Answer):
    """Traffic, carriers and lease of a plan, pool by pool.

    ``assumed`` are the keys that nobody gave and that the figures rest on; ``traffic_assumed``
    says that nobody told of any traffic, so that numbers of carriers stand for no demand at all.
    """

    pools: tuple[PoolCapacity, ...]
    leased_mhz: float
    traffic_assumed: bool
    assumed: tuple[str, ...] = ()
