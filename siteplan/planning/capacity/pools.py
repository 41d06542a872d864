"""Which sites share inbound carriers, and under which network: a pool each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import IntArray
from siteplan.network import Network

#: The name of the one pool of a network without beams.
WHOLE = "network"


class Pool(NamedTuple):
    """Sites that share inbound carriers: their name, their network, their indices (k,)."""

    name: str
    network: Network
    rows: IntArray


def pools(
    columns: Mapping[str, NDArray[Any]], network: Network, own: Mapping[str, Network]
) -> tuple[Pool, ...]:
    """Return the pools of sites (n,): one a beam where the columns tell beams, else one of all.

    ``own`` has the networks of the beams that have one by their names; sites in no beam are in no
    pool.
    """
    n = len(columns["site_id"])
    if "beam" not in columns:
        return (Pool(WHOLE, network, np.arange(n)),)
    beams = columns["beam"].astype(object)
    return tuple(
        Pool(name, own.get(name, network), np.flatnonzero(beams == name))
        for name in sorted(set(beams.tolist()) - {""})
    )


def network_of(name: str, network: Network) -> Network:
    """Return the network of a pool by its name: a beam's own where ``[[beams]]`` has it."""
    named = any(beam.name == name for beam in network.beams)
    return network.of_beam(name) if named else network
