"""Times as the crew reads them: in the site's zone (:func:`zone_of`), else UTC, and which it is.

The one place where a moment becomes text, for people (:func:`clock`, :func:`day_words`) and for
machines (:func:`utc_texts`, :func:`iso`, :func:`stamp`), which stay as the standards have them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray
from siteplan.results import Plan

#: Moments (k,), UTC.
Moments = NDArray[np.datetime64]

_MONTHS = "JanFebMarAprMayJunJulAugSepOctNovDec"


@lru_cache(maxsize=600)
def zone(name: str) -> dt.tzinfo:
    """Return a time zone by its IANA name; UTC for an empty or unknown one."""
    try:
        return ZoneInfo(name) if name else dt.UTC
    except (ValueError, OSError, LookupError):
        return dt.UTC


def zone_of(plan: Plan, i: int) -> str:
    """Return the zone that site ``i``'s times are told in, its own or the network's; '' for UTC.

    The plan's field ``timezone`` holds it.
    """
    zones = plan.columns.get("timezone")
    return hub_zone(plan) if zones is None else str(zones[i])


def hub_zone(plan: Plan) -> str:
    """Return the zone that the hub's times are told in: the network's; '' for UTC."""
    return plan.network.network.timezone


def local(moment: Any, name: str) -> dt.datetime | None:
    """Return a UTC moment (datetime64) in a zone; None for NaT."""
    plain = _plain(moment)
    return None if plain is None else plain.replace(tzinfo=dt.UTC).astimezone(zone(name))


def hours_after(begins: Any, hours: int, name: str) -> dt.datetime | None:
    """Return the moment so many hours after another (UTC, datetime64), in a zone."""
    return local(np.datetime64(begins, "s") + np.timedelta64(hours, "h"), name)


def since(moment: dt.datetime, other: dt.datetime) -> dt.timedelta:
    """Return how much later in its day a moment is than another, by their clocks.

    From half a day before to half a day after: a time soon after midnight is a little later
    than one before it.
    """
    half = dt.timedelta(hours=12)
    apart = moment.replace(tzinfo=None) - other.replace(tzinfo=None)
    return (apart + half) % (2 * half) - half


def clocks_changed(before: dt.datetime, after: dt.datetime) -> bool:
    """Return whether the clocks were changed between two moments of one zone."""
    return before.utcoffset() != after.utcoffset()


# --- for people -----------------------------------------------------------------------------


def zone_words(name: str) -> str:
    """Return what stands beside a time: the zone's name, or UTC."""
    return "UTC" if zone(name) is dt.UTC else name


def zone_named(plan: Plan, name: str) -> str:
    """Return a zone's name and where it is from, for the head of a table of times."""
    if zone(name) is dt.UTC:
        return "UTC: no time zone was given"
    return f"{name}, the network's" if name == hub_zone(plan) else name


def day_words(day: dt.date) -> str:
    """Return a date that reads the same everywhere, such as ``6 Mar 2026``."""
    return f"{day.day} {_MONTHS[3 * day.month - 3 : 3 * day.month]} {day.year}"


def clock(moment: dt.datetime | dt.time, *, seconds: bool = False) -> str:
    """Return the time of day."""
    return f"{moment:%H:%M:%S}" if seconds else f"{moment:%H:%M}"


def clock_span(start: dt.datetime | dt.time, end: dt.datetime | dt.time, name: str) -> str:
    """Return from when to when, with the zone that the two are told in."""
    return f"{clock(start)} to {clock(end)} {zone_words(name)}"


def local_spans(start: Moments, end: Moments, names: Sequence[str]) -> list[str]:
    """Return from when to when, to the second, of UTC moments (k,) in their zones (k,)."""
    both = (local_texts(moments, ahead_min(moments, names)) for moments in (start, end))
    return [
        f"{first[11:19]} to {last[11:19]} {zone_words(name)}"
        for first, last, name in zip(*both, names, strict=True)
    ]


def to_minute(text: str, name: str) -> str:
    """Return an ISO moment to the minute, as people read it, with its zone; empty for none."""
    return f"{text[:16].replace('T', ' ')} {zone_words(name)}" if text else ""


# --- for machines ---------------------------------------------------------------------------


def utc_texts(moments: Moments) -> list[str]:
    """Return UTC moments (k,), to the second, as ISO 8601 has them."""
    return [f"{text}Z" for text in np.datetime_as_string(moments).tolist()]


def iso(moment: dt.datetime | None) -> str:
    """Return a moment with its offset from UTC as ISO 8601 has it; empty for none."""
    return moment.isoformat() if moment else ""


def local_texts(moments: Any, ahead_min: Any) -> list[str]:
    """Return UTC moments (m,) as ISO 8601 has them in zones so far ahead of UTC (m,) [min].

    NaN for UTC itself. As :func:`iso` of :func:`local`, for many at once.
    """
    ahead = np.nan_to_num(ahead_min).astype(np.int64)
    there = moments.astype("datetime64[s]") + ahead.astype("timedelta64[m]")
    offsets = {of: f"{'-' if of < 0 else '+'}{abs(of) // 60:02d}:{abs(of) % 60:02d}"
               for of in set(ahead.tolist())}  # fmt: skip
    told = np.datetime_as_string(there).tolist()
    return [text + offsets[of] for text, of in zip(told, ahead.tolist(), strict=True)]


def ahead_min(moments: Moments, names: Sequence[str]) -> FloatArray:
    """Return how far zones (k,) are ahead of UTC at moments (k,), UTC [min]."""
    ahead, zones = np.zeros(len(moments)), np.array(names, dtype=object)
    # Clocks change at quarters of an hour.
    quarters = moments.astype("datetime64[15m]")
    for name in set(names):
        here = np.flatnonzero(zones == name)
        distinct, which = np.unique(quarters[here], return_inverse=True)
        each = [_ahead_min(zone(name), quarter) for quarter in distinct.tolist()]
        ahead[here] = np.array(each)[which]
    return ahead


def _ahead_min(of: dt.tzinfo, moment: dt.datetime) -> float:
    """Return how far a zone is ahead of UTC at a moment, UTC without a zone [min]."""
    ahead = moment.replace(tzinfo=dt.UTC).astimezone(of).utcoffset()
    return ahead.total_seconds() / 60 if ahead else 0.0


def stamp(moment: Any) -> str:
    """Return a UTC moment (datetime64) in the form of RFC 5545, section 3.3.5."""
    return f"{np.datetime64(moment, 's').item():%Y%m%dT%H%M%SZ}"


def _plain(moment: Any) -> dt.datetime | None:
    """Return a moment (datetime64) as Python's own, without a zone; None for NaT."""
    plain: dt.datetime | None = np.datetime64(moment, "s").item()
    return plain
