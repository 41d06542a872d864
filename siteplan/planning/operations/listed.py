"""The outages that availability leaves out, each by itself; and those of sites, month by month."""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.answers.outages import LeftOut, OutageRows, OverTime, WeatherRows
from siteplan.arrays import FloatArray, TextArray
from siteplan.model import OUTAGE_CAUSES, OutageLog
from siteplan.planning.operations.events import Calendar
from siteplan.planning.site.zones import offsets_min

#: A log of more months than this is shown by years.
MOST_MONTHS: Final = 132
_RAIN: Final = OUTAGE_CAUSES.index("rain")


def left_out(log: OutageLog, zones: TextArray, sites: int) -> LeftOut:
    """Return the outages of a log that do not count, and those outside its span, by row.

    Parameters
    ----------
    log : OutageLog
    zones : (p,) array of str
        Those of the sites, then of the hubs; '' is UTC.
    sites : int
        How many sites there are.
    """
    apart = log.take(np.flatnonzero(~log.counted))
    outside = log.outside if log.outside is not None else log.take(np.arange(0))
    both = (apart, outside)
    site, begin, end, cause, row = (
        np.concatenate([getattr(of, name) for of in both])
        for name in ("site", "begin", "end", "cause", "source_row")
    )
    order = np.argsort(row, kind="stable")
    why = np.repeat(np.array(["not_counted", "outside"], dtype=object), [len(of) for of in both])
    own = zones[np.where(site < 0, sites - 1 - site, site)]
    moments = [at.astype("datetime64[s]") for at in (begin, end)]
    ahead = np.column_stack([offsets_min(at, own) for at in moments])
    columns = (site, row, *moments, ahead, cause, why)
    return LeftOut(*(values[order] for values in columns))


def over_time(rows: OutageRows, weather: WeatherRows, months: Calendar) -> OverTime:
    """Return the outage of sites by month and cause, and what the plan expects of the weather."""
    site = weather.place >= 0
    sites, k = int(site.sum()), len(months.names)
    own = (rows.place >= 0) & (rows.month >= 0) & (rows.cause >= 0)
    key = rows.month[own] * len(OUTAGE_CAUSES) + rows.cause[own]
    minutes = np.bincount(key, rows.outage_min[own], k * len(OUTAGE_CAUSES))
    minutes = minutes.reshape(k, len(OUTAGE_CAUSES))
    minutes[:, _RAIN] = weather.months_min[site].sum(axis=0)
    planned = weather.planned_pct[site]
    known = ~np.isnan(planned)
    names, which = _periods(months.names)
    return OverTime(
        names=names,
        minutes=_summed(minutes / max(sites, 1), which, len(names)),
        planned_min=_summed(_expected(planned, months), which, len(names)),
        planned=int(known.sum()),
        hub_apart=bool((weather.end[site] == "site").any()),
    )


def _expected(planned_pct: FloatArray, months: Calendar) -> FloatArray:
    """Return the outage that the plan expects of sites in the time logged, a mean (k,). [min]"""
    known = np.flatnonzero(~np.isnan(planned_pct))
    if not known.size:
        return np.full(len(months.names), np.nan)
    zones = months.zone[: len(planned_pct)][known]
    by_zone = np.bincount(zones, planned_pct[known], len(months.edges))
    return np.asarray(by_zone @ months.logged_min / 100 / known.size)


def _periods(names: tuple[str, ...]) -> tuple[tuple[str, ...], np.ndarray]:
    """Return months, of a long log years, and which of them each month is (k,)."""
    if len(names) <= MOST_MONTHS:
        return names, np.arange(len(names))
    years, which = np.unique([name[:4] for name in names], return_inverse=True)
    return tuple(years.tolist()), which


def _summed(values: FloatArray, which: np.ndarray, count: int) -> FloatArray:
    """Return values (k, ...) added up by period (count, ...)."""
    found = np.zeros((count, *values.shape[1:]))
    np.add.at(found, which, values)
    return found
