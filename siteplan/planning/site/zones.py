"""Time zones of sites: the one that holds, its offset from UTC, and times and days by it.

A site's own zone comes first, then the network's, else UTC.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, TextArray
from siteplan.network import Network


def zones_of(timezone: TextArray, network: Network) -> TextArray:
    """Return each site's time zone (n,): given, else the network's, else ''."""
    return np.where(timezone == "", network.network.timezone, timezone).astype(object)


class LocalTimes(NamedTuple):
    """Times (n,) as clocks at the sites show them, and how far these are ahead of UTC [min]."""

    times: NDArray[np.datetime64]
    ahead_min: FloatArray

    def texts(self) -> TextArray:
        """Return the times as ISO 8601 has them, to the second with the offset; '' for none."""
        distinct, which = np.unique(self.ahead_min, return_inverse=True)
        behind = np.array([_offset_text(int(minutes)) for minutes in distinct], dtype=object)
        told = texts(self.times, "s")
        return np.asarray(np.where(told == "", "", told + behind[which]), dtype=object)


def local_times(times: NDArray[np.datetime64], zones: TextArray) -> LocalTimes:
    """Return UTC times (n,) in the sites' zones (n,), in UTC where there is none; NaT stays."""
    ahead = np.nan_to_num(offsets_min(times, zones))
    return LocalTimes(times + (ahead * 60).astype("timedelta64[s]"), ahead)


def _offset_text(minutes: int) -> str:
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def offsets_min(times: NDArray[np.datetime64], zones: TextArray) -> FloatArray:
    """Return how far zones (m,) are ahead of UTC at times (m,) [min]; NaN without either."""
    offset, known = np.full(len(times), np.nan), ~np.isnat(times)
    for zone in {z for z in zones.tolist() if z}:
        at = np.flatnonzero((zones == zone) & known)
        # Clocks change at quarters of an hour.
        quarters, which = np.unique(times[at].astype("datetime64[15m]"), return_inverse=True)
        each = [_offset_min(zone, moment) for moment in quarters.tolist()]
        offset[at] = np.array(each, dtype=float)[which]
    return offset


def _offset_min(zone: str, moment: dt.datetime) -> float:
    """Return a zone's offset at a moment UTC [min]; NaN for one that the database has not."""
    try:
        there = moment.replace(tzinfo=dt.UTC).astimezone(ZoneInfo(zone))
    except (ValueError, OSError, LookupError):
        return float("nan")
    offset = there.utcoffset()
    return float("nan") if offset is None else offset.total_seconds() / 60


def midnights(date: dt.date, zones: TextArray) -> NDArray[np.datetime64]:
    """Return when a day begins in zones (n,), in UTC to the second; in UTC without a zone."""
    begins: NDArray[np.datetime64] = np.full(len(zones), np.datetime64(date, "s"))
    # The offset of the day before and of the day: one of them holds at midnight.
    for _ in range(2):
        ahead = np.nan_to_num(offsets_min(begins, zones))
        begins = np.datetime64(date, "s") - (ahead * 60).astype("timedelta64[s]")
    return begins


def texts(times: NDArray[np.datetime64], unit: str) -> TextArray:
    """Return times (n,) as ISO texts to the day (``D``) or second (``s``); '' for none."""
    distinct, which = np.unique(times.astype(f"datetime64[{unit}]"), return_inverse=True)
    told = np.datetime_as_string(distinct).astype(object)
    return np.asarray(np.where(np.isnat(distinct), "", told)[which])
