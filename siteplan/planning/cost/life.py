"""What each site costs over the years: at the start, month by month, and against a line.

A site's part of the lease rests on what all sites lease: it is worked out when they are counted,
from a table that a plan carries until then.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.capacity import Capacity, PoolCapacity
from siteplan.arrays import Arrays, BoolArray, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.assembly import given
from siteplan.planning.capacity.pools import WHOLE
from siteplan.planning.capacity.traffic import busy_hours, weights
from siteplan.planning.cost.annuity import MONTHS, factor
from siteplan.planning.step import Columns

#: Name of the table in ``Plan.tables``: (n, 6), what costs rest on before the lease is known.
BASIS: Final = "cost_basis"
#: Its columns: cost of the site, its own month (NaN without kit), a line's month, and what its part
#: of the lease goes by, outbound and inbound; its own bandwidth, by which its kit was picked.
_COST, _MONTH, _LINE, _OUT, _BACK, _OWN = range(6)
#: Hours of a month, of 30.4375 days.
HOURS: Final = 30.4375 * 24
#: What a quotient may pass a whole number by for the digits of a double.
_HAIR = 1e-9


@frozen(eq=False)
class Lives(Arrays):
    """What sites (n,) with kit cost over the years, in the planner's unit; NaN what is not known.

    ``counted`` are the fields that the network file gives prices for.
    """

    capex: Column
    monthly_cost: Column
    life_cost: Column
    line_month: Column
    line_life_cost: Column
    breakeven_months: Column
    cheaper_by: Column
    counted: tuple[str, ...]

    def columns(self) -> Columns:
        """Return the fields that are counted, by name."""
        return {name: v for name, v in super().columns().items() if name in self.counted}


#: The fields that are told of costs over the years.
FIELDS: Final = tuple(name for name in Lives.__annotations__ if name != "counted")


def basis(
    sites: Sites,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    own: Mapping[str, Network],
) -> Columns:
    """Return the table `BASIS` of sites (n,); nothing where no cost over the years is asked for.

    Parameters
    ----------
    sites : Sites
    columns : mapping of arrays (n,)
        Result fields.
    network : Network
    own : mapping
        The networks of beams by their names, where they have their own.
    """
    if not network.costs.counts_life:
        return {}
    none = np.full(len(sites), np.nan)
    month = np.where(given(columns)["kit"], _own_month(columns, network), np.nan)
    parts = weights(busy_hours(sites, columns, network, own), network)
    kept = (columns.get("site_cost", none), month, line_months(sites, network))
    return {BASIS: np.column_stack([*kept, parts, columns.get("own_mhz", none)])}


def own_months(base: FloatArray) -> FloatArray:
    """Return what sites (n,) cost each month, the lease apart, from the table `BASIS`."""
    return np.asarray(base[:, _MONTH])


def own_of(base: FloatArray) -> FloatArray:
    """Return the sites' own bandwidths (n,) [MHz] from the table `BASIS`."""
    return np.asarray(base[:, _OWN])


def _own_month(columns: Mapping[str, NDArray[Any]], network: Network) -> FloatArray:
    """Return what sites (n,) cost each month, the lease apart: of that, what is priced."""
    costs = network.costs
    kwh = np.nan_to_num(columns["buc_dc_w"]) * HOURS / 1000
    fee = (costs.spectrum_fee_site_year or 0.0) / MONTHS
    power = np.asarray((costs.power_kwh or 0.0) * kwh)
    return power + (costs.recurring_site_month or 0.0) + fee


def line_months(sites: Sites, network: Network) -> FloatArray:
    """Return what a terrestrial line to sites (n,) costs a month; NaN where that is not known.

    The site's own; else by its length, where both are given; else what every line costs.
    """
    costs = network.costs
    usual = np.full(len(sites), np.nan if costs.line_month is None else costs.line_month)
    if costs.line_per_km is not None:
        by_km = (costs.line_fixed or 0.0) + costs.line_per_km * sites.line_km
        usual = np.where(np.isnan(sites.line_km), usual, by_km)
    return np.where(np.isnan(sites.line_cost_month), usual, sites.line_cost_month)


def lives(
    base: FloatArray,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    capacity: Capacity,
) -> Lives:
    """Return what sites (n,) cost over the years.

    Parameters
    ----------
    base : (n, 6) array
        The table `BASIS` of these sites.
    columns : mapping of arrays (n,)
        Result fields: the sites' beams, where there are several.
    network : Network
    capacity : Capacity
        Of all sites of the plan.
    """
    costs, here = network.costs, ~np.isnan(base[:, _MONTH])
    months = factor(costs.discount_pct, network.traffic.years)
    hub = (costs.hub_capex or 0.0) / max(sum(pool.load.sites for pool in capacity.pools), 1)
    capex = np.where(here, base[:, _COST] + hub, np.nan)
    month = base[:, _MONTH] + lease_parts(base, columns, network, capacity)
    line = np.where(here, base[:, _LINE], np.nan)
    life, line_life = capex + months * month, months * line
    return Lives(
        capex=capex,
        monthly_cost=month,
        life_cost=life,
        line_month=line,
        line_life_cost=line_life,
        breakeven_months=breakeven_months(capex, month, line),
        cheaper_by=line_life - life,
        counted=_counted(network, capacity, priced="site_cost" in columns),
    )


def _counted(network: Network, capacity: Capacity, *, priced: bool) -> tuple[str, ...]:
    """Return the fields that are told: those that anything is given for."""
    runs, lined = network.costs.runs, any(pool.load.lined for pool in capacity.pools)
    wanted = {
        "capex": priced,
        "monthly_cost": runs,
        "life_cost": priced and runs,
        "line_month": lined,
        "line_life_cost": lined,
        "breakeven_months": lined and priced and runs,
        "cheaper_by": lined and priced and runs,
    }
    return tuple(name for name, told in wanted.items() if told)


def lease_parts(
    base: FloatArray,
    columns: Mapping[str, NDArray[Any]],
    network: Network,
    capacity: Capacity,
) -> FloatArray:
    """Return the part of sites (n,) in the price of the lease of a month; NaN without kit.

    By the load that each puts on the carriers, each direction's own; alike where nobody puts any.
    Parameters are those of `lives`. The parts of all sites add up to the lease.
    """
    price = network.costs.lease_mhz_month or 0.0
    found = np.zeros(len(base))
    for pool in capacity.pools:
        rows = _of_pool(columns, pool)
        total = _mhz(pool)
        scale = pool.leased_mhz / sum(total) if sum(total) else 0.0
        for k, (mhz, all_) in enumerate(zip(total, pool.load.weights, strict=True)):
            alike = np.full(rows.sum(), 1.0 / max(pool.load.sites, 1))
            part = base[rows, _OUT + k] / all_ if all_ else alike
            found[rows] += price * scale * mhz * part
    return np.where(np.isnan(base[:, _MONTH]), np.nan, found)


def _of_pool(columns: Mapping[str, NDArray[Any]], pool: PoolCapacity) -> BoolArray:
    """Return the sites (n,) of a pool."""
    if "beam" not in columns or pool.load.pool == WHOLE:
        return np.ones(len(columns["antenna_m"]), dtype=bool)
    return np.asarray(columns["beam"] == pool.load.pool)


def _mhz(pool: PoolCapacity) -> tuple[float, float]:
    """Return what is leased for the carriers of each direction [MHz], not rounded."""
    out, back = (
        sum(carrier.leased_mhz for carrier in pool.of(way)) for way in ("outbound", "inbound")
    )
    return float(out), float(back)


def breakeven_months(capex: FloatArray, month: FloatArray, line: FloatArray) -> FloatArray:
    """Return the first month (n,) in which a site has cost less in all than a line would have.

    The least whole n with capex + n x month < n x line; NaN where a month of the line costs no more
    than the site's, and where anything is not known.

    >>> breakeven_months(np.array([100.0, 99.0]), np.array([10.0, 10.0]), np.array([20.0, 20.0]))
    array([11., 10.])
    """
    saves = line - month
    pays = saves > 0
    months = np.divide(capex, saves, out=np.full(len(capex), np.nan), where=pays)
    # A whole quotient is the month in which both have cost the same.
    return np.asarray(np.floor(months + _HAIR * np.maximum(1.0, months)) + 1)
