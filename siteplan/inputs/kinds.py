"""The kinds of files that a table of sites can come in: one list.

To add one: its reader in ``inputs/files/``, its row here.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from siteplan.frozen import frozen

if TYPE_CHECKING:
    from siteplan.inputs.files.rawtable import Table


@frozen
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


def _of(module: str, name: str) -> Callable[..., Any]:
    """Return a function of ``inputs/files/``, imported when it is first called."""

    def called(*given: Any) -> Any:
        reader = importlib.import_module(f"siteplan.inputs.files.{module}")
        return getattr(reader, name)(*given)

    return called


def _first(chunks: Callable[[Path, int | None], Iterator[Table]]) -> Callable[[Path], Table]:
    return lambda path: next(chunks(path, None))


def _read_zip(path: Path) -> Table:
    from siteplan.inputs.files.zipped import read_zip

    readers = {kind.suffix: kind.read for kind in KINDS if kind.suffix not in (".zip", ".json")}
    return read_zip(path, readers)


_csv_chunks, _csv_rows = _of("textfiles", "csv_chunks"), _of("textfiles", "csv_rows")
_vector_chunks, _vector_rows = _of("geofiles", "vector_chunks"), _of("geofiles", "vector_rows")
_parquet_chunks, _parquet_rows = _of("parquet", "parquet_chunks"), _of("parquet", "parquet_rows")
_read_workbook = _of("spreadsheets", "read_workbook")

#: Every kind, the commonest first.
KINDS = (
    Kind(".csv", _first(_csv_chunks), _csv_chunks, _csv_rows),
    Kind(".xlsx", _read_workbook),
    Kind(".geojson", _first(_vector_chunks), overlay=True),
    Kind(".gpkg", _first(_vector_chunks), _vector_chunks, _vector_rows, overlay=True),
    Kind(".kml", _of("kml", "read_kml"), overlay=True),
    Kind(".parquet", _first(_parquet_chunks), _parquet_chunks, _parquet_rows),
    Kind(".xlsm", _read_workbook),
    Kind(".json", _first(_vector_chunks)),
    Kind(".kmz", _of("zipped", "read_kmz")),
    Kind(".gpx", _first(_vector_chunks)),
    Kind(".shp", _of("geofiles", "read_shapefile")),
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
