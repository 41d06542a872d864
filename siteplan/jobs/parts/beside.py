"""What a part lays beside its rows, unrounded, for files that are written when all are planned.

What monitoring is to expect names the nearest sites, of whatever part; a roll-out goes over all
sites. So each part lays what those are made of, and they are made from all of that, in order.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.operations import Monitored, MonitoredWay
from siteplan.arrays import IntArray
from siteplan.results import Plan

#: Endings of the files: what monitoring is to expect, and what a roll-out is worked out from.
MONITORED, ROLLOUT = ".monitored", ".rollout"
#: What monitoring is told of a site beside what to expect of it.
_PLACED: Final = ("site_id", "name", "group", "lat", "lon")
_SITE: Final = "sun_site"
#: By what sites are near.
_NEAR: Final = ("site_id", "lat", "lon")


@dataclass(frozen=True, eq=False)
class Watched:
    """What monitoring is to expect of the sites (n,) of a part that have kit.

    ``columns`` are their names and places, ``transits`` the plan's tables of the sun's, sites
    counted from 0, ``hub`` (n,) the index of each one's hub.
    """

    columns: dict[str, NDArray[Any]]
    transits: dict[str, NDArray[Any]]
    hub: IntArray
    ways: tuple[MonitoredWay, MonitoredWay]


def beside(plan: Plan, first: int, *, watched: bool) -> Iterator[tuple[str, Any]]:
    """Yield what a part's plan lays beside its rows, each with the ending of its file.

    ``first`` is the first site's place among all, from which the plan's transits count; ``watched``
    says whether what monitoring is to expect is wanted.
    """
    from siteplan.planning.rollout.answer import laid

    if watched:
        yield MONITORED, _watched(plan, first)
    if (found := laid(plan)) is not None:
        yield ROLLOUT, found


def _watched(plan: Plan, first: int) -> Watched:
    from siteplan.planning.operations.again import seen_again
    from siteplan.planning.operations.levels import levels
    from siteplan.planning.site.tables import BY_TRANSIT

    again = seen_again(plan)
    hub, ways = levels(again)
    tables = {name: plan.tables[name] for name in BY_TRANSIT if name in plan.tables}
    if tables:
        place = np.full(len(plan), -1)
        place[again.rows] = np.arange(len(again.rows))
        site = place[tables[_SITE] - first]
        tables = {name: values[site >= 0] for name, values in tables.items()}
        tables[_SITE] = site[site >= 0]
    return Watched({name: again.columns[name] for name in _PLACED}, tables, hub, ways)


def monitored_parts(parts: Sequence[Path], plan: Plan) -> Iterator[tuple[Plan, Monitored]]:
    """Yield what monitoring is to expect of all parts' sites, a part at a time.

    Parameters
    ----------
    parts : sequence of Path
        In order, each with its file `MONITORED`.
    plan : Plan
        With the facts of all; its sites are not read.
    """
    from siteplan.jobs.parts.part import laid_beside
    from siteplan.planning.operations.levels import hubs_of
    from siteplan.planning.operations.near import Nearest

    places = [laid_beside(path, MONITORED).columns for path in parts]
    ids, lat, lon = (np.concatenate([of[name] for of in places]) for name in _NEAR)
    nearest, hubs, first = Nearest(ids, lat, lon), hubs_of(plan), 0
    del places
    for path in parts:
        of: Watched = laid_beside(path, MONITORED)
        n = len(of.hub)
        near = nearest.of(first, n)
        some = replace(plan, columns=of.columns, extra={}, tables=of.transits)
        yield some, Monitored(np.arange(n), of.hub, near, of.ways, hubs)
        first += n


def rolled_out_parts(parts: Sequence[Path], plan: Plan) -> Plan:
    """Return a plan whose facts tell when the sites of all parts are built, where that is told of.

    Parameters are those of `monitored_parts`.
    """
    from siteplan.jobs.parts.part import laid_beside
    from siteplan.planning.rollout.answer import asked_for, of_laid, rollout

    if not asked_for(plan.extra, plan.network):
        return plan
    found = rollout(of_laid([laid_beside(path, ROLLOUT) for path in parts], plan))
    return plan if found is None else replace(plan, facts=replace(plan.facts, rollout=found))
