"""The roll-out of a plan as one answer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.rollout import RolloutPeriod, RolloutPlan, RolloutSite, WaveKit
from siteplan.arrays import IntArray
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network, Rollout
from siteplan.planning.capacity.traffic import busy_hours
from siteplan.planning.cost.counts import by_class
from siteplan.planning.cost.parts import parts
from siteplan.planning.rollout.order import (
    Sequence,
    has_waves,
    month_name,
    month_of,
    sequence,
    to_build,
    wave_column,
    week_date,
)
from siteplan.planning.rollout.periods import BUSY, Step, periods
from siteplan.prices import PARTS, UNPRICED, WORK, prices
from siteplan.results import Plan


def asked_for(sites: Sites, network: Network) -> bool:
    """Whether a roll-out may be told of: by ``[rollout]``, or by a column of waves."""
    return network.rollout.sites_per_week is not None or has_waves(sites.extra)


def busy(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    own: Mapping[str, Network],
) -> dict[str, NDArray[Any]]:
    """Return the table of what each of n sites offers, where a roll-out is told of.

    Parameters are those of `siteplan.planning.capacity.traffic.busy_hours`.
    """
    if not asked_for(sites, network):
        return {}
    return {BUSY: busy_hours(sites, columns, network, own)}


def rolled_out(plan: Plan, most: int) -> Plan:
    """Return a plan whose facts tell when its sites are built, where that is told of.

    Plans of more than ``most`` sites go without: their visits would take long to order.
    """
    found = rollout(plan) if len(plan) <= most else None
    return plan if found is None else replace(plan, facts=replace(plan.facts, rollout=found))


def rollout(plan: Plan) -> RolloutPlan | None:
    """Return the roll-out of a plan; None where none is told of.

    Parameters
    ----------
    plan : Plan
        All sites, with the table of what each offers.
    """
    if BUSY not in plan.tables:
        return None
    told, network = plan.network.rollout, plan.network
    waves = wave_column(plan.extra, len(plan))
    if told.sites_per_week is None and not any(waves.tolist()):
        return None
    order = sequence(plan.columns, waves, told)
    stands = np.flatnonzero(to_build(plan.columns)[1])
    by_month = told.sites_per_week is not None
    steps = tuple(_steps(order, stands, told))
    found = tuple(periods(plan, steps, by_month=by_month))
    priced = prices(network).any_price
    return RolloutPlan(
        sites=tuple(_sites(plan, order, stands, told)),
        periods=found,
        kit=tuple(_kit(plan, order)),
        by_month=by_month,
        priced=priced,
        first_overflow=_first(found),
        notes=tuple(_notes(plan, order, found, by_month=by_month)),
    )


def _steps(order: Sequence, stands: IntArray, told: Rollout) -> Iterator[Step]:
    """Yield the periods: months where weeks are told, else waves."""
    live = stands
    if told.sites_per_week is None:
        for name in dict.fromkeys(order.wave.tolist()):
            new = order.sites[order.wave == name]
            live = np.concatenate([live, new])
            yield Step(_wave_name(name), new, live)
        return
    month = np.array([month_of(week, told) for week in order.week.tolist()], dtype=np.intp)
    for k in range(int(month.max(initial=-1)) + 1):
        new = order.sites[month == k]
        live = np.concatenate([live, new])
        yield Step(month_name(k, told), new, live)


def _wave_name(name: str) -> str:
    return f"wave {name}" if name else "no wave"


def _sites(plan: Plan, order: Sequence, stands: IntArray, told: Rollout) -> Iterator[RolloutSite]:
    """Yield the sites in their order; then those that stand already, and those without kit."""
    words = english()
    for k, i in enumerate(order.sites.tolist()):
        week = int(order.week[k])
        yield RolloutSite(
            *_who(plan, i),
            wave=str(order.wave[k]),
            week=week or None,
            date=week_date(week, told),
            round=str(order.round[k]),
            position=int(order.position[k]),
        )
    here = np.zeros(len(plan), dtype=bool)
    here[order.sites] = True
    standing = set(stands.tolist())
    for i in np.flatnonzero(~here).tolist():
        state = words["rollout.stands" if i in standing else "rollout.no_kit"]
        yield RolloutSite(
            *_who(plan, i), wave="", week=None, date="", round="", position=None, state=state
        )


def _who(plan: Plan, i: int) -> tuple[str, str, str]:
    """Return a site's id, name and group."""
    c = plan.columns
    return str(c["site_id"][i]), str(c["name"][i]), str(c["group"][i])


def _kit(plan: Plan, order: Sequence) -> Iterator[WaveKit]:
    """Yield what each wave takes of each kind, in the order of the parts."""
    names = list(dict.fromkeys(order.wave.tolist()))
    which = np.full(len(plan), len(names), dtype=np.intp)
    which[order.sites] = [names.index(name) for name in order.wave.tolist()]
    offered = prices(plan.network)
    by_wave = by_class(parts(plan.columns), which, len(names) + 1)
    places = list(PARTS)
    for name, kinds in zip(names, by_wave, strict=False):
        for part, kind in sorted(kinds, key=lambda key: (places.index(key[0]), _size(key[1]))):
            if part in WORK and not offered.any_price:
                continue
            amount, price = kinds[part, kind].amount, offered.of(part, kind).price
            cost = 0.0 if part == UNPRICED and math.isnan(price) else amount * price
            yield WaveKit(name, part, kind, amount, PARTS[part], price, cost)


def _size(kind: str) -> tuple[float, str]:
    """Return what orders kinds of a part: sizes by size, names by name."""
    try:
        return float(kind), ""
    except ValueError:
        return 0.0, kind


def _first(found: tuple[RolloutPeriod, ...]) -> tuple[str, str]:
    """Return when something is first too small, and what."""
    first = next((of for of in found if of.overflows), None)
    return (first.period, first.overflows[0]) if first else ("", "")


def _notes(
    plan: Plan, order: Sequence, found: tuple[RolloutPeriod, ...], *, by_month: bool
) -> Iterator[str]:
    """Yield what is to be known of the figures, in sentences."""
    words = english()
    if by_month and plan.network.rollout.start is None:
        yield words["rollout.note.no_start"]
    if not by_month:
        yield words["rollout.note.no_weeks"]
    if (blank := int((order.wave == "").sum())) and len(set(order.wave.tolist())) > 1:
        yield words.one("rollout.note.no_wave", count=blank)
    if any(math.isnan(of.cumulative) for of in found):
        yield words["rollout.note.no_cost"]
    yield words["rollout.note.traffic"]
