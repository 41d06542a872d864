"""What the sites that work so far ask for: the lease, what is spent, what is too small."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.capacity import Capacity, PoolLoad
from siteplan.answers.rollout import RolloutPeriod
from siteplan.arrays import BoolArray, IntArray
from siteplan.network import Network
from siteplan.planning.applications.carried import of_texts
from siteplan.planning.capacity.answer import capacity
from siteplan.planning.capacity.pools import network_of, pools
from siteplan.planning.capacity.traffic import BUSY, summed
from siteplan.planning.cost.life import BASIS, own_months
from siteplan.results import Plan

#: What may be too small while sites are built; that more is leased is no overflow.
_TOO_SMALL: Final = ("outbound", "hpa", "transponder_band", "transponder_power")


class Step(NamedTuple):
    """A period: its name, and the sites that are new in it (k,)."""

    name: str
    new: IntArray


class Live:
    """The sites of a plan that work so far: what carries them, and what their months cost.

    What they offer adds up in whole numbers, what they cost in fractions: whoever joins in which
    order, the sums are those of all at once.
    """

    def __init__(self, plan: Plan) -> None:
        self.plan, self.sites = plan, 0
        self._here = applied(plan)
        self._pools = pools(plan.columns, plan.network, {})
        self._which = np.full(len(plan), -1)
        for k, pool in enumerate(self._pools):
            self._which[pool.rows] = k
        self._loads: dict[str, PoolLoad] = {}
        self._months = own_months(plan.tables[BASIS]) if _runs(plan) else np.zeros(len(plan))
        self._own, self._unknown = Fraction(0), False

    def join(self, rows: IntArray) -> None:
        """Let some sites (k,) work that did not."""
        self.sites += len(rows)
        which = self._which[rows]
        for k in sorted(set(which.tolist()) - {-1}):
            self._add(self._load(self._pools[k].name, rows[which == k]))
        months = self._months[rows]
        self._unknown |= bool(np.isnan(months).any())
        self._own += sum(map(Fraction, months[~np.isnan(months)].tolist()), Fraction(0))

    def _add(self, load: PoolLoad) -> None:
        """Add what some sites offer to what the others of their pool do, applications in order."""
        if load.pool in self._loads:
            load = self._loads[load.pool].plus(load)
            place = [of.name for of in self.plan.network.applications].index
            demands = sorted(load.demands, key=lambda of: place(of.name))
            load = replace(load, demands=tuple(demands))
        self._loads[load.pool] = load

    def _load(self, pool: str, rows: IntArray) -> PoolLoad:
        """Return what some sites of a pool offer."""
        plan = self.plan
        busy, own = plan.tables[BUSY][rows], network_of(pool, plan.network)
        strongest = np.nanmax(plan.columns["power_equivalent_mhz"][rows], initial=0.0)
        return summed(pool, busy, self._here[rows], own, power_equivalent_mhz=float(strongest))

    def lease(self) -> Capacity:
        """Return what carries the sites and is leased for them, by the plan's own steps."""
        network = self.plan.network
        today = network.traffic.model_copy(update={"years": 0})
        now = network.model_copy(update={"traffic": today})
        loads = [self._loads[name] for name in sorted(self._loads)]
        return capacity(loads, now, self.plan.facts.hubs)

    def month(self, found: Capacity) -> float:
        """Return what a month of the sites costs, lease and all; NaN where nothing is priced."""
        if not _runs(self.plan) or self._unknown:
            return math.nan
        lease = (self.plan.network.costs.lease_mhz_month or 0.0) * found.leased_mhz
        return float(self._own) + lease


def lease_of(plan: Plan, rows: IntArray) -> Capacity:
    """Return what carries some sites of a plan and is leased for them, by the plan's own steps."""
    live = Live(plan)
    live.join(rows)
    return live.lease()


def applied(plan: Plan) -> BoolArray:
    """Return which applications the sites of a plan have (n, a)."""
    return of_texts(plan.columns.get("applications"), len(plan), plan.network)


def periods(
    plan: Plan, stands: IntArray, steps: Iterable[Step], *, by_month: bool
) -> Iterator[RolloutPeriod]:
    """Yield what each period comes to.

    Parameters
    ----------
    plan : Plan
        With the table `siteplan.planning.capacity.traffic.BUSY`.
    stands : (k,) array
        The sites that work before.
    steps : iterable of Step
        In their order.
    by_month : bool
        Whether they are months, so that each has a month's costs.
    """
    spent, live = 0.0, Live(plan)
    live.join(stands)
    for number, step in enumerate(steps):
        live.join(step.new)
        found = live.lease()
        capex = _capex(plan.columns, step.new) + (_hub(plan.network) if number == 0 else 0.0)
        running = live.month(found) if by_month else math.nan
        spent += capex + (0.0 if math.isnan(running) else running)
        counts = [sum(len(pool.of(way)) for pool in found.pools) for way in ("outbound", "inbound")]
        yield RolloutPeriod(
            step.name, len(step.new), live.sites, counts[0], counts[1],
            found.leased_mhz, capex, running, spent, tuple(_overflows(found)),
        )  # fmt: skip


def _overflows(found: Capacity) -> Iterator[str]:
    """Yield what is too small already, in sentences."""
    several = len(found.pools) > 1
    for pool in found.pools:
        for one in pool.overflows:
            if one.what in _TOO_SMALL and one.year == 0:
                yield f"{pool.load.pool}: {one.text}" if several else one.text


def _capex(columns: Mapping[str, NDArray[Any]], rows: IntArray) -> float:
    """Return what some sites cost to build; NaN where a price is missing or none is given."""
    if "site_cost" not in columns:
        return math.nan
    return math.fsum(columns["site_cost"][rows].tolist())


def _hub(network: Network) -> float:
    return network.costs.hub_capex or 0.0


def _runs(plan: Plan) -> bool:
    return BASIS in plan.tables and plan.network.costs.runs
