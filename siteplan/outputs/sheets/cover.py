"""The cover of a round, before its sheets: route, stops, kit to load, contacts, risks, ticks.

One page; the stops of a long round follow on pages of their own. Kit, and whatever stands against
building it, stand beside each stop.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from markupsafe import Markup

from siteplan.fields import FLAGS
from siteplan.outputs.paper import page
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.people import access, calls, lone_worker
from siteplan.outputs.sheets.route import route
from siteplan.outputs.sheets.tune import stop_wind
from siteplan.outputs.shown import SiteValues, given
from siteplan.outputs.standing import banner, halt, marks, whole_stands
from siteplan.results import Plan
from siteplan.words import CAVEAT

#: Stops that stand in a table with their contacts; up to how many on the first page; kinds in a
#: line.
IN_TABLE, ON_FIRST, KINDS = 10, 30, 6
#: Kinds of risks that a cover lists; with all of them it would go on a second page.
RISKS = 20
#: Longest name, and longest contact, of a stop [characters].
_NAME, _CONTACT, _ID = 34, 90, 14
#: Least length of a way that is told with decimals [km].
_FAR_KM = 10.0


def cover_html(plan: Plan, stop: Any, title: str, legs_km: Sequence[float] | None = None) -> str:
    """Return the cover of a round.

    Parameters
    ----------
    plan : Plan
        The results.
    stop : Round
        Its sites in visiting order.
    title : str
        What the round is called.
    legs_km : sequence of float, optional
        The straight way from each stop to the next [km]; without it distances are left out.
    """
    units = plan.network.network.units
    values = [SiteValues(plan, site, units) for site in stop.sites.tolist()]
    lat, lon = (plan.columns[name][stop.sites].astype(float) for name in ("lat", "lon"))
    unbuilt = [bool(banner(v) or halt(v)) for v in values]
    legs = [] if legs_km is None else [float(leg) for leg in legs_km]
    stops = _stops(plan, values, legs, units)
    found = {
        "title": sheet_words.clipped(title, 90),
        "network": plan.facts.name,
        "date": plan.facts.date,
        "count": len(values),
        "way": _way(legs, units),
        "route": Markup(route(lat, lon, unbuilt, units=units)),
        "stops": stops if len(stops) <= IN_TABLE else [],
        "listed": [] if len(stops) <= IN_TABLE else stops,
        "behind": len(stops) > ON_FIRST,
        "has_access": any(row["access"] for row in stops),
        "kit": list(_kit(values, units)),
        "calls": calls(plan),
        "risks": _risks(values),
        "lone_worker": lone_worker(plan),
        "ticks": [tick.format(wind=stop_wind(plan, units)) for tick in sheet_words.COVER],
    }
    return page.rendered("sheets/templates/cover.html", found)


def _stops(
    plan: Plan, values: Sequence[SiteValues], legs_km: Sequence[float], units: str
) -> list[dict[str, Any]]:
    """Return each stop: number, name, way from the one before, kit, what is against it, calls."""
    ways = ["", *(distance(leg, units) for leg in legs_km)]
    return [
        {
            "number": k + 1,
            "site_id": sheet_words.cut(v["site_id"], _ID),
            "name": sheet_words.cut(v["name"], _NAME),
            "way": ways[k] if k < len(ways) else "",
            "kit": f"{v['antenna_m']}, {v['buc_w']}" if v.has_kit else "",
            "mark": marks(v),
            "access": sheet_words.cut("; ".join(t for _, t in access(plan, v.index)), _CONTACT),
        }
        for k, v in enumerate(values)
    ]


def distance(way_km: float, units: str) -> str:
    """Return a straight way: metres matter to nobody who drives."""
    return given(way_km, "km", 0 if way_km >= _FAR_KM else 1, units)


def _way(legs_km: Sequence[float], units: str) -> str:
    """Return the length of the whole way, and its longest piece."""
    if not legs_km:
        return ""
    longest = max(range(len(legs_km)), key=lambda k: legs_km[k])
    return (
        f"{distance(sum(legs_km), units)} in straight lines; the longest,"
        f" {distance(legs_km[longest], units)}, from stop {longest + 1} to {longest + 2}"
    )


def _kit(values: Sequence[SiteValues], units: str) -> Iterable[str]:
    """Yield what is loaded, a kind of part a line; what stands on site already is not.

    Where antenna and BUC stand the whole station does, its cable too, as the kit list has it.
    """
    new = [v for v in values if v.has_kit and not whole_stands(v)]
    dishes = [v for v in new if not v["fixed_antenna_m"]]
    yield from _pieces("Antennas", (v["antenna_m"] for v in dishes))
    yield from _pieces("BUCs", (v["buc_w"] for v in new if not v["fixed_buc_w"]))
    if new:
        yield f"LNB, feed, filter: {len(new)} sets at most, as the sheets tell"
    yield from _pieces("Mounts", (_mount(v) for v in dishes))
    ballast = sum(b for v in dishes if math.isfinite(b := v.number("ballast_kg")))
    if ballast:
        yield f"Ballast: {given(math.ceil(ballast), 'kg', 0, units)} in all ({CAVEAT})"
    cables: dict[str, float] = {}
    for v in new:
        if math.isfinite(length := v.number("ifl_length_m")):
            kind = v["cable_class"] or "class open: see the sheet"
            cables[kind] = cables.get(kind, 0.0) + math.ceil(length)
    told = [f"{given(length, 'm', 0, units)} of {kind}" for kind, length in cables.items()]
    if told:
        yield f"Cable, and slack: {_few(told)}"
    held = [k + 1 for k, v in enumerate(values) if halt(v) and not whole_stands(v)]
    if held:
        yield f"Counted too, but STOP, not built yet: {numbered(held, len(values))}"


def _mount(v: SiteValues) -> str:
    """Return a mount in words, and that it is to be surveyed where it is provisional."""
    open_ = " (to be surveyed)" if v["mount_certainty"] == "provisional" else ""
    return sheet_words.MOUNTS.get(v["mount"], v["mount"]) + open_


def _pieces(part: str, kinds: Iterable[str]) -> Iterable[str]:
    """Yield how many of each kind, in a line; nothing for none."""
    counted = Counter(kind for kind in kinds if kind)
    if counted:
        yield f"{part}: {_few([f'{n} × {kind}' for kind, n in sorted(counted.items())])}"


def _few(told: Sequence[str]) -> str:
    """Return the first kinds, and how many more there are."""
    more = f", and {len(told) - KINDS} kinds more" if len(told) > KINDS else ""
    return ", ".join(told[:KINDS]) + more


def _risks(values: Sequence[SiteValues]) -> list[dict[str, str]]:
    """Return what stands against the visits, the severe first; of too many how many are left."""
    found = list(_every_risk(values))
    left = len(found) - RISKS
    if left <= 0:
        return found
    more = {"word": "More", "meaning": f"{left} kinds that the sheets tell", "stops": "see there"}
    return [*found[:RISKS], more]


def _every_risk(values: Sequence[SiteValues]) -> Iterable[dict[str, str]]:
    """Yield what stands against the visits, the severe first, with the stops that it holds at."""
    at: dict[str, list[int]] = {}
    for k, v in enumerate(values):
        for code in v["flags"].split(";"):
            at.setdefault(code, []).append(k + 1)
    for severity in ("stop", "warn"):
        for flag in FLAGS.values():
            if flag.severity == severity and flag.code in at:
                yield {
                    "word": sheet_words.SEVERITY[severity],
                    "meaning": flag.meaning,
                    "stops": numbered(at[flag.code], len(values)),
                }


def numbered(stops: Sequence[int], count: int) -> str:
    """Return numbers of stops, runs of them together; at most some 50 characters.

    >>> numbered([1, 2, 3, 7], 9), numbered([4], 9), numbered([1, 2], 2)
    ('stops 1 to 3, 7', 'stop 4', 'every stop')
    """
    if len(stops) == count > 1:
        return "every stop"
    breaks = np.flatnonzero(np.diff(stops) > 1) + 1
    runs = [(run[0], run[-1]) for run in np.split(np.asarray(stops), breaks)]
    told = [f"{a}" if a == b else f"{a} to {b}" for a, b in runs]
    shown = told[:8]
    more = f" and more, {len(stops)} in all" if len(told) > len(shown) else ""
    return f"{'stop' if len(stops) == 1 else 'stops'} {', '.join(shown)}{more}"
