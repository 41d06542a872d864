"""lease.csv: the carriers of each pool in the order of the frequency plan, and what is leased."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from siteplan.answers.capacity import Capacity, PoolCapacity
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed

#: Decimals by column; None for a text.
_DECIMALS: dict[str, int | None] = {
    **{"pool": None, "direction": None, "number": 0},
    **dict.fromkeys(("symbol_rate_msps", "occupied_mhz", "power_equivalent_mhz", "leased_mhz"), 6),
    **dict.fromkeys(("balance_db", "balancing_change_db"), 2),
    **dict.fromkeys(("balancing_msps", "centre_offset_mhz"), 6),
}
HEADINGS = (*_DECIMALS, "basis")
#: What the direction of a row says that sums up a pool, or the plan.
ALL = "all"
#: What a figure rests on: on traffic that nobody gave, or else on what is given.
ASSUMED, GIVEN = "in part assumed", "computed"


def write_lease(capacity: Capacity, path: Path) -> None:
    """Write what is leased as CSV (UTF-8), for whoever orders the bandwidth.

    A row a carrier, as `siteplan.answers.capacity.LeasedCarrier`; then, with the direction
    ``all``, a row a pool: how many carriers, their bandwidths, and what is leased for them, rounded
    up to the step; last, of several pools, one of all. ``basis`` says where a figure rests on
    keys that nobody gave.
    """
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        writer.writerows(_rows(capacity))


def _rows(capacity: Capacity) -> Iterator[list[str]]:
    basis = ASSUMED if capacity.assumed else GIVEN
    for pool in capacity.pools:
        for carrier in pool.carriers:
            yield [*(_cell(getattr(carrier, name), name) for name in _DECIMALS), basis]
        yield _sum(pool.load.pool, [pool], pool.leased_mhz, basis)
    if len(capacity.pools) > 1:
        yield _sum(ALL, capacity.pools, capacity.leased_mhz, basis)


def _sum(name: str, pools: Sequence[PoolCapacity], leased_mhz: float, basis: str) -> list[str]:
    """Return the row that sums up pools."""
    carriers = [carrier for pool in pools for carrier in pool.carriers]
    told: dict[str, Any] = {
        "pool": name,
        "direction": ALL,
        "number": len(carriers),
        "occupied_mhz": math.fsum(c.occupied_mhz for c in carriers),
        "power_equivalent_mhz": math.fsum(c.power_equivalent_mhz for c in carriers),
        "leased_mhz": leased_mhz,
    }
    return [*(_cell(told.get(column, math.nan), column) for column in _DECIMALS), basis]


def _cell(value: Any, name: str) -> str:
    """Return a value as a cell: a text, or a bare number; '' for what is not known."""
    decimals = _DECIMALS[name]
    if decimals is None:
        return str(value)
    return "" if math.isnan(value) else fixed(round(value, decimals) + 0.0, decimals)
