"""Rain by a log against the plan's: over whole years, with the spread of single years.

What years differ by is ITU-R P.678-3's: z = (observed - planned) / (sigma / sqrt(years)), the years
taken as independent. Whole years are 12, 24, ... consecutive months of which the log holds 95 % of
the time. A log is of all sites from its first to its last moment.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from siteplan.answers.operations import MONTH_MINUTES
from siteplan.answers.outages import WeatherRows
from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.model import OUTAGE_CAUSES, OutageLog
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.propagation.variability import (
    SINGLE_YEAR_RANGE_PCT,
    worst_month_pct,
    yearly_deviation_pct,
)
from siteplan.planning.operations.events import (
    Calendar,
    Events,
    Measure,
    by_month,
    measure,
    merged,
)
from siteplan.planning.operations.planned import PlannedOutage

#: So much of whole years the log must hold.
LEAST_LOGGED: Final = 0.95
#: Beyond so many standard deviations the weather does not explain it.
MOST_Z: Final = 2.0
#: The verdicts on rain, by code.
WITHIN, MORE, LESS = "within", "more", "less"
UNDER_A_YEAR, TOO_MUCH, NO_PLAN = "under_a_year", "out_of_range", "no_plan"
_RAIN: Final = OUTAGE_CAUSES.index("rain")
_MINUTE: Final = 60.0


class Logged(NamedTuple):
    """A log of m outages: where each is (m,), hubs behind the sites, and the log's months."""

    log: OutageLog
    place: IntArray
    months: Calendar
    sites: int

    @property
    def rain(self) -> Events:
        """The rain that counts, by place."""
        here = np.flatnonzero((self.log.cause == _RAIN) & self.log.counted)
        return merged(self.place[here], self.log.begin[here], self.log.end[here])


def whole_years(months: Calendar, zone: int) -> tuple[int, int]:
    """Return the whole years of a log: their first month, and the one behind the last.

    As many as can be, of those the ones that the log holds most of, the latest of several; the
    two are the same where there is not one.

    Parameters
    ----------
    months : Calendar
        The log's.
    zone : int
        By whose months they are told.
    """
    logged = months.logged_min[zone]
    length = np.diff(months.edges[zone]) / _MINUTE
    for years in range(len(logged) // 12, 0, -1):
        firsts = range(len(logged) - 12 * years, -1, -1)
        parts = [slice(first, first + 12 * years) for first in firsts]
        shares = [logged[part].sum() / length[part].sum() for part in parts]
        best = int(np.argmax(np.round(shares, 9)))
        if shares[best] >= LEAST_LOGGED:
            return parts[best].start, parts[best].stop
    return 0, 0


class _Seen(NamedTuple):
    """Rain of places (w,): how long by month (w, k), and how long the log holds of each. [min]"""

    minutes: FloatArray
    logged: FloatArray


def rain_against_plan(
    of: Logged, planned: PlannedOutage, window: tuple[int, int], climate_ratio: float
) -> WeatherRows:
    """Return how the rain of sites, and of hubs, stands against the plan.

    Where the log tells of rain at a site's hub, the site's own is the rest; else its rain is
    compared with what both ends are planned to lose.
    """
    hubs = len(of.months.zone) - of.sites
    rain, sites = of.rain, np.arange(of.sites)
    at_hub = [measure(_at(rain, of.sites + k)) for k in range(hubs)]
    told = np.array([len(hub.moments) > 0 for hub in at_hub] or [False])
    split = (planned.hub >= 0) & told[np.maximum(planned.hub, 0)]
    own = _by_place(of, rain, planned, at_hub)
    rows = _rows(
        *(sites, np.where(split, "site", "both").astype(object)),
        np.where(split, planned.site_pct, planned.all_pct),
        _Seen(own[: of.sites], of.months.logged_min[of.months.zone[: of.sites]]),
        window=window,
        climate_ratio=climate_ratio,
    )
    some = np.flatnonzero(told)
    if not some.size or not hubs:
        return rows
    shares = np.array([_median(planned.hub_pct[planned.hub == k]) for k in some.tolist()])
    places = of.sites + some
    return _joined(
        rows,
        _rows(
            *(-1 - some, np.full(len(some), "hub", dtype=object), shares),
            _Seen(own[places], of.months.logged_min[of.months.zone[places]]),
            window=window,
            climate_ratio=climate_ratio,
        ),
    )


def _median(values: FloatArray) -> float:
    known = values[~np.isnan(values)]
    return float(np.median(known)) if known.size else math.nan


def _at(rain: Events, place: int) -> Events:
    here = rain.group == place
    return Events(*(column[here] for column in rain))


def _by_place(
    of: Logged, rain: Events, planned: PlannedOutage, at_hub: list[Measure]
) -> FloatArray:
    """Return how long it rained at places by month (p, k), at sites less their hub's. [min]"""
    places, k = len(of.months.zone), len(of.months.names)
    parts = by_month(rain, rain.group, of.months)
    seconds = (parts.end - parts.begin).astype(float)
    place = rain.group[parts.event]
    hub = np.append(planned.hub, np.full(places - of.sites, -1))[place]
    for number, lasted in enumerate(at_hub):
        rows = np.flatnonzero(hub == number)
        seconds[rows] -= lasted.between(parts.begin[rows], parts.end[rows])
    sums = np.bincount(place * k + parts.month, seconds / _MINUTE, places * k)
    return np.asarray(sums, dtype=float).reshape(places, k)


def _rows(
    place: IntArray,
    end: TextArray,
    planned_pct: FloatArray,
    seen: _Seen,
    *,
    window: tuple[int, int],
    climate_ratio: float,
) -> WeatherRows:
    """Return the rows of places (w,)."""
    months = slice(*window) if window[1] > window[0] else slice(None)
    years = (window[1] - window[0]) / 12
    minutes, logged = seen.minutes[:, months].sum(axis=1), seen.logged[:, months].sum(axis=1)
    planned = np.maximum(planned_pct, P_RANGE_PCT[0])
    observed = 100 * minutes / logged if years else np.full(len(place), np.nan)
    deviation = yearly_deviation_pct(np.maximum(planned, SINGLE_YEAR_RANGE_PCT[0]), climate_ratio)
    z = (observed - planned) / (deviation / math.sqrt(years)) if years else observed
    return WeatherRows(
        place=place,
        end=end,
        logged_min=logged,
        planned_pct=planned,
        observed_pct=observed,
        observed_min=minutes,
        ratio=observed / planned,
        z=z,
        worst_month_min=worst_month_pct(planned) / 100 * MONTH_MINUTES,
        largest_month_min=seen.minutes.max(axis=1, initial=0.0),
        months_min=seen.minutes,
        verdict=_verdicts(planned, z, whole=years > 0),
    )


def _verdicts(planned_pct: FloatArray, z: FloatArray, *, whole: bool) -> TextArray:
    """Return the code of each verdict (w,)."""
    if not whole:
        return np.where(np.isnan(planned_pct), NO_PLAN, UNDER_A_YEAR).astype(object)
    within: BoolArray = np.abs(z) < MOST_Z
    judged = np.where(within, WITHIN, np.where(z > 0, MORE, LESS))
    unknown = np.where(np.isnan(planned_pct), NO_PLAN, TOO_MUCH)
    return np.where(np.isnan(z), unknown, judged).astype(object)


def _joined(first: WeatherRows, second: WeatherRows) -> WeatherRows:
    both = zip(vars(first).values(), vars(second).values(), strict=True)
    return WeatherRows(*(np.concatenate(pair) for pair in both))
