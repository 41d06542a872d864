"""What a pair costs over the years: its prices, and the megahertz that it takes for its site.

A site's own megahertz, pair by pair: inbound its part of the busy hour of a carrier, leased for the
larger of its bandwidth with its guard and what this terminal's power is worth; outbound its bits
over the efficiency of the MODCOD that it reads in clear sky. The lease itself is worked out once,
for all sites together; what the pairs' own megahertz come to beside it is told.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, take
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Carrier, Network
from siteplan.planning.applications.carried import asked, carried
from siteplan.planning.capacity.lease import leased_mhz
from siteplan.planning.capacity.traffic import offered_kbit_s
from siteplan.planning.cost.annuity import factor
from siteplan.planning.kit.catalogue import Catalogue, Installed
from siteplan.planning.kit.fit import Index
from siteplan.planning.link.budget import power_equivalent_of
from siteplan.planning.link.coding import bits_per_symbol, rate_kbit_s, reached_kbit_s, steps
from siteplan.planning.link.ends import Level, carrier_plan
from siteplan.planning.link.ways import Inbound, Outbound, Way
from siteplan.prices import kind_of, prices

#: Decimals to which costs are compared, so that no decision hangs on the last bits.
_DECIMALS = 6
#: Rate of a carrier of which nobody knows what it carries: nothing is asked of it.
_UNKNOWN = np.inf


@frozen(eq=False)
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


@frozen(eq=False)
class Own(Arrays):
    """The megahertz (n,) that sites take for themselves with the pairs that they were given."""

    own_mhz: Column


@frozen(eq=False)
class Megahertz(Arrays):
    """Megahertz (n,) by direction."""

    outbound: FloatArray
    inbound: FloatArray


@frozen
class Worth:
    """What the pairs of the catalogue cost sites (n,), for the pick.

    ``dish_prices`` and ``buc_prices`` are those of the catalogue in its order, ``stands`` what
    costs nothing for it stands already, ``for_mhz`` what a megahertz costs over the years today.
    ``least_mhz`` are megahertz that sites take at least, whatever their kit, by direction.
    """

    asks: Wanted
    dish_prices: FloatArray
    buc_prices: FloatArray
    stands: Installed
    for_mhz: float
    least_mhz: Megahertz

    def take(self, index: IntArray) -> Worth:
        """Return what pairs cost the sites at ``index`` (k,), distinct and rising."""
        some = {name: take(getattr(self, name), index) for name in ("asks", "stands", "least_mhz")}
        return replace(self, **some)

    def out_mhz(self, out: Outbound, rows: IntArray) -> FloatArray:
        """Return the megahertz (k,) that the sites ``rows`` (k,) take outbound; 0 if free."""
        if self.for_mhz == 0:
            return np.zeros(len(rows))
        return out_mhz(self.asks.outbound_kbit_s[rows], out)

    def least(
        self, a: int, b: int | None, out_mhz: FloatArray | None, rows: IntArray
    ) -> FloatArray:
        """Return what a pair costs at the sites ``rows`` (k,) at least, in whole decimals.

        ``out_mhz`` (k,) are those of outbound, None where that is not known; no ``b`` is the
        cheapest BUC.
        """
        b = int(np.argmin(self.buc_prices)) if b is None else b
        out = self.least_mhz.outbound[rows] if out_mhz is None else out_mhz
        return self._cost(a, b, out + self.least_mhz.inbound[rows], rows)

    def cost(
        self, a: Index, b: Index, out_mhz: FloatArray, back: Inbound, rows: IntArray
    ) -> FloatArray:
        """Return what a pair costs over the years at the sites ``rows`` (k,), in whole decimals.

        ``out_mhz`` (k,) are those of outbound, ``back`` is inbound with the pair.
        """
        if self.for_mhz == 0:
            return self._cost(a, b, out_mhz, rows)
        own = back_mhz(self.asks.inbound_kbit_s[rows], back)
        return self._cost(a, b, out_mhz + own, rows)

    def _cost(self, a: Index, b: Index, mhz: FloatArray, rows: IntArray) -> FloatArray:
        dish = np.where(self.stands.has_dish[rows], 0.0, self.dish_prices[a])
        buc = np.where(self.stands.has_buc[rows], 0.0, self.buc_prices[b])
        cost = dish + buc
        return np.round(cost + self.for_mhz * mhz if self.for_mhz > 0 else cost, _DECIMALS)


def worth(sites: Sites, network: Network, kinds: Catalogue) -> Worth | None:
    """Return what pairs cost sites (n,); None where kit is not picked by cost."""
    if network.rules.pick != "cost":
        return None
    offered, costs, asks = prices(network), network.costs, wanted(sites, network)
    months = factor(costs.discount_pct, network.traffic.years)
    return Worth(
        asks=asks,
        dish_prices=np.array(
            [offered.of("antenna", kind_of(d)).price for d in kinds.diameter_m.tolist()]
        ),
        buc_prices=np.array([offered.of("BUC", kind_of(w)).price for w in kinds.buc_w.tolist()]),
        stands=Installed(
            sites.fixed_antenna_m, sites.fixed_buc_w, sites.fixed_efficiency,
            sites.fixed_buc_backoff_db,
        ),
        for_mhz=(costs.lease_mhz_month or 0.0) * months,
        least_mhz=Megahertz(*(
            getattr(asks, f"{table}_kbit_s")
            / _most_kbit_s(table, network)
            * _band_mhz(getattr(network, table), network)
            for table in ("outbound", "inbound")
        )),
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
    return out_mhz(asks.outbound_kbit_s, out) + back_mhz(asks.inbound_kbit_s, back)


def out_mhz(asked_kbit_s: FloatArray, out: Outbound) -> FloatArray:
    """Return the megahertz (n,) that sites take of the outbound carrier, by what they ask."""
    network = out.link.network
    band = _band_mhz(network.outbound, network)
    return np.asarray(asked_kbit_s / _rate_kbit_s(out, "outbound") * band)


def back_mhz(asked_kbit_s: FloatArray, back: Inbound) -> FloatArray:
    """Return the megahertz (n,) that sites take of the inbound carrier, by what they ask."""
    network = back.link.network
    each = power_equivalent_of(back.link, back.driven)
    wide = np.maximum(_band_mhz(network.inbound, network), each)
    return np.asarray(asked_kbit_s / _rate_kbit_s(back, "inbound") * wide)


def _band_mhz(carrier: Carrier, network: Network) -> float:
    """Return what is leased of a carrier for its bandwidth, its guard included."""
    return leased_mhz(carrier.occupied_mhz, np.nan, network.lease.guard_pct)


def _own_kbit_s(carrier: Carrier, symbol_rate_sps: Level) -> Level:
    """Return what a carrier carries with its own MODCOD [kbit/s]."""
    bits = bits_per_symbol(carrier)
    if bits is None:
        return _UNKNOWN
    return rate_kbit_s(symbol_rate_sps, bits, carrier.frame_efficiency)


def _most_kbit_s(table: str, network: Network) -> float:
    """Return what a carrier carries at most, with any of its MODCODs [kbit/s]."""
    carrier: Carrier = getattr(network, table)
    sent = carrier_plan(carrier)
    own = float(_own_kbit_s(carrier, sent.symbol_rate_sps))
    known = steps(table, carrier, 0.0, sent).rates_kbit_s if carrier.adaptive else []
    return max(own, *map(float, known)) if known else own


def _rate_kbit_s(way: Way, table: str) -> FloatArray:
    """Return what a carrier carries for sites (n,) in clear sky [kbit/s].

    With the MODCOD that each reads then where the carrier is adaptive; with none of them, and on a
    carrier that is not, by its own MODCOD.
    """
    link, carrier = way.link, getattr(way.link.network, table)
    sent = link.outbound if table == "outbound" else link.inbound
    own = _own_kbit_s(carrier, sent.symbol_rate_sps)
    if not carrier.adaptive:
        return np.broadcast_to(own, way.clear_db.shape)
    need = link.outbound_required_db if table == "outbound" else link.inbound_required_db
    found = reached_kbit_s(steps(table, carrier, need, sent), way.clear_db)
    return np.where(found > 0, found, own)
