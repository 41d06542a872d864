"""Frozen copies: what is kept of a plan, how it is read, and whether this machine rounds as then.

``inputs`` holds both samples as they were before the network's file gained the keys of later
versions, ``kept`` what a plan of each came to then. Kept are the numbers of the plan to their last
bit (``plan.json``, a column a line), the table, the lists and the summary as written, and the
words of some sheets. GeoJSON, GeoPackage and GeoParquet hold the table's values: they are compared
with it and need no copy.
"""

from __future__ import annotations

import csv
import html
import json
import re
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.results import Plan

HERE = Path(__file__).parent
INPUTS, KEPT = HERE / "inputs", HERE / "kept"
#: Sheets whose words are kept, unlike in what serves, stops and holds them; and the folder's index.
SHEETS = {
    "river_clinics": ("RC001", "RC002", "RC003", "RC004", "RC062", "index"),
    "fjord_substations": ("FS-01", "FS-03", "FS-09", "FS-40", "FS-60", "index"),
}
PROJECTS = tuple(SHEETS)
#: Files that are kept as they are.
FILES = ("sites.csv", "kit.csv", "what_it_takes.csv", "sites.kml", "sites.gpx", "summary.json")
PROBE = "probe.json"
_BLOCK = re.compile(r"<(?:p|h\d|div|li|dt|tr|figure|figcaption|section|ul|dl|table|title)\b[^>]*>")


def numbers(plan: Plan) -> dict[str, list[Any]]:
    """Return every column of numbers of a plan, and the ids of its sites."""
    kept = {k: v for k, v in plan.columns.items() if v.dtype.kind in "fiub"}
    return {"site_id": plan.columns["site_id"].tolist()} | {k: v.tolist() for k, v in kept.items()}


def as_lines(columns: dict[str, list[Any]]) -> str:
    """Return columns as JSON, a column a line; Python's digits of a float give back its bits."""
    lines = (f"{json.dumps(name)}: {json.dumps(values)}" for name, values in columns.items())
    return "{\n" + ",\n".join(lines) + "\n}\n"


def cells(path: Path) -> dict[str, list[Any]]:
    """Return the cells of a CSV as texts, None where nothing stands (``""`` is an empty text)."""
    import pyarrow as pa
    from pyarrow import csv as arrow

    with path.open(encoding="utf-8-sig", newline="") as file:
        names = next(csv.reader(file))
    table = arrow.read_csv(
        path,
        parse_options=arrow.ParseOptions(newlines_in_values=True),
        convert_options=arrow.ConvertOptions(
            column_types=dict.fromkeys(names, pa.string()), null_values=[""],
            strings_can_be_null=True, quoted_strings_can_be_null=False,
        ),
    )  # fmt: skip
    return {name: column.to_pylist() for name, column in zip(names, table.columns, strict=True)}


def features(path: Path) -> tuple[dict[str, list[Any]], list[tuple[float, float]]]:
    """Return columns and points (longitude, latitude) of GeoJSON, GeoPackage or GeoParquet."""
    import pyarrow.parquet as pq
    import pyogrio
    import shapely

    if path.suffix == ".geojson":
        found = json.loads(path.read_text(encoding="utf-8"))["features"]
        names = found[0]["properties"]
        columns = {name: [f["properties"][name] for f in found] for name in names}
        return columns, [tuple(f["geometry"]["coordinates"]) for f in found]
    table = pq.read_table(path) if path.suffix == ".parquet" else pyogrio.read_arrow(path)[1]
    columns = {name: table[name].to_pylist() for name in table.column_names}
    where = next(k for k in ("geom", "geometry", "wkb_geometry") if k in columns)
    points = shapely.from_wkb(columns.pop(where))
    return columns, [(p.x, p.y) for p in points]


def words(page: Path) -> list[str]:
    """Return the words of a sheet, a line for each row or paragraph; drawings count by theirs."""
    told = page.read_text(encoding="utf-8")
    told = re.sub(r"<style>.*?</style>|<script>.*?</script>", "", told, flags=re.DOTALL)
    lines = _BLOCK.sub("\n", re.sub(r"\s*\n\s*", " ", told)).split("\n")
    stripped = (" ".join(html.unescape(re.sub(r"<[^>]*>", " ", x)).split()) for x in lines)
    return [line for line in stripped if line]


def probe() -> dict[str, list[str]]:
    """Return what this machine makes of functions whose last bit is left to libraries and CPUs."""
    x = np.linspace(0.037, 7.91, 41)
    found = {
        name: getattr(np, name)(x)
        for name in ("exp", "log", "log10", "sin", "cos", "tan", "arctan", "tanh", "cbrt", "log1p")
    }
    found |= {"arcsin": np.arcsin(x / 8), "arccos": np.arccos(x / 8), "power": x**1.37}
    found |= {"arctan2": np.arctan2(x, x[::-1]), "hypot": np.hypot(x, x[::-1])}
    found |= {"ten_to": 10.0 ** (x / 10), "exp2": np.exp2(-x), "sum": np.cumsum(np.sqrt(x))}
    found |= {"dot": np.vander(x, 7) @ np.linspace(-1, 1, 7), "row_sum": np.sin(x).sum()}
    return {name: [float(v).hex() for v in np.ravel(values)] for name, values in found.items()}


def rounds_alike() -> bool:
    """Whether this machine rounds as the one that made the copies."""
    return bool(json.loads((KEPT / PROBE).read_text(encoding="utf-8")) == probe())


def planned(project: str, folder: Path) -> Plan:
    """Plan a frozen project, write what is compared into ``folder``, and return the plan."""
    from siteplan.jobs.plan import plan_project

    outcome = plan_project(
        INPUTS / project,
        folder,
        with_map=False,
        with_report=False,
        with_sheets=True,
        tables=("csv", "gpkg", "geojson", "parquet"),
    )
    assert outcome.plan is not None
    return outcome.plan
