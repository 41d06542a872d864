"""MODCODs of the open satellite waveforms: thresholds and spectral efficiencies.

Thresholds are the standards' ideal Es/N0 in white noise: they always need an implementation
loss on top. Efficiencies are without pilots. The three tables were read in copies that
cite the standards, not in the standards themselves.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

_BITS: Final = MappingProxyType(
    {"QPSK": 2, "8PSK": 3, "16APSK": 4, "32APSK": 5, "16QAM": 4},
)


@dataclass(frozen=True, slots=True)
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


#: EN 302 307-1 table 13: normal frames of 64800 bits, no pilots, PER 1e-7.
#: Name, ideal Es/N0 [dB], spectral efficiency [bit/symbol].
_S2: Final = (
    ("QPSK 1/4", -2.35, 0.490243),
    ("QPSK 1/3", -1.24, 0.656448),
    ("QPSK 2/5", -0.30, 0.789412),
    ("QPSK 1/2", 1.00, 0.988858),
    ("QPSK 3/5", 2.23, 1.188304),
    ("QPSK 2/3", 3.10, 1.322253),
    ("QPSK 3/4", 4.03, 1.487473),
    ("QPSK 4/5", 4.68, 1.587196),
    ("QPSK 5/6", 5.18, 1.654663),
    ("QPSK 8/9", 6.20, 1.766451),
    ("QPSK 9/10", 6.42, 1.788612),
    ("8PSK 3/5", 5.50, 1.779991),
    ("8PSK 2/3", 6.62, 1.980636),
    ("8PSK 3/4", 7.91, 2.228124),
    ("8PSK 5/6", 9.35, 2.478562),
    ("8PSK 8/9", 10.69, 2.646012),
    ("8PSK 9/10", 10.98, 2.679207),
    ("16APSK 2/3", 8.97, 2.637201),
    ("16APSK 3/4", 10.21, 2.966728),
    ("16APSK 4/5", 11.03, 3.165623),
    ("16APSK 5/6", 11.61, 3.300184),
    ("16APSK 8/9", 12.89, 3.523143),
    ("16APSK 9/10", 13.13, 3.567342),
    ("32APSK 3/4", 12.73, 3.703295),
    ("32APSK 4/5", 13.64, 3.951571),
    ("32APSK 5/6", 14.28, 4.119540),
    ("32APSK 8/9", 15.69, 4.397854),
    ("32APSK 9/10", 16.05, 4.453027),
)

#: EN 302 307-2, normal frames, no pilots: a selection of the MODCODs that part 2 adds.
_S2X: Final = (
    ("QPSK 2/9", -2.85, 0.434841),
    ("QPSK 13/45", -2.03, 0.567805),
    ("QPSK 9/20", 0.22, 0.889135),
    ("QPSK 11/20", 1.45, 1.088581),
    ("8PSK 23/36", 6.12, 1.896173),
    ("8PSK 25/36", 7.02, 2.062148),
    ("8PSK 13/18", 7.49, 2.145136),
    ("16APSK 26/45", 7.51, 2.281645),
    ("16APSK 3/5", 7.80, 2.370043),
    ("16APSK 28/45", 8.10, 2.458441),
    ("16APSK 23/36", 8.38, 2.524739),
    ("16APSK 25/36", 9.27, 2.745734),
    ("16APSK 13/18", 9.71, 2.856231),
    ("16APSK 7/9", 10.65, 3.077225),
    ("16APSK 77/90", 11.99, 3.386618),
)

#: EN 301 545-2, return link, PER 1e-5: name, ideal Es/N0 [dB], payload of a burst [bytes].
#: The bursts last 1616 and 536 symbols in all: preamble, pilots and postamble are inside.
_RCS2_LONG: Final = (
    ("QPSK 1/3", -0.51, 123),
    ("QPSK 1/2", 1.71, 188),
    ("QPSK 2/3", 3.69, 264),
    ("QPSK 3/4", 4.73, 298),
    ("QPSK 5/6", 5.94, 333),
    ("8PSK 2/3", 7.49, 355),
    ("8PSK 3/4", 8.77, 400),
    ("8PSK 5/6", 10.23, 444),
    ("16QAM 3/4", 10.72, 539),
    ("16QAM 5/6", 12.04, 599),
)
_RCS2_SHORT: Final = (
    ("QPSK 1/3", 0.22, 38),
    ("QPSK 1/2", 2.34, 59),
    ("QPSK 2/3", 4.29, 85),
    ("QPSK 3/4", 5.36, 96),
    ("QPSK 5/6", 6.68, 108),
    ("8PSK 2/3", 8.08, 115),
    ("8PSK 3/4", 9.31, 130),
)


def modcods(waveform: str) -> tuple[Modcod, ...]:
    """Return the MODCODs of a waveform, in the order of their table.

    Parameters
    ----------
    waveform : str
        'DVB-S2', 'DVB-S2X' or 'DVB-RCS2'. DVB-S2X holds DVB-S2's MODCODs as well: a receiver
        made to part 2 of the standard takes those of part 1. DVB-RCS2's names mean bursts of
        1616 symbols, with ' short' after the name bursts of 536.

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
    """
    try:
        return _TABLES[waveform.strip().upper()]
    except KeyError:
        known = ", ".join(_TABLES)
        raise ValueError(f"waveform {waveform!r} is not known: use one of {known}") from None


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
    """
    table = {_key(m.name): m for m in modcods(waveform)}
    if (found := table.get(_key(name))) is not None:
        return found
    near = difflib.get_close_matches(_key(name), table, n=3, cutoff=0.4) or list(table)[:3]
    names = ", ".join(repr(table[key].name) for key in near)
    raise ValueError(f"{waveform} has no MODCOD {name!r}; the nearest are {names}")


def es_n0_from_eb_n0_db(eb_n0_db: ArrayLike, bits_per_symbol: ArrayLike) -> FloatArray:
    """Return Es/N0 [dB] from Eb/N0 [dB] and the information bits that a symbol carries.

    The bits are modulation bits times code rate (times the share of payload in a frame, if
    Eb counts payload only). The two arguments broadcast together.
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


def _modcod(waveform: str, name: str, es_n0_db: float, efficiency: float) -> Modcod:
    """Return a MODCOD whose modulation and code rate are read from its name."""
    modulation, rate = name.split()[:2]
    return Modcod(
        waveform=waveform,
        name=name,
        bits_per_symbol=_BITS[modulation],
        code_rate=float(Fraction(rate)),
        es_n0_db=es_n0_db,
        efficiency=efficiency,
    )


_TABLES: Final = MappingProxyType(
    {
        "DVB-S2": tuple(_modcod("DVB-S2", *row) for row in _S2),
        "DVB-S2X": tuple(_modcod("DVB-S2X", *row) for row in (*_S2, *_S2X)),
        "DVB-RCS2": (
            *(_modcod("DVB-RCS2", n, e, 8 * b / 1616) for n, e, b in _RCS2_LONG),
            *(_modcod("DVB-RCS2", f"{n} short", e, 8 * b / 536) for n, e, b in _RCS2_SHORT),
        ),
    }
)
