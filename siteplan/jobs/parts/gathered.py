"""What is written of all parts of a plan from what each laid beside its rows, in bounded memory."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from siteplan.answers.operations import Monitored
from siteplan.jobs.parts.beside import MONITORED, ROLLOUT, Watched
from siteplan.jobs.parts.part import laid_beside
from siteplan.results import Plan

#: By what sites are near.
_NEAR: Final = ("site_id", "lat", "lon")


def monitored_parts(parts: Sequence[Path], plan: Plan) -> Iterator[tuple[Plan, Monitored]]:
    """Yield what monitoring is to expect of all parts' sites, a part at a time.

    Parameters
    ----------
    parts : sequence of Path
        In order, each with its file `MONITORED`.
    plan : Plan
        With the facts of all; its sites are not read.
    """
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
    from siteplan.planning.rollout.answer import asked_for, of_laid, rollout

    if not asked_for(plan.extra, plan.network):
        return plan
    found = rollout(of_laid([laid_beside(path, ROLLOUT) for path in parts], plan))
    return plan if found is None else replace(plan, facts=replace(plan.facts, rollout=found))
