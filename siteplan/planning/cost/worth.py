"""What a pair costs over the years: its prices, and the megahertz that it takes for its site.

A site's own megahertz, pair by pair: inbound its part of the busy hour of a carrier, leased for the
larger of its bandwidth with its guard and what this terminal's power is worth; outbound its bits
over the efficiency of the MODCOD that it reads in clear sky. The lease itself is worked out once,
for all sites together; what the pairs' own megahertz come to beside it is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, take
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.applications.carried import asked, carried
from siteplan.planning.capacity.lease import leased_mhz
from siteplan.planning.capacity.traffic import offered_kbit_s
from siteplan.planning.cost.annuity import factor
from siteplan.planning.kit.catalogue import Catalogue, Installed
from siteplan.planning.link.budget import power_equivalent_of
from siteplan.planning.link.coding import bits_per_symbol, rate_kbit_s, reached, steps
from siteplan.planning.link.ways import Inbound, Outbound, Way
from siteplan.prices import kind_of, prices

#: Decimals to which costs are compared, so that no decision hangs on the last bits.
_DECIMALS = 6
#: Rate of a carrier of which nobody knows what it carries: nothing is asked of it.
_UNKNOWN = np.inf


@dataclass(frozen=True, eq=False)
class Wanted(Arrays):
    """What sites (n,) ask of carriers in the busy hour [kbit/s].

    Outbound without streams that serve many sites at once: no site's kit makes those cheaper.
    Inbound over what its access may use of a carrier.
    """

    outbound_kbit_s: FloatArray
    inbound_kbit_s: FloatArray


def wanted(sites: Sites, network: Network) -> Wanted:
    """Return what sites (n,) ask of carriers: by their applications, else ``[traffic]``."""
    here, each, traffic = carried(sites, network), asked(network), network.traffic
    plain = ~here.any(axis=1)
    found = []
    for way in ("outbound", "inbound"):
        own = getattr(sites, f"{way}_kbit_s")
        usual = offered_kbit_s(own, getattr(traffic, f"{way}_kbit_s"), traffic.activity)
        rates = [
            0.0 if of.multicast and way == "outbound"
            else of.sessions * getattr(of, f"{way}_kbit_s") * of.activity
            / (traffic.used_by(of.access) if way == "inbound" else 1.0)
            for of in each
        ]  # fmt: skip
        usual = usual / traffic.used if way == "inbound" else usual
        found.append(np.where(plain, usual, here @ np.array(rates, dtype=float)))
    return Wanted(*found)


@dataclass(frozen=True, eq=False)
class Own(Arrays):
    """The megahertz (n,) that sites take for themselves with the pairs that they were given."""

    own_mhz: Column


@dataclass(frozen=True)
class Worth:
    """What the pairs of the catalogue cost sites (n,), for the pick.

    ``dish_prices`` and ``buc_prices`` are those of the catalogue in its order, ``stands`` what
    costs nothing for it stands already, ``for_mhz`` what a megahertz costs over the years today.
    """

    asks: Wanted
    dish_prices: FloatArray
    buc_prices: FloatArray
    stands: Installed
    for_mhz: float

    def take(self, index: IntArray) -> Worth:
        """Return what pairs cost the sites at ``index`` (k,), distinct and rising."""
        return replace(self, asks=take(self.asks, index), stands=take(self.stands, index))

    def cost(self, a: int, b: int, ways: tuple[Outbound, Inbound], rows: IntArray) -> FloatArray:
        """Return what a pair costs over the years at the sites ``rows`` (k,), in whole decimals.

        ``ways`` are both directions of those sites with the pair.
        """
        dish = np.where(self.stands.has_dish[rows], 0.0, self.dish_prices[a])
        buc = np.where(self.stands.has_buc[rows], 0.0, self.buc_prices[b])
        cost = dish + buc
        if self.for_mhz > 0:
            cost = cost + self.for_mhz * own_mhz(take(self.asks, rows), ways)
        return np.round(cost, _DECIMALS)


def worth(sites: Sites, network: Network, kinds: Catalogue) -> Worth | None:
    """Return what pairs cost sites (n,); None where kit is not picked by cost."""
    if network.rules.pick != "cost":
        return None
    offered, costs = prices(network), network.costs
    months = factor(costs.discount_pct, network.traffic.years)
    return Worth(
        asks=wanted(sites, network),
        dish_prices=np.array(
            [offered.of("antenna", kind_of(d)).price for d in kinds.diameter_m.tolist()]
        ),
        buc_prices=np.array([offered.of("BUC", kind_of(w)).price for w in kinds.buc_w.tolist()]),
        stands=Installed(
            sites.fixed_antenna_m, sites.fixed_buc_w, sites.fixed_efficiency,
            sites.fixed_buc_backoff_db,
        ),
        for_mhz=(costs.lease_mhz_month or 0.0) * months,
    )  # fmt: skip


def own(of: Worth | None, ways: tuple[Outbound, Inbound], given: BoolArray) -> Own | None:
    """Return what sites (n,) take with the pairs ``given`` to them; None where none is by cost."""
    if of is None:
        return None
    return Own(np.where(given, own_mhz(of.asks, ways), np.nan))


def own_mhz(asks: Wanted, ways: tuple[Outbound, Inbound]) -> FloatArray:
    """Return the megahertz (n,) that sites take for themselves, both directions together.

    Of a carrier whose rate is not known nothing can be counted, and it is alike for all pairs.
    """
    out, back = ways
    network = out.link.network
    guard_pct = network.lease.guard_pct
    out_mhz = network.outbound.occupied_mhz * (1 + guard_pct / 100)
    each = power_equivalent_of(back.link, back.driven)
    back_mhz = np.maximum(leased_mhz(network.inbound.occupied_mhz, np.nan, guard_pct), each)
    shares = (
        asks.outbound_kbit_s / _rate_kbit_s(out, "outbound"),
        asks.inbound_kbit_s / _rate_kbit_s(back, "inbound"),
    )
    return np.asarray(shares[0] * out_mhz + shares[1] * back_mhz)


def _rate_kbit_s(way: Way, table: str) -> FloatArray:
    """Return what a carrier carries for sites (n,) in clear sky [kbit/s].

    With the MODCOD that each reads then where the carrier is adaptive; with none of them, and on a
    carrier that is not, by its own MODCOD.
    """
    link, carrier = way.link, getattr(way.link.network, table)
    sent = link.outbound if table == "outbound" else link.inbound
    bits = bits_per_symbol(carrier)
    fixed = (
        _UNKNOWN if bits is None
        else rate_kbit_s(sent.symbol_rate_sps, bits, carrier.frame_efficiency)
    )  # fmt: skip
    if not carrier.adaptive:
        return np.broadcast_to(fixed, way.clear_db.shape)
    need = link.outbound_required_db if table == "outbound" else link.inbound_required_db
    found = reached(steps(table, carrier, need, sent), way.clear_db).kbit_s
    return np.where(found > 0, found, fixed)
