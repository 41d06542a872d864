"""What a log of outages comes to: tables by site, month and cause, rain against the plan, a page.

Written into availability/ of the output folder; read by whoever answers for the network.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from siteplan.answers.outages import OutageReport, OutageRows
from siteplan.messages import english
from siteplan.model import OUTAGE_CAUSES
from siteplan.outputs.assets import asset
from siteplan.outputs.operations.chart import outage_chart
from siteplan.outputs.operations.columns import Columns, Named, rounded, write_columns
from siteplan.outputs.shown import amount, words
from siteplan.outputs.times import hub_zone, iso, local, local_texts, to_minute, zone_words
from siteplan.results import OutageStatistics, Plan

#: What is written.
OUTPUT_NAMES: Final = (
    *("availability.csv", "weather.csv", "left_out.csv"),
    *("availability.html", "availability_rejects.csv"),
)
#: What stands for all months and all causes.
ALL: Final = "all"
#: Decimals of the tables' numbers.
_ROW_DECIMALS: Final = {
    **dict.fromkeys(("logged_min", "outage_min"), 2),
    **{"availability_pct": 4, "outages": 0, "mean_repair_min": 2, "mean_between_h": 2},
    **{"longest_min": 2, "apart_min": 2, "apart": 0},
}
_RAIN_DECIMALS: Final = {
    **{"logged_min": 2, "planned_pct": 4, "observed_pct": 4, "observed_min": 2, "ratio": 3, "z": 2},
    **{"worst_month_min": 1, "largest_month_min": 2},
}
#: Sites that a table of the page shows, the worst; the CSV files have them all.
SHOWN: Final = 40
#: How the verdicts stand on the page, what asks for a look first.
VERDICTS: Final = ("more", "less", "under_a_year", "out_of_range", "no_plan", "within")
_MARKS: Final = {"more": "\u25b2", "less": "\u25bc", "within": "\u2713"}
_ENDS: Final = {"site": "at the site", "hub": "at the hub", "both": "at site or hub"}


def write_availability(result: OutageStatistics, folder: Path) -> None:
    """Write the tables, the page and the rejects into a folder that exists."""
    from siteplan.outputs.tables.files import write_rejects

    write_columns(folder / "availability.csv", _row_columns(result))
    write_columns(folder / "weather.csv", _rain_columns(result))
    write_columns(folder / "left_out.csv", _left_out_columns(result))
    (folder / "availability.html").write_text(page(result), encoding="utf-8", errors="replace")
    write_rejects(result.rejects, folder / "availability_rejects.csv")


# --- the tables -----------------------------------------------------------------------------


def _row_columns(result: OutageStatistics) -> Columns:
    """Return the table by site, month and cause; sites first, in their order, then the hubs."""
    rows = result.report.rows
    months, causes = [*result.report.months, ALL], [*OUTAGE_CAUSES, ALL]
    return {
        **_places(result, rows.place),
        "month": Named(months, rows.month % len(months)),
        "cause": Named(causes, rows.cause % len(causes)),
        **{name: rounded(getattr(rows, name), n) for name, n in _ROW_DECIMALS.items()},
    }


def _rain_columns(result: OutageStatistics) -> Columns:
    """Return the table of rain against the plan."""
    rain, report = result.report.weather, result.report
    years = np.full(len(rain.place), report.years)
    ends, verdicts = list(_ENDS), list(VERDICTS)
    which = np.array([verdicts.index(code) for code in rain.verdict.tolist()], dtype=np.intp)
    end = np.array([ends.index(code) for code in rain.end.tolist()], dtype=np.intp)
    return {
        **_places(result, rain.place),
        "rain": Named(list(_ENDS.values()), end),
        "years": years,
        **{name: rounded(getattr(rain, name), n) for name, n in _RAIN_DECIMALS.items()},
        "verdict": Named(verdicts, which),
        "says": Named([_says(code) for code in verdicts], which),
    }


def _left_out_columns(result: OutageStatistics) -> Columns:
    """Return the table of the outages that availability leaves out, in the order of the log."""
    of = result.report.left_out
    reasons, which = np.unique(of.why.astype(str), return_inverse=True)
    return {
        "row": of.row,
        **_places(result, of.place),
        "from": local_texts(of.begin, of.ahead_min[:, 0]),
        "to": local_texts(of.end, of.ahead_min[:, 1]),
        "outage_min": rounded(of.minutes, 2),
        "cause": Named(OUTAGE_CAUSES, of.cause),
        "why": Named([_left_for(code) for code in reasons.tolist()], which),
    }


def _left_for(code: str) -> str:
    """Return why an outage is left out."""
    return english().one(f"outages.left_out.{code}")


def _says(code: str) -> str:
    """Return the sentence of a verdict."""
    return english().one(f"outages.verdict.{code}")


def _places(result: OutageStatistics, place: NDArray[np.intp]) -> dict[str, Named]:
    """Return what the places (r,) of rows are called; a hub has no name beside its id."""
    hubs = result.report.hubs
    found = {}
    for name in ("site_id", "name", "group"):
        own = [str(text) for text in result.plan.columns[name].tolist()]
        texts = [*own, *(hubs[::-1] if name == "site_id" else [""] * len(hubs))]
        found[name] = Named(texts, place % len(texts))
    return found


# --- the page -------------------------------------------------------------------------------


def page(result: OutageStatistics) -> str:
    """Return what a log comes to as a page to print that needs nothing else."""
    from siteplan.outputs.paper.page import on_page

    facts = result.plan.facts
    found = {
        "network": facts.name,
        "date": facts.date,
        "span": _span(result),
        "outages": len(result.log),
        "years": _years(result.report),
        "remarks": result.log.remarks,
        "chart": Markup(outage_chart(result.report.over_time)),
        "chart_says": _chart_says(result),
        "causes": list(_causes(result.report.rows)),
        "rain": list(_rain(result)),
        "counts": [(_says(v), result.verdict_counts.get(v, 0)) for v in VERDICTS
                   if result.verdict_counts.get(v, 0)],
        "sites": list(_sites(result)),
        "service": "service_availability_pct" in result.plan.columns,
        "total": len(result.plan),
        "shown": SHOWN,
        "left_out": list(_left_out(result)),
        "left": len(result.report.left_out),
        "rejects": result.rejects[:SHOWN],
        "rejected": len(result.rejects),
    }  # fmt: skip
    title = f"{facts.name}: availability"
    style = asset("operations/availability.css")
    return on_page(title, "operations/availability.html", found, style=style)


def _span(result: OutageStatistics) -> str:
    """Return from when to when the log runs, by the hub's clock."""
    zone = result.plan.network.network.timezone
    ends = (np.datetime64(moment, "s") for moment in (result.log.since, result.log.until))
    first, last = (to_minute(iso(local(moment, zone)), zone) for moment in ends)
    return f"{first.removesuffix(zone_words(zone)).strip()} to {last}"


def _years(report: OutageReport) -> str:
    """Return which months are compared with the plan; '' where there is no whole year."""
    first, behind = report.window
    if not report.years:
        return ""
    years = "one year" if report.years == 1 else f"{report.years} years"
    return f"{years}, {report.months[first]} to {report.months[behind - 1]}"


def _chart_says(result: OutageStatistics) -> str:
    """Return what a reader of the chart must know of it."""
    of, sites = result.report.over_time, len(result.plan)
    told = [english().one("outages.chart.bars")]
    if of.planned:
        told.append(english().one("outages.chart.plan"))
    if of.planned < sites:
        told.append(english().one("outages.chart.without", without=sites - of.planned, sites=sites))
    if of.hub_apart:
        told.append(english().one("outages.chart.hub"))
    return " ".join(told)


def _left_out(result: OutageStatistics) -> Iterator[dict[str, Any]]:
    """Yield the longest of the outages that are left out."""
    of = result.report.left_out
    names, columns = _places(result, of.place), result.plan.columns
    for i in np.argsort(-of.minutes, kind="stable")[:SHOWN].tolist():
        place = int(of.place[i])
        zone = hub_zone(result.plan) if place < 0 else str(columns["timezone"][place])
        begin, end = (to_minute(iso(local(at[i], zone)), zone) for at in (of.begin, of.end))
        yield {
            "row": int(of.row[i]),
            "site": names["site_id"].at(i),
            "name": names["name"].at(i),
            "begin": begin,
            "end": end,
            "outage": _duration(float(of.minutes[i])),
            "cause": words(OUTAGE_CAUSES[of.cause[i]]),
            "why": _left_for(str(of.why[i])),
        }


def _causes(rows: OutageRows) -> Iterator[tuple[str, ...]]:
    """Yield what each cause comes to at all sites together, the longest first."""
    here = (rows.month == -1) & (rows.cause >= 0) & (rows.place >= 0)
    order = []
    for k, cause in enumerate(OUTAGE_CAUSES):
        of = here & (rows.cause == k)
        minutes, number = rows.outage_min[of].sum(), rows.outages[of].sum()
        apart = rows.apart_min[of].sum()
        if number or apart:
            longest = rows.longest_min[of]
            most = float(np.nanmax(longest)) if (~np.isnan(longest)).any() else math.nan
            length = float(np.nansum(rows.mean_repair_min[of] * rows.outages[of]))
            mean = length / number if number else math.nan
            cells = (_duration(minutes), amount(number, ""), _duration(mean), _duration(most))
            order.append((-minutes, (words(cause), *cells, _duration(apart) if apart else "")))
    yield from (cells for _, cells in sorted(order))


def _duration(minutes: float) -> str:
    """Return a length of time as people read it: minutes, from two hours on hours."""
    if math.isnan(minutes):
        return ""
    return amount(minutes, "min", 1) if minutes < 120 else amount(minutes / 60, "h", 1)


def _rain(result: OutageStatistics) -> Iterator[dict[str, Any]]:
    """Yield the hubs' rain against the plan, then that of the sites that ask for a look first."""
    rain = result.report.weather
    rank = np.array([VERDICTS.index(code) for code in rain.verdict.tolist()], dtype=float)
    far = -np.abs(np.nan_to_num(rain.z))
    small = -rain.largest_month_min
    order = np.lexsort((small, far, rank, rain.place >= 0))
    names = _places(result, rain.place)
    for i in order[: SHOWN + int((rain.place < 0).sum())].tolist():
        verdict = str(rain.verdict[i])
        yield {
            "site": names["site_id"].at(i),
            "name": names["name"].at(i),
            "where": _ENDS[str(rain.end[i])],
            "planned": _shown(rain.planned_pct[i], "%", 3),
            "observed": _shown(rain.observed_pct[i], "%", 3),
            "minutes": _duration(float(rain.observed_min[i])),
            "ratio": _shown(rain.ratio[i], "", 2),
            "z": _shown(rain.z[i], "", 1),
            "worst": _duration(float(rain.worst_month_min[i])),
            "largest": _duration(float(rain.largest_month_min[i])),
            "mark": _MARKS.get(verdict, ""),
            "css": "bad" if verdict == "more" else "",
        }


def _shown(value: Any, unit: str, decimals: int) -> str:
    number = float(value)
    return "" if math.isnan(number) else amount(number, unit, decimals)


def _sites(result: OutageStatistics) -> Iterator[dict[str, str]]:
    """Yield the sites of least availability."""
    rows, columns = result.report.rows, result.plan.columns
    every = np.flatnonzero((rows.month == -1) & (rows.cause == -1) & (rows.place >= 0))
    order = every[np.argsort(-rows.outage_min[every], kind="stable")][:SHOWN]
    for k in order.tolist():
        i = int(rows.place[k])
        yield {
            "site": columns["site_id"][i],
            "name": columns["name"][i],
            "group": columns["group"][i],
            "availability": _shown(rows.availability_pct[k], "%", 3),
            "weather": _of_plan(result.plan, "availability_achieved_pct", i),
            "service": _of_plan(result.plan, "service_availability_pct", i),
            "target": _of_plan(result.plan, "availability_target_pct", i),
            "outage": _duration(float(rows.outage_min[k])),
            "number": amount(float(rows.outages[k]), ""),
            "repair": _duration(float(rows.mean_repair_min[k])),
            "between": _shown(rows.mean_between_h[k], "h", 0),
            "longest": _duration(float(rows.longest_min[k])),
            "apart": _duration(float(rows.apart_min[k])) if rows.apart[k] else "",
        }


def _of_plan(plan: Plan, name: str, i: int) -> str:
    """Return a percentage of the plan at one site; '' where it has none."""
    return _shown(plan.columns[name][i], "%", 3) if name in plan.columns else ""
