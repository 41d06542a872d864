"""The plan: the steps strung together over chunks of sites."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import INPUT_PREFIX, lookup
from siteplan.model import Assumption, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.columns import make_columns
from siteplan.planning.link import whatif
from siteplan.planning.setting import Setting, setting, work_out
from siteplan.planning.sitepack import MOST_SITES, pack_facts, pack_tables
from siteplan.results import Facts, Plan

#: Sites planned at once: what fits the processor's cache ran best.
CHUNK_SITES = 16_000
#: Nothing told of the project.
NO_FACTS = Facts()
#: No obstacle surveyed, no terrain at hand.
NOTHING_KNOWN = Surroundings()


def make_plan(
    sites: Sites,
    network: Network,
    *,
    assumptions: tuple[Assumption, ...] = (),
    facts: Facts = NO_FACTS,
    today: dt.date | None = None,
    with_tables: bool = False,
    around: Surroundings | None = NOTHING_KNOWN,
    progress: Callable[[int], None] = lambda done: None,
) -> Plan:
    """Return the plan of all sites.

    Parameters
    ----------
    sites : Sites
        Checked sites.
    network : Network
        Checked network file.
    assumptions : tuple of Assumption
        The figures that nobody gave, for the outputs to show.
    facts : Facts
        The project's name, and counts of rows; the rest is worked out.
    today : datetime.date, optional
        Date of the plan where the network file gives none (else the day it runs).
    with_tables : bool
        Whether to work out the tables that the map and the sheets use beside the columns.
    around : Surroundings or None
        Obstacles and terrain around the sites; None leaves the site pack out but for the mount.
        The sites may be a part of many, none of them in the terrain: that it holds any is not
        asked here.
    progress : callable
        Told the number of sites planned after each chunk.

    Returns
    -------
    Plan
        One row a site, in the order of ``sites``.

    Raises
    ------
    NetworkError
        If a MODCOD is unknown or the hub does not see the satellite.
    ProjectError
        If the terrain cannot be read.
    """
    shared = setting(network, today)
    tabled = with_tables and around is not None and len(sites) <= MOST_SITES
    pieces, extras = [], []
    for piece in _chunks(len(sites)):
        done = work_out(sites.take(piece), shared)
        columns = make_columns(done, around)
        tables = whatif.tables(done) if with_tables else {}
        if tabled and around is not None:
            tables |= pack_tables(done, columns, around, first=int(piece[0]) if len(piece) else 0)
        pieces.append(columns)
        extras.append(tables)
        progress(int(piece[-1]) + 1)
    return Plan(
        MappingProxyType(_joined(pieces)),
        MappingProxyType(_free_names(sites.extra)),
        network,
        assumptions,
        _facts(shared, facts, tables=tabled, skipped=with_tables and not tabled),
        MappingProxyType(_joined(extras)),
    )


def _joined(pieces: Sequence[Mapping[str, NDArray[Any]]]) -> dict[str, NDArray[Any]]:
    """Return the chunks' arrays by name, end to end."""
    return {name: np.concatenate([p[name] for p in pieces]) for name in pieces[0]}


def _chunks(n: int) -> Iterator[NDArray[np.int64]]:
    """Yield the indices of the sites, chunk by chunk (one empty chunk for no sites)."""
    for start in range(0, max(n, 1), CHUNK_SITES):
        yield np.arange(start, min(start + CHUNK_SITES, n))


def _free_names(extra: Mapping[str, NDArray[Any]]) -> dict[str, NDArray[Any]]:
    """Return the user's free columns under names that collide with no result field."""
    return {
        (f"{INPUT_PREFIX}{name}" if lookup(name) or name == "geometry" else name): values
        for name, values in extra.items()
    }


def _facts(shared: Setting, told: Facts, *, tables: bool, skipped: bool) -> Facts:
    """Return what the outputs show beside columns and network; ``told`` is what is known."""
    return replace(
        told,
        name=told.name or shared.network.network.name,
        date=shared.date.isoformat(),
        hub_elevation_deg=shared.hub.elevation_deg,
        whatif_outages_pct=whatif.outages_pct(shared.network),
        **pack_facts(shared, tables=tables, skipped=skipped),
    )
