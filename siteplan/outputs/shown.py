"""Values as people read them: the one place where a number becomes text with its unit.

Units, degree signs, decimals, blanks and signs enter here, times in
:mod:`siteplan.outputs.times`, and other units beside the metric ones in
:mod:`siteplan.outputs.units`; console, sheets, lists, map and coverage ask for texts. So another
unit or another spelling is a change of this file alone. Files for machines (CSV, KML and GPX
coordinates, geo URIs) take :func:`fixed`, which is never converted.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from siteplan.fields import Field, lookup
from siteplan.outputs.units import METRIC, beside, in_sentence
from siteplan.results import Plan
from siteplan.words import class_labels

#: How a unit stands behind a number, where it is not a blank and its name.
_UNITS = {"deg": "°", "%": " %", "": ""}
#: Stands for a value that is not there, where a blank would be taken for a slip.
DASH = "-"
#: Distances of exposure where 0 says that the limit holds everywhere, and how that reads.
NOWHERE = frozenset(
    f"{who}_{where}_m" for who in ("controlled", "public") for where in ("distance", "beside")
)
#: Fields that are sentences of ours, with figures and units in them.
PROSE = frozenset(
    (
        *("no_fit_reason", "near_miss", "mount_question", "mount_reason", "mount_options"),
        *("cable_core", "cable_advice", "cable_clad_steel", "exposure_basis", "flag_notes"),
        *("certainty_next", "year_notes"),
    )
)
#: Choices of the network file as a reader knows them.
CHOICES = {
    "mean_10min": "10-minute mean",
    "gust_3s": "3-second gust",
    "own": "its share alone",
    "free": "any",
}
#: Codes that readers know by another word.
_WORDS = {"provisional": "to be surveyed"}
NOT_REACHED = "the rule's limit is not reached"
_field = lru_cache(maxsize=None)(lookup)


# --- a value of the dictionary --------------------------------------------------------------


def shown(value: Any, field: Field, units: str = METRIC) -> str:
    """Return a value with its unit; empty for NaN, None and empty texts.

    A distance of exposure of 0 is told in words, lest it be taken for leave. ``units`` other than
    metric stand beside, in brackets.
    """
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if field.decimals is None:
        text = str(value).strip()
        return in_sentence(text, units) if field.name in PROSE else text
    if value == 0 and field.name in NOWHERE:
        return NOT_REACHED
    number = fixed(float(value), field.decimals)
    number = number.removeprefix("-") if float(number) == 0 else number
    other = beside(float(value), field.unit, field.decimals, units)
    return number + _behind(field.unit) + other


def spelled(value: Any, field: Field) -> str:
    """Return a value for the terminal: the unit as the dictionary spells it, a dash for none.

    A value that rounds to zero from below keeps its sign: a margin that just fails shows it.
    """
    if field.decimals is None:
        return str(value) or DASH
    if math.isnan(value):
        return DASH
    if value == 0 and field.name in NOWHERE:
        return NOT_REACHED
    return f"{fixed(value + 0.0, field.decimals)} {field.unit}".strip()


class Texts:
    """The texts of a plan's fields, each field's made for all sites once it is asked for.

    For lists that ask for the same fields of every site: most values are those of other sites too.
    """

    def __init__(self, plan: Plan, units: str = METRIC) -> None:
        self._plan, self._units = plan, units
        self._made: dict[str, list[str]] = {}

    def of(self, name: str) -> list[str]:
        """Return a field's text at each site; empty for one that the plan does not have."""
        if name not in self._made:
            self._made[name] = self._make(name)
        return self._made[name]

    def _make(self, name: str) -> list[str]:
        values, field = self._plan.columns.get(name), _field(name)
        if values is None or field is None:
            return [""] * len(self._plan)
        each = values.tolist()
        told = {value: shown(value, field, self._units) for value in set(each)}
        return [told[value] for value in each]


class SiteValues:
    """One site of a plan: texts by field name, empty where the plan has no answer or no field.

    Parameters
    ----------
    plan : Plan
        The results.
    index : int
        Which of its sites.
    units : str, optional
        Whose units stand beside the metric ones: ``metric`` for none.
    texts : Texts, optional
        All sites' texts in these units, where many sites are asked.
    """

    def __init__(
        self, plan: Plan, index: int, units: str = METRIC, texts: Texts | None = None
    ) -> None:
        self.plan = plan
        self.index = index
        self.units = units
        self._texts = texts

    def __getitem__(self, name: str) -> str:
        """Return the text of a field; empty for one that the plan does not have."""
        if self._texts is not None:
            return self._texts.of(name)[self.index]
        values, field = self.plan.columns.get(name), _field(name)
        if values is None or field is None:
            return ""
        return shown(_plain(values[self.index]), field, self.units)

    def number(self, name: str) -> float:
        """Return a field's number; NaN where there is none."""
        values = self.plan.columns.get(name)
        return math.nan if values is None else float(values[self.index])

    def size(self, name: str, unit: str | None = None) -> str:
        """Return a field's number without its sign, in its unit or behind another ``unit``."""
        number, field = self.number(name), _field(name)
        if field is None or math.isnan(number):
            return ""
        return amount(abs(number), field.unit if unit is None else unit, field.decimals)

    def difference(self, name: str) -> str:
        """Return a difference's text with its sign, a plus too; none for what shows as zero."""
        text = self[name]
        return f"+{text}" if self.number(name) > 0 and re.search("[1-9]", text) else text

    @property
    def has_kit(self) -> bool:
        """Whether a pair is given to the site, antenna and BUC."""
        return not (math.isnan(self.number("antenna_m")) or math.isnan(self.number("buc_w")))

    @property
    def tried(self) -> str:
        """The pair that margins hold for, where none is given; empty elsewhere."""
        pair = self["tried_antenna_m"], self["tried_buc_w"]
        return " and ".join(pair) if all(pair) and not self.has_kit else ""

    def label(self, name: str) -> str:
        """Return a field's label; of what was only tried, with the pair that it holds for."""
        field = _field(name)
        pair = self.tried if field and field.rests_on == "tried" else ""
        return f"{label(name)} with {pair}, tried and not planned" if pair else label(name)

    def rows(self, *names: str) -> list[tuple[str, str]]:
        """Return label and text of those of the fields that have an answer."""
        return [(self.label(name), text) for name in names if (text := self[name])]


def label(name: str) -> str:
    """Return a field's label; the name itself where the dictionary has none."""
    field = _field(name)
    return field.label if field else name


def words(code: str) -> str:
    """Return a code such as ``non_penetrating`` as words.

    >>> words("non_penetrating"), words("provisional")
    ('non penetrating', 'to be surveyed')
    """
    return _WORDS.get(code) or code.replace("_", " ")


# --- a value of a unit ----------------------------------------------------------------------


def amount(value: float, unit: str, decimals: int | None = None) -> str:
    """Return a value of a unit; ``decimals`` None: as many as it takes (at most six digits).

    >>> amount(3, "dB"), amount(12.04, "deg", 1), amount(99.5, "%")
    ('3 dB', '12.0°', '99.5 %')
    """
    number = f"{value:g}" if decimals is None else fixed(value, decimals)
    return number + _behind(unit)


def to_digits(value: float, unit: str, digits: int = 4) -> str:
    """Return a value of a unit to so many digits, without zeros behind.

    >>> to_digits(0.645120, "MHz"), to_digits(7.2, "MHz"), to_digits(123456.0, "kbit/s")
    ('0.6451 MHz', '7.2 MHz', '123500 kbit/s')
    """
    short = float(f"{value:.{digits}g}")
    return amount(short, unit, 0) if abs(short) >= 1e5 else amount(short, unit)


def given(value: float, unit: str, decimals: int | None = None, units: str = METRIC) -> str:
    """Return a value as :func:`amount` does, with the other units beside where they are asked for.

    >>> given(10, "m/s", units="us")
    '10 m/s (22 mph)'
    """
    places = decimals if decimals is not None else len(f"{value:g}".partition(".")[2])
    return amount(value, unit, decimals) + beside(value, unit, places, units)


def megahertz(frequency_mhz: float) -> str:
    """Return a frequency to tune to, to the hertz and without zeros behind; empty for NaN.

    >>> megahertz(1350.0), megahertz(11953.125)
    ('1350 MHz', '11953.125 MHz')
    """
    if math.isnan(frequency_mhz):
        return ""
    return f"{frequency_mhz:.6f}".rstrip("0").rstrip(".") + " MHz"


def angle(angle_deg: float, decimals: int | None = None) -> str:
    """Return an angle with the degree sign; ``decimals`` as for :func:`amount`."""
    return amount(angle_deg, "deg", decimals)


def choice(value: str) -> str:
    """Return a value of the network file as a reader knows it: a choice or a list in words.

    >>> choice("mean_10min"), choice("[0, 1, 3]"), choice("48")
    ('10-minute mean', '0, 1, 3', '48')
    """
    return CHOICES.get(value) or words(value.removeprefix("[").removesuffix("]"))


def stated(value: str, unit: str) -> str:
    """Return a figure that is text already, such as a key's of network.toml, with its unit."""
    return f"{value}{_behind(unit)}"


def unit_sign(unit: str) -> str:
    """Return a unit as readers expect it: the degree as its sign."""
    return "°" if unit == "deg" else unit


def share_of_time(low_pct: float, high_pct: float | None = None) -> str:
    """Return a share of time such as an availability, or the range of several."""
    if high_pct is None or low_pct == high_pct:
        return amount(low_pct, "%")
    return f"{amount(low_pct, '')} to {amount(high_pct, '%')}"


def target_of(plan: Plan) -> str:
    """Return the availability target of a plan's sites, or the range of several."""
    targets = plan.columns.get("availability_target_pct")
    if targets is None or np.isnan(targets).all():
        return share_of_time(plan.network.usual_target_pct)
    return share_of_time(float(np.nanmin(targets)), float(np.nanmax(targets)))


def range_labels(bounds: Sequence[float], unit: str) -> list[str]:
    """Return the words of the classes that rising ``bounds`` part a quantity into.

    >>> range_labels([10, 20], "deg")
    ['below 10°', '10 to 20°', '20° or more']
    """
    return class_labels(bounds, unit) if bounds else ["All values"]


def alone(coding: Mapping[str, Any]) -> str:
    """Return what an adaptive carrier would bring with its own MODCOD alone; '' if not known.

    >>> alone({"fixed_kbit_s": 202.5, "modcod": "QPSK 1/2"}), alone({"fixed_kbit_s": None})
    (', 202 kbit/s with QPSK 1/2 alone', '')
    """
    rate = coding["fixed_kbit_s"]
    return "" if rate is None else f", {amount(rate, 'kbit/s', 0)} with {coding['modcod']} alone"


def to_walk(distance_m: float) -> str:
    """Return a distance to keep [m], never rounded down; ``any`` for none."""
    if distance_m <= 0:
        return "any"
    if distance_m < 10:
        return amount(math.ceil(distance_m * 10 - 1e-6) / 10, "m", 1)
    return amount(math.ceil(distance_m - 1e-6), "m", 0)


# --- an angle with a half-word --------------------------------------------------------------


def sided(angle_deg: float, halves: Sequence[str], decimals: int | None = None) -> str:
    """Return an angle without its sign, and the first or second half's word for the sign.

    >>> sided(-3.1, "NS", 6), sided(1.25, ("east", "west"), 1)
    ('3.100000° S', '1.2° east')
    """
    return f"{angle(abs(angle_deg), decimals)} {halves[angle_deg < 0]}"


def dms(angle_deg: float, halves: Sequence[str]) -> str:
    """Return a latitude or longitude as degrees, minutes and seconds with the half's letter.

    >>> dms(-3.1, "NS"), dms(59.9999999, "EW")
    ('3 06 00.00 S', '60 00 00.00 E')
    """
    hundredths = round(abs(angle_deg) * 360_000)
    minutes, rest = divmod(hundredths, 6000)
    degrees, minutes = divmod(minutes, 60)
    return f"{degrees} {minutes:02d} {rest / 100:05.2f} {halves[angle_deg < 0]}"


# --- numbers for machines -------------------------------------------------------------------


def fixed(value: float, decimals: int) -> str:
    """Return a bare number with a fixed count of decimals, in the unit that it has."""
    return f"{value:.{decimals}f}"


def whole_or_short(quantity: float) -> str:
    """Return a quantity to order as a bare number: as short as it goes, never with a power."""
    return amount(quantity, "") if quantity < 1e6 else fixed(quantity, 0)


def price(of_one: float) -> str:
    """Return a price as it was given, with two decimals at least; empty where it is not known.

    >>> price(12.0), price(0.355)
    ('12.00', '0.355')
    """
    if math.isnan(of_one):
        return ""
    whole, _, part = fixed(of_one, 6).partition(".")
    return f"{whole}.{part.rstrip('0'):0<2}"


def money(amount_: float) -> str:
    """Return a cost as a bare number with two decimals; empty where it is not known.

    No currency is shown: the unit of money is the planner's own.
    """
    return "" if math.isnan(amount_) else fixed(amount_, 2)


def grouped(amount_: float) -> str:
    """Return a cost for people: thousands apart, so that nobody misreads it.

    >>> grouped(1234567.5).replace("\xa0", " "), grouped(12)
    ('1 234 567.50', '12.00')
    """
    return f"{amount_:,.2f}".replace(",", "\xa0")


def _behind(unit: str) -> str:
    """Return what stands behind a number of this unit."""
    return _UNITS.get(unit, f" {unit}")


def _plain(value: Any) -> Any:
    """Return a numpy scalar as Python's own."""
    return value.item() if hasattr(value, "item") else value
