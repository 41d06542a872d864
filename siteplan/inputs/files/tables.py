"""Reading a table of sites from any kind of file that we know."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.errors import SitesError
from siteplan.inputs.files.geofiles import vector_chunks
from siteplan.inputs.files.kml import read_kml
from siteplan.inputs.files.parquet import parquet_chunks
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.files.spreadsheets import read_workbook
from siteplan.inputs.files.textfiles import csv_chunks

_STREAMED: dict[str, Callable[[Path, int | None], Iterator[Table]]] = {
    ".csv": csv_chunks,
    ".gpkg": vector_chunks,
    ".parquet": parquet_chunks,
}
_WHOLE: dict[str, Callable[[Path], Table]] = {
    ".xlsx": read_workbook,
    ".geojson": lambda path: next(vector_chunks(path, None)),
    ".kml": read_kml,
}

#: Kinds of files that a table of sites can come in.
KINDS = (".csv", ".xlsx", ".geojson", ".gpkg", ".kml", ".parquet")

_CONVERT = {
    ".xls": "Save it as .xlsx.",
    ".xlsm": "Save it as .xlsx.",
    ".ods": "Save it as .xlsx or .csv.",
    ".txt": "Rename it .csv.",
    ".tsv": "Rename it .csv; tabs are understood.",
    ".json": "Rename it .geojson if it is GeoJSON.",
    ".kmz": "Unpack it: the .kml is inside.",
    ".shp": "Save it as .gpkg.",
}


def read_table(path: Path) -> Table:
    """Read a whole file.

    Parameters
    ----------
    path : Path
        Of one of the ``KINDS``, in any capitals.

    Returns
    -------
    Table

    Raises
    ------
    SitesError
        Missing, unknown kind, unreadable, or empty.
    """
    kind = _kind(path)
    table = next(_STREAMED[kind](path, None)) if kind in _STREAMED else _WHOLE[kind](path)
    if len(table) + len(table.rejects) == 0:
        raise _empty(path)
    return table


def read_chunks(path: Path, rows: int) -> Iterator[Table]:
    """Yield a file in chunks; .csv, .gpkg and .parquet are never held whole.

    Parameters
    ----------
    path : Path
    rows : int
        Most rows a chunk.

    Yields
    ------
    Table
        Row numbers run on from chunk to chunk.

    Raises
    ------
    SitesError
        As :func:`read_table`.
    """
    if rows < 1:
        raise ValueError("rows must be 1 or more")
    kind = _kind(path)
    if kind not in _STREAMED:
        yield from split(read_table(path), rows)
        return
    count = 0
    for table in _STREAMED[kind](path, rows):
        count += len(table) + len(table.rejects)
        yield table
    if count == 0:
        raise _empty(path)


def split(table: Table, rows: int) -> Iterator[Table]:
    """Yield a table in chunks of ``rows``, each reject beside the rows it stood among."""
    starts = range(0, max(len(table), 1), rows)
    bounds = [int(table.row[start]) for start in starts[1:]] + [np.iinfo(np.int64).max]
    low = 0
    for start, high in zip(starts, bounds, strict=True):
        part = table.take(np.arange(start, min(start + rows, len(table)), dtype=np.int64))
        rejects = tuple(reject for reject in table.rejects if low <= reject.row < high)
        yield replace(part, rejects=rejects)
        low = high


def _kind(path: Path) -> str:
    kind = path.suffix.lower()
    if kind not in KINDS:
        fix = _CONVERT.get(kind, f"Known kinds: {', '.join(KINDS)}.")
        raise SitesError(f"files of kind '{kind}' are not read.", where=path.name, fix=fix)
    if not path.is_file():
        raise SitesError("there is no such file.", where=str(path), fix="Check the path.")
    return kind


def _empty(path: Path) -> SitesError:
    return SitesError(
        "it has no rows of sites.", where=path.name, fix="Put a row for each site in it."
    )
