"""What a log of outages comes to: by site, month and cause, and rain against the plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from siteplan.answers.outages import OutageReport, OutageRows
from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.model import OUTAGE_CAUSES, OutageLog
from siteplan.planning.operations.events import (
    Calendar,
    Events,
    by_month,
    calendar,
    merged,
)
from siteplan.planning.operations.listed import left_out, over_time
from siteplan.planning.operations.planned import planned_outage
from siteplan.planning.operations.rain import Logged, rain_against_plan, whole_years
from siteplan.results import Plan

#: Stands for all months and all causes.
ALL: Final = -1
_MINUTE: Final = 60.0
_CAUSES: Final = len(OUTAGE_CAUSES)


def outage_report(plan: Plan, log: OutageLog) -> OutageReport:
    """Return what a log comes to, and how its rain stands against the plan.

    Parameters
    ----------
    plan : Plan
        Of all sites of the project, in the order that the log's indices have.
    log : OutageLog

    Raises
    ------
    NetworkError, MapsError
        As `siteplan.planning.operations.again.seen_again`.
    """
    hubs = tuple(hub.name for hub in plan.facts.hubs)
    zones = np.append(plan.columns["timezone"], [plan.network.network.timezone] * len(hubs))
    zones = zones.astype(object)
    months = calendar(zones, log.since, log.until)
    place = np.where(log.site < 0, len(plan) - 1 - log.site, log.site)
    logged = Logged(log, place, months, len(plan))
    window = whole_years(months, int(months.zone[-1]))
    weather = rain_against_plan(logged, planned_outage(plan), window, plan.network.climate.ratio)
    years = (window[1] - window[0]) // 12
    rows = tallied(log, place, months, len(plan))
    return OutageReport(
        *(months.names, years, window, hubs, rows, weather),
        over_time=over_time(rows, weather, months),
        left_out=left_out(log, zones, len(plan)),
    )


class _Tally(NamedTuple):
    """Sums by key (k,): minutes, events that begin, their length, the longest."""

    key: IntArray
    minutes: FloatArray
    number: FloatArray
    length: FloatArray
    longest: FloatArray

    def take(self, at: IntArray) -> _Tally:
        """Return the sums at ``at`` (k,)."""
        rest = (self.minutes, self.number, self.length, self.longest)
        return _Tally(self.key[at], *(values[at] for values in rest))


@frozen
class _Keys:
    """One number for a place, a month and a cause; the first of a place is all of it."""

    months: int

    def of(self, place: IntArray, month: IntArray | int, cause: IntArray | int) -> IntArray:
        return np.asarray((place * (self.months + 1) + month + 1) * (_CAUSES + 1) + cause + 1)

    def parts(self, key: IntArray) -> tuple[IntArray, IntArray, IntArray]:
        rest, cause = np.divmod(key, _CAUSES + 1)
        place, month = np.divmod(rest, self.months + 1)
        return place, month - 1, cause - 1


def tallied(log: OutageLog, place: IntArray, months: Calendar, sites: int) -> OutageRows:
    """Return the rows of a log: of each site all of it, and what has any outage.

    Parameters
    ----------
    log : OutageLog
        Of m outages.
    place : (m,) array
        The site of each, or behind the sites the hub.
    months : Calendar
        By the zones of sites and hubs.
    sites : int
        How many sites there are.
    """
    keys = _Keys(len(months.names))
    counted, apart = (_of(log, place, months, keys, where) for where in (log.counted, ~log.counted))
    every = keys.of(np.arange(sites), ALL, ALL)
    key = _distinct(np.concatenate([every, counted.key, apart.key]))
    at_place, month, cause = keys.parts(key)
    sums = _spread(counted, key)
    beside = _spread(apart, key)
    whole = (months.until - months.since) / _MINUTE
    logged = np.where(
        month == ALL, whole, months.logged_min[months.zone[at_place], np.maximum(month, 0)]
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        availability = 100 * (1 - sums.minutes / np.where(logged > 0, logged, np.nan))
        number = np.where(sums.number > 0, sums.number, np.nan)
        repair, between = sums.length / number, (logged - sums.minutes) / 60 / number
    return OutageRows(
        place=np.where(at_place < sites, at_place, sites - 1 - at_place),
        month=month,
        cause=cause,
        logged_min=logged,
        outage_min=sums.minutes,
        availability_pct=availability,
        outages=sums.number,
        mean_repair_min=repair,
        mean_between_h=between,
        longest_min=np.where(sums.number > 0, sums.longest, np.nan),
        apart_min=beside.minutes,
        apart=beside.number,
    )


def _of(log: OutageLog, place: IntArray, months: Calendar, keys: _Keys, where: BoolArray) -> _Tally:
    """Return the sums of some outages of a log: with all causes as one, and by cause."""
    here = np.flatnonzero(where)
    at, begin, end = place[here], log.begin[here], log.end[here]
    together = merged(at, begin, end)
    apart = merged(at * _CAUSES + log.cause[here], begin, end)
    own, cause = np.divmod(apart.group, _CAUSES)
    found = [
        *_sums(together, together.group, np.full(len(together.group), ALL), months, keys),
        *_sums(apart, own, cause, months, keys),
    ]
    return _joined(found)


def _sums(
    of: Events, place: IntArray, cause: IntArray, months: Calendar, keys: _Keys
) -> list[_Tally]:
    """Return the sums of events (m,) over all of the log, and by month."""
    parts, minutes = by_month(of, place, months), (of.end - of.begin) / _MINUTE
    one = np.ones(len(minutes))
    whole = _Tally(keys.of(place, ALL, cause), minutes, one, minutes, minutes)
    key = keys.of(place[parts.event], parts.month, cause[parts.event])
    starts = _changes(parts.event)
    lengths = np.where(starts, minutes[parts.event], 0.0)
    within = (parts.end - parts.begin) / _MINUTE
    return [whole, _Tally(key, within, starts.astype(float), lengths, lengths)]


def _joined(tallies: Sequence[_Tally]) -> _Tally:
    """Return the sums of all keys, rising; no key is in two of the tallies."""
    added = [_added(tally) for tally in tallies]
    every = _Tally(*(np.concatenate(column) for column in zip(*added, strict=True)))
    # A stable sort takes the rising runs as they are.
    return every.take(np.argsort(every.key, kind="stable"))


def _added(of: _Tally) -> _Tally:
    """Return the sums of the same keys, added; of their longest events the longest."""
    if (of.key[1:] < of.key[:-1]).any():
        of = of.take(np.argsort(of.key, kind="stable"))
    first = _changes(of.key)
    which, at = np.cumsum(first) - 1, np.flatnonzero(first)
    if not at.size:
        return of
    minutes, number, length = (
        np.asarray(np.bincount(which, values), dtype=float)
        for values in (of.minutes, of.number, of.length)
    )
    return _Tally(of.key[at], minutes, number, length, np.maximum.reduceat(of.longest, at))


def _changes(key: IntArray) -> BoolArray:
    """Return where a key (m,) is not that before it."""
    found = np.ones(len(key), dtype=bool)
    found[1:] = key[1:] != key[:-1]
    return found


def _distinct(key: IntArray) -> IntArray:
    """Return each key once, rising; millions of them are sorted sooner than looked up."""
    found = np.sort(key)
    return found[_changes(found)]


def _spread(of: _Tally, key: IntArray) -> _Tally:
    """Return sums at more keys (k,): nothing where there are none."""
    at = np.searchsorted(key, of.key)
    columns = []
    for values in of[1:]:
        wide = np.zeros(len(key))
        wide[at] = values
        columns.append(wide)
    return _Tally(key, *columns)
