"""sun.csv and sun/GROUP.ics: sun transits as a table and as calendars (RFC 5545) by group.

Written beside the plan's tables; read by whoever answers the telephone in those weeks.
"""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.outputs.escaping import for_calendar, harmless
from siteplan.outputs.filenames import safe_names
from siteplan.outputs.shown import amount, fixed
from siteplan.outputs.times import iso, local, stamp, utc, utc_span, zone_words
from siteplan.results import Plan

HEADINGS = (
    *("where", "site_id", "name", "group", "start_utc", "peak_utc", "end_utc", "depth_db"),
    *("timezone", "start_local", "peak_local", "end_local"),
)
#: Sites named in one day's entry of a calendar; the table has them all.
SITES_NAMED = 60


class Transit(NamedTuple):
    """One transit: what it is called, when (UTC, datetime64[s]), and how deep [dB]."""

    title: str
    start: Any
    peak: Any
    end: Any
    depth_db: float


def write_sun_table(plan: Plan, path: Path) -> None:
    """Write every transit of the next two seasons as CSV: the hub's, then the sites' in order.

    Times are ISO 8601: UTC, and beside it the site's own zone where it has one.
    """
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEADINGS)
        for hub in _hub(plan):
            moments = (utc(moment) for moment in (hub.start, hub.peak, hub.end))
            writer.writerow(("hub", "", "", "", *moments, fixed(hub.depth_db, 1), "", "", "", ""))
        writer.writerows(_site_rows(plan))


def write_sun_calendars(plan: Plan, folder: Path) -> int:
    """Write ``GROUP.ics`` for each group that has a transit; return how many.

    One entry a day and group, from the first site's start to the last one's end, with the
    sites' own times in its text; the hub's transits are in every calendar.
    """
    groups, code = np.unique(_texts(plan, "group").astype(str), return_inverse=True)
    site = plan.tables.get("sun_site", np.empty(0, dtype=np.int64))
    written = 0
    folder.mkdir(exist_ok=True)
    names = safe_names([str(group) or "no_group" for group in groups])
    # Rows of a group stand together in this order; within it by site and time as in the table.
    order = np.argsort(code[site], kind="stable")
    ends = np.searchsorted(code[site][order], np.arange(len(groups) + 1))
    for k, (group, name) in enumerate(zip(groups, names, strict=True)):
        rows = order[ends[k] : ends[k + 1]]
        if len(rows):
            text = "".join(_folded(entry) for entry in _calendar(plan, str(group), rows))
            (folder / f"{name}.ics").write_text(
                text, encoding="utf-8", errors="replace", newline=""
            )
            written += 1
    return written


def _texts(plan: Plan, name: str) -> NDArray[Any]:
    values = plan.columns.get(name)
    return np.full(len(plan), "", dtype=object) if values is None else values


def _hub(plan: Plan) -> list[Transit]:
    return [
        Transit("Hub", *_moments(h["start"], h["peak"], h["end"]), h["depth_db"])
        for h in plan.facts.hub_sun
    ]


def _moments(start: Any, peak: Any, end: Any) -> tuple[Any, Any, Any]:
    """Return moments to the second, however they were written."""
    return np.datetime64(start, "s"), np.datetime64(peak, "s"), np.datetime64(end, "s")


def _site_rows(plan: Plan) -> Iterator[Sequence[str]]:
    """Yield the table's rows of the sites."""
    tables = plan.tables
    if "sun_site" not in tables:
        return
    named = [harmless(_texts(plan, name)) for name in ("site_id", "name", "group")]
    zones = _texts(plan, "timezone")
    for k, i in enumerate(tables["sun_site"].tolist()):
        moments = [tables[f"sun_{when}"][k] for when in ("start", "peak", "end")]
        own = [local(moment, zones[i]) for moment in moments] if zones[i] else [None] * 3
        yield (
            "site",
            *(str(texts[i]) for texts in named),
            *(utc(moment) for moment in moments),
            fixed(tables["sun_depth_db"][k], 1),
            str(zones[i]),
            *(iso(moment) for moment in own),
        )


def _calendar(plan: Plan, group: str, rows: NDArray[np.int64]) -> Iterator[str]:
    """Yield a group's calendar as content lines, not yet folded."""
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield "PRODID:-//siteplan//sun transits//EN"
    yield "CALSCALE:GREGORIAN"
    yield f"X-WR-CALNAME:{for_calendar('Sun transits: ' + (group or 'no group'))}"
    for hub in _hub(plan):
        yield from _event(plan, "hub", "Sun behind the satellite at the hub: all sites", [hub])
    for day in _days(plan, rows):
        sites = len({transit.title for transit in day})
        where = f"{group or 'no group'}, {sites} site{'s' if sites > 1 else ''}"
        yield from _event(plan, group, f"Sun behind the satellite: {where}", day)
    yield "END:VCALENDAR"


def _days(plan: Plan, rows: NDArray[np.int64]) -> Iterator[list[Transit]]:
    """Yield the transits of each day (UTC, by their peak), in the order of time."""
    tables, sites = plan.tables, plan.tables["sun_site"]
    peaks = tables["sun_peak"][rows]
    order = rows[np.argsort(peaks, kind="stable")]
    days = tables["sun_peak"][order].astype("datetime64[D]")
    for part in np.split(order, np.flatnonzero(np.diff(days)) + 1):
        yield [
            Transit(
                _site_title(plan, int(sites[k])),
                *_moments(*(tables[f"sun_{when}"][k] for when in ("start", "peak", "end"))),
                float(tables["sun_depth_db"][k]),
            )
            for k in part
        ]


def _site_title(plan: Plan, i: int) -> str:
    """Return id, name and zone of a site, short enough for a line."""
    zone = _texts(plan, "timezone")[i]
    title = f"{plan.columns['site_id'][i]} {plan.columns['name'][i]}".strip()[:80]
    return f"{title} ({zone_words(zone)})" if zone else title


def _event(plan: Plan, group: str, title: str, day: list[Transit]) -> Iterator[str]:
    """Yield one entry: from the first start to the last end."""
    start, end = min(t.start for t in day), max(t.end for t in day)
    summary = f"{title}, up to {amount(max(t.depth_db for t in day), 'dB', 1)}"
    mark = hashlib.sha256(f"{plan.facts.name}\n{group}\n{title}".encode(errors="replace"))
    lines = [f"{t.title}: {utc_span(t.start, t.end)}, {amount(t.depth_db, 'dB', 1)}" for t in day]
    if len(lines) > SITES_NAMED:
        lines = [*lines[:SITES_NAMED], f"and {len(lines) - SITES_NAMED} more in sun.csv"]
    yield "BEGIN:VEVENT"
    yield f"UID:{stamp(start)}-{mark.hexdigest()[:16]}@siteplan"
    yield f"DTSTAMP:{stamp(np.datetime64(plan.facts.date or '2000-01-01', 's'))}"
    yield f"DTSTART:{stamp(start)}"
    yield f"DTEND:{stamp(end)}"
    yield f"SUMMARY:{for_calendar(summary)}"
    yield f"DESCRIPTION:{for_calendar(chr(10).join(lines))}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _folded(entry: str) -> str:
    """Return a content line folded at 75 octets (RFC 5545, section 3.1), never inside a letter."""
    lines, width = [""], 0
    for letter in entry:
        octets = len(letter.encode("utf-8", "replace"))
        if width + octets > 75:
            lines.append(" ")
            width = 1
        lines[-1] += letter
        width += octets
    return "\r\n".join(lines) + "\r\n"
