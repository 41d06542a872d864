"""What a carrier brings of the user's data: its MODCODs, and how they follow the weather.

An adaptive carrier uses, at each moment, the MODCOD that carries most of those whose need lies
under Es/(N0+I0): threshold, implementation loss and hysteresis. The site stays sized for the
carrier's own ``modcod``. Rates are those of the whole carrier while it serves the site; thresholds
are those of white noise, so that they hold as long as the transponder is linear.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextArray, TextColumn
from siteplan.errors import NetworkError
from siteplan.frozen import frozen
from siteplan.messages import english
from siteplan.network import Carrier, Network
from siteplan.physics.radio.carrier import CarrierPlan
from siteplan.physics.radio.waveforms import Modcod, find_modcod, modcods
from siteplan.planning.link.ends import Level
from siteplan.planning.link.ways import Inbound, Outbound, Way
from siteplan.planning.link.whatif import DIRECTIONS
from siteplan.planning.step import Columns

#: How the names of DVB-RCS2's short bursts end.
_SHORT = " short"
#: What stands for a MODCOD where not even the most robust one holds.
NONE = "none"
#: Decisions compare margins to this many decimals.
_DECIMALS = 6
#: So many MODCODs for linear channels are named in a sentence.
_NAMED = 3


def bits_per_symbol(carrier: Carrier) -> float | None:
    """Return the user's bits that a symbol of a carrier carries, framing beyond the MODCOD apart.

    Those of its MODCOD, or ``bits_per_symbol`` where that is given with an Eb/N0; None where an
    Es/N0 alone says what it needs, but not what it carries.

    Raises
    ------
    ValueError
        If the MODCOD is not one of the waveform's (`siteplan.planning.setting.setting` has
        refused that already).
    """
    if carrier.es_n0_db is not None:
        return None
    if carrier.eb_n0_db is not None:
        return carrier.bits_per_symbol
    return find_modcod(carrier.waveform, carrier.modcod or "").efficiency


def rate_kbit_s(symbol_rate_sps: Level, bits: Level, frame_efficiency: float) -> Level:
    """Return an information rate [kbit/s].

    Parameters
    ----------
    symbol_rate_sps : float or (n,) array
        Symbol rate. [1/s]
    bits : float or (n,) array
        Bits that a symbol carries, as `bits_per_symbol`.
    frame_efficiency : float
        Share of them that is left for the user's data.
    """
    return symbol_rate_sps * bits * frame_efficiency / 1000


def information_rate_kbit_s(carrier: Carrier) -> float | None:
    """Return the information rate of a carrier with its own MODCOD [kbit/s]; None if unknown.

    Symbol rate times efficiency of ``modcod`` times ``frame_efficiency``, whether or not the
    carrier is adaptive.
    """
    bits = bits_per_symbol(carrier)
    if bits is None:
        return None
    return float(rate_kbit_s(carrier.symbol_rate_msps * 1e6, bits, carrier.frame_efficiency))


def usable(table: str, carrier: Carrier) -> tuple[Modcod, ...]:
    """Return the MODCODs that an adaptive carrier may use, the most robust first.

    Those that carry no more than another one that needs no more are left out: what is left rises
    in what it needs and in what it carries.

    Parameters
    ----------
    table : str
        ``outbound`` or ``inbound``, for messages.
    carrier : Carrier

    Returns
    -------
    tuple of Modcod

    Raises
    ------
    NetworkError
        If a name of ``modcods`` or ``max_modcod`` is not one of the waveform's, or if none is left.
    """
    own = [_named(table, "modcods", carrier, name) for name in carrier.modcods] or alike(carrier)
    if carrier.max_modcod is not None:
        most = _named(table, "max_modcod", carrier, carrier.max_modcod)
        own = [m for m in own if m.efficiency <= most.efficiency]
        if not own:
            raise NetworkError(
                f"max_modcod = {carrier.max_modcod!r} leaves none of modcods: all of them carry"
                " more.",
                where=f"network.toml, [{table}] max_modcod",
                fix="Name a MODCOD that carries more, or list more robust ones.",
            )
    return undominated(own)


def undominated(those: list[Modcod]) -> tuple[Modcod, ...]:
    """Return the MODCODs that carry more than any other that needs no more, the robust first.

    >>> robust = ("QPSK 5/6", "8PSK 3/5", "QPSK 8/9")
    >>> [m.name for m in undominated([find_modcod("DVB-S2", name) for name in robust])]
    ['QPSK 5/6', '8PSK 3/5']
    """
    kept: list[Modcod] = []
    for m in sorted(those, key=lambda m: (m.es_n0_db, -m.efficiency)):
        if not kept or m.efficiency > kept[-1].efficiency:
            kept.append(m)
    return tuple(kept)


def alike(carrier: Carrier) -> list[Modcod]:
    """Return the MODCODs of a waveform in bursts of the length of the carrier's own."""
    short = find_modcod(carrier.waveform, carrier.modcod or "").name.endswith(_SHORT)
    return [m for m in modcods(carrier.waveform) if m.name.endswith(_SHORT) == short]


def _named(table: str, key: str, carrier: Carrier, name: str) -> Modcod:
    """Return a MODCOD by the name that a key gives."""
    try:
        return find_modcod(carrier.waveform, name)
    except ValueError as error:
        raise NetworkError(
            f"{error}.", where=f"network.toml, [{table}] {key}", fix="Use one of these names."
        ) from None


def check(table: str, carrier: Carrier) -> None:
    """Raise where a carrier names MODCODs that its waveform has not, adaptive or not.

    Raises
    ------
    NetworkError
        As in `usable`.
    """
    if carrier.adaptive or carrier.modcods or carrier.max_modcod is not None:
        usable(table, carrier)


class Steps(NamedTuple):
    """The MODCODs of a direction, the most robust first: from which margin on each is used (n,).

    ``levels_db`` are margins over the need of the carrier's own MODCOD [dB], numbers or one a
    site, ``rates_kbit_s`` what each carries.
    """

    names: tuple[str, ...]
    levels_db: list[Level]
    rates_kbit_s: list[Level]


def steps(table: str, carrier: Carrier, required_db: Level, sent: CarrierPlan) -> Steps:
    """Return the steps of an adaptive carrier.

    Parameters
    ----------
    table : str
        ``outbound`` or ``inbound``.
    carrier : Carrier
        Its keys.
    required_db : float or (n,) array
        Es/N0 that its own MODCOD needs, implementation loss included. [dB]
    sent : CarrierPlan
        Whose symbol rate counts.

    Raises
    ------
    NetworkError
        As in `usable`.
    """
    found = usable(table, carrier)
    beyond = carrier.implementation_loss_db + carrier.hysteresis_db
    return Steps(
        tuple(m.name for m in found),
        [m.es_n0_db + beyond - required_db for m in found],
        [rate_kbit_s(sent.symbol_rate_sps, m.efficiency, carrier.frame_efficiency) for m in found],
    )


class Reached(NamedTuple):
    """The MODCOD and the rate (n,) [kbit/s] at a margin; none of them and 0 under them all."""

    modcod: TextArray
    kbit_s: FloatArray


def reached(by: Steps, margin_db: FloatArray) -> Reached:
    """Return what is used at margins (n,) [dB]; blank where the margin is NaN."""
    number = np.zeros(margin_db.shape, dtype=np.intp)
    rate = np.zeros(margin_db.shape)
    for level, kbit_s in zip(by.levels_db, by.rates_kbit_s, strict=True):
        here = np.round(margin_db - level, _DECIMALS) >= 0
        number += here
        rate = np.where(here, kbit_s, rate)
    names = np.array([NONE, *by.names], dtype=object)
    blank = np.isnan(margin_db)
    return Reached(np.where(blank, "", names[number]), np.where(blank, np.nan, rate))


def reached_kbit_s(by: Steps, margin_db: FloatArray) -> FloatArray:
    """Return the rate alone of what is used at margins (n,) [kbit/s], as `reached` does."""
    if any(isinstance(level, np.ndarray) for level in by.levels_db):
        return reached(by, margin_db).kbit_s
    held = np.array(by.levels_db, dtype=float) - 0.5 * 10**-_DECIMALS
    rates = np.array([0.0, *by.rates_kbit_s])
    number = np.searchsorted(held, margin_db, side="right")
    return np.where(np.isnan(margin_db), np.nan, rates[number])


def over_time(
    way: Way, by: Steps, known: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return the mean rate (n,) [kbit/s] and the time without service (n,) [%].

    The integral of the rate over the percentage of time, each step from where its level is held:
    a sum over the steps, exact for the curve.

    Parameters
    ----------
    way : Way
        The direction of n sites.
    by : Steps
        Its steps.
    known : (n, k) array, optional
        The sites' margin at the what-if tables' percentages [dB], where it is known.
    """
    from siteplan.planning.link.curve import curve

    levels = curve(way, by.levels_db, known)
    mean, none = np.zeros(len(way.link)), np.zeros(len(way.link))
    below: Level = 0.0
    for step, (level, kbit_s) in enumerate(zip(by.levels_db, by.rates_kbit_s, strict=True)):
        outage_pct = np.minimum(levels.outage_pct(level), 100.0)
        none = outage_pct if step == 0 else none
        mean += (kbit_s - below) * (1 - outage_pct / 100)
        below = kbit_s
    return mean, none


@frozen(eq=False)
class Coding(Arrays):
    """What adaptive carriers bring at each site (n,): at the target, in clear sky, over the year.

    ``counted`` are the directions that are adaptive: of others nothing is told.
    """

    outbound_target_modcod: TextColumn
    outbound_clear_modcod: TextColumn
    outbound_target_kbit_s: Column
    outbound_clear_kbit_s: Column
    outbound_mean_kbit_s: Column
    outbound_no_service_pct: Column
    inbound_target_modcod: TextColumn
    inbound_clear_modcod: TextColumn
    inbound_target_kbit_s: Column
    inbound_clear_kbit_s: Column
    inbound_mean_kbit_s: Column
    inbound_no_service_pct: Column
    counted: tuple[str, ...]

    def columns(self) -> Columns:
        """Return the result fields of the adaptive directions, by name."""
        found = super().columns()
        return {name: v for name, v in found.items() if name.startswith(self.counted)}


def coding(
    ways: tuple[Outbound, Inbound],
    margins_db: tuple[FloatArray, FloatArray],
    here: BoolArray,
    known_db: FloatArray | None = None,
) -> Coding:
    """Return what adaptive carriers bring at n sites with their kit.

    Parameters
    ----------
    ways : pair of Way
        Outbound and inbound.
    margins_db : pair of (n,) arrays
        The margins at the target [dB].
    here : (n,) array of bool
        The sites that it is worked out for: those to which kit is given.
    known_db : (n, 2, k) array, optional
        The sites' margins of the what-if tables [dB], where they are made anyway.
    """
    network = ways[0].link.network
    sides = []
    for k, (table, carrier) in enumerate(_carriers(network)):
        rows = np.flatnonzero(here & ~np.isnan(margins_db[k]) & carrier.adaptive)
        blank = _blank(len(here))
        if rows.size:
            known = None if known_db is None else known_db[rows, k]
            by = steps(table, carrier, *_sent(ways[k], table))
            some = _direction(ways[k].take(rows), by, margins_db[k][rows], known)
            for whole, part in zip(blank, some, strict=True):
                whole[rows] = part
        sides.append(blank)
    counted = tuple(f"{table}_" for table, carrier in _carriers(network) if carrier.adaptive)
    return Coding(*sides[0], *sides[1], counted=counted)


class _Side(NamedTuple):
    """What is told of a direction (n,), in the order of `Coding`."""

    target_modcod: TextArray
    clear_modcod: TextArray
    target_kbit_s: FloatArray
    clear_kbit_s: FloatArray
    mean_kbit_s: FloatArray
    no_service_pct: FloatArray


def _carriers(network: Network) -> tuple[tuple[str, Carrier], ...]:
    return tuple(zip(DIRECTIONS, (network.outbound, network.inbound), strict=True))


def _blank(n: int) -> _Side:
    names = (np.full(n, "", dtype=object) for _ in range(2))
    return _Side(*names, *(np.full(n, np.nan) for _ in range(4)))


def _sent(way: Way, table: str) -> tuple[Level, CarrierPlan]:
    """Return the need of a direction's own MODCOD [dB], and its carrier."""
    link = way.link
    if table == "outbound":
        return link.outbound_required_db, link.outbound
    return link.inbound_required_db, link.inbound


def _direction(way: Way, by: Steps, margin_db: FloatArray, known: FloatArray | None) -> _Side:
    """Return what is told of a direction of n sites with kit; ``margin_db`` is the target's."""
    target, clear = reached(by, margin_db), reached(by, way.clear_db)
    mean, none = over_time(way, by, known)
    return _Side(target.modcod, clear.modcod, target.kbit_s, clear.kbit_s, mean, none)


def cautions(network: Network) -> Iterator[str]:
    """Yield what must be known of the MODCODs that carriers use, in sentences."""
    for table, carrier in _carriers(network):
        names = [m.name for m in used(table, carrier) if m.linear]
        if names:
            more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
            told = ", ".join(names[:_NAMED]) + more
            yield english().one("caution.linear_channel", direction=table, modcods=told)


def used(table: str, carrier: Carrier) -> tuple[Modcod, ...]:
    """Return the MODCODs that a carrier uses; none where a threshold stands in their place."""
    if carrier.adaptive:
        return usable(table, carrier)
    if carrier.es_n0_db is not None or carrier.eb_n0_db is not None:
        return ()
    return (find_modcod(carrier.waveform, carrier.modcod or ""),)
