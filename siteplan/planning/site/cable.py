"""The IFL cable: the lightest class that carries signals and supply, or why none does.

The voltage rests on what the core is made of, which nobody sees from outside: so the core is told
with it, and what one of copper-clad steel would do.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, TextColumn, no_more
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Cable, Network
from siteplan.physics.radio import cable
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Kit, Links
from siteplan.planning.link.spectrum import licence
from siteplan.planning.step import Raised, Told, flag


@frozen
class Demand:
    """What the cable must serve (n,): its length [m], the BUC, the carrier at the LNB.

    ``buc_dbw`` is the BUC's power after back-off, and after what limits on off-axis radiation
    take [dBW], ``buc_dc_w`` what it draws [W], ``lnb_input_dbw`` the outbound carrier at the LNB's
    input in clear sky [dBW].
    """

    length_m: FloatArray
    buc_dbw: FloatArray
    buc_dc_w: FloatArray
    lnb_input_dbw: FloatArray


class Classes(NamedTuple):
    """The catalogue's cables (k,), the lightest first.

    ``ohm_km`` is core and shield together, there and back.
    """

    name: list[str]
    loss_db_100m: FloatArray
    ohm_km: FloatArray
    core_ohm_km: FloatArray
    copper: BoolArray


@frozen(eq=False)
class Cabling(Arrays):
    """The cable of each site (n,): class ('' where none works), levels, supply.

    Where none works the figures are those of the class with the least loss. ``none`` is where no
    class works, ``out_of_range`` where a level at the modem is; ``need`` is what was asked for,
    ``pick`` the index of the class whose figures these are.
    """

    ifl_length_m: Column
    cable_class: TextColumn
    cable_loss_low_db: Column
    cable_loss_high_db: Column
    cable_slope_db: Column
    buc_dc_w: Column
    buc_voltage_v: Column
    buc_current_a: Column
    modem_output_dbm: Column
    modem_input_dbm: Column
    none: BoolArray
    out_of_range: BoolArray
    need: Demand
    pick: IntArray


def classes(network: Network) -> Classes:
    """Return the catalogue's cables, the thinnest (lightest) first."""
    found = sorted(network.cables, key=lambda c: (c.diameter_mm, -c.loss_db_100m))
    core = np.array([_core_ohm_km(c) for c in found])
    shield = np.array([c.shield_ohm_km for c in found])
    loss = np.array([c.loss_db_100m for c in found])
    copper = np.array([c.core == "copper" for c in found])
    return Classes([c.name for c in found], loss, core + shield, core, copper)


def _core_ohm_km(of: Cable) -> float:
    """Return a core's resistance [ohm/km]: by its data sheet, else by diameter and metal."""
    if of.core_ohm_km is not None:
        return of.core_ohm_km
    return float(cable.core_resistance_ohm_km(of.core_mm, clad_steel=of.core == "clad_steel"))


def buc_dc_w(rated_w: FloatArray, network: Network) -> FloatArray:
    """Return what BUCs of a rated power (n,) draw [W]: given, else efficiency and overhead."""
    drawn = np.asarray(rated_w / network.ifl.buc_efficiency + network.ifl.buc_overhead_w)
    for buc in network.bucs:
        if buc.dc_w is not None:
            drawn = np.where(rated_w == buc.rated_w, buc.dc_w, drawn)
    return drawn


def demand(sites: Sites, link: Links, kit: Kit, network: Network) -> Demand:
    """Return what the cable of each site (n,) must serve."""
    carrier = link.outbound
    gain = gain_dbi(kit.dish_m, kit.efficiency, carrier.downlink_ghz)
    pointing = mispointing.loss_db(network, kit.dish, carrier.downlink_ghz)
    loss = link.site.downlink_loss_db + link.site.down.gas_db + pointing
    at_lnb = (
        (carrier.satellite_eirp_dbw - carrier.share_backoff_db - loss + gain)
        - network.terminal.rx_loss_db
        - link.hub.short_db
    )
    length = np.where(np.isnan(sites.cable_m), network.ifl.cable_m, sites.cable_m)
    held = licence.held(link, kit.dish, kit.buc_dbw)
    power = kit.buc_dbw if held is None else kit.buc_dbw - held.db
    return Demand(length, power, buc_dc_w(kit.tried_w, network), at_lnb)


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
    name[unknown] = ""
    low_, high_, volts, amps, out, into = (np.where(unknown, np.nan, x) for x in chosen)
    off = (out < ifl.modem_output_min_dbm) | (out > ifl.modem_output_max_dbm)
    off |= (into > ifl.modem_input_max_dbm) | (into < ifl.modem_input_min_dbm)
    return Cabling(
        ifl_length_m=need.length_m,
        cable_class=name,
        cable_loss_low_db=low_,
        cable_loss_high_db=high_,
        cable_slope_db=high_ - low_,
        buc_dc_w=np.where(unknown, np.nan, need.buc_dc_w),
        buc_voltage_v=volts,
        buc_current_a=amps,
        modem_output_dbm=out,
        modem_input_dbm=into,
        none=~some & ~unknown,
        out_of_range=off,
        need=need,
        pick=pick,
    )


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


def told(of: Cabling, network: Network) -> tuple[Told, ...]:
    """Return why no class works and what would, where none does; no two hold at one site."""
    if not of.none.any():
        return ()
    need, kinds = of.need, classes(network)
    by_supply, by_signal = longest_m(need, kinds, network)
    both = np.minimum(by_supply, by_signal)
    best = both[np.arange(len(both)), np.argmax(both, axis=1)]
    loop = need.length_m / 1e3 * kinds.ohm_km.min()
    least = network.ifl.buc_min_v
    # The voltage that leaves the BUC its least, or its stable half where that is more.
    volts = np.where(least < np.sqrt(need.buc_dc_w * loop), 2 * np.sqrt(need.buc_dc_w * loop),
                     least + need.buc_dc_w * loop / least)  # fmt: skip
    least_ohm = int(np.argmin(kinds.ohm_km))
    numbers = {
        "length": need.length_m,
        "run": np.floor(best),
        "watts": need.buc_dc_w,
        "volts": np.ceil(volts),
        "core": float(no_more(kinds.core_ohm_km)[least_ohm]),
    }
    metal = "" if kinds.copper[least_ohm] else ".clad_steel"
    starved = (by_supply < need.length_m[:, None]).all(axis=1)
    deaf = (by_signal < need.length_m[:, None]).all(axis=1)
    return (
        Told("cable.both", of.none & starved & deaf, numbers),
        Told(f"cable.starved{metal}", of.none & starved & ~deaf, numbers),
        Told("cable.deaf", of.none & deaf & ~starved, numbers),
        Told(f"cable.apart{metal}", of.none & ~deaf & ~starved, numbers),
    )


def core_told(of: Cabling, network: Network) -> tuple[Told, ...]:
    """Return the core and the shield that the voltage at the BUC rests on, for `cable_core`."""
    kinds = classes(network)
    ohm = {"core": no_more(kinds.core_ohm_km)[of.pick],
           "shield": no_more(kinds.ohm_km - kinds.core_ohm_km)[of.pick]}  # fmt: skip
    known, copper = ~np.isnan(of.need.lnb_input_dbw), kinds.copper[of.pick]
    return (
        Told("cable.core.copper", known & copper, ohm),
        Told("cable.core.clad_steel", known & ~copper, ohm),
    )


def clad_steel_told(of: Cabling, network: Network) -> tuple[Told, ...]:
    """Return what a copper-clad steel core as thick would do, where the class has a copper one."""
    kinds, ifl, need = classes(network), network.ifl, of.need
    steel = cable.clad_steel_ohm_km(kinds.core_ohm_km)
    loop_km = (steel + kinds.ohm_km - kinds.core_ohm_km)[of.pick]
    supply = cable.supply_at_load(ifl.supply_v, need.buc_dc_w, need.length_m / 1e3 * loop_km)
    run = cable.longest_run_m(ifl.supply_v, need.buc_dc_w, ifl.buc_min_v, loop_km)
    # Rounded down, so that no figure promises more than the cable holds.
    numbers = {
        "steel": np.round(steel[of.pick]),
        "length": need.length_m,
        "volts": np.floor(supply.voltage_v * 10 + 1e-6) / 10,
        "least": ifl.buc_min_v,
        "run": np.floor(run),
    }
    here = ~np.isnan(need.lnb_input_dbw) & kinds.copper[of.pick]
    collapsed = np.isnan(supply.voltage_v)
    enough = np.nan_to_num(supply.voltage_v) >= ifl.buc_min_v
    return (
        Told("cable.steel.enough", here & enough, numbers),
        Told("cable.steel.low", here & ~enough & ~collapsed, numbers),
        Told("cable.steel.collapses", here & collapsed, numbers),
    )


def raised(of: Cabling, why: tuple[Told, ...]) -> Iterator[Raised]:
    """Yield the flags of cables; ``why`` is from `told`."""
    yield from (Raised("cable_none", found) for found in why)
    levels = {"out": of.modem_output_dbm, "into": of.modem_input_dbm}
    yield flag("drive_range", of.out_of_range & ~of.none, **levels)
