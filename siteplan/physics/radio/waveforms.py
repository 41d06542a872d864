"""MODCODs of EN 302 307-1, EN 302 307-2 and EN 301 545-2: thresholds and efficiencies.

Thresholds are the standards' ideal Es/N0 in white noise: they always need an implementation
loss on top. Efficiencies are without pilots. ``modcods.csv`` holds them, row by row with its
source: EN 302 307-1, what EN 302 307-2 adds at normal frames, and EN 301 545-2 (return link, bits
of a burst over its symbols, preamble, pilots and postamble inside). They were read in copies
that cite the standards, not in the standards themselves.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.tables import number, read_rows

#: How the names of EN 302 307-2's MODCODs for linear channels end.
LINEAR = "-L"


@frozen
class Modcod:
    """One combination of modulation and code.

    ``bits_per_symbol`` counts the modulation's coded bits; ``efficiency`` [bit/symbol] counts
    what is left for the user's data after coding and framing; ``es_n0_db`` is the ideal
    threshold in the bandwidth of the symbol rate. [dB]
    """

    waveform: str
    name: str
    bits_per_symbol: int
    code_rate: float
    es_n0_db: float
    efficiency: float

    @property
    def linear(self) -> bool:
        """Whether it is made for linear channels: its ring radii ask for an amplifier far back.

        On a satellite's amplifier near saturation it needs up to 2.7 dB more than its threshold
        in white noise (EN 302 307-2 table 20a, second column; read in a copy).
        """
        return self.name.endswith(LINEAR)


def waveforms() -> tuple[str, ...]:
    """Return the waveforms whose MODCODs are known, in the order of ``modcods.csv``.

    Examples
    --------
    >>> waveforms()[:2]
    ('DVB-S2', 'DVB-S2X')
    """
    return tuple(_tables())


def modcods(waveform: str) -> tuple[Modcod, ...]:
    """Return the MODCODs of a waveform, in the order of their table.

    Parameters
    ----------
    waveform : str
        One of `waveforms`, in any case. DVB-S2X holds DVB-S2's MODCODs as well: a receiver made
        to part 2 of the standard takes those of part 1. DVB-RCS2's names mean bursts of 1616
        symbols, with ' short' after the name bursts of 536.

    Returns
    -------
    tuple of Modcod

    Raises
    ------
    ValueError
        If the waveform is unknown.

    References
    ----------
    EN 302 307-1 table 13; EN 302 307-2; EN 301 545-2. Read in copies.

    Examples
    --------
    Table 13 of EN 302 307-1 begins:

    >>> [(m.name, m.es_n0_db, m.efficiency) for m in modcods("DVB-S2")[:2]]
    [('QPSK 1/4', -2.35, 0.490243), ('QPSK 1/3', -1.24, 0.656448)]
    """
    found = _tables().get(waveform.strip().upper())
    if found is None:
        known = ", ".join(waveforms())
        raise ValueError(f"waveform {waveform!r} is not known: use one of {known}")
    return found


def find_modcod(waveform: str, name: str) -> Modcod:
    """Return the MODCOD of a name, whatever its case, spaces, hyphens and underscores.

    Parameters
    ----------
    waveform : str
        As in `modcods`.
    name : str
        For example 'QPSK 3/4', 'qpsk-3/4' or '8PSK2/3'.

    Returns
    -------
    Modcod

    Raises
    ------
    ValueError
        If the waveform has no such MODCOD; the message names the nearest.

    Examples
    --------
    A burst of 1616 symbols of DVB-RCS2 carries 188 bytes at QPSK 1/2:

    >>> modcod = find_modcod("DVB-RCS2", "qpsk-1/2")
    >>> modcod.es_n0_db, round(modcod.efficiency * 1616 / 8)
    (1.71, 188)
    """
    table = _by_key(waveform)
    if (found := table.get(_key(name))) is not None:
        return found
    import difflib

    near = difflib.get_close_matches(_key(name), table, n=3, cutoff=0.4) or list(table)[:3]
    names = ", ".join(repr(table[key].name) for key in near)
    raise ValueError(f"{waveform} has no MODCOD {name!r}; the nearest are {names}")


def es_n0_from_eb_n0_db(eb_n0_db: ArrayLike, bits_per_symbol: ArrayLike) -> FloatArray:
    """Return Es/N0 [dB] from Eb/N0 [dB] and the information bits that a symbol carries.

    The bits are modulation bits times code rate (times the share of payload in a frame, if
    Eb counts payload only). The two arguments broadcast together.

    Examples
    --------
    Two bits double the energy, 3.01 dB; QPSK at rate 1/2 carries one.

    >>> es_n0_from_eb_n0_db([5.0, 5.0], [2, 2 * 1 / 2]).round(2).tolist()
    [8.01, 5.0]
    """
    bits = np.asarray(bits_per_symbol, dtype=float)
    return np.asarray(np.asarray(eb_n0_db, dtype=float) + 10 * np.log10(bits))


def required_es_n0_db(
    threshold: Modcod | float,
    *,
    implementation_loss_db: float,
    bits_per_symbol: float | None = None,
) -> float:
    """Return the Es/N0 that a modem needs: threshold plus implementation loss.

    Parameters
    ----------
    threshold : Modcod or float
        A MODCOD, or its Es/N0 [dB], or its Eb/N0 [dB] where ``bits_per_symbol`` is given.
    implementation_loss_db : float
        Loss of the modem against the ideal. [dB]
    bits_per_symbol : float, optional
        Information bits that a symbol carries: says that ``threshold`` is an Eb/N0.

    Returns
    -------
    float
        Required Es/N0 in the bandwidth of the symbol rate. [dB]

    Raises
    ------
    ValueError
        If ``bits_per_symbol`` is given with a MODCOD, which has its own.

    Examples
    --------
    >>> required_es_n0_db(find_modcod("DVB-S2", "QPSK 3/4"), implementation_loss_db=1.0)
    5.03
    """
    if isinstance(threshold, Modcod):
        if bits_per_symbol is not None:
            raise ValueError("bits_per_symbol goes with an Eb/N0, not with a MODCOD: leave it out")
        return threshold.es_n0_db + implementation_loss_db
    if bits_per_symbol is not None:
        threshold = float(es_n0_from_eb_n0_db(threshold, bits_per_symbol))
    return threshold + implementation_loss_db


def _key(name: str) -> str:
    """Return a name without what people spell differently."""
    return "".join(c for c in name.upper() if c not in " -_\t")


@lru_cache(maxsize=8)
def _by_key(waveform: str) -> dict[str, Modcod]:
    """Return the MODCODs of a waveform by what of their names people spell alike."""
    return {_key(m.name): m for m in modcods(waveform)}


@lru_cache(maxsize=1)
def _tables() -> dict[str, tuple[Modcod, ...]]:
    """Return the MODCODs by waveform, in the order of the file; a row may serve several."""
    tables: dict[str, list[Modcod]] = {}
    for row in read_rows(Path(__file__).with_name("modcods.csv")):
        for waveform in row["waveforms"].split(";"):
            tables.setdefault(waveform, []).append(_modcod(waveform, row))
    return {waveform: tuple(found) for waveform, found in tables.items()}


def _modcod(waveform: str, row: dict[str, str]) -> Modcod:
    """Return the MODCOD of a row: the code's rate begins the second word of its name."""
    return Modcod(
        waveform=waveform,
        name=row["name"],
        bits_per_symbol=int(row["bits_per_symbol"]),
        code_rate=number(row["name"].split()[1].removesuffix(LINEAR)),
        es_n0_db=number(row["es_n0_db"]),
        efficiency=number(row["efficiency"]),
    )
