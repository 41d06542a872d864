"""The carriers of a transmission plan: where they stand, and how strong each is at every end."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from siteplan.answers.capacity import LeasedCarrier, PoolCapacity
from siteplan.answers.hub import HubResult
from siteplan.answers.transmission import Basis, CarrierGroup, Centre
from siteplan.network import Carrier, Network
from siteplan.physics.radio.carrier import carrier_backoff_db
from siteplan.physics.radio.emission import designator
from siteplan.planning.capacity.basis import of_carrier
from siteplan.planning.capacity.pools import WHOLE
from siteplan.planning.link import coding
from siteplan.planning.link.ends import carrier_plan, required_db

#: Decimals of a frequency in GHz: hertz. What binary fractions add is taken off.
_TO_THE_HERTZ = 9


class Ends(NamedTuple):
    """Levels at both ends of a carrier, as `CarrierGroup` names them; NaN where not known."""

    eirp_dbw: float
    greatest_eirp_dbw: float
    flux_dbw_m2: float
    sfd_dbw_m2: float
    satellite_g_t_db_k: float
    carrier_input_backoff_db: float
    carrier_output_backoff_db: float
    least_satellite_eirp_dbw: float
    satellite_eirp_dbw: float


def groups_of(
    pool: PoolCapacity, network: Network, hub: HubResult | None, counted: Sequence[str]
) -> tuple[CarrierGroup, ...]:
    """Return the outbound and the inbound carriers of a pool.

    Parameters
    ----------
    pool : PoolCapacity
    network : Network
        The pool's own.
    hub : HubResult or None
        Its gateway.
    counted : sequence of str
        Keys of ``[traffic]`` that nobody gave and that numbers of carriers rest on.
    """
    ends = {"outbound": _outbound(pool, network, hub), "inbound": _inbound(pool, network)}
    short = hub is not None and hub.short_db > 0
    basis = {
        way: of_carrier(
            network, way, counted=[k for k in counted if k not in _OTHERS[way]], short=short
        )
        for way in ends
    }
    return tuple(_group(way, pool, network, of, basis[way]) for way, of in ends.items())


#: Keys of ``[traffic]`` that say nothing of a direction.
_OTHERS = {
    "outbound": ("traffic.inbound_kbit_s", "traffic.utilisation", "traffic.blocking_pct"),
    "inbound": ("traffic.outbound_kbit_s",),
}


def beams_of(pool: PoolCapacity) -> tuple[str, ...]:
    """Return the beam of a pool; empty for the pool of a network without beams."""
    return () if pool.load.pool == WHOLE else (pool.load.pool,)


def alike(groups: Iterable[CarrierGroup]) -> tuple[CarrierGroup, ...]:
    """Return groups with those that are the very same but for their beams told once."""
    found: dict[CarrierGroup, tuple[str, ...]] = {}
    for of in groups:
        same = replace(of, beams=())
        found[same] = (*found.get(same, ()), *of.beams)
    return tuple(replace(of, beams=beams) for of, beams in found.items())


def _group(
    way: str, pool: PoolCapacity, network: Network, ends: Ends, basis: Basis
) -> CarrierGroup:
    carrier: Carrier = getattr(network, way)
    leased = pool.of(way)
    each = leased[0]
    backoff = ends.carrier_output_backoff_db
    return CarrierGroup(
        beams=beams_of(pool),
        direction=way,
        centres=tuple(centre(carrier, of) for of in leased),
        occupied_mhz=each.occupied_mhz,
        power_equivalent_mhz=each.power_equivalent_mhz,
        leased_mhz=each.leased_mhz,
        **_sent(way, carrier, network),
        **ends._asdict(),
        least_carrier_eirp_dbw=ends.least_satellite_eirp_dbw - backoff,
        carrier_eirp_dbw=ends.satellite_eirp_dbw - backoff,
        basis=basis,
    )


def centre(carrier: Carrier, of: LeasedCarrier) -> Centre:
    """Return where a carrier stands: the network file's frequencies are the middle of all."""
    up, down = (
        round(ghz + of.centre_offset_mhz / 1000, _TO_THE_HERTZ)
        for ghz in (carrier.uplink_ghz, carrier.downlink_ghz)
    )
    return Centre(of.number, of.centre_offset_mhz, up, down)


#: What a group has as the network file says it.
_AS_GIVEN = (
    *("uplink_ghz", "downlink_ghz", "uplink_polarization", "downlink_polarization"),
    *("symbol_rate_msps", "roll_off", "transponder_mhz", "input_backoff_db", "output_backoff_db"),
)


def _sent(way: str, carrier: Carrier, network: Network) -> dict[str, Any]:
    """Return how a carrier is sent, and the transponder that it goes through."""
    rate = coding.information_rate_kbit_s(carrier)
    by_figure = carrier.es_n0_db is not None or carrier.eb_n0_db is not None
    used = coding.usable(way, carrier) if carrier.adaptive else ()
    names = tuple(dict.fromkeys((used[0].name, used[-1].name))) if used else ()
    return {
        **{key: getattr(carrier, key) for key in _AS_GIVEN},
        "modcod": "" if by_figure else f"{carrier.waveform} {carrier.modcod}",
        "modcods": names,
        "required_es_n0_db": required_db(way, carrier),
        "information_rate_kbit_s": math.nan if rate is None else rate,
        "emission": designator(carrier.occupied_mhz * 1e6, network.regulation.emission_class),
    }


def _outbound(pool: PoolCapacity, network: Network, hub: HubResult | None) -> Ends:
    """Return the levels of an outbound carrier: its share, less what the hub's amplifier lacks."""
    out, short = carrier_plan(network.outbound), 0.0 if hub is None else hub.short_db
    flux = float(out.share_flux_dbw_m2) - short
    eirp = math.nan if hub is None else hub.eirp_dbw
    control = math.nan if hub is None else hub.control_db
    lows = [of.least_satellite_eirp_dbw for of in pool.load.terminals]
    highs = [of.satellite_eirp_dbw for of in pool.load.terminals]
    told = bool(lows) and not math.isnan(lows[0])
    usual = network.outbound.satellite_eirp_dbw
    # Contours give each site its own; where no terminal tells of any, nobody knows.
    unknown = math.nan if network.contours else usual
    return Ends(
        *(eirp, eirp + control, flux, float(out.sfd_dbw_m2), float(out.satellite_g_t_db_k)),
        *(float(out.sfd_dbw_m2) - flux, float(carrier_backoff_db(out, flux))),
        *((min(lows), max(highs)) if told else (unknown, unknown)),
    )


def _inbound(pool: PoolCapacity, network: Network) -> Ends:
    """Return the levels of an inbound carrier: those of the terminal that takes most."""
    back, types = network.inbound, pool.load.terminals
    satellite = back.satellite_eirp_dbw, back.satellite_eirp_dbw
    if not types:
        there = back.sfd_dbw_m2, back.satellite_g_t_db_k
        return Ends(*(math.nan,) * 3, *there, math.nan, math.nan, *satellite)
    worst = max(types, key=lambda of: of.strength)
    share = back.transponder_mhz / worst.power_equivalent_mhz
    return Ends(
        *(max(of.eirp_dbw for of in types), max(of.faded_eirp_dbw for of in types)),
        *(worst.flux_dbw_m2, worst.sfd_dbw_m2),
        # Where a beam's G/T is higher by some decibels, its SFD is lower by as many.
        back.satellite_g_t_db_k + back.sfd_dbw_m2 - worst.sfd_dbw_m2,
        worst.sfd_dbw_m2 - worst.flux_dbw_m2,
        back.output_backoff_db + 10 * math.log10(share),
        *satellite,
    )
