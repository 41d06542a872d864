"""Designation of emissions: Radio Regulations, Appendix 1, section I (sub-section 1)."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

#: Letters that stand in the decimal point's place, each for a thousand times the unit before it:
#: hertz, kilohertz, megahertz, gigahertz.
_LETTERS: Final = "HKMG"
#: Decimals of three figures whose first stands in front of the point by so many places.
_STEPS: Final = (Decimal("0.01"), Decimal("0.1"), Decimal(1))


def necessary_bandwidth(bandwidth_hz: float) -> str:
    """Return a bandwidth as three figures and a letter in the decimal point's place.

    Parameters
    ----------
    bandwidth_hz : float
        Bandwidth that is needed. [Hz]

    Returns
    -------
    str
        Never begins with 0, K, M or G; halves are rounded up.

    Raises
    ------
    ValueError
        If the bandwidth is not between 0.001 Hz and 999 GHz when rounded.

    References
    ----------
    Radio Regulations, Appendix 1, 3 and 4 (read in public copies).

    Examples
    --------
    >>> [necessary_bandwidth(hz) for hz in (0.002, 25.3, 180.5e3, 999.6e3, 5.65e9)]
    ['H002', '25H3', '181K', '1M00', '5G65']
    """
    value = Decimal(f"{bandwidth_hz:.12g}")  # what binary fractions add is no half
    if value.is_finite() and value >= Decimal("0.0005"):
        thousandths = value.quantize(Decimal("0.001"), ROUND_HALF_UP)
        if thousandths < 1:
            return f"H{int(thousandths * 1000):03}"
        for power, letter in enumerate(_LETTERS):
            if found := _three_figures(value / 1000**power, letter):
                return found
    raise ValueError(f"bandwidth {bandwidth_hz:g} Hz must lie within 0.001 Hz to 999 GHz")


def designator(bandwidth_hz: float, emission_class: str) -> str:
    """Return the designator of an emission: its bandwidth, then its class.

    Parameters
    ----------
    bandwidth_hz : float
        As in `necessary_bandwidth`. [Hz]
    emission_class : str
        Three letters or digits, in any case: G7W is phase modulation, several digital channels,
        a mix of what they carry; D7W amplitude and phase together (APSK, QAM).

    Raises
    ------
    ValueError
        If bandwidth or class cannot be written.

    Examples
    --------
    >>> designator(307.2e3, "G7W")
    '307KG7W'
    """
    kind = emission_class.strip().upper()
    if len(kind) != 3 or not (kind.isascii() and kind.isalnum()):
        raise ValueError(f"class of emission {emission_class!r} must be 3 letters or digits")
    return necessary_bandwidth(bandwidth_hz) + kind


def _three_figures(value: Decimal, letter: str) -> str:
    """Return a value of 1 to 999 in a letter's unit, or '' where it rounds to more."""
    for step in _STEPS:
        rounded = value.quantize(step, ROUND_HALF_UP)
        figures = f"{rounded:f}".replace(".", "")
        if len(figures) == 3:
            point = 3 + int(rounded.as_tuple().exponent)
            return figures[:point] + letter + figures[point:]
    return ""
