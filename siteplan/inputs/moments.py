"""Moments as people write them: ISO 8601, with an offset from UTC or by the clock of a zone.

A clock that is put forward skips times and one that is put back shows them twice; both are found
from the zone's own changes, for many moments at once.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Final, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.inputs.bytewise.held import held

#: Moments of other years are slips, not outages.
YEARS: Final = (1980, 2100)
#: Stands for a moment that cannot be read, or is not given.
NO_MOMENT: Final = np.iinfo(np.int64).min
_DAY: Final = 86_400
_SPELL: Final = 512 * _DAY
#: Characters of texts (w, m), or bytes.
_Codes = NDArray[np.uint32] | NDArray[np.uint8]
#: The usual form at its longest, and so many texts are read at once.
_LONGEST: Final = 25
_AT_ONCE: Final = 20_000
#: The end of a day as ISO 8601:2004 has it, which Python does not read.
_MIDNIGHT = re.compile(r"(?<=[T ])24(:?)00(?:(:?)00)?(?:[.,]0+)?(?=$|[Z+-])")
#: What is looked at one by one: a date, then a clock whose fraction is of seconds, then an offset.
_SHAPE = re.compile(
    r"(?:[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{8}|[0-9]{4}-W[0-9]{2}-[0-9]|[0-9]{4}W[0-9]{3})"
    r"(?:[T ]\s*[0-9]{1,2}(?::?[0-9]{2}(?::?[0-9]{2}(?:[.,][0-9]+)?)?)?"
    r"\s*(?:Z|[+-][0-9]{2}(?::?[0-9]{2}(?::?[0-9]{2})?)?)?)?",
    re.I,
)
#: How people spell moments that have more than one reading, or none here.
_DAY_FIRST = re.compile(r"[0-9]{1,2}([./-])[0-9]{1,2}\1[0-9]{2,4}\b")
_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_ZONE_NAMED = re.compile(r"[0-9]{4}-?[0-9]{2}-?[0-9]{2}[T ].*[0-9]\s*\[?[A-Z][\w/+-]*\]?", re.I)
_WRITE: Final = "Write it as 2026-03-01T08:00:00-05:00, or without the offset by local time."
#: A space before an offset, and an hour of one digit.
_BEFORE_OFFSET = re.compile(r"\s+(?=[+-]\d\d|Z$)", re.I)
_SHORT_HOUR = re.compile(r"(?<=[T ])(\d)(?=:)")


class Read(NamedTuple):
    """Moments (m,) as written: seconds since 1970 by their own clock, and its offset [s].

    ``clock`` is ``NO_MOMENT`` where nothing could be read; ``offset`` NaN where none is written.
    """

    clock: IntArray
    offset: FloatArray


def read_moments(texts: Sequence[str] | TextArray) -> Read:
    """Return moments from texts (m,); blank ones and those that cannot be read are no moments.

    A column whose bytes are held is read by its bytes.

    >>> read = read_moments(["2026-03-01T08:00:00+01:00", "2026-03-01 24:00", "soon"])
    >>> read.clock.tolist()[:2], read.offset.tolist()[:2]
    ([1772352000, 1772409600], [3600.0, nan])
    """
    clock, offset = np.full(len(texts), NO_MOMENT), np.full(len(texts), np.nan)
    known = held(texts) if isinstance(texts, np.ndarray) else None
    for start in range(0, len(texts), _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        codes = known.leading(_LONGEST + 1, part) if known else _codes(texts[part])
        clock[part], offset[part] = _usual(codes)
    for k in np.flatnonzero(clock == NO_MOMENT).tolist():
        moment = _moment(texts[k]) if texts[k] else None
        if moment is not None:
            ahead = moment.utcoffset()
            offset[k] = np.nan if ahead is None else ahead.total_seconds()
            plain = moment.replace(tzinfo=dt.UTC, microsecond=0)
            clock[k] = int(plain.timestamp())
    return Read(clock, offset)


def _codes(texts: Sequence[str] | TextArray) -> _Codes:
    """Return the first characters of texts (w, m), 0 behind the end of a text."""
    rows = np.array([*texts, ""], dtype=f"U{_LONGEST + 1}").view(np.uint32)
    return np.ascontiguousarray(rows.reshape(-1, _LONGEST + 1)[:-1].T)


def _usual(codes: _Codes) -> tuple[IntArray, FloatArray]:
    """Return clock and offset [s] of texts (m,) in the usual form, all at once; else no moment.

    ``codes`` (w, m) are the first characters, or bytes, of each.

    That is ``2026-03-01T08:00``, a blank for the T or not, with seconds or not, then nothing, Z
    or an offset such as ``+01:00``.
    """
    found, seconds = _Digits(codes), codes[16] == ord(":")
    for at, mark in ((4, "-"), (7, "-"), (13, ":")):
        found.good &= codes[at] == ord(mark)
    found.good &= (codes[10] == ord("T")) | (codes[10] == ord(" "))
    year, month, day = found.number(0, 4), found.number(5, 2), found.number(8, 2)
    hour, minute = found.number(11, 2), found.number(14, 2)
    of_second = _Digits(codes)
    second = np.where(seconds, of_second.number(17, 2), 0)
    # Of texts without seconds what follows stands three places before.
    tail = np.where(seconds, codes[19:], codes[16 : _LONGEST - 2])
    ahead, known = _offset(tail, found)
    found.good &= ~seconds | of_second.good
    found.good &= (year >= YEARS[0]) & (year <= YEARS[1]) & (month >= 1) & (month <= 12)
    found.good &= (hour < 24) & (minute < 60) & (second < 60)
    days, fits = _days(year, np.where(found.good, month, 1), day)
    clock = days * _DAY + hour * 3600 + minute * 60 + second
    good = found.good & fits
    return np.where(good, clock, NO_MOMENT), np.where(good & known, ahead, np.nan)


class _Digits:
    """Numbers that stand in characters (w, m), and where all of them could be read so far (m,)."""

    def __init__(self, codes: _Codes) -> None:
        self.codes, self.good = codes, np.ones(codes.shape[1], dtype=bool)

    def number(self, at: int, count: int) -> IntArray:
        """Return the number of so many digits (m,); what is none is no longer good."""
        value = np.zeros(self.codes.shape[1], dtype=np.int64)
        for row in self.codes[at : at + count]:
            digit = row - row.dtype.type(ord("0"))  # what stands before 0 becomes very large
            self.good &= digit <= 9
            value = value * 10 + digit
        return value


def _offset(tail: _Codes, found: _Digits) -> tuple[IntArray, BoolArray]:
    """Return the offset at the end of texts (m,) [s], and where there is one."""
    ends = {k: ~(tail[k:] != 0).any(axis=0) for k in (0, 1, 6)}  # before so many characters
    zulu = (tail[0] == ord("Z")) & ends[1]
    own, minus = _Digits(tail), tail[0] == ord("-")
    own.good &= (minus | (tail[0] == ord("+"))) & (tail[3] == ord(":")) & ends[6]
    hours, minutes = own.number(1, 2), own.number(4, 2)
    own.good &= (hours < 24) & (minutes < 60)
    found.good &= ends[0] | zulu | own.good
    sign = np.where(minus, -1, 1)
    return np.where(own.good, sign * (hours * 3600 + minutes * 60), 0), zulu | own.good


def _days(year: IntArray, month: IntArray, day: IntArray) -> tuple[IntArray, BoolArray]:
    """Return the days since 1970 of dates (m,), and where there is such a day."""
    months = (np.clip(year, *YEARS) - 1970) * 12 + month - 1
    first, after = (
        (months + k).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
        for k in (0, 1)
    )
    return first + day - 1, (day >= 1) & (day <= after - first)


def no_moment(text: str) -> tuple[str, str]:
    """Return why a text is no moment, and what to write.

    >>> no_moment("1.3.26 8:00")[0]
    'day and month of it can be read two ways'
    """
    plain = text.strip()
    if _DAY_FIRST.match(plain):
        return "day and month of it can be read two ways", _WRITE.replace(
            "it as", "the year first, as"
        )
    if _NUMBER.fullmatch(plain) and len(plain) != len("20260301"):
        return "a bare number is no moment", f"Format the cell as a date with its time. {_WRITE}"
    if _ZONE_NAMED.fullmatch(plain) and not plain.upper().endswith("Z"):
        return (
            "the name of a zone is no offset from UTC",
            "Write the offset in figures, such as -05:00, or none: then the site's own zone holds.",
        )
    return f"that is no moment of {YEARS[0]} to {YEARS[1]}", _WRITE


def _moment(text: str) -> dt.datetime | None:
    """Return one moment; None for what is none, or of another age."""
    if not _SHAPE.fullmatch(text.strip()):
        return None
    try:
        found = dt.datetime.fromisoformat(text)
    except ValueError:
        found_ = _mended(text)
        if found_ is None:
            return None
        found = found_
    return found if YEARS[0] <= found.year <= YEARS[1] else None


def _mended(text: str) -> dt.datetime | None:
    """Return a moment of forms that the standard or common sense allow and Python does not."""
    spelled = _BEFORE_OFFSET.sub("", text.strip().upper())
    spelled = _SHORT_HOUR.sub(r"0\1", spelled)
    at_end = _MIDNIGHT.search(spelled)
    if at_end:
        spelled = f"{spelled[: at_end.start()]}00:00{spelled[at_end.end() :]}"
    try:
        found = dt.datetime.fromisoformat(spelled)
        return found + dt.timedelta(days=1) if at_end else found
    except (ValueError, OverflowError):
        return None


class InZone(NamedTuple):
    """What clocks of a zone mean (m,), in seconds since 1970 (UTC).

    ``first`` and ``last`` differ where clocks show a time twice; ``skipped`` is where they never
    show it: there both are read as if the clock had not been changed.
    """

    first: IntArray
    last: IntArray
    skipped: BoolArray


def in_zone(clock: IntArray, zone: str) -> InZone:
    """Return what moments by a zone's clocks (m,) mean; '' is UTC."""
    if not zone or not len(clock):
        return InZone(clock, clock, np.zeros(len(clock), dtype=bool))
    # Whole spells, so that columns of one log share what is found.
    since, until = (int(end) // _SPELL for end in (clock.min() - 2 * _DAY, clock.max() + 2 * _DAY))
    begins, ahead = changes(zone, since * _SPELL, (until + 1) * _SPELL)

    def offset_at(moment: IntArray) -> IntArray:
        return ahead[np.searchsorted(begins, moment, side="right") - 1]

    # The offsets of the day before and of the day after: clocks change once in two days.
    both = [clock - offset_at(clock + side * _DAY) for side in (-1, 1)]
    holds = [moment + offset_at(moment) == clock for moment in both]
    skipped = ~holds[0] & ~holds[1]
    one = np.where(holds[0] | skipped, both[0], both[1])
    other = np.where(holds[1], both[1], one)
    return InZone(np.minimum(one, other), np.maximum(one, other), skipped)


@lru_cache(maxsize=600)
def changes(zone: str, since: int, until: int) -> tuple[IntArray, IntArray]:
    """Return when a zone's clocks change (k,) and their offsets from then on (k,) [s].

    The first stands for all before. Clocks stay for two days at least.
    """
    there = ZoneInfo(zone)

    def ahead(moment: int) -> int:
        found = dt.datetime.fromtimestamp(moment, there).utcoffset()
        return int(found.total_seconds()) if found is not None else 0

    days = range(since, until + 2 * _DAY, _DAY)
    offsets = [ahead(day) for day in days]
    begins, found = [since], [offsets[0]]
    for day, before, after in zip(days, offsets, offsets[1:], strict=False):
        if before != after:
            begins.append(_change(ahead, day, day + _DAY, before))
            found.append(after)
    return np.array(begins, dtype=np.int64), np.array(found, dtype=np.int64)


def _change(ahead: object, low: int, high: int, before: int) -> int:
    """Return the first second at which an offset no longer is what it was."""
    assert callable(ahead)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if ahead(middle) == before else (low, middle)
    return high


def in_zones(clock: IntArray, zones: Sequence[str], which: IntArray) -> InZone:
    """Return what moments (m,) mean by the clocks of zones, ``which`` (m,) of them each."""
    first, last = clock.copy(), clock.copy()
    skipped = np.zeros(len(clock), dtype=bool)
    for k in np.flatnonzero(np.bincount(which, minlength=len(zones))).tolist():
        rows = np.flatnonzero(which == k)
        found = in_zone(clock[rows], zones[k])
        first[rows], last[rows], skipped[rows] = found
    return InZone(first, last, skipped)
