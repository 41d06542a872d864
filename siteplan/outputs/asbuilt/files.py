"""What came back against what was planned: a table, an acceptance list, and a map.

Written into asbuilt/ of the output folder; read by the planner, and signed by the customer.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from siteplan.model import Overlay
from siteplan.outputs.shown import SiteValues, words
from siteplan.results import AsBuilt, Plan

#: What is written.
OUTPUT_NAMES = ("asbuilt.csv", "asbuilt.html", "asbuilt_rejects.csv", "map.html")
#: Marks that tell the verdicts apart without colour, the worst first.
MARKS = {
    "not accepted": "\u2717",
    "nothing to accept": "\u2013",
    "incomplete": "?",
    "accepted but not served": "!",
    "accepted": "\u2713",
}
#: What the map says of a site whose row could not be used.
UNUSABLE = "came back, could not be used"
#: Moves from here are drawn as lines: what lies behind the sites stands on a grid of 110 m. [m]
DRAWN_FROM_M = 300.0
#: Fields of the list's columns, under the list's own headings.
ANGLES = (
    ("azimuth", "azimuth_error_deg"),
    ("elevation", "elevation_error_deg"),
    ("skew", "skew_error_deg"),
    ("on the sky", "pointing_error_deg"),
    ("moved", "moved_m"),
)
LEVEL = (
    ("measured", "measured_c_n_db"),
    ("expected", "expected_c_n_db"),
    ("accepted from", "acceptance_c_n_db"),
    ("isolation", "measured_cross_polar_db"),
)
CABLE = (
    ("cable", "measured_cable_m"),
    ("difference", "cable_difference_m"),
    ("loss, difference", "cable_loss_difference_db"),
    ("BUC", "measured_buc_voltage_v"),
    ("difference", "buc_voltage_difference_v"),
)
REPLANNED = (
    ("azimuth", "replanned_azimuth_true_deg"),
    ("elevation", "replanned_elevation_deg"),
    ("skew", "replanned_skew_deg"),
    ("margin", "replanned_margin_db"),
    ("margin after reserve", "replanned_margin_after_reserve_db"),
)


def write_asbuilt(result: AsBuilt, folder: Path) -> None:
    """Write the table, the acceptance list, the rejects and the map into ``folder``.

    Parameters
    ----------
    result : AsBuilt
        What came back, against the plan.
    folder : Path
        Where the files go; it is there.
    """
    from siteplan.outputs.map.payload import write_map
    from siteplan.outputs.tables.files import write_csv, write_rejects

    table = as_plan(result)
    write_csv(dataclasses.replace(table, columns=result.columns), folder / "asbuilt.csv")
    write_rejects(result.rejects, folder / "asbuilt_rejects.csv")
    (folder / "asbuilt.html").write_text(page(result), encoding="utf-8", errors="replace")
    name = result.planned.facts.name
    write_map(
        on_map(result),
        folder / "map.html",
        title=f"{name}: as built".strip(),
        backing=_moves(result),
        opens_on="verdict",
    )


def as_plan(result: AsBuilt) -> Plan:
    """Return the sites that came back as a plan: planned fields, and what was measured."""
    columns = {**result.planned.columns, **result.columns}
    return dataclasses.replace(
        result.planned,
        columns=MappingProxyType(columns),
        extra=MappingProxyType({}),
        facts=dataclasses.replace(result.planned.facts, sheets=False, verdict=None),
    )


def on_map(result: AsBuilt) -> Plan:
    """Return the sites that came back, then those that are still awaited, as a plan."""
    from siteplan.outputs.map.payload import MAP_TABLES

    table, awaited = as_plan(result), result.awaited
    if awaited is None:
        return table
    blanks = {
        name: np.full(len(awaited), "" if values.dtype.kind in "OU" else np.nan, values.dtype)
        for name, values in result.columns.items()
        if name not in awaited.columns
    }
    more = {**awaited.columns, **blanks, **_unusable(result, awaited)}
    tables = {
        name: np.concatenate([table.tables[name], awaited.tables[name]])
        for name in MAP_TABLES
        if name in table.tables and name in awaited.tables
    }
    columns = {
        name: np.concatenate([values, more[name]])
        for name, values in table.columns.items()
        if name in more
    }
    return dataclasses.replace(
        table, columns=MappingProxyType(columns), tables=MappingProxyType(tables)
    )


def _unusable(result: AsBuilt, awaited: Plan) -> dict[str, np.ndarray[Any, Any]]:
    """Return verdict and findings of the awaited sites: why what came back was of no use."""
    why: dict[str, list[str]] = {}
    for reject in result.rejects:
        why.setdefault(reject.site_id, []).append(reject.advice)
    sites = [str(name) for name in awaited.columns["site_id"].tolist()]
    of_no_use = set(result.unusable)
    verdicts = [UNUSABLE if name in of_no_use else "" for name in sites]
    findings = [" ".join(why[name]) if name in of_no_use else "" for name in sites]
    told = {"verdict": verdicts, "findings": findings}
    return {name: np.array([*texts, ""], dtype=object)[:-1] for name, texts in told.items()}


def _moves(result: AsBuilt) -> Any:
    """Return a map layer with a line from planned to measured position, where far enough."""
    import shapely

    from siteplan.outputs.map.backdrop import Behind

    c = result.columns
    measured = np.nan_to_num(c["moved_m"]) >= DRAWN_FROM_M
    shapes, labels = [], []
    for i in np.flatnonzero(measured).tolist():
        here = (float(c["lon"][i]), float(c["lat"][i]))
        # The short way round at the antimeridian: longitudes without a jump.
        east = (float(c["measured_lon"][i]) - here[0] + 180) % 360 - 180
        there = (here[0] + east, float(c["measured_lat"][i]))
        shapes.append(shapely.LineString([here, there]))
        labels.append(f"{c['site_id'][i]} measured")
    overlay = Overlay("Planned to measured", "vermilion", tuple(shapes), tuple(labels))
    return Behind(overlays=(overlay,) if shapes else ())


def page(result: AsBuilt) -> str:
    """Return the acceptance list as a page that needs nothing else, the worst sites first."""
    from siteplan.outputs.paper.page import on_page

    plan = as_plan(result)
    verdicts = result.columns["verdict"].tolist()
    rank = [list(MARKS).index(v) if v in MARKS else len(MARKS) for v in verdicts]
    order = np.argsort(rank, kind="stable").tolist()
    facts = result.planned.facts
    found: Mapping[str, Any] = {
        "network": facts.name,
        "date": facts.date,
        "total": len(result),
        "counts": [(verdict, count) for verdict, count in result.counts.items() if count],
        "causes": [(words(cause), count) for cause, count in result.cause_counts.items()],
        "missing": result.missing,
        "unusable": result.unusable,
        "not_served": result.counts["accepted but not served"],
        "rejects": result.rejects,
        "rows": [_row(SiteValues(plan, i)) for i in order],
    }
    return on_page(f"{facts.name}: as built", "asbuilt/asbuilt.html", found)


def _row(v: SiteValues) -> dict[str, Any]:
    """Return one site of the list as texts."""
    return {
        **{name: v[name] for name in ("site_id", "name", "group", "verdict", "findings")},
        "remarks": v["remarks"],
        "mark": MARKS.get(v["verdict"], ""),
        "css": "bad" if v["verdict"] == "not accepted" else "",
        "angles": _lines(v, ANGLES),
        "level": _lines(v, LEVEL),
        "cable": _lines(v, CABLE),
        "replanned": ", ".join(_lines(v, REPLANNED)),
    }


def _lines(v: SiteValues, fields: tuple[tuple[str, str], ...]) -> list[str]:
    """Return a line for each field that has an answer; differences with their sign."""
    lines = []
    for name, field in fields:
        signed = ("error" in field or "difference" in field) and field != "pointing_error_deg"
        text = v.difference(field) if signed else v[field]
        lines += [f"{name} {text}"] if text else []
    return lines
