"""The IFL cable between dish and modem: loss, slope, resistance, supply and drive levels.

The figures of a cable are the caller's: the maker's data sheet comes first.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Resistivity of annealed copper at 20 C [ohm m]; IEC 60028.
COPPER_OHM_M: Final = 1.7241e-8

#: Conductivity of copper-clad steel wire relative to copper; ASTM B869, 21 % (from memory), the
#: grade usual in coaxial cable (common practice, no source).
CLAD_STEEL_CONDUCTIVITY: Final = 0.21


class SupplyPoint(NamedTuple):
    """Voltage [V] at a constant-power load, current [A], and power lost in the cable [W]."""

    voltage_v: FloatArray
    current_a: FloatArray
    lost_w: FloatArray


def cable_loss_db(
    length_m: ArrayLike, frequency_mhz: ArrayLike, loss_db_100m: ArrayLike
) -> FloatArray:
    """Return the loss of a cable run, growing with the square root of frequency.

    Parameters
    ----------
    length_m : array_like
        Length. [m]
    frequency_mhz : array_like
        Frequency. [MHz]
    loss_db_100m : array_like
        Loss of 100 m at 1 GHz. [dB] All broadcast together.

    Returns
    -------
    ndarray
        Loss. [dB]

    References
    ----------
    Skin effect: resistance grows as the root of frequency. Dielectric loss, which grows with
    frequency itself, is left out (a few per cent at L band).

    Examples
    --------
    20 dB for 100 m at 1 GHz: 6 dB for 30 m, and twice as much at four times the frequency.

    >>> cable_loss_db(30, [1000, 4000], 20).round(2).tolist()
    [6.0, 12.0]
    """
    hundreds = np.asarray(length_m, dtype=float) / 100
    root = np.sqrt(np.asarray(frequency_mhz, dtype=float) / 1000)
    return np.asarray(hundreds * np.asarray(loss_db_100m, dtype=float) * root)


def slope_db(
    length_m: ArrayLike,
    loss_db_100m: ArrayLike,
    band_mhz: tuple[float, float],
) -> FloatArray:
    """Return how much more a cable run loses at the top of a band than at its bottom.

    Parameters
    ----------
    length_m, loss_db_100m : array_like
        As in `cable_loss_db`.
    band_mhz : tuple of float
        Lowest and highest frequency; 950 and 2150 for L band (common practice). [MHz]

    Returns
    -------
    ndarray
        Slope across the band. [dB]
    """
    low, high = band_mhz
    return np.asarray(
        cable_loss_db(length_m, high, loss_db_100m) - cable_loss_db(length_m, low, loss_db_100m)
    )


def core_resistance_ohm_km(core_mm: ArrayLike, *, clad_steel: bool = False) -> FloatArray:
    """Return the resistance of a solid centre conductor to direct current.

    Parameters
    ----------
    core_mm : array_like
        Diameter. [mm]
    clad_steel : bool, optional
        Whether the core is copper-clad steel, which carries signals as well as copper and the
        supply several times worse.

    Returns
    -------
    ndarray
        Resistance at 20 C. [ohm/km]

    References
    ----------
    IEC 60028 (resistivity of copper); ASTM B869 (copper-clad steel, from memory).

    Examples
    --------
    1.024 mm is 18 AWG, for which ASTM B258 gives 20.9 ohm/km.

    >>> core_resistance_ohm_km([1.024]).round(1).tolist()
    [20.9]
    """
    area_m2 = np.pi / 4 * (np.asarray(core_mm, dtype=float) * 1e-3) ** 2
    conductivity = CLAD_STEEL_CONDUCTIVITY if clad_steel else 1.0
    return np.asarray(COPPER_OHM_M / conductivity / area_m2 * 1e3)


def clad_steel_ohm_km(copper_ohm_km: ArrayLike) -> FloatArray:
    """Return the resistance of a copper-clad steel core as thick as a copper one.

    Parameters
    ----------
    copper_ohm_km : array_like
        Resistance of the solid copper core. [ohm/km]

    Returns
    -------
    ndarray
        Resistance at 20 C. [ohm/km]

    References
    ----------
    ASTM B869 (from memory): 21 % of copper's conductivity.

    Examples
    --------
    >>> clad_steel_ohm_km([21.0]).round(1).tolist()
    [100.0]
    """
    return np.asarray(np.asarray(copper_ohm_km, dtype=float) / CLAD_STEEL_CONDUCTIVITY)


def loop_resistance_ohm(
    length_m: ArrayLike, core_ohm_km: ArrayLike, shield_ohm_km: ArrayLike
) -> FloatArray:
    """Return the resistance there and back: the core's and the shield's. [ohm]

    Parameters
    ----------
    length_m : array_like
        Length of the run, one way. [m]
    core_ohm_km, shield_ohm_km : array_like
        Resistance of core and shield. [ohm/km] All broadcast together.

    Returns
    -------
    ndarray
        Loop resistance. [ohm]
    """
    a_km = np.asarray(core_ohm_km, dtype=float) + np.asarray(shield_ohm_km, dtype=float)
    return np.asarray(np.asarray(length_m, dtype=float) / 1e3 * a_km)


def supply_at_load(supply_v: ArrayLike, load_w: ArrayLike, loop_ohm: ArrayLike) -> SupplyPoint:
    """Return voltage and current at a load that draws constant power, as a BUC does.

    The lower the voltage that reaches it, the more current it takes: V^2 - V0 V + P R = 0,
    whose upper root is the stable one. Where there is none, the supply collapses.

    Parameters
    ----------
    supply_v : array_like
        Voltage at the indoor end. [V]
    load_w : array_like
        Power that the load draws. [W]
    loop_ohm : array_like
        Loop resistance of the cable. [ohm] All broadcast together.

    Returns
    -------
    SupplyPoint
        Arrays of the broadcast shape; NaN where the cable cannot carry the power.

    References
    ----------
    Kirchhoff's laws. The greatest power that a resistance R passes on is V0^2 / 4 R.

    Examples
    --------
    20 W through 4 ohm from 24 V: 1 A loses 4 V, and 20 V x 1 A are the 20 W. 40 W are more
    than the 24^2 / 16 = 36 W that 4 ohm pass on.

    >>> point = supply_at_load(24, [20, 40], 4)
    >>> point.voltage_v.round(2).tolist(), point.current_a.round(2).tolist()
    ([20.0, nan], [1.0, nan])
    """
    supply, load, loop = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (supply_v, load_w, loop_ohm))
    )
    inside = supply**2 - 4 * load * loop
    root = np.sqrt(np.where(inside >= 0, inside, np.nan))
    voltage = (supply + root) / 2
    current = load / voltage
    return SupplyPoint(np.asarray(voltage), np.asarray(current), np.asarray(current**2 * loop))


def longest_run_m(
    supply_v: ArrayLike, load_w: ArrayLike, least_v: ArrayLike, ohm_km: ArrayLike
) -> FloatArray:
    """Return the longest cable over which a constant-power load still gets its voltage.

    Parameters
    ----------
    supply_v : array_like
        Voltage at the indoor end. [V]
    load_w : array_like
        Power that the load draws. [W]
    least_v : array_like
        Least voltage that the load accepts. [V]
    ohm_km : array_like
        Resistance of core and shield together. [ohm/km] All broadcast together.

    Returns
    -------
    ndarray
        Length, one way [m]; zero where the supply itself is too low.

    References
    ----------
    `supply_at_load` solved for the resistance.

    Examples
    --------
    20 W may lose 4 V at 1 A: 4 ohm, 100 m of 40 ohm/km.

    >>> longest_run_m(24, [20], 20, 40).round(1).tolist()
    [100.0]
    """
    supply = np.asarray(supply_v, dtype=float)
    # Below half the supply there is no stable point: the cable passes its greatest power there.
    voltage = np.maximum(np.asarray(least_v, dtype=float), supply / 2)
    loop_ohm = np.maximum(supply - voltage, 0) * voltage / np.asarray(load_w, dtype=float)
    return np.asarray(loop_ohm / np.asarray(ohm_km, dtype=float) * 1e3)


def modem_input_dbm(
    lnb_input_dbw: ArrayLike, lnb_gain_db: ArrayLike, loss_db: ArrayLike
) -> FloatArray:
    """Return the level that the LNB delivers to the modem.

    Parameters
    ----------
    lnb_input_dbw : array_like
        Power at the LNB's input: one carrier's, or all that the LNB sees. [dBW]
    lnb_gain_db : array_like
        Conversion gain of the LNB; 50 to 65 dB (common practice). [dB]
    loss_db : array_like
        Loss of the cable and splitters. [dB] All broadcast together.

    Returns
    -------
    ndarray
        Level at the modem's input. [dBm]
    """
    output = np.asarray(lnb_input_dbw, dtype=float) + 30 + np.asarray(lnb_gain_db, dtype=float)
    return np.asarray(output - np.asarray(loss_db, dtype=float))


def modem_output_dbm(wanted_w: ArrayLike, buc_gain_db: ArrayLike, loss_db: ArrayLike) -> FloatArray:
    """Return the level that the modem must send for the BUC to give a power.

    Parameters
    ----------
    wanted_w : array_like
        Output power wanted of the BUC: rated power less back-off. [W]
    buc_gain_db : array_like
        Conversion gain of the BUC. [dB]
    loss_db : array_like
        Loss of the cable at the transmit frequency in L band. [dB] All broadcast together.

    Returns
    -------
    ndarray
        Level at the modem's output. [dBm]
    """
    wanted_dbm = 10 * np.log10(np.asarray(wanted_w, dtype=float)) + 30
    drive_dbm = wanted_dbm - np.asarray(buc_gain_db, dtype=float)
    return np.asarray(drive_dbm + np.asarray(loss_db, dtype=float))
