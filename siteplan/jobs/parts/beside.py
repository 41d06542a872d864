"""What a part lays beside its rows, unrounded, for files that are written when all are planned.

What monitoring is to expect names the nearest sites, of whatever part; a roll-out goes over all
sites. So each part lays what those are made of, and they are made from all of that, in order.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.operations import MonitoredWay
from siteplan.arrays import IntArray
from siteplan.frozen import frozen
from siteplan.results import Plan

#: Endings of the files: what monitoring is to expect, and what a roll-out is worked out from.
MONITORED, ROLLOUT = ".monitored", ".rollout"
#: What monitoring is told of a site beside what to expect of it.
_PLACED: Final = ("site_id", "name", "group", "lat", "lon")
_SITE: Final = "sun_site"


@frozen(eq=False)
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
