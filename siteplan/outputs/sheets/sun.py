"""The sun on the sheet: hours to check a compass by, and the seasons behind the satellite."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

import numpy as np

from siteplan.outputs.times import clock, clock_span, day_words, full_hour, local
from siteplan.results import Plan

#: Days apart that start another season.
_SEASON_GAP = dt.timedelta(days=30)


def hours(plan: Plan, i: int, zone: str) -> list[tuple[str, float, float]]:
    """Return (time, azimuth, elevation) of the sun at the full hours of the install date.

    Times are as ``zone`` has them, in the order of its clock; hours with the sun down are left
    out.
    """
    azimuths = plan.tables.get("sun_hour_azimuth_deg")
    elevations = plan.tables.get("sun_hour_elevation_deg")
    day = plan.facts.install_date
    if azimuths is None or elevations is None or not day:
        return []
    found = []
    for hour in range(azimuths.shape[1]):
        azimuth, elevation = float(azimuths[i, hour]), float(elevations[i, hour])
        moment = full_hour(day, hour, zone)
        if moment is not None and elevation > 0:
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
    """Return each season's days, and the times of day between which its transits fall."""
    rows = transits(plan, i)
    starts, ends = (plan.tables.get(f"sun_{k}", np.empty(0))[rows] for k in ("start", "end"))
    pairs = [(local(a, zone), local(b, zone)) for a, b in zip(starts, ends, strict=True)]
    return [_season(run, zone) for run in _runs([(a, b) for a, b in pairs if a and b])]


def _runs(
    pairs: list[tuple[dt.datetime, dt.datetime]],
) -> Iterator[list[tuple[dt.datetime, dt.datetime]]]:
    """Yield the transits season by season."""
    run: list[tuple[dt.datetime, dt.datetime]] = []
    for pair in pairs:
        if run and pair[0] - run[-1][0] > _SEASON_GAP:
            yield run
            run = []
        run.append(pair)
    if run:
        yield run


def _season(run: list[Any], zone: str) -> tuple[str, str]:
    days = f"{day_words(run[0][0])} to {day_words(run[-1][0])}"
    early = min(start.time() for start, _ in run)
    late = max(end.time() for _, end in run)
    return days, clock_span(early, late, zone)
