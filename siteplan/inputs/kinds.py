"""The kinds of files that a table of sites can come in: one list.

To add one: its reader in ``inputs/files/``, its row here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from siteplan.inputs.files.geofiles import read_shapefile, vector_chunks, vector_rows
from siteplan.inputs.files.kml import read_kml
from siteplan.inputs.files.parquet import parquet_chunks, parquet_rows
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.files.spreadsheets import read_workbook
from siteplan.inputs.files.textfiles import csv_chunks, csv_rows
from siteplan.inputs.files.zipped import read_kmz, read_zip


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file.

    ``read`` gives the whole table. ``chunks`` gives it in tables of at most so many rows, and
    ``rows`` about how many rows there are without reading them; both are None where the file
    has to be held whole. ``overlay`` tells whether a map layer can come in it too.
    """

    suffix: str
    read: Callable[[Path], Table]
    chunks: Callable[[Path, int | None], Iterator[Table]] | None = None
    rows: Callable[[Path], int] | None = None
    overlay: bool = False


class NearMiss(NamedTuple):
    """A kind that is not read: what to do about a file, and what to save a project's sites as.

    ``instead`` is empty where the list of kinds is the better hint.
    """

    fix: str
    instead: str = ""


def _first(chunks: Callable[[Path, int | None], Iterator[Table]]) -> Callable[[Path], Table]:
    return lambda path: next(chunks(path, None))


def _read_zip(path: Path) -> Table:
    readers = {kind.suffix: kind.read for kind in KINDS if kind.suffix not in (".zip", ".json")}
    return read_zip(path, readers)


#: Every kind, the commonest first.
KINDS = (
    Kind(".csv", _first(csv_chunks), csv_chunks, csv_rows),
    Kind(".xlsx", read_workbook),
    Kind(".geojson", _first(vector_chunks), overlay=True),
    Kind(".gpkg", _first(vector_chunks), vector_chunks, vector_rows, overlay=True),
    Kind(".kml", read_kml, overlay=True),
    Kind(".parquet", _first(parquet_chunks), parquet_chunks, parquet_rows),
    Kind(".xlsm", read_workbook),
    Kind(".json", _first(vector_chunks)),
    Kind(".kmz", read_kmz),
    Kind(".gpx", _first(vector_chunks)),
    Kind(".shp", read_shapefile),
    Kind(".zip", _read_zip),
)
#: The suffixes of all kinds, and of those that a map layer can come in.
SUFFIXES = tuple(kind.suffix for kind in KINDS)
OVERLAY_SUFFIXES = tuple(kind.suffix for kind in KINDS if kind.overlay)

#: Kinds that people try and that are not read.
NEAR_MISSES = {
    ".xls": NearMiss("Save it as .xlsx.", ".xlsx"),
    ".ods": NearMiss("Save it as .xlsx or .csv.", ".xlsx"),
    ".txt": NearMiss("Rename it .csv.", ".csv"),
    ".tsv": NearMiss("Rename it .csv; tabs are understood.", ".csv"),
    ".dbf": NearMiss("Keep it beside its .shp file; both are read together."),
    ".tab": NearMiss("Save the layer as .gpkg.", ".gpkg"),
    ".gdb": NearMiss("Save the layer as .gpkg.", ".gpkg"),
    ".rar": NearMiss("Pack it as .zip, or unpack it."),
    ".7z": NearMiss("Pack it as .zip, or unpack it."),
}


def kind_of(path: Path) -> Kind | None:
    """Return the kind of a file by its suffix in any capitals, None for one that is not read.

    >>> kind_of(Path("Sites.CSV")).suffix
    '.csv'
    """
    return next((kind for kind in KINDS if kind.suffix == path.suffix.lower()), None)


def rows_in(path: Path) -> int:
    """Return about how many rows a table of sites has, without reading it.

    Parameters
    ----------
    path : Path

    Returns
    -------
    int
        For CSV the lines, its heading with them; 0 for kinds that are held whole anyway.

    Raises
    ------
    SitesError
        The file cannot be read.
    """
    kind = kind_of(path)
    return kind.rows(path) if kind is not None and kind.rows is not None else 0
