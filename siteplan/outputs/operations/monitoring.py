"""The folder ``monitoring``: what a monitoring system is to expect, in three open formats.

``sites.csv`` has a row a hub, then a row a site and direction; ``sites.json`` the same with its
schema beside it (JSON Schema 2020-12), ``sites.prom`` the same as OpenMetrics text. Written for
whoever runs the network; nothing in them asks for a particular system.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO, Any, Final, Self

from siteplan.answers.operations import MONTH_MINUTES, Monitored
from siteplan.messages import english
from siteplan.outputs.assets import asset
from siteplan.outputs.escaping import harmless_column
from siteplan.outputs.operations.openmetrics import Metrics
from siteplan.outputs.operations.records import (
    DECIMALS,
    group_records,
    hub_records,
    ids_by_group,
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
#: Sites whose records are held at once.
_AT_ONCE: Final = 2000
#: The numbers that are not a direction's.
_NUMBERS = ("lat", "lon", "eirp_dbw", "feed_w")


def write_monitoring(pieces: Iterable[tuple[Plan, Monitored]], folder: Path) -> None:
    """Write what monitoring is to expect into a new folder, in bounded memory.

    Parameters
    ----------
    pieces : iterable of (Plan, Monitored)
        The sites some at a time, at least one piece, all with the same hubs. Of a plan its sites'
        names and places are read, its facts, and its tables of the sun's transits, which are
        windows of maintenance.
    folder : Path
        It is made.
    """
    folder.mkdir()
    metrics, ids, used = Metrics(folder), dict[str, list[str]](), set[str]()
    with (
        TemporaryFile(dir=folder) as laid,
        _Table(folder / CSV_NAME) as table,
    ):
        comma = b""
        for number, (plan, of) in enumerate(pieces):
            metrics.add(plan, of)
            if not number:
                table.add(list(_hub_rows(hub_records(plan, of))))
            for group, sites in ids_by_group(plan, of).items():
                ids.setdefault(group, []).extend(sites)
            records = site_records(plan, of)
            while some := list(islice(records, _AT_ONCE)):
                used |= _codes(some)
                table.add(list(_rows(some)))
                laid.write(comma + b",".join(map(_json, some)))
                comma = b","
        head = _head(plan, hub_records(plan, of), used, group_records(ids))
        _write_json(head, laid, folder / JSON_NAME)
    (folder / SCHEMA_NAME).write_text(asset(f"operations/{SCHEMA_NAME}"), encoding="utf-8")
    with (folder / METRICS_NAME).open("wb") as file:
        metrics.write(of.hubs, file)


def _json(value: Any) -> bytes:
    import orjson

    return orjson.dumps(value)


def _head(
    plan: Plan, hubs: list[dict[str, Any]], used: set[str], groups: list[dict[str, Any]]
) -> dict[str, Any]:
    """Return what the JSON tells before its sites."""
    return {
        "form": FORM,
        "network": plan.facts.name,
        "date": plan.facts.date,
        "month_minutes": MONTH_MINUTES,
        "notes": {code: _note(code) for code in sorted(used)},
        "groups": groups,
        "hubs": hubs,
    }


def _write_json(head: dict[str, Any], sites: IO[bytes], path: Path) -> None:
    """Write the JSON: its head, then the sites that were laid aside."""
    with path.open("wb") as file:
        file.write(_json(head)[:-1] + b',"sites":[')
        sites.seek(0)
        shutil.copyfileobj(sites, file)
        file.write(b"]}\n")


def _note(code: str) -> str:
    return english().one(f"monitoring.{code}")


def _codes(sites: list[dict[str, Any]]) -> set[str]:
    """Return the codes of the notes in use."""
    return {code for site in sites for way in site["directions"] for code in way["notes"]}


class _Table:
    """The CSV as it grows (UTF-8, comma, decimal point); what is not known is blank."""

    def __init__(self, path: Path) -> None:
        import pyarrow as pa
        from pyarrow import csv

        self._schema = pa.schema([(name, _kind(pa, name)) for name in HEADINGS])
        options = csv.WriteOptions(quoting_style="needed")
        self._writer = csv.CSVWriter(str(path), self._schema, write_options=options)

    def __enter__(self) -> Self:
        self._writer.__enter__()
        return self

    def __exit__(self, *told: object) -> None:
        self._writer.__exit__(*told)

    def add(self, rows: list[dict[str, Any]]) -> None:
        """Write some rows."""
        import pyarrow as pa

        kinds = zip(HEADINGS, self._schema.types, strict=True)
        columns = [pa.array([row.get(name) for row in rows], kind) for name, kind in kinds]
        columns = [harmless_column(column) for column in columns]
        self._writer.write_batch(pa.record_batch(columns, schema=self._schema))


def _kind(pa: Any, name: str) -> Any:
    """Return the kind of a column, known even where all of it is blank."""
    return pa.float64() if name in (*DECIMALS, *_NUMBERS) else pa.string()


def _hub_rows(hubs: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Yield the rows of hubs, which come first."""
    for hub in hubs:
        yield {"kind": "hub", **hub, "maintenance": intervals(hub["maintenance"])}


def _rows(sites: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Yield the rows of sites, two a site."""
    told: dict[int, str] = {}
    for site in sites:
        near = ";".join(site["near"])
        for way in site["directions"]:
            notes = " ".join(_note(code) for code in way["notes"])
            windows = way["maintenance"]
            if id(windows) not in told:  # those of a hub stand at each of its sites
                told[id(windows)] = intervals(windows)
            row = {"kind": "site", **site, **way, "near": near, "notes": notes}
            yield row | {"maintenance": told[id(windows)]}
