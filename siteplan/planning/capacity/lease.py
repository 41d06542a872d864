"""What is leased: bandwidth, or power as bandwidth where that is more; where carriers stand."""

from __future__ import annotations

import math
from typing import NamedTuple

from siteplan.answers.capacity import LeasedCarrier, PoolLoad
from siteplan.network import Carrier, Network
from siteplan.physics.radio.carrier import power_equivalent_mhz
from siteplan.planning.capacity.carriers import Need
from siteplan.planning.link.ends import carrier_plan

#: Decimals of a number of steps that are not of the doubles' making.
_DECIMALS = 9
#: What a sum may pass a step by and not ask for another: as part of the step.
_HAIR = 1e-5


class Slot(NamedTuple):
    """A carrier of one direction: what it occupies, what its power is worth, what it is leased."""

    carrier: Carrier
    occupied_mhz: float
    power_equivalent_mhz: float
    leased_mhz: float


def slots(load: PoolLoad, network: Network) -> tuple[Slot, Slot]:
    """Return the outbound and the inbound carrier of a pool as they are leased, one of each.

    An inbound slot is leased for the worst that may use it: the terminal whose carrier is the
    strongest in clear sky. Without any terminal its power is not known, and its bandwidth counts.
    """
    out, back = network.outbound, network.inbound
    share = carrier_plan(out)
    peb = float(
        power_equivalent_mhz(out.transponder_mhz, out.output_backoff_db, share.share_backoff_db)
    )
    worst = load.power_equivalent_mhz or math.nan
    guard_pct = network.lease.guard_pct
    return _slot(out, peb, guard_pct), _slot(back, worst, guard_pct)


def _slot(carrier: Carrier, peb_mhz: float, guard_pct: float) -> Slot:
    width = carrier.occupied_mhz
    return Slot(carrier, width, peb_mhz, leased_mhz(width, peb_mhz, guard_pct))


def leased_mhz(occupied_mhz: float, peb_mhz: float, guard_pct: float) -> float:
    """Return what is leased of a carrier [MHz]: its bandwidth with its guard, or its power's worth.

    >>> leased_mhz(7.2, 9.0, 5), round(leased_mhz(7.2, 3.0, 5), 6)
    (9.0, 7.56)
    """
    band = occupied_mhz * (1 + guard_pct / 100)
    return band if math.isnan(peb_mhz) else max(peb_mhz, band)


def rounded_up_mhz(total_mhz: float, step_mhz: float) -> float:
    """Return a sum rounded up to the step of a lease [MHz].

    A hundred-thousandth of a step more asks for no other step.

    >>> rounded_up_mhz(10.8000001, 0.1), rounded_up_mhz(36 * 0.3, 0.1), rounded_up_mhz(10.81, 0.1)
    (10.8, 10.8, 10.9)
    """
    return round(math.ceil(total_mhz / step_mhz - _HAIR) * step_mhz, _DECIMALS)


def total_mhz(pair: tuple[Slot, Slot], of: Need) -> tuple[float, float]:
    """Return what all carriers of each direction are leased [MHz], not rounded.

    Where a number of carriers is not known, one is counted.
    """
    counts = of.outbound_carriers or 1, of.inbound_carriers or 1
    return pair[0].leased_mhz * counts[0], pair[1].leased_mhz * counts[1]


def carriers(pool: str, pair: tuple[Slot, Slot], of: Need) -> tuple[LeasedCarrier, ...]:
    """Return the carriers of a pool in the order of the frequency plan, outbound first.

    Each direction's stand side by side, each in the width that is leased for it.
    """
    counts = of.outbound_carriers or 1, of.inbound_carriers or 1
    ways = zip(("outbound", "inbound"), pair, counts, strict=True)
    return tuple(
        _carrier(pool, way, slot, number, count)
        for way, slot, count in ways
        for number in range(1, count + 1)
    )


def _carrier(pool: str, way: str, slot: Slot, number: int, count: int) -> LeasedCarrier:
    """Return one carrier; the middle one of an odd number stands in the middle."""
    rate, ratio = slot.carrier.symbol_rate_msps, slot.power_equivalent_mhz / slot.occupied_mhz
    balance = 10 * math.log10(ratio) + 0.0 if ratio > 0 else math.nan
    return LeasedCarrier(
        pool=pool,
        direction=way,
        number=number,
        symbol_rate_msps=rate,
        occupied_mhz=slot.occupied_mhz,
        power_equivalent_mhz=slot.power_equivalent_mhz,
        leased_mhz=slot.leased_mhz,
        balance_db=balance,
        balancing_change_db=-balance + 0.0,
        balancing_msps=rate * ratio,
        centre_offset_mhz=(number - (count + 1) / 2) * slot.leased_mhz,
    )
