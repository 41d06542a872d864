"""A library's error becomes ours: for each reader a table, the most specific row first.

A reader wraps what it asks of a library in :func:`told_plainly`. An error that has no row in the
reader's table is a defect of the program and passes.
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
    return (_UNREADABLE._replace(what=what, kind=ProjectError),)


def _network() -> tuple[Meaning, ...]:
    """The file alone: what is wrong inside of it, ``network/read.py`` tells key by key."""
    unreadable = _UNREADABLE._replace(fix="Check the path.", kind=NetworkError)
    gone = unreadable._replace(caught=(FileNotFoundError,), what="there is no such file.")
    return (gone, unreadable)


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
    import zipfile
    import zlib

    from openpyxl.utils.exceptions import InvalidFileException

    what = "this is no .xlsx workbook."
    fix = "Open it in a spreadsheet and save it as .xlsx or CSV, without a password."
    return (
        _FORBIDDEN,
        Meaning((zipfile.BadZipFile, zlib.error, InvalidFileException), what, fix),
        Meaning((LookupError, ValueError, TypeError, SyntaxError, EOFError, OSError), what, fix),
    )


def _vector() -> tuple[Meaning, ...]:
    from pyogrio.errors import DataLayerError, DataSourceError

    fix = "Check that it is a whole {path.suffix} file, or export it again."
    return (
        Meaning((DataSourceError, DataLayerError), "the file cannot be read.", fix),
        Meaning((UnicodeError,), "the text cannot be decoded.", "Export it again as UTF-8."),
    )


def _parquet() -> tuple[Meaning, ...]:
    from pyarrow import ArrowInvalid

    again = "Export it again."
    return (
        Meaning((UnicodeError,), "the text cannot be decoded.", again),
        Meaning((ArrowInvalid, OSError), "the file cannot be read as Parquet.", again),
    )


def _geoparquet() -> tuple[Meaning, ...]:
    """The text in a Parquet file that says where its geometry is."""
    what = "what it says about its geometry cannot be read."
    caught = (ValueError, LookupError, TypeError, AttributeError)
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
    from pyogrio.errors import DataLayerError, DataSourceError

    fix = "Check that it is a whole vector file (GeoJSON, GeoPackage, KML, Shapefile, ...)."
    caught = (DataSourceError, DataLayerError, OSError, ValueError)
    return (Meaning(caught, "it cannot be read as a vector file.", fix, ProjectError),)


#: The table of each reader; made when it is needed, as it names classes of heavy libraries.
READERS: Mapping[str, Callable[[], tuple[Meaning, ...]]] = {
    "folder": _folder,
    "network": _network,
    "csv": _csv,
    "workbook": _workbook,
    "vector": _vector,
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
    except SiteplanError:
        raise
    except Exception as error:
        for row in READERS[reader]():
            if isinstance(error, row.caught):
                values = {"error": error, "path": path, **(told or {})}
                raise row.kind(
                    row.what.format(**values),
                    where=str(path) if row.in_full else path.name,
                    fix=row.fix.format(**values),
                ) from None
        raise
