"""The folder ``monitoring``: what a monitoring system is to expect, in three open formats.

``sites.csv`` has a row a hub, then a row a site and direction; ``sites.json`` the same with its
schema beside it (JSON Schema 2020-12), ``sites.prom`` the same as OpenMetrics text. Written for
whoever runs the network; nothing in them asks for a particular system.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from siteplan.answers.operations import MONTH_MINUTES, Monitored
from siteplan.messages import english
from siteplan.outputs.assets import asset
from siteplan.outputs.escaping import harmless_column
from siteplan.outputs.operations.openmetrics import openmetrics_texts
from siteplan.outputs.operations.records import (
    DECIMALS,
    group_records,
    hub_records,
    intervals,
    site_records,
)
from siteplan.results import Plan

CSV_NAME, JSON_NAME = "sites.csv", "sites.json"
SCHEMA_NAME, METRICS_NAME = "sites.schema.json", "sites.prom"
#: What the JSON says of its form; raised where a reader of an older one would go wrong.
FORM = "siteplan monitoring 1"
HEADINGS = (
    *("kind", "site_id", "name", "group", "hub", "lat", "lon", "direction"),
    *DECIMALS,
    *("fault_modcod", "eirp_dbw", "feed_w", "near", "maintenance", "notes"),
)
#: The numbers that are not a direction's.
_NUMBERS = ("lat", "lon", "eirp_dbw", "feed_w")


def write_monitoring(plan: Plan, of: Monitored, folder: Path) -> None:
    """Write what monitoring is to expect into a new folder.

    Parameters
    ----------
    plan : Plan
        With the tables of the site pack, whose sun transits are windows of maintenance.
    of : Monitored
        From `siteplan.planning.operations.levels.monitored`.
    folder : Path
        It is made.
    """
    import orjson

    folder.mkdir()
    sites, hubs = list(site_records(plan, of)), hub_records(plan, of)
    notes = _notes(sites)
    _write_table(folder / CSV_NAME, list(_rows(hubs, sites, notes)))
    found = {
        "form": FORM,
        "network": plan.facts.name,
        "date": plan.facts.date,
        "month_minutes": MONTH_MINUTES,
        "notes": notes,
        "groups": group_records(plan, of),
        "hubs": hubs,
        "sites": sites,
    }
    options = orjson.OPT_APPEND_NEWLINE
    (folder / JSON_NAME).write_bytes(orjson.dumps(found, option=options))
    (folder / SCHEMA_NAME).write_text(asset(f"operations/{SCHEMA_NAME}"), encoding="utf-8")
    with (folder / METRICS_NAME).open("w", encoding="utf-8", newline="\n") as file:
        for family in openmetrics_texts(plan, of):
            file.write(family)


def _notes(sites: list[dict[str, Any]]) -> dict[str, str]:
    """Return the sentences of the notes in use, by code."""
    used = {code for site in sites for way in site["directions"] for code in way["notes"]}
    return {code: english().one(f"monitoring.{code}") for code in sorted(used)}


def _write_table(path: Path, rows: list[dict[str, Any]]) -> None:
    """Write rows as CSV (UTF-8, comma, decimal point); what is not known is blank."""
    import pyarrow as pa
    from pyarrow import csv

    columns = [pa.array([row.get(name) for row in rows], _kind(pa, name)) for name in HEADINGS]
    table = pa.table([harmless_column(column) for column in columns], names=list(HEADINGS))
    csv.write_csv(table, str(path), csv.WriteOptions(quoting_style="needed"))


def _kind(pa: Any, name: str) -> Any:
    """Return the kind of a column, known even where all of it is blank."""
    return pa.float64() if name in (*DECIMALS, *_NUMBERS) else pa.string()


def _rows(
    hubs: list[dict[str, Any]], sites: list[dict[str, Any]], notes: dict[str, str]
) -> Iterator[dict[str, Any]]:
    """Yield the rows of the table: the hubs', then two a site."""
    for hub in hubs:
        yield {"kind": "hub", **hub, "maintenance": intervals(hub["maintenance"])}
    for site in sites:
        near = ";".join(site["near"])
        for way in site["directions"]:
            told = " ".join(notes[code] for code in way["notes"])
            windows = intervals(way["maintenance"])
            row = {"kind": "site", **site, **way, "near": near, "notes": told}
            yield row | {"maintenance": windows}
