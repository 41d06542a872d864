"""The sites of a plan that have kit, as the link saw them: both directions again, pass by pass."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

import numpy as np

from siteplan.arrays import IntArray
from siteplan.frozen import frozen
from siteplan.planning.as_planned import planned_sites
from siteplan.planning.assembly import given
from siteplan.planning.beams.settings import by_pass, settings
from siteplan.planning.kit.catalogue import candidates, installed
from siteplan.planning.link.ways import Inbound, Outbound, inbound, outbound
from siteplan.planning.plan import see
from siteplan.planning.setting import Setting
from siteplan.results import Plan

#: Every site with kit.
EVERYONE: Final = slice(None)


class OfPass(NamedTuple):
    """A pass of beams: its number, which of the sites are its own (k,), both directions of them."""

    number: int
    rows: IntArray
    ways: tuple[Outbound, Inbound]


@frozen
class Again:
    """The sites with kit that see the satellite: ``rows`` (n,) of the plan, and their columns."""

    rows: IntArray
    columns: Mapping[str, Any]
    settings: tuple[Setting, ...]

    def passes(self) -> Iterator[OfPass]:
        """Yield each pass that has any of the sites."""
        sites = planned_sites(self.columns)
        for shared, rows in by_pass(self.settings, sites.beam):
            if not rows.size:
                continue
            some = sites.take(rows)
            tries = candidates(shared.kinds, installed(some))
            link, dish = see(some, shared).link, tries.dishes[0]
            ways = outbound(link, dish), inbound(link, dish, tries.dbw[0])
            yield OfPass(self.settings.index(shared), rows, ways)


def seen_again(plan: Plan, among: slice = EVERYONE) -> Again:
    """Return the sites of a plan that have kit, all of them or those among some.

    Raises
    ------
    NetworkError
        As `siteplan.planning.setting.setting`.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    rows = with_kit(plan)[among]
    columns = {name: values[rows] for name, values in plan.columns.items()}
    return Again(rows, columns, settings(plan.network))


def with_kit(plan: Plan) -> IntArray:
    """Return which sites of a plan have kit and see the satellite (n,)."""
    seen = ~np.isnan(plan.columns["outbound_clear_es_n0_db"])
    return np.flatnonzero(given(plan.columns)["kit"] & seen)
