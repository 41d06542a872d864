"""What each site offers in the busy hour, and what that asks for of a carrier, counted by pool.

A carrier is asked for a share of its time: the bits over the rate at which the site gets them. Sums
of such shares weigh a site by how long it takes, so that a pool's rate is a harmonic mean. Counts
are whole numbers of so small units that parts of a plan add up to the very sum of the whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.capacity import Demand, PoolLoad
from siteplan.answers.transmission import TerminalType
from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.network.capacity.applications import Asked
from siteplan.planning.applications.carried import asked as applications_of
from siteplan.planning.applications.carried import carried
from siteplan.planning.capacity.pools import Pool, pools
from siteplan.planning.capacity.terminals import Sending, types_of
from siteplan.planning.link.coding import information_rate_kbit_s

_NONE: Final[Mapping[str, Network]] = MappingProxyType({})
#: Name of the table in ``Plan.tables``: what each site offers, (n, 1 + a, 2, 2).
BUSY: Final = "busy_hour"
#: The directions, in the order of pairs.
WAYS: Final = ("outbound", "inbound")
#: Units of offered traffic in a kbit/s, and of a carrier's time in all of it.
PER_KBIT_S, PER_CARRIER = 1e9, 1e12
#: What numbers of 64 bits surely hold.
_MOST = 2.0**62


def loads_of(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    own: Mapping[str, Network] = _NONE,
    sending: Sending | None = None,
) -> tuple[PoolLoad, ...]:
    """Return what sites (n,) offer, by pool; those that get no kit are left out.

    Parameters
    ----------
    sites : Sites
        Whose own traffic goes before that of ``[traffic]``.
    columns : mapping of arrays (n,)
        Result fields: kit, power of the inbound carrier, and the mean rates of an adaptive carrier
        where it has them. The busy hour is not the faded hour, so that a rate is the mean over
        time: that at the target is had in the worst fade alone, that of clear sky is too kind.
    network : Network
    own : mapping
        The networks of beams by their names, where they have their own.
    sending : Sending or None
        What the sites send; without it their terminals are not counted by type.
    """
    here = carried(sites, network)
    every = pools(columns, network, own)
    return tuple(_load(sites, columns, pool, sending, here) for pool in every)


def added(loads: Iterable[PoolLoad]) -> tuple[PoolLoad, ...]:
    """Return loads with those of one pool as one, by name."""
    found: dict[str, PoolLoad] = {}
    for load in loads:
        found[load.pool] = found[load.pool].plus(load) if load.pool in found else load
    return tuple(found[name] for name in sorted(found))


def load_from(data: Mapping[str, Any]) -> PoolLoad:
    """Return a load from its fields as plain data, perhaps by way of a file."""
    fields: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in data.items()}
    types = tuple(TerminalType(**of) for of in fields.pop("terminals", ()))
    demands = tuple(_demand_from(of) for of in fields.pop("demands", ()))
    return PoolLoad(**fields, terminals=types, demands=demands)


def _demand_from(data: Mapping[str, Any]) -> Demand:
    fields: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in data.items()}
    return Demand(**fields)


def offered_kbit_s(own_kbit_s: FloatArray, table_kbit_s: float, activity: float) -> FloatArray:
    """Return what sites (n,) offer [kbit/s]: the rate while active, own or else, times activity."""
    return np.where(np.isnan(own_kbit_s), table_kbit_s, own_kbit_s) * activity


def busy_hours(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    own: Mapping[str, Network] = _NONE,
) -> FloatArray:
    """Return what each of n sites offers and asks for, zero without kit: (n, 1 + a, 2, 2).

    Along axis 1 by ``[traffic]``, then by each of a applications; then outbound and inbound; then
    offered and asked, in the whole units of `siteplan.answers.capacity.PoolLoad`, NaN asked for
    where no rate is known. Arguments as of `loads_of`.
    """
    found = np.zeros((len(sites), 1 + len(network.applications), 2, 2))
    here = carried(sites, network)
    for pool in pools(columns, network, own):
        rows = pool.rows[_equipped(columns)[pool.rows]]
        found[rows] = _busy(sites, columns, pool.network, rows, here[rows])
    return found


def weights(busy: FloatArray, network: Network) -> FloatArray:
    """Return what the shares of sites (k,) of a lease go by: (k, 2), outbound and inbound.

    The time of a carrier that a site takes, inbound over what its access may use of one, in whole
    units.

    Parameters
    ----------
    busy : (k, 1 + a, 2, 2) array
        Rows of `busy_hours`.
    network : Network
    """
    asks = np.nan_to_num(busy[..., 1])
    accesses = (network.traffic.access, *(of.access for of in applications_of(network)))
    share = np.array([network.traffic.used_by(access) for access in accesses])
    inbound = asks[:, :, 1] / share
    both = np.stack([asks[:, :, 0].sum(axis=1), inbound.sum(axis=1)], axis=1)
    return np.asarray(np.rint(both))


def summed(name: str, busy: FloatArray, here: BoolArray, network: Network, **more: Any) -> PoolLoad:
    """Return the load of sites (k,) that share a pool, from what each offers.

    Parameters
    ----------
    name : str
        The pool's.
    busy : (k, 1 + a, 2, 2) array
        Rows of `busy_hours`.
    here : (k, a) array of bool
        Which applications each site has.
    network : Network
    **more
        Further fields of the load.
    """
    offered, asked = (np.nan_to_num(busy[..., k]) for k in (0, 1))
    unrated = np.isnan(busy[..., 1]).sum(axis=0)
    return PoolLoad(
        pool=name,
        sites=len(busy),
        offered=_pair(offered[:, 0]),
        asked=_pair(asked[:, 0]),
        unrated=(int(unrated[0, 0]), int(unrated[0, 1])),
        weights=_pair(weights(busy, network)),
        applied=int(here.any(axis=1).sum()),
        demands=tuple(
            _demand(of, here[:, a], offered[:, a + 1], asked[:, a + 1], unrated[a + 1])
            for a, of in enumerate(applications_of(network))
            if here[:, a].any()
        ),
        **more,
    )


def _demand(
    of: Asked, here: BoolArray, offered: FloatArray, asked: FloatArray, unrated: IntArray
) -> Demand:
    """Return the demand of one application from what sites offer and ask for it (k, 2)."""
    whole = _pair(offered), _pair(asked)
    if of.multicast:
        most = int(offered[:, 0].max()), int(asked[:, 0].max())
        whole = (most[0], whole[0][1]), (most[1], whole[1][1])
    sites = int(here.sum())
    told = int(unrated[0]), int(unrated[1])
    return Demand(of.name, sites, sites * of.sessions, *whole, told, once=of.multicast)


def _pair(values: FloatArray) -> tuple[int, int]:
    return _whole(values[:, 0]), _whole(values[:, 1])


def _equipped(columns: Mapping[str, NDArray[Any]]) -> BoolArray:
    return np.asarray(~np.isnan(columns["antenna_m"]) & ~np.isnan(columns["buc_w"]))


def _load(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    pool: Pool,
    sending: Sending | None,
    here: BoolArray,
) -> PoolLoad:
    rows = pool.rows[_equipped(columns)[pool.rows]]
    told = tuple(int(_told(sites, way, here)[rows].sum()) for way in WAYS)
    return summed(
        pool.name,
        _busy(sites, columns, pool.network, rows, here[rows]),
        here[rows],
        pool.network,
        left_out=len(pool.rows) - len(rows),
        told=told,
        lined=int(_has_line(sites, pool.network)[pool.rows].sum()),
        power_equivalent_mhz=float(np.nanmax(columns["power_equivalent_mhz"][rows], initial=0.0)),
        terminals=() if sending is None else types_of(columns, pool, sending, rows),
    )


def _has_line(sites: Sites, network: Network) -> BoolArray:
    """Return where a terrestrial line's cost is told (n,), where costs are told over the years."""
    costs = network.costs
    by_km = costs.line_per_km is not None
    here = ~np.isnan(sites.line_cost_month) | (by_km & ~np.isnan(sites.line_km))
    return costs.counts_life & (here | (costs.line_month is not None))


def _told(sites: Sites, way: str, here: BoolArray) -> BoolArray:
    """Return where a site's own traffic is told (n,): by its row, or by its applications."""
    own: FloatArray = getattr(sites, f"{way}_kbit_s")
    return np.asarray(here.any(axis=1) | ~np.isnan(own))


def _busy(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    rows: NDArray[np.intp],
    here: BoolArray,
) -> FloatArray:
    """Return the rows of `busy_hours` of sites of one pool that have kit."""
    found = np.zeros((len(rows), 1 + here.shape[1], 2, 2))
    plain = ~here.any(axis=1)
    each = applications_of(network)
    for k, way in enumerate(WAYS):
        rate = _rates_kbit_s(columns, network, way, rows)
        own = getattr(sites, f"{way}_kbit_s")[rows]
        usual = getattr(network.traffic, f"{way}_kbit_s")
        offered = np.where(plain, offered_kbit_s(own, usual, network.traffic.activity), 0.0)
        found[:, 0, k] = _shares(offered, rate)
        for a, of in enumerate(each):
            kbit_s = of.sessions * getattr(of, f"{way}_kbit_s") * of.activity
            found[:, a + 1, k] = _shares(np.where(here[:, a], kbit_s, 0.0), rate)
    return found


def _shares(offered_kbit_s: FloatArray, rate_kbit_s: FloatArray) -> FloatArray:
    """Return traffic (k,) and what it asks of a carrier, in whole units (k, 2)."""
    has = rate_kbit_s > 0
    asked = np.divide(offered_kbit_s, rate_kbit_s, out=np.zeros(len(has)), where=has)
    unrated = ~has & (offered_kbit_s > 0)
    whole = np.rint(offered_kbit_s * PER_KBIT_S), np.rint(asked * PER_CARRIER)
    return np.stack([whole[0], np.where(unrated, np.nan, whole[1])], axis=1)


def _rates_kbit_s(
    columns: Mapping[str, NDArray[Any]], network: Network, way: str, rows: NDArray[np.intp]
) -> FloatArray:
    """Return the rate of sites [kbit/s]: the mean of an adaptive carrier's, else the fixed one.

    0 where it is not known.
    """
    mean = columns.get(f"{way}_mean_kbit_s")
    if mean is not None:
        return np.asarray(np.nan_to_num(mean[rows]))
    fixed = information_rate_kbit_s(getattr(network, way))
    return np.full(len(rows), 0.0 if fixed is None else fixed)


def _whole(each: FloatArray) -> int:
    """Return the sum of whole numbers (n,)."""
    if float(each.sum()) < _MOST:
        return int(each.astype(np.int64).sum())
    return sum(int(x) for x in each.tolist())
