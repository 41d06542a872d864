"""What both directions' budgets are made of: kit and skies, lines that they share, the total.

Each part adds up in decibels (noise in kelvin); the total alone is a power sum. Lines of a hop lead
to its C/N0. What a part comes to is the plan's own function of the whole, not the sum of its lines.
"""

from __future__ import annotations

import numpy as np

from siteplan.answers.budget import BudgetLine, BudgetPart
from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.network import Carrier
from siteplan.network.beams.contours import Direction
from siteplan.physics.constants import BOLTZMANN_DBW_K_HZ
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.carrier import CarrierPlan
from siteplan.physics.radio.waveforms import find_modcod
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Dish
from siteplan.planning.link.lines.terms import Known, Sky, part

#: Where each waveform's thresholds are published.
STANDARDS = {
    "DVB-S2": "EN 302 307-1",
    "DVB-S2X": "EN 302 307-1 and EN 302 307-2",
    "DVB-RCS2": "EN 301 545-2",
}
#: What the power that the hub's amplifier leaves rests on, beside its rated power.
AMPLIFIER = "hub.tx_loss_db", "hub.hpa_backoff_db", "hub.carriers"


@frozen
class Remote:
    """The site's kit in a budget, numbers, and the keys that it rests on.

    ``antenna`` and ``buc`` are the entries of the lists whose figures it has, such as
    ``antennas.1``; ``own_antenna`` and ``own_buc`` say that it stands at the site.
    """

    dish_m: float
    efficiency: float
    buc_w: float
    buc_dbw: float
    antenna: str
    buc: str
    own_antenna: bool
    own_buc: bool


@frozen
class Hop:
    """What a budget's direction looks like in the three columns (3,).

    ``sky`` is the site's, ``hub_sky`` the hub's; ``raised_db`` is what power control adds at the
    transmitter, ``net_db`` what of its fade is left; ``wet_db`` is the wet dish's loss.
    ``short_db`` is what the hub's amplifier lacks: it is in ``net_db`` too.
    """

    known: Known
    remote: Remote
    sky: Sky
    hub_sky: Sky
    raised_db: FloatArray
    net_db: FloatArray
    wet_db: FloatArray
    short_db: float = 0.0


def free_space(
    known: Known, loss_db: FloatArray | float, ghz: float, rests_on: tuple[str, ...] = ()
) -> BudgetLine:
    """Return the free-space loss at a frequency [GHz]."""
    return known.computed("free_space", "-", "dB", loss_db, rests_on, numbers={"ghz": ghz})


def sky_lines(known: Known, sky: Sky) -> tuple[BudgetLine, ...]:
    """Return what the sky takes: gas, rain and cloud, scintillation."""
    return (
        known.computed("gas", "-", "dB", sky.gas),
        known.computed("rain_and_cloud", "-", "dB", sky.rain_and_cloud),
        known.computed("scintillation", "-", "dB", sky.scintillation),
    )


def short_line(hop: Hop) -> tuple[BudgetLine, ...]:
    """Return what the hub's amplifier lacks, where it lacks any."""
    if not hop.short_db:
        return ()
    return (hop.known.computed("hub_short", "-", "dB", hop.short_db, AMPLIFIER),)


def c_n0_lines(known: Known, es_n0_db: FloatArray, carrier: CarrierPlan) -> tuple[BudgetLine, ...]:
    """Return Boltzmann's constant and the hop's C/N0, from its Es/N0."""
    return (
        known.computed("boltzmann", "+", "dB", -BOLTZMANN_DBW_K_HZ),
        known.computed("c_n0", "=", "dBHz", es_n0_db + carrier.symbol_rate_dbhz),
    )


def share_lines(
    known: Known, told: Carrier, carrier: CarrierPlan, table: str
) -> tuple[BudgetLine, ...]:
    """Return the parts of a carrier's output back-off: at its share of the power, and over it."""
    numbers = {"occupied_mhz": told.occupied_mhz, "transponder_mhz": told.transponder_mhz}
    keys = tuple(f"{table}.{k}" for k in ("transponder_mhz", "symbol_rate_msps", "roll_off"))
    over = told.over_share_db
    share = carrier.share_backoff_db - told.output_backoff_db + over
    level = known.key("level", "+", "dB", over, f"{table}.level_db") if over else None
    return (
        known.key(
            "output_backoff", "-", "dB", told.output_backoff_db, f"{table}.output_backoff_db"
        ),
        known.computed("power_share", "-", "dB", share, keys, numbers=numbers),
        *([level] if level else []),
    )


def gap_line(known: Known, carrier: CarrierPlan, table: str) -> BudgetLine:
    """Return how far the transponder's input back-off exceeds its output back-off."""
    keys = f"{table}.input_backoff_db", f"{table}.output_backoff_db"
    return known.computed("backoff_gap", "-", "dB", carrier.backoff_gap_db, keys)


def beam_keys(known: Known, direction: Direction) -> tuple[str, ...] | None:
    """Return the keys that a direction's level at the site rests on; None without contours."""
    entries = [(k, of) for k, of in enumerate(known.network.contours, 1)]
    those = [(k, of) for k, of in entries if of.direction == direction]
    keys = (
        f"contours.{k}.{n}" for k, of in those if of.is_ellipse for n in ("edge_db", "tilt_deg")
    )
    return tuple(keys) if those else None


def satellite_g_t(
    known: Known, carrier: CarrierPlan, table: str, beam_db: FloatArray | None = None
) -> BudgetLine:
    """Return the satellite's G/T towards the transmitter; ``beam_db`` (1,) is what a beam adds."""
    rests = beam_keys(known, "up")
    if beam_db is not None and rests is not None:
        level = carrier.satellite_g_t_db_k + beam_db[0]
        return known.computed("beam_g_t", "+", "dB/K", level, rests)
    key = f"{table}.satellite_g_t_db_k"
    return known.key("satellite_g_t", "+", "dB/K", carrier.satellite_g_t_db_k, key)


def wet_line(hop: Hop) -> tuple[BudgetLine, ...]:
    """Return the wet dish's line, where wet dishes count."""
    if not hop.known.network.terminal.wet_loss_db:
        return ()
    return (hop.known.key("wet_dish", "-", "dB", hop.wet_db, "terminal.wet_loss_db"),)


def gain_keys(hop: Hop) -> tuple[str, ...]:
    """Return the key that the gain of the site's antenna rests on."""
    entry = int(hop.remote.antenna.partition(".")[2]) - 1
    by_gain = hop.known.network.antennas[entry].gain_dbi is not None
    return (f"{hop.remote.antenna}.{'gain_dbi' if by_gain else 'efficiency'}",)


def remote_gain(hop: Hop, ghz: float) -> BudgetLine:
    """Return the gain of the site's antenna."""
    of = hop.remote
    code = "gain_own" if of.own_antenna else "gain"
    numbers = {"dish_m": of.dish_m, "efficiency_pct": 100 * of.efficiency, "ghz": ghz}
    gain = gain_dbi(of.dish_m, of.efficiency, ghz)
    return hop.known.computed(code, "+", "dBi", gain, gain_keys(hop), numbers=numbers)


def pointing_line(hop: Hop, dish: Dish, ghz: float) -> BudgetLine:
    """Return the loss by pointing at a frequency [GHz]: given, or of an error that is given."""
    known, t = hop.known, hop.known.network.terminal
    loss = mispointing.loss_db(known.network, dish, ghz)
    if t.pointing_error_deg is None:
        return known.key("pointing", "-", "dB", loss, "terminal.pointing_loss_db")
    numbers = {"error_deg": t.pointing_error_deg, "ghz": ghz}
    return known.computed("pointing", "-", "dB", np.squeeze(loss), numbers=numbers)


def satellite_eirp(
    known: Known, carrier: CarrierPlan, table: str, beam_db: FloatArray | None = None
) -> BudgetLine:
    """Return the satellite's saturated EIRP towards the receiver, with what a beam adds (1,)."""
    rests = beam_keys(known, "down")
    if beam_db is not None and rests is not None:
        level = carrier.satellite_eirp_dbw + beam_db[0]
        return known.computed("beam_eirp", "+", "dBW", level, rests)
    key = f"{table}.satellite_eirp_dbw"
    return known.key("satellite_eirp", "+", "dBW", carrier.satellite_eirp_dbw, key)


def total(
    hop: Hop,
    carrier: CarrierPlan,
    table: str,
    hops_db: tuple[FloatArray, FloatArray],
    *,
    ci_db: FloatArray,
    margin_db: FloatArray,
    required_db: float,
) -> BudgetPart:
    """Return the power sum of both hops and interference, and what is left over the threshold.

    Parameters
    ----------
    hop, carrier, table
        The direction, and its table in the network file.
    hops_db : pair of (3,) arrays
        Es/N0 of the uplink and of the downlink alone [dB].
    ci_db : (3,) array
        The carrier over all interference, before what a fade takes from it [dB].
    margin_db : (3,) array
        The plan's margins in the three columns [dB].
    required_db : float
        Threshold with implementation loss [dB].
    """
    known, rate = hop.known, carrier.symbol_rate_dbhz
    told, reserve = getattr(known.network, table), known.network.rules.reserve_db
    loss = told.implementation_loss_db
    up, down = hops_db
    level = margin_db + required_db
    return part(
        "total",
        known.computed("up", "", "dBHz", up + rate),
        known.computed("down", "", "dBHz", down + rate),
        known.computed("other", "", "dBHz", ci_db - hop.net_db + rate),
        known.computed("total", "sum", "dBHz", level + rate),
        known.key("symbol_rate", "-", "dBHz", rate, f"{table}.symbol_rate_msps"),
        known.computed("es_n0", "=", "dB", level),
        _threshold(known, told, table, required_db - loss),
        known.key("modem_loss", "-", "dB", loss, f"{table}.implementation_loss_db"),
        known.computed("margin", "=", "dB", margin_db),
        known.key("reserve", "-", "dB", reserve, "rules.reserve_db"),
        known.computed("after_reserve", "=", "dB", margin_db - reserve),
    )


def _threshold(known: Known, told: Carrier, table: str, threshold_db: float) -> BudgetLine:
    """Return the threshold, by its MODCOD, its Es/N0 or its Eb/N0."""
    key = next(k for k in ("es_n0_db", "eb_n0_db", "modcod") if getattr(told, k) is not None)
    kind = key.removesuffix("_db")
    if key == "modcod" and find_modcod(told.waveform, told.modcod or "").linear:
        kind = "linear"
    source = known.words(
        f"budget.from.{kind}_threshold",
        waveform=told.waveform,
        modcod=told.modcod,
        standard=STANDARDS[told.waveform],
        bits=told.bits_per_symbol,
    )
    return known.told(
        "threshold", "-", "dB", threshold_db, source=source, rests_on=f"{table}.{key}"
    )
