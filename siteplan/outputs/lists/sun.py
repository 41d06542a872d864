"""sun.csv and sun/GROUP.ics: sun transits as a table and as calendars (RFC 5545) by group.

Written beside the plan's tables; read by whoever answers the telephone in those weeks.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.outputs.escaping import CsvWriter, for_calendar
from siteplan.outputs.filenames import safe_names
from siteplan.outputs.shown import amount, fixed
from siteplan.outputs.times import (
    hub_zone,
    iso,
    local,
    local_span,
    stamp,
    utc,
    zone_of,
    zone_words,
)
from siteplan.results import Plan

HEADINGS = (
    *("where", "site_id", "name", "group", "start_utc", "peak_utc", "end_utc", "depth_db"),
    *("timezone", "start_local", "peak_local", "end_local"),
)
#: What the only hub is called.
HUB = "Hub"
#: Sites named in one day's entry of a calendar; the table has them all.
SITES_NAMED = 60


#: Transits this far apart are those of different days: the sites' own lie within some 70 minutes.
DAY_GAP = np.timedelta64(12, "h")


class Transit(NamedTuple):
    """One transit: what it is called, its zone, when (UTC, datetime64[s]), and how deep [dB]."""

    title: str
    zone: str
    start: Any
    peak: Any
    end: Any
    depth_db: float


def write_sun_table(plan: Plan, path: Path) -> None:
    """Write every transit of the next two seasons as CSV: the hub's, then the sites' in order.

    Times are ISO 8601: UTC, and beside it the zone of the site, or the hub's, and which it is.
    """
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        for hub in _hub(plan):
            named = "" if hub.title == HUB else hub.title
            writer.writerow(("hub", "", named, "", *_cells(hub)))
        writer.writerows(_site_rows(plan))


def write_sun_calendars(plan: Plan, folder: Path) -> int:
    """Write ``GROUP.ics`` for each group that has a transit; return how many.

    One entry for each day's transits of a group, from the first site's start to the last one's
    end, with the sites' own times in its text; the hub's transits are in every calendar.
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
        Transit(
            h.get("hub", HUB),
            hub_zone(plan),
            *_moments(h["start"], h["peak"], h["end"]),
            h["depth_db"],
        )
        for h in plan.facts.hub_sun
    ]


def _moments(start: Any, peak: Any, end: Any) -> tuple[Any, Any, Any]:
    """Return moments to the second, however they were written."""
    return np.datetime64(start, "s"), np.datetime64(peak, "s"), np.datetime64(end, "s")


def _site_rows(plan: Plan) -> Iterator[Sequence[str]]:
    """Yield the table's rows of the sites."""
    if "sun_site" not in plan.tables:
        return
    named = [_texts(plan, name) for name in ("site_id", "name", "group")]
    for k, i in enumerate(plan.tables["sun_site"].tolist()):
        yield ("site", *(str(texts[i]) for texts in named), *_cells(_transit(plan, k)))


def _cells(of: Transit) -> list[str]:
    """Return a transit's times, depth and zone as the table has them."""
    moments = (of.start, of.peak, of.end)
    return [
        *(utc(moment) for moment in moments),
        fixed(of.depth_db, 1),
        zone_words(of.zone),
        *(iso(local(moment, of.zone)) for moment in moments),
    ]


def _transit(plan: Plan, k: int) -> Transit:
    """Return row ``k`` of the tables of transits."""
    tables = plan.tables
    i = int(tables["sun_site"][k])
    return Transit(
        f"{plan.columns['site_id'][i]} {plan.columns['name'][i]}".strip()[:80],
        zone_of(plan, i),
        *_moments(*(tables[f"sun_{when}"][k] for when in ("start", "peak", "end"))),
        float(tables["sun_depth_db"][k]),
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
    """Yield the transits of each of the sun's days, in the order of time.

    A gap parts them and no date does: near 180 degrees of longitude the sun passes the satellite
    at midnight UTC.
    """
    order = rows[np.argsort(plan.tables["sun_peak"][rows], kind="stable")]
    apart = np.diff(plan.tables["sun_peak"][order]) > DAY_GAP
    for part in np.split(order, np.flatnonzero(apart) + 1):
        yield [_transit(plan, int(k)) for k in part]


def _event(plan: Plan, group: str, title: str, day: list[Transit]) -> Iterator[str]:
    """Yield one entry: from the first start to the last end."""
    start, end = min(t.start for t in day), max(t.end for t in day)
    summary = f"{title}, up to {amount(max(t.depth_db for t in day), 'dB', 1)}"
    mark = hashlib.sha256(f"{plan.facts.name}\n{group}\n{title}".encode(errors="replace"))
    spans = [local_span(t.start, t.end, t.zone) for t in day]
    lines = [
        f"{t.title}: {span}, {amount(t.depth_db, 'dB', 1)}"
        for t, span in zip(day, spans, strict=True)
    ]
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
    octets, lines, at, room = entry.encode("utf-8", "replace"), [], 0, 75
    while len(octets) - at > room:
        end = at + room
        while octets[end] & 0xC0 == 0x80:  # within a letter
            end -= 1
        lines.append(octets[at:end])
        at, room = end, 74
    return b"\r\n ".join([*lines, octets[at:]]).decode() + "\r\n"
