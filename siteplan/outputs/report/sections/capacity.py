"""Capacity and lease: carriers, what their bandwidth and power are worth, and the years ahead."""

from __future__ import annotations

import math

from markupsafe import Markup

from siteplan.answers.capacity import Capacity, CapacityYear, LeasedCarrier, PoolCapacity
from siteplan.outputs.report.blocks import (
    Block,
    Listed,
    Section,
    Shown,
    Table,
    Text,
    Words,
    listed,
    user,
)
from siteplan.outputs.shown import DASH, alone, amount, to_digits

#: Pools that are listed.
MOST_POOLS = 12
#: Pools that a note names.
_MOST_NAMED = 4
_WAYS = ("outbound", "inbound")
#: Growth per year that is none.
_NO_GROWTH = (0.0, 0.0)


def capacity(shown: Shown) -> Section | None:
    """Return what is leased for the traffic of the busy hour; nothing where it was not counted."""
    found = shown.plan.facts.capacity
    if found is None or not found.pools:
        return None
    blocks: list[Block] = [Words(_told(found)), _lease(found)]
    if len(found.pools) > MOST_POOLS:
        blocks.append(Words(f"{len(found.pools) - MOST_POOLS} more pools stand in lease.csv."))
    if len(found.pools) == 1:
        traffic = shown.plan.network.traffic
        grows = (traffic.growth_pct, traffic.sites_growth_pct) != _NO_GROWTH
        blocks += _years(found.pools[0], grows=grows and traffic.years > 0)
    blocks += _coding(shown) + _resized(found)
    if notes := _notes(found):
        blocks.append(Words(Markup(" ").join(notes), "small"))
    return Section("Capacity and lease", blocks)


def _coding(shown: Shown) -> list[Block]:
    """Return what adaptive carriers bring at the median site; nothing where none adapts."""
    told = [
        f"{way} {_or_dash(of['mean_kbit_s_median'], 'kbit/s')} on average and"
        f" {_or_dash(of['target_kbit_s_median'], 'kbit/s')} at the target{alone(of)}"
        for way, of in shown.report.coding.items()
        if of["mean_kbit_s_median"] is not None
    ]
    if not told:
        return []
    return [Words(f"Adaptive coding: while a whole carrier serves it, the median site has"
                  f" {'; '.join(told)}. That holds while the transponder is linear.")]  # fmt: skip


def _notes(found: Capacity) -> list[Text]:
    """Return what is said of the pools; what is not said of all of them behind their names."""
    told: dict[str, list[str]] = {}
    for pool in found.pools:
        for note in dict.fromkeys(pool.notes):
            told.setdefault(note, []).append(pool.load.pool)
    return [
        note if len(names) == len(found.pools) else _behind(names) + ": " + note
        for note, names in told.items()
    ]


def _behind(names: list[str]) -> Markup:
    return listed([user(name) for name in names[:_MOST_NAMED]], len(names) - _MOST_NAMED)


def _told(found: Capacity) -> str:
    """Return what is leased in all, and what that rests on."""
    leased = f"{amount(found.leased_mhz, 'MHz')} are leased in all."
    if found.traffic_assumed:
        return (
            f"{leased} Nobody told of any traffic: the number of carriers rests on the"
            " defaults for it alone. What one carrier is leased does not."
        )
    if any(key.startswith("traffic.") for key in found.assumed):
        return f"{leased} Of the traffic a part is assumed: see the assumed figures."
    return leased


def _lease(found: Capacity) -> Table:
    """Return a row a direction: how many carriers, and what each is leased."""
    several = len(found.pools) > 1
    heads = (
        *(("Beam",) if several else ()),
        *("Carriers", "Number", "Symbol rate", "Occupied", "Power-equivalent", "Leased, each"),
        *("Balance", "Balanced at"),
    )
    rows = [
        (*((user(pool.load.pool),) if several else ()), *_row(way, pool.of(way)))
        for pool in found.pools[:MOST_POOLS]
        for way in _WAYS
    ]
    first = 2 if several else 1
    return Table(heads, rows, frozenset(range(first, len(heads))), "small")


def _row(way: str, carriers: tuple[LeasedCarrier, ...]) -> tuple[Text, ...]:
    """Return one direction: its carriers are alike."""
    of = carriers[0]
    return (
        way,
        str(len(carriers)),
        _or_dash(of.symbol_rate_msps, "Msym/s"),
        _or_dash(of.occupied_mhz, "MHz"),
        _or_dash(of.power_equivalent_mhz, "MHz"),
        _or_dash(of.leased_mhz, "MHz"),
        DASH if math.isnan(of.balance_db) else amount(round(of.balance_db, 1) + 0.0, "dB", 1),
        _or_dash(of.balancing_msps, "Msym/s"),
    )


def _or_dash(value: float, unit: str) -> str:
    """Return a figure to four digits; a dash where it is not known."""
    return DASH if math.isnan(value) else to_digits(value, unit)


def _years(pool: PoolCapacity, *, grows: bool) -> list[Block]:
    """Return the traffic of a pool and what it takes, a row a year; one row where nothing grows."""
    lines = any(year.lines is not None for year in pool.years)
    heads = (
        *("Year", "Sites", "Outbound traffic", "Inbound traffic", "Outbound load"),
        *("Outbound carriers", "Inbound carriers", *(("Lines",) if lines else ()), "Leased"),
    )
    shown = pool.years if grows else pool.years[:1]
    rows = [_year(year, lines=lines) for year in shown]
    found: list[Block] = [Table(heads, rows, frozenset(range(1, len(heads))), "small")]
    if not grows and len(pool.years) > 1:
        found.append(Words("No growth is given: every year is as this one.", "small"))
    return found


def _year(of: CapacityYear, *, lines: bool) -> tuple[Text, ...]:
    counts = (of.outbound_carriers, of.inbound_carriers, *((of.lines,) if lines else ()))
    load = of.outbound_load
    return (
        "now" if of.year == 0 else str(of.year),
        str(round(of.sites)),
        _or_dash(of.outbound_offered_kbit_s, "kbit/s"),
        _or_dash(of.inbound_offered_kbit_s, "kbit/s"),
        DASH if math.isnan(load) else amount(100 * load, "%", 0),
        *(DASH if count is None else str(count) for count in counts),
        _or_dash(of.leased_mhz, "MHz"),
    )


def _resized(found: Capacity) -> list[Block]:
    """Return what is first too small, pool by pool."""
    several = len(found.pools) > 1
    items: list[Text] = []
    for pool in found.pools[:MOST_POOLS]:
        for overflow in pool.overflows:
            name = user(pool.load.pool) + ": " if several else ""
            items.append(name + overflow.text)
    return [Listed(items)] if items else []
