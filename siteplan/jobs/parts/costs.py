"""Costs over the years of a plan in parts: a site's part of the lease rests on all of them.

Each part lays what its sites' costs rest on beside its rows. Once all parts are counted the costs
are worked out from that, and written into the parts' rows before anything is made of them.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray
from siteplan.planning.cost.life import BASIS
from siteplan.results import Plan

#: Ending of the file that a part lays what costs rest on in.
ENDING = ".costs.npy"
#: What costs rest on beside that, and what names a site that stands out.
_COLUMNS = ("site_id", "name", "antenna_m", "buc_w")


def basis_bytes(plan: Plan) -> bytes | None:
    """Return what the costs of a part's sites rest on, to be laid beside it; None for nothing."""
    if BASIS not in plan.tables:
        return None
    held = io.BytesIO()
    np.save(held, plan.tables[BASIS], allow_pickle=False)
    return held.getvalue()


def costed_parts(plan: Plan, parts: Sequence[Path], compression: str) -> Plan:
    """Write what sites cost over the years into the rows of all parts; return what all cost.

    Parameters
    ----------
    plan : Plan
        The sites that are at hand, all or the first alone, with the facts of all.
    parts : sequence of Path
        In order, each with what `basis_bytes` gave beside it.
    compression : str
        As the parts are packed.
    """
    from siteplan.outputs.tables.parquet import with_columns
    from siteplan.planning.cost.life import FIELDS, lives
    from siteplan.planning.cost.totals import Spent, life_costs

    capacity = plan.facts.capacity
    if BASIS not in plan.tables or capacity is None:
        return plan
    spent = Spent()
    for path in parts:
        base = np.load(path.with_suffix(ENDING), allow_pickle=False)
        rows = _rows(path, plan)
        found = lives(base, rows, plan.network, capacity).columns()
        with_columns(path, found, without=FIELDS, compression=compression)
        spent.add(rows | found | _own(base, plan))
    facts = replace(plan.facts, costs=life_costs(spent, plan.network, capacity))
    return replace(plan, facts=facts)


def _rows(path: Path, like: Plan) -> dict[str, NDArray[Any]]:
    """Return the columns of a part that costs rest on."""
    from siteplan.outputs.tables.parquet import column_of

    names = [*_COLUMNS, *(name for name in ("beam", "site_cost") if name in like.columns)]
    return {name: column_of([path], name) for name in names}


def _own(base: FloatArray, like: Plan) -> dict[str, NDArray[Any]]:
    """Return the sites' own bandwidths, unrounded, where kit is picked by cost."""
    from siteplan.planning.cost.life import own_of

    return {"own_mhz": own_of(base)} if "own_mhz" in like.columns else {}
