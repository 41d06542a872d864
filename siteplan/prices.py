"""What things cost and how suppliers call them, looked up by part and kind."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple, get_args

from siteplan.answers import Kind
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.network.costs import MountName

#: Parts of a site and the work on it, in the order in which they are listed: name and unit.
PARTS: Mapping[str, str] = {
    **dict.fromkeys(("antenna", "BUC", "LNB", "modem", "mount"), "pieces"),
    **{"cable": "m", "ballast": "kg", "installation": "sites", "visit": "visits"},
}
#: Parts that are work: nobody orders them, and they have no spares.
WORK = frozenset(("installation", "visit"))
#: The only part that may go without a price: it is often found on the spot.
UNPRICED = "ballast"

#: A part and its kind: a size as :func:`kind_of` writes it, a name, or '' where all are alike.
Key = tuple[str, str]


class Offer(NamedTuple):
    """The price of one unit (NaN where none is given), and the supplier's code."""

    price: float = math.nan
    code: str = ""


NO_OFFER = Offer()


@frozen
class Prices:
    """The offers that a network file lists by part and kind."""

    offers: Mapping[Key, Offer]

    def of(self, part: str, kind: str = "") -> Offer:
        """Return the offer of a kind of part; one without price and code where none is listed.

        Ballast is priced by weight, whatever it lies on.
        """
        return self.offers.get((part, "" if part == UNPRICED else kind), NO_OFFER)

    @property
    def any_price(self) -> bool:
        """Whether the network file gives any price."""
        return any(not math.isnan(offer.price) for offer in self.offers.values())

    @property
    def any_code(self) -> bool:
        """Whether the network file gives any supplier's code."""
        return any(offer.code for offer in self.offers.values())


def kind_of(size: float) -> str:
    """Return a size as the kind of a part, with all its digits.

    >>> kind_of(1.2), kind_of(2.0)
    ('1.2', '2')
    """
    return f"{size:.12g}"


def prices(network: Network) -> Prices:
    """Return the prices and the suppliers' codes that a network file gives."""
    return Prices({key: Offer(_known(price), code) for key, price, code in _listed(network)})


def _listed(network: Network) -> Iterator[tuple[Key, float | None, str]]:
    """Yield part and kind, price and code of all that can be priced."""
    costs = network.costs
    for antenna in network.antennas:
        yield ("antenna", kind_of(antenna.diameter_m)), antenna.price, antenna.supplier_code
    for buc in network.bucs:
        yield ("BUC", kind_of(buc.rated_w)), buc.price, buc.supplier_code
    for mount in network.mounts:
        yield ("mount", mount.kind), mount.price, mount.supplier_code
    for cable in network.cables:
        price = costs.cable if cable.price is None else cable.price
        yield ("cable", cable.name), price, cable.supplier_code
    yield ("LNB", ""), costs.lnb, costs.lnb_code
    yield ("modem", ""), costs.modem, costs.modem_code
    yield (UNPRICED, ""), costs.ballast, ""
    yield ("visit", ""), costs.visit, ""
    for kind in get_args(MountName):
        yield ("installation", kind), costs.installation(kind), ""


def _known(price: float | None) -> float:
    return math.nan if price is None else float(price)


def kind_price(network: Network, kind: Kind) -> float:
    """Return what an antenna and a BUC of the catalogue cost together, NaN where one has no price.

    Parameters
    ----------
    network : Network
    kind : (float, float)
        Diameter [m] and rated power [W].
    """
    antenna_m, buc_w = kind
    found = prices(network)
    pair = (("antenna", kind_of(antenna_m)), ("BUC", kind_of(buc_w)))
    return math.fsum(found.of(part, name).price for part, name in pair)


def kind_prices(network: Network, kinds: Sequence[Kind]) -> list[float]:
    """Return what each of some kinds costs, NaN where a price is missing."""
    return [kind_price(network, kind) for kind in kinds]
