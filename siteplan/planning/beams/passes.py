"""The beams of a network, gathered into passes: what goes through the chain of steps together.

Beams that share carriers, polarization and hub make one pass: their EIRP, and the G/T and the SFD
that remotes work to, are arrays a site. All others are passes of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.network import Network
from siteplan.planning.beams.levels import BeamLevels, levels

#: What beams of one pass may have of their own: levels at the sites.
LEVELS = {"outbound": ("satellite_eirp_dbw",), "inbound": ("satellite_g_t_db_k", "sfd_dbw_m2")}


class Pass(NamedTuple):
    """Beams that go through the chain together.

    ``network`` is a network of one beam, with the file's own levels; ``own`` holds each beam's
    network by its name, in the file's order.
    """

    network: Network
    own: Mapping[str, Network]


def passes(network: Network) -> tuple[Pass, ...]:
    """Return the passes of a network, in the file's order of their first beams."""
    if not network.beams:
        return (Pass(network, dict.fromkeys(network.beam_names or ("",), network)),)
    found: dict[str, Pass] = {}
    for beam in network.beams:
        own = network.of_beam(beam.name)
        shared = with_levels_of(network, own)
        alike = shared.model_dump_json(include={"outbound", "inbound", "hub"})
        known = found.setdefault(alike, Pass(shared, {}))
        found[alike] = Pass(known.network, {**known.own, beam.name: own})
    return tuple(found.values())


def pass_numbers(network: Network, beam: TextArray) -> IntArray:
    """Return the number of the pass of each beam's name (n,); 0 for none."""
    number = {name: k for k, one in enumerate(passes(network)) for name in one.own}
    return np.array([number.get(name, 0) for name in beam.tolist()], dtype=np.intp)


def with_levels_of(network: Network, own: Network) -> Network:
    """Return a beam's network with the levels that the file gives for all beams."""
    tables = {}
    for table, levels_of in LEVELS.items():
        common, mine = getattr(network, table), getattr(own, table)
        keys = {k: getattr(mine, k) for k in mine.model_fields_set if k not in levels_of}
        keys |= {k: getattr(common, k) for k in levels_of if k in common.model_fields_set}
        tables[table] = type(mine).model_validate(keys)  # what nobody gave stays assumed
    return own.model_copy(update={**tables, "contours": ()})


@dataclass(frozen=True)
class Over:
    """What sites (n,) have of their beams beyond the levels of their pass [dB].

    ``down_db`` of EIRP, ``up_db`` of G/T, ``sfd_db`` of SFD where that does not fall by what G/T
    rises. NaN where a site is in no beam.
    """

    down_db: FloatArray
    up_db: FloatArray
    sfd_db: FloatArray
    known: BeamLevels


def over(of: Pass, beam: TextArray, lat: FloatArray, lon: FloatArray) -> Over:
    """Return what sites (n,) have of their beams ``beam`` (n,) beyond their pass's levels."""
    n = len(beam)
    eirp, g_t, sfd = (np.full(n, np.nan) for _ in range(3))
    for name, own in of.own.items():
        rows = np.flatnonzero(beam == name)
        if len(rows):
            found = levels(own, name, lat[rows], lon[rows])
            eirp[rows], g_t[rows], sfd[rows] = found.eirp_dbw, found.g_t_db_k, found.sfd_dbw_m2
    down = eirp - of.network.outbound.satellite_eirp_dbw
    up = g_t - of.network.inbound.satellite_g_t_db_k
    known = BeamLevels(eirp, g_t, sfd, np.isnan(eirp) | np.isnan(g_t))
    return Over(down, up, sfd + up - of.network.inbound.sfd_dbw_m2, known)
