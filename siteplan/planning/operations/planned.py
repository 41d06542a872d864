"""The outage that the plan expects of the weather, as the log's is compared with it."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.planning.link.outage import fixed_share
from siteplan.planning.link.ways import Way
from siteplan.planning.operations.again import seen_again
from siteplan.results import Plan


@frozen
class PlannedOutage:
    """The outage of the limiting direction of n sites and what of it is the hub's rain (n,) [%].

    NaN at a site without kit, and where the outage is over 50 %. ``hub`` (n,) is the number of
    each site's hub, -1 where there is no answer.
    """

    all_pct: FloatArray
    hub_pct: FloatArray
    hub: IntArray

    @property
    def site_pct(self) -> FloatArray:
        """What of it is the site's own rain (n,) [%]."""
        return self.all_pct - self.hub_pct


def planned_outage(plan: Plan) -> PlannedOutage:
    """Return the outage that the plan expects at each site, split by where it rains.

    The split is that of level 0: how long the hub's rain alone holds the margin under zero.
    """
    n, again = len(plan), seen_again(plan)
    outage, of_hub = np.full(n, np.nan), np.full(n, np.nan)
    hub = np.full(n, -1, dtype=np.intp)
    achieved = again.columns["availability_achieved_pct"]
    out, back = (again.columns[f"{d}_availability_pct"] for d in ("outbound", "inbound"))
    inward = np.round(back, 9) < np.round(out, 9)
    for one in again.passes():
        rows = again.rows[one.rows]
        all_pct = np.maximum(100 - achieved[one.rows], P_RANGE_PCT[0])
        shares = [_hub_pct(way, all_pct) for way in one.ways]
        outage[rows], hub[rows] = all_pct, one.number
        of_hub[rows] = np.where(inward[one.rows], shares[1], shares[0])
    known = ~np.isnan(outage)
    return PlannedOutage(outage, np.where(known, of_hub, np.nan), np.where(known, hub, -1))


def _hub_pct(way: Way, all_pct: FloatArray) -> FloatArray:
    """Return what of the outages (n,) [%] of level 0 is the hub's rain."""
    if way.fade.silent:
        return np.zeros(len(all_pct))
    share = fixed_share(way)
    if share is not None:
        return share * all_pct
    return np.minimum(way.hub_outage_pct(np.zeros(len(all_pct))), all_pct)
