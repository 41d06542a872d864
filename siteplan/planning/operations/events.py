"""Outages put together: those that overlap or touch are one, months cut at midnight of each zone.

All on flat arrays, events along axis 0, so that a log of a million rows takes seconds. Moments are
seconds since 1970 (UTC).
"""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.frozen import frozen
from siteplan.planning.site.zones import local_times, midnights

_MINUTE = 60.0


class Events(NamedTuple):
    """Outages (m,), each of a group, by group and then by time; none of a group meet."""

    group: IntArray
    begin: IntArray
    end: IntArray


def merged(group: IntArray, begin: IntArray, end: IntArray) -> Events:
    """Return outages put together: within a group those that overlap or touch are one.

    Parameters
    ----------
    group : (m,) array of int
        What outages belong to, from 0.
    begin, end : (m,) arrays of int
        In any order. [s]

    Examples
    --------
    >>> found = merged(np.array([0, 1, 0]), np.array([5, 0, 1]), np.array([9, 4, 6]))
    >>> found.begin.tolist(), found.end.tolist()
    ([1, 0], [9, 4])
    """
    if not len(group):
        return Events(group, begin, end)
    # Each group has a stretch of time of its own, so that one sort, and one running maximum, do
    # for all.
    base, span = int(begin.min()), int(end.max() - begin.min()) + 1
    shift = group.astype(np.int64) * (2 * span) - base
    start = begin + shift
    order = np.argsort(start)
    start, reach = start[order], np.maximum.accumulate((end + shift)[order])
    first = np.append(True, start[1:] > reach[:-1])
    last = np.append(np.flatnonzero(first)[1:] - 1, len(group) - 1)
    at = order[first]
    return Events(group[at], begin[at], reach[last] - shift[at])


@frozen
class Calendar:
    """The months that a log reaches into, as clocks of each zone have them.

    ``names`` (k,) are such as ``2026-03``; ``edges`` (z, k + 1) are when they begin in each of
    the zones, and the last ends; ``zone`` (p,) is the zone of each place.
    """

    names: tuple[str, ...]
    edges: IntArray
    zone: IntArray
    since: int
    until: int

    def month(self, place: IntArray, moment: IntArray, *, ends: bool = False) -> IntArray:
        """Return the month of moments (m,) at places (m,); what ends at midnight ends before."""
        side: Literal["left", "right"] = "left" if ends else "right"
        zone, row = self.zone[place], self.edges.shape[1]
        every, stretch = self._in_one
        found = np.searchsorted(every, moment + zone * stretch, side=side) - 1 - zone * row
        return np.asarray(np.clip(found, 0, len(self.names) - 1))

    @cached_property
    def _in_one(self) -> tuple[IntArray, int]:
        """The edges of all zones in one rising row, each zone's so much later."""
        stretch = int(self.edges.max() - self.edges.min()) + 1
        later = stretch * np.arange(len(self.edges))
        return (self.edges + later[:, np.newaxis]).ravel(), stretch

    @property
    def logged_min(self) -> FloatArray:
        """How much of each month the log holds, in each zone (z, k). [min]"""
        first = np.maximum(self.edges[:, :-1], self.since)
        last = np.minimum(self.edges[:, 1:], self.until)
        return np.asarray(np.maximum(last - first, 0) / _MINUTE)


def calendar(zones: TextArray, since: int, until: int) -> Calendar:
    """Return the months from one moment to another by the zones of places (p,); '' is UTC."""
    names, zone = np.unique(zones.astype(str), return_inverse=True)
    named = names.astype(object)
    ends = [
        local_times(np.full(len(named), np.datetime64(moment, "s")), named).times
        for moment in (since, until - 1)
    ]
    first, last = ends[0].astype("datetime64[M]").min(), ends[1].astype("datetime64[M]").max()
    months = np.arange(first, last + 2)
    days: list[dt.date] = [month.astype("datetime64[D]").item() for month in months]
    edges = np.stack([midnights(day, named) for day in days], axis=1)
    return Calendar(
        tuple(str(month) for month in months[:-1]), edges.astype(np.int64), zone, since, until
    )


class Parts(NamedTuple):
    """Events cut by months (m,): which event and month each part is, from when to when [s]."""

    event: IntArray
    month: IntArray
    begin: IntArray
    end: IntArray


def by_month(of: Events, place: IntArray, months: Calendar) -> Parts:
    """Return events (m,) at places (m,) cut where a month ends there."""
    first = months.month(place, of.begin)
    last = np.maximum(months.month(place, of.end, ends=True), first)
    count = last - first + 1
    event = np.repeat(np.arange(len(count)), count)
    step = np.arange(len(event)) - np.repeat(np.cumsum(count) - count, count)
    month = first[event] + step
    edges, zone = months.edges, months.zone[place[event]]
    begin = np.maximum(of.begin[event], edges[zone, month])
    end = np.minimum(of.end[event], edges[zone, month + 1])
    # A log that ends in its last month's midnight of another zone is not cut there.
    begin, end = (
        np.where(step == 0, of.begin[event], begin),
        np.where(step == count[event] - 1, of.end[event], end),
    )
    return Parts(event, month, begin, end)


@frozen
class Measure:
    """How much of the time up to a moment something lasted: the time of one group's events."""

    moments: IntArray
    seconds: FloatArray

    def between(self, begin: IntArray, end: IntArray) -> FloatArray:
        """Return how long it lasted between moments (m,). [s]"""
        if not len(self.moments):
            return np.zeros(len(begin))
        up_to = (np.interp(at, self.moments, self.seconds) for at in (begin, end))
        before, after = up_to
        return np.asarray(after - before)


def measure(of: Events) -> Measure:
    """Return the measure of events of one group."""
    moments = np.column_stack([of.begin, of.end]).ravel()
    steps = np.column_stack([np.zeros(len(of.begin)), of.end - of.begin]).ravel()
    return Measure(moments, np.cumsum(steps))
