"""The IFL cable: the lightest class that carries signals and supply, or why none does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.messages import fill
from siteplan.network import Network
from siteplan.physics.radio import cable

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]


@dataclass(frozen=True)
class Demand:
    """What the cable must serve (n,): its length [m], the BUC, the carrier at the LNB.

    ``buc_dbw`` is the BUC's power after back-off [dBW], ``buc_dc_w`` what it draws [W],
    ``lnb_input_dbw`` the outbound carrier at the LNB's input in clear sky [dBW].
    """

    length_m: FloatArray
    buc_dbw: FloatArray
    buc_dc_w: FloatArray
    lnb_input_dbw: FloatArray


class Classes(NamedTuple):
    """The catalogue's cables (k,), the lightest first."""

    name: list[str]
    loss_db_100m: FloatArray
    ohm_km: FloatArray


@dataclass(frozen=True)
class Cabling:
    """The cable of each site (n,): class ('' where none works), levels, supply, advice.

    Where none works the figures are those of the class with the least loss.
    """

    name: TextArray
    loss_low_db: FloatArray
    loss_high_db: FloatArray
    slope_db: FloatArray
    voltage_v: FloatArray
    current_a: FloatArray
    modem_output_dbm: FloatArray
    modem_input_dbm: FloatArray
    advice: TextArray
    out_of_range: BoolArray


def classes(network: Network) -> Classes:
    """Return the catalogue's cables, the thinnest (lightest) first."""
    found = sorted(network.cables, key=lambda c: (c.diameter_mm, -c.loss_db_100m))
    core = np.array(
        [
            float(cable.core_resistance_ohm_km(c.core_mm, clad_steel=c.core == "clad_steel"))
            for c in found
        ]
    )
    shield = np.array([c.shield_ohm_km for c in found])
    loss = np.array([c.loss_db_100m for c in found])
    return Classes([c.name for c in found], loss, core + shield)


def buc_dc_w(rated_w: FloatArray, network: Network) -> FloatArray:
    """Return what BUCs of a rated power (n,) draw [W]: given, else efficiency and overhead."""
    drawn = np.asarray(rated_w / network.ifl.buc_efficiency + network.ifl.buc_overhead_w)
    for buc in network.bucs:
        if buc.dc_w is not None:
            drawn = np.where(rated_w == buc.rated_w, buc.dc_w, drawn)
    return drawn


def cabling(need: Demand, network: Network) -> Cabling:
    """Return the lightest class of cable that works at each site.

    A class works if the BUC keeps its least voltage, the slope stays in bounds, the modem can
    drive the BUC, and the carrier reaches the modem. Levels that are too high need a pad, not
    another cable.
    """
    kinds, ifl = classes(network), network.ifl
    length = need.length_m[:, None]
    high = cable.cable_loss_db(length, ifl.high_mhz, kinds.loss_db_100m)
    low = cable.cable_loss_db(length, ifl.low_mhz, kinds.loss_db_100m)
    loop = cable.loop_resistance_ohm(length, kinds.ohm_km, 0.0)
    supply = cable.supply_at_load(ifl.supply_v, need.buc_dc_w[:, None], loop)
    drive = cable.modem_output_dbm(10 ** (need.buc_dbw[:, None] / 10), ifl.buc_gain_db, high)
    level = cable.modem_input_dbm(need.lnb_input_dbw[:, None], ifl.lnb_gain_db, high)
    works = (
        (np.nan_to_num(supply.voltage_v) >= ifl.buc_min_v)
        & (high - low <= ifl.max_slope_db)
        & (drive <= ifl.modem_output_max_dbm)
        & ~(level < ifl.modem_input_min_dbm)
    )
    some = works.any(axis=1)
    pick = np.where(some, np.argmax(works, axis=1), int(np.argmin(kinds.loss_db_100m)))
    rows = np.arange(len(pick))
    chosen = [x[rows, pick] for x in (low, high, supply.voltage_v, supply.current_a, drive, level)]
    name = np.where(some, np.array(kinds.name, dtype=object)[pick], "")
    unknown = np.isnan(need.lnb_input_dbw)
    advice = _advice(need, kinds, network, ~some & ~unknown)
    low_, high_, volts, amps, out, into = (np.where(unknown, np.nan, x) for x in chosen)
    off = (out < ifl.modem_output_min_dbm) | (out > ifl.modem_output_max_dbm)
    off |= (into > ifl.modem_input_max_dbm) | (into < ifl.modem_input_min_dbm)
    name[unknown] = ""
    return Cabling(name, low_, high_, high_ - low_, volts, amps, out, into, advice, off)


def longest_m(need: Demand, kinds: Classes, network: Network) -> tuple[FloatArray, FloatArray]:
    """Return the longest run (n, k) [m] of each class: by supply, and by signal."""
    ifl = network.ifl
    by_supply = cable.longest_run_m(
        ifl.supply_v, need.buc_dc_w[:, None], ifl.buc_min_v, kinds.ohm_km
    )
    per_m = cable.cable_loss_db(1.0, ifl.high_mhz, kinds.loss_db_100m)
    slope_per_m = cable.slope_db(1.0, kinds.loss_db_100m, (ifl.low_mhz, ifl.high_mhz))
    unlossy = cable.modem_output_dbm(10 ** (need.buc_dbw[:, None] / 10), ifl.buc_gain_db, 0.0)
    level = cable.modem_input_dbm(need.lnb_input_dbw[:, None], ifl.lnb_gain_db, 0.0)
    spare = np.minimum(ifl.modem_output_max_dbm - unlossy, level - ifl.modem_input_min_dbm)
    by_signal = np.minimum(np.maximum(spare, 0) / per_m, ifl.max_slope_db / slope_per_m)
    return by_supply, np.asarray(by_signal)


def _advice(need: Demand, kinds: Classes, network: Network, where: BoolArray) -> TextArray:
    """Return why no class works and what would (n,), '' elsewhere."""
    advice = np.full(len(need.length_m), "", dtype=object)
    at = np.flatnonzero(where)
    if not at.size:
        return advice
    part = Demand(*(getattr(need, f)[at] for f in need.__dataclass_fields__))
    by_supply, by_signal = longest_m(part, kinds, network)
    both = np.minimum(by_supply, by_signal)
    best = np.argmax(both, axis=1)
    rows = np.arange(len(at))
    loop = part.length_m / 1e3 * kinds.ohm_km.min()
    least = network.ifl.buc_min_v
    # The voltage that leaves the BUC its least, or its stable half where that is more.
    volts = np.where(least < np.sqrt(part.buc_dc_w * loop), 2 * np.sqrt(part.buc_dc_w * loop),
                     least + part.buc_dc_w * loop / least)  # fmt: skip
    numbers = {
        "length": part.length_m,
        "run": np.floor(both[rows, best]),
        "watts": part.buc_dc_w,
        "volts": np.ceil(volts),
    }
    starved = (by_supply < part.length_m[:, None]).all(axis=1)
    deaf = (by_signal < part.length_m[:, None]).all(axis=1)
    signal = "the signal does not carry over {length:.0f} m in any class"
    power = "no class carries the BUC's {watts:.0f} W over {length:.0f} m"
    higher = "a supply of {volts:.0f} V with the class of least resistance, a local supply"
    for mask, start, remedy in (
        (starved & deaf, f"{power}, and {signal}", "a line amplifier with a local supply"),
        (starved & ~deaf, power, higher),
        (deaf & ~starved, signal, "a line amplifier"),
        (~deaf & ~starved, "no class carries both signal and supply over {length:.0f} m", higher),
    ):
        text = (
            f"{start[0].upper()}{start[1:]}: a run of at most {{run:.0f}} m would do, or {remedy}."
        )
        advice[at[mask]] = fill(text, {k: v[mask] for k, v in numbers.items()})
    return advice
