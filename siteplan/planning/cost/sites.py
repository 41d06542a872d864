"""What each site costs at the network file's prices, spares apart."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import Arrays, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.planning.cost.parts import Part, parts
from siteplan.prices import UNPRICED, Prices


@frozen(eq=False)
class SiteCosts(Arrays):
    """What sites (n,) cost, in the planner's own unit: NaN without kit or with a price missing."""

    site_cost: Column


def site_costs(columns: Mapping[str, NDArray[Any]], offered: Prices) -> SiteCosts:
    """Return what each site (n,) costs: what is still to be ordered for it and done there.

    What stands there already costs nothing. Ballast counts where it is priced.
    """
    antenna, *others = parts(columns)
    # Wherever a site has kit it has an antenna; of the rest it has some.
    cost = _cost(antenna, offered)
    for part in others:
        cost = cost + np.where(np.isnan(part.quantity), 0.0, _cost(part, offered))
    return SiteCosts(cost)


def _cost(part: Part, offered: Prices) -> FloatArray:
    """Return what a part of sites (n,) costs: 0 where nothing is ordered, NaN without a price."""
    names, which = part.kinds
    each = np.array([offered.of(part.name, kind).price for kind in names], dtype=float)
    price = (np.nan_to_num(each) if part.name == UNPRICED else each)[which]
    return np.where(part.quantity == 0, 0.0, part.quantity * price)
