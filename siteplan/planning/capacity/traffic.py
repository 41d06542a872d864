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

from siteplan.answers.capacity import PoolLoad
from siteplan.answers.transmission import TerminalType
from siteplan.arrays import BoolArray, FloatArray
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.capacity.pools import Pool, pools
from siteplan.planning.capacity.terminals import Sending, types_of
from siteplan.planning.link.coding import information_rate_kbit_s

_NONE: Final[Mapping[str, Network]] = MappingProxyType({})
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
    return tuple(_load(sites, columns, pool, sending) for pool in pools(columns, network, own))


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
    return PoolLoad(**fields, terminals=types)


def offered_kbit_s(own_kbit_s: FloatArray, table_kbit_s: float, activity: float) -> FloatArray:
    """Return what sites (n,) offer [kbit/s]: the rate while active, own or else, times activity."""
    return np.where(np.isnan(own_kbit_s), table_kbit_s, own_kbit_s) * activity


def _load(
    sites: Sites, columns: Mapping[str, NDArray[Any]], pool: Pool, sending: Sending | None
) -> PoolLoad:
    equipped = ~np.isnan(columns["antenna_m"]) & ~np.isnan(columns["buc_w"])
    rows = pool.rows[equipped[pool.rows]]
    power = columns["power_equivalent_mhz"][rows]
    each = [_way(sites, columns, pool.network, way, rows) for way in WAYS]
    offered, asked, unrated, told = zip(*each, strict=True)
    return PoolLoad(
        pool=pool.name,
        sites=len(rows),
        left_out=len(pool.rows) - len(rows),
        offered=offered,
        asked=asked,
        unrated=unrated,
        told=told,
        power_equivalent_mhz=float(np.nanmax(power, initial=0.0)),
        terminals=() if sending is None else types_of(columns, pool, sending, rows),
    )


def _way(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    way: str,
    rows: NDArray[np.intp],
) -> tuple[int, int, int, int]:
    """Return what a direction of sites is offered, asks for, cannot have, and was told of."""
    own = getattr(sites, f"{way}_kbit_s")[rows]
    usual = getattr(network.traffic, f"{way}_kbit_s")
    offered = offered_kbit_s(own, usual, network.traffic.activity)
    rate = _rates_kbit_s(columns, network, way, rows)
    has = rate > 0
    asked = np.divide(offered, rate, out=np.zeros(len(rows)), where=has)
    unrated: BoolArray = ~has & (offered > 0)
    told = int((~np.isnan(own)).sum())
    return _whole(offered, PER_KBIT_S), _whole(asked, PER_CARRIER), int(unrated.sum()), told


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


def _whole(values: FloatArray, units: float) -> int:
    """Return the sum of values (n,), each rounded to a whole number of so small units."""
    each = np.rint(values * units)
    if float(each.sum()) < _MOST:
        return int(each.astype(np.int64).sum())
    return sum(int(x) for x in each.tolist())
