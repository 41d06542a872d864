"""The roll-out of a plan as one answer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import IntArray, TextArray
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network, Rollout
from siteplan.planning.capacity.traffic import BUSY, busy_hours
from siteplan.planning.cost.counts import by_class
from siteplan.planning.cost.life import BASIS
from siteplan.planning.cost.parts import parts
from siteplan.planning.rollout.order import COLUMN as WAVE
from siteplan.planning.rollout.order import (
    VISITED_UP_TO,
    Sequence,
    has_waves,
    month_name,
    month_of,
    sequence,
    to_build,
    wave_column,
    week_date,
)
from siteplan.prices import PARTS, UNPRICED, WORK, prices
from siteplan.results import Plan

if TYPE_CHECKING:
    from siteplan.answers.rollout import RolloutPeriod, RolloutPlan, RolloutSite, WaveKit
    from siteplan.planning.rollout.periods import Step

#: The result fields that a roll-out reads, where a plan has them; what it asks for of tables.
COLUMNS: Final = (
    *("site_id", "name", "group", "lat", "lon", "beam", "applications", "power_equivalent_mhz"),
    *("antenna_m", "buc_w", "fixed_antenna_m", "fixed_buc_w", "mount", "mount_certainty"),
    *("ballast_kg", "cable_class", "ifl_length_m", "site_cost"),
)
TABLES: Final = (BUSY, BASIS)
#: Columns and tables of some sites, by name.
Laid = dict[str, NDArray[Any]]


def asked_for(extra: Mapping[str, NDArray[Any]], network: Network) -> bool:
    """Whether a roll-out may be told of: by ``[rollout]``, or by a user's column of waves."""
    return network.rollout.sites_per_week is not None or has_waves(extra)


def busy(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    own: Mapping[str, Network],
) -> dict[str, NDArray[Any]]:
    """Return the table of what each of n sites offers, where a roll-out is told of.

    Parameters are those of `siteplan.planning.capacity.traffic.busy_hours`.
    """
    if not asked_for(sites.extra, network):
        return {}
    return {BUSY: busy_hours(sites, columns, network, own)}


def rolled_out(plan: Plan) -> Plan:
    """Return a plan whose facts tell when its sites are built, where that is told of."""
    found = rollout(plan)
    return plan if found is None else replace(plan, facts=replace(plan.facts, rollout=found))


def laid(plan: Plan) -> Laid | None:
    """Return what a roll-out takes of a plan's sites, to be joined; None where none is told of."""
    if BUSY not in plan.tables:
        return None
    columns = {name: plan.columns[name] for name in COLUMNS if name in plan.columns}
    columns[WAVE] = wave_column(plan.extra, len(plan))
    return columns | {name: plan.tables[name] for name in TABLES if name in plan.tables}


def of_laid(pieces: list[Laid], plan: Plan) -> Plan:
    """Return a plan of the sites of all pieces with what a roll-out takes, and the facts of one.

    The list is emptied; a text that stands at many sites is held once.
    """
    found: Laid = {}
    for name in list(pieces[0]):
        found[name] = np.concatenate([_texts_once(piece.pop(name)) for piece in pieces])
    pieces.clear()
    tables: Laid = {name: found.pop(name) for name in TABLES if name in found}
    extra = {WAVE: found.pop(WAVE)}
    return replace(plan, columns=found, extra=extra, tables=tables)


def _texts_once(values: NDArray[Any]) -> NDArray[Any]:
    """Return texts (n,), equal ones as one object; numbers as they are."""
    if values.dtype != object:
        return values
    known: dict[Any, Any] = {}
    return np.array([known.setdefault(text, text) for text in values.tolist()], dtype=object)


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
    from siteplan.answers.rollout import RolloutPlan
    from siteplan.planning.rollout.periods import periods

    order = sequence(plan.columns, waves, told)
    stands = np.flatnonzero(to_build(plan.columns)[1])
    steps = _steps(order, told)
    by_month = told.sites_per_week is not None
    found = tuple(periods(plan, stands, steps, by_month=by_month))
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


def _steps(order: Sequence, told: Rollout) -> Iterator[Step]:
    """Yield the periods: months where weeks are told, else waves."""
    from siteplan.planning.rollout.periods import Step

    if told.sites_per_week is None:
        for name, rows in _runs(order.wave):
            yield Step(_wave_name(name), order.sites[rows])
        return
    month = np.array([month_of(week, told) for week in order.week.tolist()], dtype=np.intp)
    ends = np.searchsorted(month, np.arange(int(month.max(initial=-1)) + 2))
    for k, (first, last) in enumerate(pairwise(ends.tolist())):
        yield Step(month_name(k, told), order.sites[first:last])


def _runs(wave: TextArray) -> Iterator[tuple[str, slice]]:
    """Yield each wave's name and where its sites stand (k,): they stand together."""
    first = 0
    for name, run in groupby(wave.tolist()):
        last = first + sum(1 for _ in run)
        yield name, slice(first, last)
        first = last


def _wave_name(name: str) -> str:
    return f"wave {name}" if name else "no wave"


def _sites(plan: Plan, order: Sequence, stands: IntArray, told: Rollout) -> Iterator[RolloutSite]:
    """Yield the sites in their order; then those that stand already, and those without kit."""
    from siteplan.answers.rollout import RolloutSite

    words = english()
    dates = {week: week_date(week, told) for week in set(order.week.tolist())}
    for k, i in enumerate(order.sites.tolist()):
        week, position = int(order.week[k]), int(order.position[k])
        yield RolloutSite(
            *_who(plan, i),
            wave=str(order.wave[k]),
            week=week or None,
            date=dates[week],
            round=str(order.round[k]),
            position=position or None,
            remark="" if position else words["rollout.listed"],
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
    from siteplan.answers.rollout import WaveKit

    names = list(dict.fromkeys(order.wave.tolist()))
    place = {name: k for k, name in enumerate(names)}
    which = np.full(len(plan), len(names), dtype=np.intp)
    which[order.sites] = [place[name] for name in order.wave.tolist()]
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


def _listed(order: Sequence) -> bool:
    """Whether sites are built in the order of the list, not of visits."""
    return bool(len(order.position)) and not order.position.any()


def _notes(
    plan: Plan, order: Sequence, found: tuple[RolloutPeriod, ...], *, by_month: bool
) -> Iterator[str]:
    """Yield what is to be known of the figures, in sentences."""
    words = english()
    if _listed(order):
        yield words.one("rollout.note.listed", most=VISITED_UP_TO)
    if by_month and plan.network.rollout.start is None:
        yield words["rollout.note.no_start"]
    start, date = plan.network.rollout.start, plan.facts.date
    if by_month and start is not None and date and start.isoformat() < date:
        yield words.one("rollout.note.past", start=start.isoformat(), date=date)
    if not by_month:
        yield words["rollout.note.no_weeks"]
    if (blank := int((order.wave == "").sum())) and len(set(order.wave.tolist())) > 1:
        yield words.one("rollout.note.no_wave", count=blank)
    if any(math.isnan(of.cumulative) for of in found):
        yield words["rollout.note.no_cost"]
    yield words["rollout.note.traffic"]
