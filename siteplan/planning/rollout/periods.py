"""What the sites that work so far ask for: the lease, what is spent, what is too small."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
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
from siteplan.planning.capacity.traffic import summed
from siteplan.planning.cost.life import BASIS, own_months
from siteplan.results import Plan

#: Name of the table in ``Plan.tables``: what each site offers, (n, 1 + a, 2, 2).
BUSY: Final = "busy_hour"
#: What may be too small while sites are built; that more is leased is no overflow.
_TOO_SMALL: Final = ("outbound", "hpa", "transponder_band", "transponder_power")


class Step(NamedTuple):
    """A period: its name, the sites that are new in it (k,), and all that work at its end (m,)."""

    name: str
    new: IntArray
    live: IntArray


def lease_of(plan: Plan, rows: IntArray, here: BoolArray | None = None) -> Capacity:
    """Return what carries some sites of a plan and is leased for them, by the plan's own steps.

    ``here`` tells which applications each of the plan's sites has (n, a), where that is known.
    """
    network = plan.network
    here = applied(plan) if here is None else here
    now = network.model_copy(update={"traffic": network.traffic.model_copy(update={"years": 0})})
    return capacity(_loads(plan, rows, here), now, plan.facts.hubs)


def applied(plan: Plan) -> BoolArray:
    """Return which applications the sites of a plan have (n, a)."""
    return of_texts(plan.columns.get("applications"), len(plan), plan.network)


def _loads(plan: Plan, rows: IntArray, here: BoolArray) -> Iterator[PoolLoad]:
    """Yield the loads of some sites by pool, those of pools without any left out."""
    columns, busy, network = plan.columns, plan.tables[BUSY], plan.network
    wanted = np.zeros(len(plan), dtype=bool)
    wanted[rows] = True
    for pool in pools(columns, network, {}):
        of = pool.rows[wanted[pool.rows]]
        if len(of):
            strongest = np.nanmax(columns["power_equivalent_mhz"][of], initial=0.0)
            own = network_of(pool.name, network)
            yield summed(pool.name, busy[of], here[of], own, power_equivalent_mhz=float(strongest))


def periods(plan: Plan, steps: Sequence[Step], *, by_month: bool) -> Iterator[RolloutPeriod]:
    """Yield what each period comes to.

    Parameters
    ----------
    plan : Plan
        With the table `BUSY`.
    steps : sequence of Step
        In their order.
    by_month : bool
        Whether they are months, so that each has a month's costs.
    """
    spent, here = 0.0, applied(plan)
    for number, step in enumerate(steps):
        found = lease_of(plan, step.live, here)
        capex = _capex(plan.columns, step.new) + (_hub(plan.network) if number == 0 else 0.0)
        running = _running(plan, step.live, found) if by_month else math.nan
        spent += capex + (0.0 if math.isnan(running) else running)
        counts = [sum(len(pool.of(way)) for pool in found.pools) for way in ("outbound", "inbound")]
        yield RolloutPeriod(
            step.name, len(step.new), len(step.live), counts[0], counts[1],
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


def _running(plan: Plan, live: IntArray, found: Capacity) -> float:
    """Return what a month of some sites costs, lease and all; NaN where nothing of it is priced."""
    if not _runs(plan):
        return math.nan
    own = math.fsum(own_months(plan.tables[BASIS])[live].tolist())
    return own + (plan.network.costs.lease_mhz_month or 0.0) * found.leased_mhz
