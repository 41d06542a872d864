"""The sun on the sheet: hours to check a compass by, and the seasons behind the satellite."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from siteplan.outputs.times import (
    clock,
    clock_span,
    clocks_changed,
    day_words,
    hours_after,
    local,
    since,
)
from siteplan.results import Plan

#: Of hours of a day: time, the sun's azimuth and elevation [deg].
Hours = list[tuple[str, float, float]]
#: Days apart that start another season.
_SEASON_GAP = dt.timedelta(days=30)


def hours(plan: Plan, i: int, zone: str) -> Hours:
    """Return (time, azimuth, elevation) of the sun at the hours of the install date.

    Times are as ``zone`` has them, in the order of its clock; hours with the sun down are left
    out.
    """
    azimuths = plan.tables.get("sun_hour_azimuth_deg")
    elevations = plan.tables.get("sun_hour_elevation_deg")
    begins = plan.tables.get("sun_hour_from")
    if azimuths is None or elevations is None or begins is None:
        return []
    found = []
    for hour in range(azimuths.shape[1]):
        azimuth, elevation = float(azimuths[i, hour]), float(elevations[i, hour])
        if elevation > 0 and (moment := hours_after(begins[i], hour, zone)) is not None:
            found.append((moment.time(), azimuth, elevation))
    return [(clock(time), azimuth, elevation) for time, azimuth, elevation in sorted(found)]


def on_azimuth(plan: Plan, i: int, zone: str) -> list[str]:
    """Return when the sun stands on the dish's azimuth on the install date."""
    table = plan.tables.get("sun_on_azimuth")
    if table is None:
        return []
    moments = (local(moment, zone) for moment in np.atleast_1d(table[i]))
    return [clock(time) for time in sorted(m.time() for m in moments if m is not None)]


def transits(plan: Plan, i: int) -> slice:
    """Return where a site's sun transits stand in the tables."""
    sites = plan.tables.get("sun_site")
    if sites is None:
        return slice(0, 0)
    first, last = np.searchsorted(sites, [i, i + 1])
    return slice(int(first), int(last))


def seasons(plan: Plan, i: int, zone: str) -> list[tuple[str, str]]:
    """Return each season's days, and the times of day between which its transits fall.

    A season in which the clocks are changed is told in two: before, and from then on.
    """
    rows = transits(plan, i)
    starts, ends = (plan.tables.get(f"sun_{k}", np.empty(0))[rows] for k in ("start", "end"))
    pairs = [(local(a, zone), local(b, zone)) for a, b in zip(starts, ends, strict=True)]
    return [_season(run, zone) for run in _runs([(a, b) for a, b in pairs if a and b])]


def _runs(
    pairs: list[tuple[dt.datetime, dt.datetime]],
) -> Iterator[list[tuple[dt.datetime, dt.datetime]]]:
    """Yield the transits season by season, and apart where the clocks are changed."""
    run: list[tuple[dt.datetime, dt.datetime]] = []
    for pair in pairs:
        if run and (pair[0] - run[-1][0] > _SEASON_GAP or clocks_changed(run[-1][0], pair[0])):
            yield run
            run = []
        run.append(pair)
    if run:
        yield run


def _season(run: list[tuple[dt.datetime, dt.datetime]], zone: str) -> tuple[str, str]:
    """Return the days of transits, and the times of day; these may lie around midnight."""
    first, last = run[0][0], run[-1][0]
    days = [day_words(day) for day in dict.fromkeys((first.date(), last.date()))]
    plain = first.replace(tzinfo=None)
    early = plain + min(since(start, first) for start, _ in run)
    late = plain + max(since(start, first) + (end - start) for start, end in run)
    return " to ".join(days), clock_span(early, late, zone)
