"""Ids that a spreadsheet has eaten: zeros gone, 1E5 made a number, 3-4 made a date.

What is left of an id is compared with what would be left of each of the project's ids; it is that
site where it can be no other.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import NamedTuple

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")
#: An id with thousands marks, as a formatted cell is saved.
_GROUPED = re.compile(r"\d{1,3}(?:[,' \u00a0\u202f]\d{3})+")
#: More characters are in no id that a spreadsheet made a number or a day of.
_LONGEST = 400
#: Digits that a spreadsheet's number keeps.
_KEPT_DIGITS = 15
_TIME = re.compile(r"[ T]0?0:00(:00(\.0+)?)?$")
_PARTS = re.compile(r"[^\W_]+")
#: The short names of the months in languages that spreadsheets are set to.
_MONTHS = (
    ("jan", "ene", "gen", "oca", "sty", "янв"),
    ("feb", "fév", "fev", "şub", "lut", "фев"),
    ("mar", "mär", "mrt", "mrz", "maa", "мар"),
    ("apr", "avr", "abr", "nis", "kwi", "апр"),
    ("may", "mai", "mei", "mag", "maj", "май"),
    ("jun", "juin", "giu", "haz", "cze", "июн"),
    ("jul", "juil", "lug", "tem", "lip", "июл"),
    ("aug", "aoû", "aou", "ago", "ağu", "sie", "авг"),
    ("sep", "set", "eyl", "wrz", "сен"),
    ("oct", "okt", "out", "ott", "eki", "paź", "окт"),
    ("nov", "kas", "lis", "ноя"),
    ("dec", "dez", "déc", "dic", "ara", "gru", "дек"),
)
_IN_FULL = (
    *("january", "february", "march", "april", "may", "june", "july", "august"),
    *("september", "october", "november", "december"),
)

#: What may be left of an id: a number, or a day (kind, first, second).
Left = tuple[str, object, object]


class Match(NamedTuple):
    """The site that an id can only be (None for none or several), and all that it may be."""

    site: str | None
    candidates: tuple[str, ...]


def left_of(text: str) -> frozenset[Left]:
    """Return what a spreadsheet may have left of a text that it took for a number or a date.

    >>> left_of("007") & left_of("7") == left_of("7")
    True
    >>> bool(left_of("3-4") & left_of("2026-04-03"))
    True
    >>> left_of("KM-04-B")
    frozenset()
    """
    return _numbers(text.strip()) | _days(_TIME.sub("", text.strip()))


class Eaten:
    """The ids of a project, by what a spreadsheet would leave of each."""

    def __init__(self, site_ids: Iterable[str]) -> None:
        self._sites: dict[Left, list[str]] = {}
        for site in site_ids:
            if len(site) > _LONGEST:
                continue
            for left in left_of(site) | _kept(site):
                self._sites.setdefault(left, []).append(site)

    def match(self, text: str) -> Match:
        """Return which site ``text`` is left of.

        Parameters
        ----------
        text : str
            An id as it came back, which is none of the project's.
        """
        if len(text) > _LONGEST:
            return Match(None, ())
        found: dict[str, None] = {}
        for left in sorted(left_of(text), key=repr):
            found.update(dict.fromkeys(self._sites.get(left, ())))
        if not found:
            found = dict.fromkeys(self._rounded(text.strip()))
        candidates = tuple(found)
        return Match(candidates[0] if len(candidates) == 1 else None, candidates)

    def _rounded(self, text: str) -> list[str]:
        """Return the sites whose number, of many digits, is shown in short: 1.23E+11."""
        mantissa, mark, _ = text.lower().partition("e")
        if not mark or not _NUMBER.fullmatch(text):
            return []
        digits, shown = sum(c.isdigit() for c in mantissa), Decimal(text)
        return [
            site
            for (kind, number, _), sites in self._sites.items()
            if kind == "number" and _to_digits(Decimal(str(number)), digits) == shown
            for site in sites
        ]


def _numbers(text: str) -> frozenset[Left]:
    if _GROUPED.fullmatch(text):
        text = re.sub(r"\D", "", text)
    if not _NUMBER.fullmatch(text):
        return frozenset()
    try:
        number = Decimal(text).normalize()
    except InvalidOperation:
        return frozenset()
    return frozenset({("number", str(number), "")}) if abs(number.adjusted()) < 400 else frozenset()


def _kept(text: str) -> frozenset[Left]:
    """Return the number that a spreadsheet keeps of an id of more digits than it can hold."""
    if not text.isdecimal() or len(text.lstrip("0")) <= _KEPT_DIGITS:
        return frozenset()
    digits = text.lstrip("0")
    return _numbers(digits[:_KEPT_DIGITS] + "0" * (len(digits) - _KEPT_DIGITS))


def _to_digits(number: Decimal, digits: int) -> Decimal:
    """Return a number rounded to so many digits."""
    if not number:
        return number
    return round(number, digits - 1 - number.adjusted())


def _days(text: str) -> frozenset[Left]:
    """Return the days and months that a text may be read as, whatever the order of its parts."""
    parts = _PARTS.findall(re.sub(r"(?<=\d)(?=[^\W\d_])|(?<=[^\W\d_])(?=\d)", " ", text))
    if not 2 <= len(parts) <= 3 or re.search(r"[^\w\s./-]", text):
        return frozenset()
    named = [(k, _month(part)) for k, part in enumerate(parts) if not part.isdecimal()]
    if len(named) > 1 or any(month is None for _, month in named):
        return frozenset()
    numbers = [int(part) for part in parts if part.isdecimal()]
    if named:
        return _of_month(named[0][1] or 0, numbers)
    if not re.search(r"\d\s*[./-]\s*\d", text):
        return frozenset()
    return _of_numbers(numbers, dotted="." in text)


def _of_month(month: int, numbers: list[int]) -> frozenset[Left]:
    """Return the days of a month: a number beside it is the day, or the year of its first."""
    found: set[Left] = {("day", month, n) for n in numbers if 1 <= n <= 31}
    if len(numbers) == 1:
        found.add(("month", month, _year(numbers[0])))
    elif 1 in numbers:
        found |= {("month", month, _year(n)) for n in numbers}
    return frozenset(found)


def _of_numbers(numbers: list[int], *, dotted: bool) -> frozenset[Left]:
    """Return the days that two or three numbers may be, day first or month first."""
    if len(numbers) == 2 and dotted:
        return frozenset()  # 3.4 is a number
    found: set[Left] = set()
    pairs = [(a, b) for k, a in enumerate(numbers) for b in numbers[k + 1 :]]
    for a, b in pairs:
        found |= {("day", m, d) for m, d in ((a, b), (b, a)) if 1 <= m <= 12 and 1 <= d <= 31}
    if len(numbers) == 2:
        a, b = numbers
        found |= {("month", m, _year(y)) for m, y in ((a, b), (b, a)) if 1 <= m <= 12 < y}
    elif 1 in numbers:
        year = max(numbers) if max(numbers) > 31 else numbers[-1]
        found |= {("month", m, _year(year)) for m in numbers if 1 <= m <= 12}
    return frozenset(found)


def _month(part: str) -> int | None:
    word = part.casefold()
    if word in _IN_FULL:
        return _IN_FULL.index(word) + 1
    # Sept, märz, juin: a letter more than the shortest.
    short = (name for name in (word, word[:-1]) if len(name) > 2)
    return next((k for n in short for k, names in enumerate(_MONTHS, 1) if n in names), None)


def _year(number: int) -> int:
    """Return a year of four digits, as spreadsheets take those of two."""
    if number >= 100:
        return number
    return number + (2000 if number < 30 else 1900)
