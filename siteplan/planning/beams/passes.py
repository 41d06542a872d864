"""The beams of a network, gathered into passes: what goes through the chain of steps together.

Beams that share carriers, polarization and hub make one pass: their EIRP, and the G/T and the SFD
that remotes work to, are arrays a site. All others are passes of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from siteplan.arrays import IntArray, TextArray
from siteplan.network import Network

#: What beams of one pass may have of their own: levels at the sites.
LEVELS = {"outbound": ("satellite_eirp_dbw",), "inbound": ("satellite_g_t_db_k", "sfd_dbw_m2")}


class Pass(NamedTuple):
    """Beams that go through the chain together.

    ``network`` is a network of one beam, with the file's own levels; ``own`` holds each beam's
    network by its name, in the file's order; it is empty without ``[[beams]]``.
    """

    network: Network
    own: Mapping[str, Network]


def passes(network: Network) -> tuple[Pass, ...]:
    """Return the passes of a network, in the file's order of their first beams."""
    if not network.beams:
        return (Pass(network, {}),)
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
