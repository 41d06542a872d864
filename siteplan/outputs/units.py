"""Other units beside the metric ones: a table, and what stands in brackets behind a value.

``[network] units = "us"`` puts feet, inches, miles an hour and wire gauges beside the figures on
sheets and report. Metric figures stay and come first; files for machines are never converted.
"""

from __future__ import annotations

import math
import re
from typing import Final, NamedTuple

#: What ``[network] units`` may be.
METRIC, US = "metric", "us"


class Other(NamedTuple):
    """A unit of the United States: its sign, how many of it one metric unit is, and decimals."""

    unit: str
    factor: float
    decimals: int


#: By metric unit and decimals of the metric figure, None for any: NIST Special Publication 811
#: (2008), appendix B; foot, inch and pound are exact, the pound-force is at 9.80665 m/s2.
_FOOT_M, _INCH_M, _POUND_KG = 0.3048, 0.0254, 0.45359237
_POUND_FORCE_N = _POUND_KG * 9.80665
TABLE: Final[dict[tuple[str, int | None], Other]] = {
    ("m", 0): Other("ft", 1 / _FOOT_M, 0),
    ("m", 1): Other("ft", 1 / _FOOT_M, 1),
    ("m", None): Other("in", 1 / _INCH_M, 1),
    ("km", None): Other("mi", 1 / (5.28 * _FOOT_M), 1),
    ("mm", None): Other("in", 1e-3 / _INCH_M, 2),
    ("m/s", None): Other("mph", 3.6 / (5.28 * _FOOT_M), 0),
    ("mm/h", None): Other("in/h", 1e-3 / _INCH_M, 2),
    ("kg", None): Other("lb", 1 / _POUND_KG, 0),
    ("N", None): Other("lbf", 1 / _POUND_FORCE_N, 0),
    ("Nm", None): Other("lbf ft", 1 / (_POUND_FORCE_N * _FOOT_M), 0),
    ("Pa", None): Other("psf", _FOOT_M**2 / _POUND_FORCE_N, 1),
    ("kPa", None): Other("psf", 1e3 * _FOOT_M**2 / _POUND_FORCE_N, 1),
    ("kg/m2", None): Other("lb/ft2", _FOOT_M**2 / _POUND_KG, 1),
    ("m2", None): Other("ft2", 1 / _FOOT_M**2, 1),
    ("W/m2", None): Other("mW/cm2", 0.1, 2),
    ("ohm/km", None): Other("ohm/1000 ft", _FOOT_M, 1),
}
#: Miles from which on tenths are told no more.
_WHOLE_MI = 100
#: Around a figure that is an antenna's diameter, which is told in inches whatever its decimals.
_OF_DISH = re.compile(r" (antenna|dish|with [\d.]+ W|and [\d.]+ W)\b")
_OF_DISH_BEFORE = re.compile(r"\b(antennas?|dish|instead of|one of|installed)( of)? $", re.I)
_UNITS = "|".join(sorted({re.escape(unit) for unit, _ in TABLE}, key=len, reverse=True))
#: A figure with its unit inside a sentence, nothing in brackets behind it yet.
_FIGURE = re.compile(
    rf"(?<![\w.,])(-?(?:\d{{1,3}}(?:,\d{{3}})+|\d+)(?:\.(\d+))?) ({_UNITS})(?![\w/(]| \()"
)


def beside(value: float, unit: str, decimals: int | None, units: str) -> str:
    """Return a figure in the other unit, in brackets and behind a blank; '' where there is none.

    Parameters
    ----------
    value : float
        In the metric ``unit``.
    unit : str
        As the dictionary of fields has it.
    decimals : int or None
        Decimals that the metric figure is shown with.
    units : str
        ``metric`` or ``us``.

    Examples
    --------
    >>> beside(1.8, "m", 2, "us"), beside(30, "m", 0, "us"), beside(20, "m/s", 1, "us")
    (' (70.9 in)', ' (98 ft)', ' (45 mph)')
    >>> beside(3, "dB", 1, "us"), beside(1.8, "m", 2, "metric")
    ('', '')
    """
    told = inside(value, unit, decimals, units)
    return f" ({told})" if told else ""


def inside(value: float, unit: str, decimals: int | None, units: str) -> str:
    """Return what :func:`beside` puts between its brackets."""
    other = TABLE.get((unit, decimals)) or TABLE.get((unit, None))
    if units != US or other is None or not math.isfinite(value):
        return ""
    far = unit == "km" and abs(value * other.factor) >= _WHOLE_MI
    number = f"{value * other.factor:.{0 if far else other.decimals}f}"
    number = number.removeprefix("-") if float(number) == 0 else number
    return f"{number} {other.unit}"


def in_sentence(text: str, units: str) -> str:
    """Return a sentence with the other unit behind each of its figures that has one.

    >>> in_sentence("A run of 62 m would do, under 3000 N.", "us")
    'A run of 62 m (203 ft) would do, under 3000 N (674 lbf).'
    >>> in_sentence("1.2 m antenna instead of 0.98 m, 1.2 m off", "us")
    '1.2 m (47.2 in) antenna instead of 0.98 m (38.6 in), 1.2 m (3.9 ft) off'
    >>> in_sentence("Some 2,000 km from land.", "us")
    'Some 2,000 km (1243 mi) from land.'
    """
    if units != US:
        return text

    def told(m: re.Match[str]) -> str:
        dish = _OF_DISH_BEFORE.search(m.string[: m.start()]) or _OF_DISH.match(m.string, m.end())
        decimals = None if dish else len(m[2] or "")
        return m[0] + beside(float(m[1].replace(",", "")), m[3], decimals, units)

    return _FIGURE.sub(told, text)


def wire_gauge(diameter_mm: float) -> str:
    """Return the nearest American wire gauge of a solid round conductor.

    ASTM B258: the diameter of gauge n is 0.127 mm times 92^((36 - n) / 39).

    Examples
    --------
    Gauge 18 is 1.024 mm, gauge 14 is 1.628 mm.

    >>> wire_gauge(1.02), wire_gauge(1.63), wire_gauge(8.25), wire_gauge(11.7)
    ('18 AWG', '14 AWG', '0 AWG', '4/0 AWG')
    """
    gauge = round(36 - 39 * math.log(diameter_mm / 0.127, 92))
    return f"{gauge} AWG" if gauge >= 0 else f"{1 - gauge}/0 AWG"
