"""On which mount the antenna of a change would stand: a larger one may ask for another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from siteplan.answers import Remedy
from siteplan.arrays import TextArray
from siteplan.network import Network
from siteplan.planning.site.mounts.choice import PROVISIONAL
from siteplan.planning.site.stance import Stance, mounts_of_others


def with_mounts(
    found: Iterable[Remedy], site_id: TextArray, of: Stance, network: Network
) -> tuple[Remedy, ...]:
    """Return changes with the mounts that their antennas would stand on, and those planned now.

    Parameters
    ----------
    found : iterable of Remedy
        Of sites among n.
    site_id : (n,) array of str
        The sites.
    of : Stance
        How they stand as planned.
    network : Network
        For limits and heights.
    """
    told = list(found)
    which = [k for k, remedy in enumerate(told) if not np.isnan(remedy.antenna_m)]
    if not which:
        return tuple(told)
    place = {site: i for i, site in enumerate(site_id.tolist())}
    at = np.array([place[told[k].site_id] for k in which], dtype=np.intp)
    antenna_m = np.array([told[k].antenna_m for k in which])
    chosen = mounts_of_others(of, at, antenna_m, network)
    each = zip(
        *(which, chosen.mount.tolist(), chosen.certainty.tolist(), of.mount[at].tolist()),
        strict=True,
    )
    for k, mount, certainty, was in each:
        told[k] = replace(told[k], mount=mount, mount_open=certainty == PROVISIONAL, mount_was=was)
    return tuple(told)
