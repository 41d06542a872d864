"""Times as the crew reads them: in the site's zone where it has one, else UTC.

The one place where a moment becomes text, for people (:func:`clock`, :func:`day_words`) and for
machines (:func:`utc`, :func:`iso`, :func:`stamp`), which stay as the standards have them.
"""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

_MONTHS = "JanFebMarAprMayJunJulAugSepOctNovDec"


@lru_cache(maxsize=600)
def zone(name: str) -> dt.tzinfo:
    """Return a time zone by its IANA name; UTC for an empty or unknown one."""
    try:
        return ZoneInfo(name) if name else dt.UTC
    except (ValueError, OSError, LookupError):
        return dt.UTC


def local(moment: Any, name: str) -> dt.datetime | None:
    """Return a UTC moment (datetime64) in a zone; None for NaT."""
    if np.isnat(moment):
        return None
    return _plain(moment).replace(tzinfo=dt.UTC).astimezone(zone(name))


def full_hour(day: str, hour: int, name: str) -> dt.datetime | None:
    """Return a full hour of a day (ISO date), both in UTC, in a zone."""
    return local(np.datetime64(day, "s") + np.timedelta64(hour, "h"), name)


# --- for people -----------------------------------------------------------------------------


def zone_words(name: str) -> str:
    """Return what stands beside a time: the zone's name, or UTC."""
    return "UTC" if zone(name) is dt.UTC else name


def day_words(day: dt.date) -> str:
    """Return a date that reads the same everywhere, such as ``6 Mar 2026``."""
    return f"{day.day} {_MONTHS[3 * day.month - 3 : 3 * day.month]} {day.year}"


def clock(moment: dt.datetime | dt.time, *, seconds: bool = False) -> str:
    """Return the time of day."""
    return f"{moment:%H:%M:%S}" if seconds else f"{moment:%H:%M}"


def clock_span(start: dt.datetime | dt.time, end: dt.datetime | dt.time, name: str) -> str:
    """Return from when to when, with the zone that the two are told in."""
    return f"{clock(start)} to {clock(end)} {zone_words(name)}"


def utc_span(start: Any, end: Any) -> str:
    """Return from when to when, to the second, of moments (datetime64) in UTC."""
    first, last = (clock(_plain(moment), seconds=True) for moment in (start, end))
    return f"{first} to {last} UTC"


def utc_minute(text: str) -> str:
    """Return an ISO moment in UTC to the minute, as people read it; empty for none."""
    return f"{text[:16].replace('T', ' ')} UTC" if text else ""


# --- for machines ---------------------------------------------------------------------------


def utc(moment: Any) -> str:
    """Return a UTC moment (datetime64) as ISO 8601 has it."""
    return f"{moment}Z"


def iso(moment: dt.datetime | None) -> str:
    """Return a moment with its offset from UTC as ISO 8601 has it; empty for none."""
    return moment.isoformat() if moment else ""


def stamp(moment: Any) -> str:
    """Return a UTC moment (datetime64) in the form of RFC 5545, section 3.3.5."""
    return f"{_plain(moment):%Y%m%dT%H%M%SZ}"


def _plain(moment: Any) -> dt.datetime:
    """Return a moment (datetime64) as Python's own, without a zone."""
    plain: dt.datetime = np.datetime64(moment, "s").item()
    return plain
