"""The chain's results up to the kit, for tests that look inside."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.model import Sites
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.ends import Links
from siteplan.planning.link.outage import Shares
from siteplan.planning.link.ways import Inbound, Outbound
from siteplan.planning.place import Place
from siteplan.planning.plan import equip, see
from siteplan.planning.setting import Setting


class Worked(NamedTuple):
    """Place, link, outages allowed (n,) [%], kit, split and both directions of sites."""

    at: Place
    link: Links
    p_pct: NDArray[np.float64]
    sizing: Sizing
    split: Shares

    @property
    def ways(self) -> tuple[Outbound, Inbound]:
        """Outbound and inbound, with the sites' kit."""
        return self.sizing.ways


def work_out(sites: Sites, shared: Setting) -> Worked:
    """Return what the chain gives up to the kit."""
    seen = see(sites, shared)
    kitted = equip(sites, seen, shared)
    return Worked(*seen[:3], kitted.sizing, kitted.split)
