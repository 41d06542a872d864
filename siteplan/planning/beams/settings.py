"""The settings of a network's beams: one for each pass of the chain of steps."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from siteplan.arrays import IntArray, TextArray
from siteplan.network import Network
from siteplan.planning.beams.footprints import Footprints, footprints
from siteplan.planning.beams.levels import SiteBeams, levels
from siteplan.planning.beams.passes import passes
from siteplan.planning.place import Place
from siteplan.planning.setting import Setting, setting


def settings(network: Network, today: dt.date | None = None) -> tuple[Setting, ...]:
    """Return what the sites of each pass share, in the file's order of the beams.

    Raises
    ------
    NetworkError
        As `siteplan.planning.setting.setting`, for any of the beams.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    if not (network.beams or network.contours):
        return (setting(network, today),)
    return tuple(replace(setting(found.network, today), own=found.own) for found in passes(network))


def by_pass(of: Sequence[Setting], beam: TextArray) -> Iterator[tuple[Setting, IntArray]]:
    """Yield each setting that serves any site, and the sites (k,) whose beams ``beam`` (n,) it has.

    Sites in no beam go with the first.
    """
    left = np.ones(len(beam), dtype=bool)
    found = []
    for one in of[1:]:
        mine = np.isin(beam.astype(str), list(one.own))
        left &= ~mine
        found.append((one, np.flatnonzero(mine)))
    for one, rows in ((of[0], np.flatnonzero(left)), *found):
        if len(rows) or (one is of[0] and not len(beam)):
            yield one, rows
