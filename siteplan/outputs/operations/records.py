"""What monitoring is to expect, a record a site and direction: the one source of every format.

Numbers are rounded as the dictionary has them, minutes to a millionth; texts are as they were
given, and each format escapes them. Moments are ISO 8601 with the offset of the site's zone.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.operations import Monitored, MonitoredHub, MonitoredWay
from siteplan.arrays import FloatArray, at_decimals
from siteplan.outputs.escaping import for_utf8
from siteplan.outputs.times import hub_zone, iso, local, local_texts
from siteplan.results import Plan

#: Decimals of the numbers of a direction, by name; levels as the plan tells C/N and powers.
DECIMALS: Final = {
    **dict.fromkeys(("es_n0_db", "c_n_db"), 2),
    "c_n_bandwidth_khz": 3,
    **dict.fromkeys(("modem_input_dbm", "modem_output_dbm", "modem_output_most_dbm"), 1),
    **{"warn_below_db": 2, "warn_min_month": 6, "warn_min_worst_month": 6},
    **{"fault_below_db": 2, "fault_min_month": 6, "fault_min_worst_month": 6},
}
#: The texts of a site, and of a direction.
SITE_TEXTS: Final = ("site_id", "name", "group", "hub")
_PLACES: Final = 6
#: The tables of a plan that tell transits, sites rising.
_TRANSITS: Final = ("sun_site", "sun_start", "sun_end", "sun_depth_db", "sun_offset_min")

#: A transit as the formats take it: from, to, and how deep [dB].
Window = dict[str, Any]


def numbers(way: MonitoredWay) -> dict[str, FloatArray]:
    """Return the numbers of a direction (n,) by the names of `DECIMALS`, rounded."""
    outward = way.direction == "outbound"
    blank = np.full(len(way.es_n0_db), np.nan)
    found = {
        "es_n0_db": way.es_n0_db,
        "c_n_db": way.es_n0_db,
        "c_n_bandwidth_khz": way.bandwidth_khz,
        "modem_input_dbm": way.modem_dbm if outward else blank,
        "modem_output_dbm": blank if outward else way.modem_dbm,
        "modem_output_most_dbm": way.most_dbm,
        "warn_below_db": way.warn.level_db,
        "warn_min_month": way.warn.minutes,
        "warn_min_worst_month": way.warn.worst_minutes,
        "fault_below_db": way.fault.level_db,
        "fault_min_month": way.fault.minutes,
        "fault_min_worst_month": way.fault.worst_minutes,
    }
    return {name: at_decimals(found[name], decimals) for name, decimals in DECIMALS.items()}


def site_records(plan: Plan, of: Monitored) -> Iterator[dict[str, Any]]:
    """Yield a record a site, its directions in it; what is not known is None."""
    columns, own = plan.columns, windows_of_sites(plan, of)
    of_hubs = [windows_of_hub(plan, hub) for hub in of.hubs]
    ways = [list(_directions(way)) for way in of.ways]
    for k, i in enumerate(of.rows.tolist()):
        there = int(of.hub[k])
        windows = own.get(i, []), of_hubs[there]
        pair = zip(ways, windows, strict=True)
        yield {
            **{name: for_utf8(str(columns[name][i])) for name in ("site_id", "name", "group")},
            "hub": for_utf8(of.hubs[there].name),
            "lat": round(float(columns["lat"][i]), _PLACES),
            "lon": round(float(columns["lon"][i]), _PLACES),
            "near": [for_utf8(name) for name in of.near[k]],
            "directions": [{**way[k], "maintenance": found} for way, found in pair],
        }


def _directions(way: MonitoredWay) -> Iterator[dict[str, Any]]:
    """Yield what is told of a direction at each site."""
    found = numbers(way)
    rows = zip(*map(_known, found.values()), strict=True)
    texts = zip(way.modcod.tolist(), way.notes.tolist(), strict=True)
    for row, (modcod, notes) in zip(rows, texts, strict=True):
        yield {
            "direction": way.direction,
            **dict(zip(found, row, strict=True)),
            "fault_modcod": modcod,
            "notes": notes.split(";") if notes else [],
        }


def hub_records(plan: Plan, of: Monitored) -> list[dict[str, Any]]:
    """Return a record a hub: its levels in clear sky, and when the sun stands behind the satellite.

    The sun disturbs at a hub what all its sites send.
    """
    return [
        {
            "hub": for_utf8(hub.name),
            "beams": [for_utf8(beam) for beam in hub.beams],
            "antenna_m": hub.antenna_m,
            "eirp_dbw": round(hub.eirp_dbw, 2),
            "feed_w": round(hub.feed_w, 3),
            "maintenance": windows_of_hub(plan, hub),
        }
        for hub in of.hubs
    ]


def ids_by_group(plan: Plan, of: Monitored) -> dict[str, list[str]]:
    """Return the ids of the sites of each group."""
    found = defaultdict[str, list[str]](list)
    for i in of.rows.tolist():
        group, site = plan.columns["group"][i], plan.columns["site_id"][i]
        found[for_utf8(str(group))].append(for_utf8(str(site)))
    return dict(found)


def group_records(ids: Mapping[str, list[str]]) -> list[dict[str, Any]]:
    """Return a record a group with the ids of its sites, in the order of the groups' names."""
    return [{"group": group, "site_ids": ids[group]} for group in sorted(ids)]


def transits_of(plan: Plan, of: Monitored) -> dict[str, NDArray[Any]]:
    """Return the plan's tables of the sun's transits, those of the sites from first to last."""
    tables = plan.tables
    if "sun_site" not in tables or not len(of):
        return {}
    ends = np.searchsorted(tables["sun_site"], [of.rows[0], of.rows[-1] + 1])
    here = slice(int(ends[0]), int(ends[1]))
    return {name: tables[name][here] for name in tables if name in _TRANSITS}


def windows_of_sites(plan: Plan, of: Monitored) -> dict[int, list[Window]]:
    """Return the sun's transits of each site by its index, told in its zone."""
    tables, found = transits_of(plan, of), defaultdict[int, list[Window]](list)
    if not tables:
        return found
    ahead = tables["sun_offset_min"]
    moments = (local_texts(tables[f"sun_{when}"], ahead) for when in ("start", "end"))
    depths = _known(at_decimals(tables["sun_depth_db"], 1))
    for i, start, end, depth in zip(tables["sun_site"].tolist(), *moments, depths, strict=True):
        found[i].append({"from": start, "to": end, "depth_db": depth})
    return found


def windows_of_hub(plan: Plan, hub: MonitoredHub) -> list[Window]:
    """Return the sun's transits of a hub, told in its zone."""
    zone, found = hub_zone(plan), []
    for t in hub.transits:
        start, end = (iso(local(np.datetime64(t[when], "s"), zone)) for when in ("start", "end"))
        found.append({"from": start, "to": end, "depth_db": t["depth_db"]})
    return found


def _known(values: FloatArray) -> list[float | None]:
    """Return numbers (n,), None for what is not known."""
    return [None if math.isnan(value) else value for value in values.tolist()]


def intervals(windows: Sequence[Window]) -> str:
    """Return transits as ISO 8601 intervals, from and to with a slash between."""
    return ";".join(f"{window['from']}/{window['to']}" for window in windows)
