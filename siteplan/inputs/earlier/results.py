"""The results of an earlier plan, read from whichever table its output has."""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import ProjectError
from siteplan.inputs.earlier.sites import read_columns, unusable

#: The columns that plans are compared by.
NUMBERS = ("antenna_m", "buc_w", "margin_db", "fixed_antenna_m", "fixed_buc_w")
TEXTS = ("site_id", "name", "beam", "margin_class", "flags")
#: Columns that a plan may be without.
_OPTIONAL = frozenset({"beam", "name", "fixed_antenna_m", "fixed_buc_w"})
#: The tables, the first that is there is read.
TABLES = ("sites.csv", "sites.parquet", "sites.gpkg", "sites.geojson")
#: What begins a formula, and so stands behind an apostrophe of ours.
_MARKS = frozenset("=+-@\t\r\n")

Columns = dict[str, NDArray[Any]]


def read_results(folder: Path) -> Columns:
    """Return what plans are compared by, a column (n,) each, sites in the table's order.

    Parameters
    ----------
    folder : Path
        The output of a plan.

    Raises
    ------
    ProjectError
        If there is no table, or it lacks a column.
    """
    path = next((folder / name for name in TABLES if (folder / name).exists()), None)
    if path is None:
        raise ProjectError(
            "there is no plan: none of " + ", ".join(TABLES) + ".",
            where=str(folder),
            fix="Give the output folder of 'siteplan plan', such as output/my_project.",
        )
    return _of_csv(path) if path.suffix == ".csv" else _of_layer(path)


def _of_csv(path: Path) -> Columns:
    with path.open(encoding="utf-8", errors="replace", newline="") as file:
        headings = next(csv.reader(file), [])
    _check(headings, path)
    kinds = dict.fromkeys(NUMBERS, np.dtype(float)) | dict.fromkeys(TEXTS, np.dtype(object))
    return read_columns(path, kinds, unguarded)


def _of_layer(path: Path) -> Columns:
    """Return the columns of GeoParquet, a folder of its parts, GeoPackage or GeoJSON."""
    import pyarrow as pa

    try:
        table = _table(path)
        _check(table.column_names, path)
        blank = pa.nulls(len(table), pa.string())
        texts, numbers = (
            {k: table[k] if k in table.column_names else blank for k in wanted}
            for wanted in (TEXTS, NUMBERS)
        )
        columns = {
            k: np.asarray(v.cast(pa.float64()).to_numpy(zero_copy_only=False), np.float64)
            for k, v in numbers.items()
        }
        return columns | {
            k: np.array([*v.cast(pa.string()).fill_null("").to_pylist(), None], object)[:-1]
            for k, v in texts.items()
        }
    except (OSError, ValueError, TypeError, RuntimeError) as error:
        raise unusable(path, error) from None


def _table(path: Path) -> Any:
    import pyarrow as pa
    import pyarrow.parquet as pq
    import pyogrio

    wanted = (*NUMBERS, *TEXTS)
    if path.suffix != ".parquet":
        return pyogrio.read_arrow(path, columns=list(wanted), read_geometry=False)[1]
    parts = sorted(path.glob("*.parquet")) if path.is_dir() else [path]
    tables = [pq.read_table(p, columns=[k for k in wanted if k in pq.read_schema(p).names])
              for p in parts]  # fmt: skip
    return pa.concat_tables(tables, promote_options="permissive")


def _check(headings: list[str], path: Path) -> None:
    missing = [k for k in (*NUMBERS, *TEXTS) if k not in headings and k not in _OPTIONAL]
    if missing:
        raise ProjectError(
            f"there is no column {' and '.join(missing)} in it.",
            where=f"{path.parent.name}/{path.name}",
            fix="Give the output folder of a plan, not its project. Or make the plan again: this"
            " one is too old, or its table was changed.",
        )


def unguarded(text: str) -> str:
    """Return a text without the apostrophe that keeps a spreadsheet from running it."""
    return text[1:] if text[:1] == "'" and text[1:2] in _MARKS else text


def read_rejects(folder: Path) -> Mapping[str, str]:
    """Return why each site that a plan rejected was, by its id; empty where nobody knows."""
    path = folder / "rejects.csv"
    if not path.is_file():
        return {}
    found: dict[str, str] = {}
    with path.open(encoding="utf-8", errors="replace", newline="") as file:
        for row in csv.DictReader(file):
            site, why = (unguarded(row.get(k) or "") for k in ("site_id", "reason"))
            # Rows of obstacles name sites too; their reasons begin with the table's name.
            if site and not why.casefold().startswith("obstructions"):
                found.setdefault(site, why)
    return found


def read_json(path: Path) -> dict[str, Any]:
    """Return what a file of JSON holds; nothing where it cannot be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
