"""Year by year: what the traffic of a pool comes to, what it takes, what is first too small."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from siteplan.answers.capacity import CapacityYear, Overflow, PoolLoad
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.capacity.carriers import need, offered_kbit_s
from siteplan.planning.capacity.lease import Slot, rounded_up_mhz, total_mhz

#: What a figure may pass a limit by, for the digits of a double.
_HAIR = 1e-9
#: Ordinals in words, the first left out; beyond, a number stands.
_ORDINALS = ("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


class Amplifier(NamedTuple):
    """The hub's amplifier: its rated power, and what each outbound carrier takes of it [W].

    Either is None where it is not known: then the amplifier is judged by nothing.
    """

    hpa_w: float | None = None
    carrier_w: float | None = None


def growth(growth_pct: float, years: int) -> float:
    """Return by what factor that grows which grows by so much a year.

    >>> round(growth(12, 5), 6)
    1.762342
    """
    return float((1 + growth_pct / 100) ** years)


def years_of(
    load: PoolLoad, network: Network, pair: tuple[Slot, Slot], amplifier: Amplifier
) -> tuple[CapacityYear, ...]:
    """Return a pool now (year 0) and in each year that is looked ahead."""
    ahead = range(network.traffic.years + 1)
    return tuple(_year(k, load, network, pair, amplifier) for k in ahead)


def _year(
    year: int, load: PoolLoad, network: Network, pair: tuple[Slot, Slot], amplifier: Amplifier
) -> CapacityYear:
    traffic = network.traffic
    more = growth(traffic.sites_growth_pct, year)
    factor = growth(traffic.growth_pct, year) * more
    of = need(load, network, factor)
    out, back = total_mhz(pair, of)
    counts = of.outbound_carriers or 1, of.inbound_carriers or 1
    power = pair[0].power_equivalent_mhz * counts[0] + pair[1].power_equivalent_mhz * counts[1]
    carrier_w = amplifier.carrier_w
    return CapacityYear(
        year=year,
        sites=load.sites * more,
        outbound_offered_kbit_s=offered_kbit_s(load, 0, factor),
        inbound_offered_kbit_s=offered_kbit_s(load, 1, factor),
        outbound_load=of.outbound_load,
        outbound_msps=network.outbound.symbol_rate_msps * of.outbound_load,
        outbound_carriers=of.outbound_carriers,
        inbound_carriers=of.inbound_carriers,
        lines=of.lines,
        power_equivalent_mhz=power,
        leased_mhz=rounded_up_mhz(out + back, network.lease.step_mhz),
        hpa_w=math.nan if carrier_w is None else carrier_w * counts[0],
    )


def overflows_of(
    years: tuple[CapacityYear, ...],
    network: Network,
    pair: tuple[Slot, Slot],
    amplifier: Amplifier,
) -> tuple[Overflow, ...]:
    """Return what is first too small, each in the first year in which it is, by year.

    Of the outbound carrier that is planned; of the inbound carriers and of the lease that today's
    traffic takes; of the hub's amplifier, where its power is known; and of each transponder, in
    bandwidth and in power, as if no other carrier were in it.
    """
    found: dict[str, Overflow] = {}
    for of in years:
        for what, text in _too_small(of, years[0], network, pair, amplifier):
            found.setdefault(what, Overflow(what, of.year, text))
    return tuple(sorted(found.values(), key=lambda x: x.year))


def _too_small(
    of: CapacityYear,
    now: CapacityYear,
    network: Network,
    pair: tuple[Slot, Slot],
    amplifier: Amplifier,
) -> Iterator[tuple[str, str]]:
    """Yield what is too small in a year, and what to do."""
    words, when = english(), _when(of.year)
    if of.outbound_load > 1 + _HAIR:
        carrier = _ordinal(of.outbound_carriers or 1)
        told = {"when": when, "carrier": carrier, "msps": of.outbound_msps}
        yield "outbound", words.one("capacity.resize.outbound", **told)
    if (of.inbound_carriers or 0) > (now.inbound_carriers or 0):
        told = {"when": when, "carriers": of.inbound_carriers, "before": now.inbound_carriers}
        yield "inbound", words.one("capacity.resize.inbound", **told)
    if amplifier.hpa_w is not None and of.hpa_w > amplifier.hpa_w * (1 + _HAIR):
        told = {"when": when, "need_w": of.hpa_w, "hpa_w": amplifier.hpa_w}
        yield "hpa", words.one("capacity.resize.hpa", **told)
    if of.leased_mhz > now.leased_mhz + _HAIR:
        told = {"when": when, "mhz": of.leased_mhz, "before_mhz": now.leased_mhz}
        yield "lease", words.one("capacity.resize.lease", **told)
    yield from _transponders(of, network, pair)


def _transponders(
    of: CapacityYear, network: Network, pair: tuple[Slot, Slot]
) -> Iterator[tuple[str, str]]:
    """Yield whether a direction's carriers are more than its transponder holds."""
    words, counts = english(), (of.outbound_carriers or 1, of.inbound_carriers or 1)
    for way, slot, count in zip(("outbound", "inbound"), pair, counts, strict=True):
        whole = slot.carrier.transponder_mhz
        told = {"when": _when(of.year), "way": way, "whole_mhz": whole}
        band = slot.occupied_mhz * (1 + network.lease.guard_pct / 100) * count
        if count > 1 and band > whole:  # one alone may fill it: its guard is the neighbour's too
            yield "transponder_band", words.one("capacity.resize.band", mhz=band, **told)
        if (power := slot.power_equivalent_mhz * count) > whole * (1 + _HAIR):
            yield "transponder_power", words.one("capacity.resize.power", mhz=power, **told)


def _when(year: int) -> str:
    """Return a year in words."""
    return "now" if year == 0 else f"in year {year}"


def _ordinal(number: int) -> str:
    """Return what a carrier more is called.

    >>> _ordinal(2), _ordinal(12)
    ('second outbound carrier', '12 outbound carriers')
    """
    if 2 <= number <= len(_ORDINALS) + 1:
        return f"{_ORDINALS[number - 2]} outbound carrier"
    return f"{number} outbound carriers"
