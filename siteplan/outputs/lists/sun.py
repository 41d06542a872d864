"""sun.csv and sun/GROUP.ics: sun transits as a table and as calendars (RFC 5545) by group.

Written beside the plan's tables; read by whoever answers the telephone in those weeks.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray
from siteplan.outputs.escaping import CsvWriter, for_calendar
from siteplan.outputs.filenames import safe_names
from siteplan.outputs.shown import amount, fixed
from siteplan.outputs.times import (
    Moments,
    ahead_min,
    hub_zone,
    local_spans,
    local_texts,
    stamp,
    utc_texts,
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


#: Rows of the table whose texts are made at once.
_AT_ONCE = 10_000


class Transits(NamedTuple):
    """Some transits (k,): of whom, in which zone, when (UTC, datetime64[s]), how deep [dB]."""

    titles: list[str]
    zones: list[str]
    start: Moments
    peak: Moments
    end: Moments
    depth_db: FloatArray

    def part(self, some: slice) -> Transits:
        """Return some of them."""
        return Transits(
            self.titles[some], self.zones[some],
            self.start[some], self.peak[some], self.end[some], self.depth_db[some],
        )  # fmt: skip


def write_sun_table(plan: Plan, path: Path) -> None:
    """Write every transit of the next two seasons as CSV: the hub's, then the sites' in order.

    Times are ISO 8601: UTC, and beside it the zone of the site, or the hub's, and which it is.
    """
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        hubs = _of_hubs(plan)
        for title, cells in zip(hubs.titles, _cells(hubs), strict=True):
            writer.writerow(("hub", "", "" if title == HUB else title, "", *cells))
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


def _of_hubs(plan: Plan) -> Transits:
    """Return the hubs' transits, as the facts have them."""
    told = plan.facts.hub_sun
    return Transits(
        [str(t.get("hub", HUB)) for t in told],
        [hub_zone(plan)] * len(told),
        *_three(lambda when: np.array([t[when] for t in told], "datetime64[s]")),
        depth_db=np.array([t["depth_db"] for t in told], dtype=float),
    )


def _of_sites(plan: Plan, rows: NDArray[np.int64]) -> Transits:
    """Return some rows (k,) of the tables of transits."""
    sites = plan.tables["sun_site"][rows].tolist()
    ids, names = plan.columns["site_id"], plan.columns["name"]
    return Transits(
        [f"{ids[i]} {names[i]}".strip()[:80] for i in sites],
        [zone_of(plan, i) for i in sites],
        *_three(lambda when: plan.tables[f"sun_{when}"][rows].astype("datetime64[s]")),
        depth_db=plan.tables["sun_depth_db"][rows],
    )


def _three(moments: Callable[[str], Moments]) -> tuple[Moments, Moments, Moments]:
    return moments("start"), moments("peak"), moments("end")


def _site_rows(plan: Plan) -> Iterator[Sequence[str]]:
    """Yield the table's rows of the sites."""
    sites = plan.tables.get("sun_site", np.empty(0, dtype=np.int64))
    named = [_texts(plan, name) for name in ("site_id", "name", "group")]
    for begin in range(0, len(sites), _AT_ONCE):
        some = np.arange(begin, min(begin + _AT_ONCE, len(sites)))
        told = [[str(text) for text in texts[sites[some]]] for texts in named]
        for *texts, cells in zip(*told, _cells(_of_sites(plan, some)), strict=True):
            yield ("site", *texts, *cells)


def _cells(of: Transits) -> Iterator[Sequence[str]]:
    """Yield each transit's times, depth and zone as the table has them."""
    moments = (of.start, of.peak, of.end)
    return zip(
        *(utc_texts(moment) for moment in moments),
        [fixed(depth, 1) for depth in of.depth_db.tolist()],
        [zone_words(name) for name in of.zones],
        *(local_texts(moment, ahead_min(moment, of.zones)) for moment in moments),
        strict=True,
    )


def _calendar(plan: Plan, group: str, rows: NDArray[np.int64]) -> Iterator[str]:
    """Yield a group's calendar as content lines, not yet folded."""
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield "PRODID:-//siteplan//sun transits//EN"
    yield "CALSCALE:GREGORIAN"
    yield f"X-WR-CALNAME:{for_calendar('Sun transits: ' + (group or 'no group'))}"
    hubs = _of_hubs(plan)
    for k in range(len(hubs.titles)):
        title = "Sun behind the satellite at the hub: all sites"
        yield from _event(plan, "hub", title, hubs.part(slice(k, k + 1)))
    for day in _days(plan, rows):
        sites = len(np.unique(plan.tables["sun_site"][day]))
        where = f"{group or 'no group'}, {sites} site{'s' if sites > 1 else ''}"
        title = f"Sun behind the satellite: {where}"
        yield from _event(plan, group, title, _of_sites(plan, day))
    yield "END:VCALENDAR"


def _days(plan: Plan, rows: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Return the transits of each of the sun's days, in the order of time.

    A gap parts them and no date does: near 180 degrees of longitude the sun passes the satellite
    at midnight UTC.
    """
    order = rows[np.argsort(plan.tables["sun_peak"][rows], kind="stable")]
    apart = np.diff(plan.tables["sun_peak"][order]) > DAY_GAP
    return np.split(order, np.flatnonzero(apart) + 1)


def _event(plan: Plan, group: str, title: str, day: Transits) -> Iterator[str]:
    """Yield one entry: from the first start to the last end."""
    start, end = day.start.min(), day.end.max()
    summary = f"{title}, up to {amount(np.fmax.reduce(day.depth_db), 'dB', 1)}"
    mark = hashlib.sha256(f"{plan.facts.name}\n{group}\n{title}".encode(errors="replace"))
    told, left = day.part(slice(SITES_NAMED)), len(day.titles) - SITES_NAMED
    spans = local_spans(told.start, told.end, told.zones)
    lines = [
        f"{name}: {span}, {amount(depth, 'dB', 1)}"
        for name, span, depth in zip(told.titles, spans, told.depth_db.tolist(), strict=True)
    ]
    if left > 0:
        lines.append(f"and {left} more in sun.csv")
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
