"""What every remote is tuned to: its two carriers, on the air and on the cable."""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.answers import Tuned
from siteplan.messages import english
from siteplan.network import Carrier, Network


def tuning(network: Network) -> tuple[Tuned, Tuned]:
    """Return the carrier that remotes receive, and the one that they send.

    On the cable a carrier stands at the difference of its frequency and the local oscillator's. An
    oscillator above the carrier turns the spectrum round: what was its upper edge is the lower one.
    """
    out, back, own = network.outbound, network.inbound, network.terminal
    return (
        _tuned(network, out, out.downlink_ghz, own.rx_lo_ghz),
        _tuned(network, back, back.uplink_ghz, own.tx_lo_ghz),
    )


def _tuned(network: Network, carrier: Carrier, carrier_ghz: float, lo_ghz: float | None) -> Tuned:
    receives = carrier is network.outbound
    polarization = carrier.downlink_polarization if receives else carrier.uplink_polarization
    lo = math.nan if lo_ghz is None else lo_ghz
    # Frequencies are given to the hertz at most: what binary fractions add is taken off.
    l_band_mhz = round(abs(carrier_ghz - lo) * 1e3, 6)
    half_mhz = carrier.occupied_mhz / 2
    beyond = l_band_mhz - half_mhz < network.ifl.low_mhz
    beyond |= l_band_mhz + half_mhz > network.ifl.high_mhz
    return Tuned(
        receives=receives,
        carrier_ghz=carrier_ghz,
        polarization=polarization,
        symbol_rate_msps=carrier.symbol_rate_msps,
        roll_off=carrier.roll_off,
        modcod=_modcod(carrier),
        lo_ghz=lo,
        l_band_mhz=l_band_mhz,
        inverted=lo > carrier_ghz,
        in_band=not beyond,
    )


def _modcod(carrier: Carrier) -> str:
    """Return waveform and MODCOD, and whether it follows the weather.

    Empty where the threshold is a figure of the planner's.
    """
    by_figure = carrier.es_n0_db is not None or carrier.eb_n0_db is not None
    if by_figure or not carrier.modcod:
        return ""
    follows = ", adaptive" if carrier.adaptive else ""
    return f"{carrier.waveform} {carrier.modcod}{follows}"


def cautions(found: tuple[Tuned, ...], network: Network) -> Iterator[str]:
    """Yield what is wrong with the frequencies on the cable, in sentences."""
    for tuned in found:
        if not tuned.in_band:
            yield english().one(
                "caution.l_band.receive" if tuned.receives else "caution.l_band.transmit",
                l_band_mhz=tuned.l_band_mhz,
                carrier_ghz=tuned.carrier_ghz,
                lo_ghz=tuned.lo_ghz,
                low_mhz=network.ifl.low_mhz,
                high_mhz=network.ifl.high_mhz,
            )
