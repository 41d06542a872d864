"""What a carrier brings of the user's data: its MODCODs, and the rate that each leaves."""

from __future__ import annotations

from siteplan.errors import NetworkError
from siteplan.network import Carrier
from siteplan.physics.radio.waveforms import Modcod, find_modcod, modcods
from siteplan.planning.link.ends import Level

#: How the names of DVB-RCS2's short bursts end.
_SHORT = " short"


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


def ladder(table: str, carrier: Carrier) -> tuple[Modcod, ...]:
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
    own = [_named(table, "modcods", carrier, name) for name in carrier.modcods] or _alike(carrier)
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


def _alike(carrier: Carrier) -> list[Modcod]:
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
        As in `ladder`.
    """
    if carrier.adaptive or carrier.modcods or carrier.max_modcod is not None:
        ladder(table, carrier)
