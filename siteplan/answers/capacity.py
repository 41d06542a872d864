"""What the network carries and what is leased for it: loads, carriers, megahertz, years ahead."""

from __future__ import annotations

import itertools
import math

from siteplan.answers import _Answer
from siteplan.answers.transmission import TerminalType, merged
from siteplan.frozen import frozen


@frozen
class Demand:
    """What the sites of a pool offer for one application, in the units of `PoolLoad`.

    ``once`` says that one outbound stream serves all: it counts once, for the site that asks for
    most of a carrier's time. ``sessions`` counts those of all sites; pairs are outbound, inbound.
    """

    name: str
    sites: int
    sessions: int
    offered: tuple[int, int]
    asked: tuple[int, int]
    unrated: tuple[int, int]
    once: bool = False

    def plus(self, other: Demand) -> Demand:
        """Return the demand of both: the same application at other sites of the pool."""
        offered, asked = _both(self.offered, other.offered), _both(self.asked, other.asked)
        if self.once:
            offered = max(self.offered[0], other.offered[0]), offered[1]
            asked = max(self.asked[0], other.asked[0]), asked[1]
        return Demand(
            self.name,
            self.sites + other.sites,
            self.sessions + other.sessions,
            offered,
            asked,
            _both(self.unrated, other.unrated),
            once=self.once,
        )


@frozen
class PoolLoad:
    """What the sites of a pool offer in the busy hour, as whole numbers: parts of a plan add up.

    ``sites`` have kit and are counted, ``left_out`` have none. Offered traffic is in millionths of
    a bit a second, what it asks for of a carrier in 1e-12 of one; that is 0 where nobody knows what
    a carrier carries, and of the ``unrated`` sites, to which none ever gets through. ``told`` are
    the sites whose own traffic the sites table gives, or their applications. ``applied`` sites
    have applications: what they offer stands in ``demands``, by application, and apart from that
    of the others in ``offered``, ``asked`` and ``unrated``. ``power_equivalent_mhz`` is the largest
    of its terminals' inbound carriers in clear sky; 0 without any. Pairs are outbound and inbound.
    ``terminals`` are its terminals by type, where they were counted. ``weights`` are the sums of
    what each site's share of a lease goes by: a carrier's time that it takes, a stream for many
    sites in full at each. ``lined`` sites have a terrestrial line's cost told.
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
    applied: int = 0
    demands: tuple[Demand, ...] = ()
    weights: tuple[int, int] = (0, 0)
    lined: int = 0

    def offered_in_all(self, way: int) -> int:
        """Return what all sites offer, those with applications too; outbound (0), inbound (1)."""
        return self.offered[way] + sum(of.offered[way] for of in self.demands)

    def asked_in_all(self, way: int) -> int:
        """Return what that asks for of a carrier's time."""
        return self.asked[way] + sum(of.asked[way] for of in self.demands)

    def unrated_in_all(self, way: int) -> int:
        """Return how many sites have traffic for which no carrier's rate is known."""
        return self.unrated[way] + max((of.unrated[way] for of in self.demands), default=0)

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
            applied=self.applied + other.applied,
            demands=demands_added(self.demands, other.demands),
            weights=_both(self.weights, other.weights),
            lined=self.lined + other.lined,
        )


def demands_added(*parts: tuple[Demand, ...]) -> tuple[Demand, ...]:
    """Return demands with those of one application as one, in the order of their first."""
    found: dict[str, Demand] = {}
    for of in itertools.chain(*parts):
        found[of.name] = found[of.name].plus(of) if of.name in found else of
    return tuple(found.values())


def _both(one: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
    return one[0] + other[0], one[1] + other[1]


@frozen(eq=False)
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


@frozen(eq=False)
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


@frozen
class Overflow:
    """What is first too small, in which year from now, and what to do, in words.

    ``what`` is one of ``OVERFLOWS``.
    """

    what: str
    year: int
    text: str


#: What may be too small.
OVERFLOWS = ("outbound", "inbound", "hpa", "lease", "transponder_band", "transponder_power")


@frozen(eq=False)
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


@frozen(eq=False)
class Capacity(_Answer):
    """Traffic, carriers and lease of a plan, pool by pool.

    ``assumed`` are the keys that nobody gave and that the figures rest on; ``traffic_assumed``
    says that nobody told of any traffic, so that numbers of carriers stand for no demand at all.
    """

    pools: tuple[PoolCapacity, ...]
    leased_mhz: float
    traffic_assumed: bool
    assumed: tuple[str, ...] = ()
