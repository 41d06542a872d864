"""What kit costs, where the network file gives prices, in the planner's own unit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from siteplan.network import Network

#: Diameter of the antenna [m] and rated power of the BUC [W].
Kind = tuple[float, float]


def price_of(item: Any) -> float:
    """Return the price of an antenna or BUC of the catalogue, NaN where none is given."""
    price = getattr(item, "price", None)
    return math.nan if price is None else float(price)


def kind_price(network: Network, kind: Kind) -> float:
    """Return what an antenna and a BUC of the catalogue cost together, NaN where one has no price.

    Raises
    ------
    StopIteration
        If the catalogue has no such antenna or BUC.
    """
    antenna = next(a for a in network.antennas if a.diameter_m == kind[0])
    buc = next(b for b in network.bucs if b.rated_w == kind[1])
    return price_of(antenna) + price_of(buc)


def kind_prices(network: Network, kinds: Sequence[Kind]) -> list[float]:
    """Return what each of some kinds costs, NaN where a price is missing."""
    return [kind_price(network, kind) for kind in kinds]
