"""A library's error becomes ours: for each reader a table, the most specific row first.

A reader wraps what it asks of a library in :func:`told_plainly`. An error that has no row in the
reader's table is a defect of the program and passes. Where a block holds nothing but calls of a
library, which may raise anything over a damaged file, the table's last row takes every error.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from siteplan.errors import NetworkError, ProjectError, SiteplanError, SitesError


class Meaning(NamedTuple):
    """What errors of a library mean to the user.

    ``what`` and ``fix`` have gaps: ``error``, ``path``, and what the reader tells. ``in_full``
    names the file with its path, as where the path itself may be wrong.
    """

    caught: tuple[type[Exception], ...]
    what: str
    fix: str
    kind: type[SiteplanError] = SitesError
    in_full: bool = False


_FORBIDDEN = Meaning(
    (PermissionError,),
    "it cannot be read ({error.strerror}).",
    "Check its permissions.",
    in_full=True,
)
_UNREADABLE = _FORBIDDEN._replace(caught=(OSError,))


def _folder() -> tuple[Meaning, ...]:
    what = "the folder cannot be read ({error.strerror})."
    row = _FORBIDDEN._replace(what=what, kind=ProjectError)
    return (row, row._replace(caught=(OSError,), fix="Check the path."))


def _network() -> tuple[Meaning, ...]:
    """The file alone: what is wrong inside of it, ``network/read.py`` tells key by key."""
    unreadable = _UNREADABLE._replace(fix="Check the path.", kind=NetworkError)
    gone = unreadable._replace(caught=(FileNotFoundError,), what="there is no such file.")
    return (gone, unreadable)


def _toml() -> tuple[Meaning, ...]:
    """What the TOML reader does not call an error of the file's."""
    deep = "brackets or keys stand in one another too deep to be read."
    long = "a number in it has too many digits."
    return (
        Meaning((RecursionError,), deep, "Compare it with the README's examples.", NetworkError),
        Meaning((ValueError,), long, "Shorten it.", NetworkError),
    )


def _csv() -> tuple[Meaning, ...]:
    """``line`` is where the record begins that cannot be read."""
    return (
        Meaning((UnicodeError,), "the text cannot be decoded.", "Save it as CSV, UTF-8."),
        Meaning(
            (csv.Error,),
            "line {line} cannot be read as CSV ({error}).",
            "Look for a stray quote, or save the file anew as CSV, UTF-8.",
        ),
        _UNREADABLE,
    )


def _workbook() -> tuple[Meaning, ...]:
    """A damaged workbook shows as whatever its reader met: zip, deflate, XML or a wrong value."""
    what = "this is no .xlsx workbook."
    gone = _UNREADABLE._replace(caught=(FileNotFoundError,), what="there is no such file.")
    fix = "Open it in a spreadsheet and save it as .xlsx or CSV, without a password."
    return (_FORBIDDEN, gone, Meaning((Exception,), what, fix))


def _project_workbook() -> tuple[Meaning, ...]:
    """The same of a workbook that is a whole project."""
    return tuple(row._replace(kind=ProjectError) for row in _workbook())


def _vector() -> tuple[Meaning, ...]:
    from pyarrow import ArrowException
    from pyogrio import errors
    from shapely.errors import ShapelyError

    fix = "Check that it is a whole {path.suffix} file, or export it again."
    caught = (
        *(errors.DataSourceError, errors.DataLayerError, errors.FeatureError, errors.FieldError),
        *(errors.GeometryError, errors.CRSError, ArrowException, ShapelyError, OSError),
    )
    return (
        Meaning((UnicodeError,), "the text cannot be decoded.", "Export it again as UTF-8."),
        Meaning(caught, "the file cannot be read.", fix),
    )


def _vector_head() -> tuple[Meaning, ...]:
    """The head of a vector file: a damaged one shows as whatever its reader met."""
    rows = _vector()
    return (_FORBIDDEN, rows[0], rows[1]._replace(caught=(Exception,)))


def _parquet() -> tuple[Meaning, ...]:
    from pyarrow import ArrowException
    from shapely.errors import ShapelyError

    again, what = "Export it again.", "the file cannot be read as Parquet."
    return (
        Meaning((UnicodeError,), "the text cannot be decoded.", again),
        Meaning((ArrowException, ShapelyError, OSError), what, again),
    )


def _geoparquet() -> tuple[Meaning, ...]:
    """The text in a Parquet file that says where its geometry is."""
    what = "what it says about its geometry cannot be read."
    caught = (ValueError, LookupError, TypeError, AttributeError, RecursionError)
    return (Meaning(caught, what, "Export it again as GeoParquet."),)


def _kml() -> tuple[Meaning, ...]:
    from xml.etree.ElementTree import ParseError

    return (
        Meaning(
            (ParseError,),
            "this is no well-formed KML (line {error.position[0]}).",
            "Export it again; a zipped one is called .kmz.",
        ),
        Meaning((LookupError, ValueError), "its encoding is not read.", "Save it as UTF-8."),
        _UNREADABLE,
    )


def _zip() -> tuple[Meaning, ...]:
    """An archive that is damaged, or has a password: zipfile calls that a RuntimeError."""
    import lzma
    import zipfile
    import zlib

    caught = (zipfile.BadZipFile, zlib.error, lzma.LZMAError, RuntimeError, EOFError)
    what, fix = "this zip archive cannot be read.", "Pack it anew, without a password."
    return (_FORBIDDEN, Meaning((*caught, OSError), what, fix))


def _shapes() -> tuple[Meaning, ...]:
    """Shapes come from any format, so that nothing can be said but that it is none."""
    from shapely.errors import GEOSException

    what = "a shape in it is not well formed ({error})."
    mend = "Mend it (close its rings), or export the file again."
    fix = "Check that it is a whole vector file (GeoJSON, GeoPackage, KML, Shapefile, ...)."
    return (
        Meaning((GEOSException,), what, mend, ProjectError),
        Meaning((Exception,), "it cannot be read as a vector file.", fix, ProjectError),
    )


#: The table of each reader; made when it is needed, as it names classes of heavy libraries.
READERS: Mapping[str, Callable[[], tuple[Meaning, ...]]] = {
    "folder": _folder,
    "network": _network,
    "toml": _toml,
    "csv": _csv,
    "workbook": _workbook,
    "project_workbook": _project_workbook,
    "vector": _vector,
    "vector_head": _vector_head,
    "parquet": _parquet,
    "geoparquet": _geoparquet,
    "kml": _kml,
    "zip": _zip,
    "shapes": _shapes,
}


@contextmanager
def told_plainly(reader: str, path: Path, told: Mapping[str, Any] | None = None) -> Iterator[None]:
    """Turn a library's error into ours while a file is read.

    Parameters
    ----------
    reader : str
        One of the ``READERS``.
    path : Path
        The file or folder.
    told : mapping, optional
        Further gaps of the reader's sentences; may change while the reader goes on.

    Raises
    ------
    SiteplanError
        What the first row that knows the error says.
    """
    try:
        yield
    except (SiteplanError, MemoryError):
        raise
    except Exception as error:
        for row in READERS[reader]():
            if isinstance(error, row.caught):
                refuse_forbidden(path, row.kind)
                values = {"error": error, "path": path, **(told or {})}
                raise row.kind(
                    row.what.format(**values),
                    where=str(path) if row.in_full else path.name,
                    fix=row.fix.format(**values),
                ) from None
        raise


def refuse_forbidden(path: Path, kind: type[SiteplanError]) -> None:
    """Raise where a file is there and may not be read: to a library it is but a bad one.

    Raises
    ------
    SiteplanError
        Of the kind that is given.
    """
    try:
        if path.is_file():
            path.open("rb").close()
    except OSError as error:
        what = f"it cannot be read ({error.strerror})."
        fix = "Check its permissions." if isinstance(error, PermissionError) else "Check the path."
        raise kind(what, where=str(path), fix=fix) from None


def refuse_missing(path: Path, kind: type[SiteplanError]) -> None:
    """Raise where there is no such file, or it may not be read.

    Raises
    ------
    SiteplanError
        Of the kind that is given.
    """
    refuse_forbidden(path, kind)
    if not path.is_file():
        raise kind("there is no such file.", where=str(path), fix="Check the path.")
