"""Reading a table of sites from any kind of file that we know."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.errors import SitesError
from siteplan.inputs.faults import refuse_missing
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.kinds import NEAR_MISSES, SUFFIXES, Kind, kind_of


def read_table(path: Path) -> Table:
    """Read a whole file.

    Parameters
    ----------
    path : Path
        Of one of the kinds in ``inputs.kinds``, in any capitals.

    Returns
    -------
    Table

    Raises
    ------
    SitesError
        Missing, unknown kind, unreadable, or empty.
    """
    table = _kind(path).read(path)
    if len(table) + len(table.rejects) == 0:
        raise _empty(path)
    return table


def read_chunks(path: Path, rows: int) -> Iterator[Table]:
    """Yield a file in chunks; one of a kind that can be read so is never held whole.

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
    chunks = _kind(path).chunks
    if chunks is None:
        yield from split(read_table(path), rows)
        return
    count = 0
    for table in chunks(path, rows):
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


def _kind(path: Path) -> Kind:
    kind, suffix = kind_of(path), path.suffix.lower()
    if kind is None:
        near = NEAR_MISSES.get(suffix)
        fix = near.fix if near else f"Known kinds: {', '.join(SUFFIXES)}."
        raise SitesError(f"files of kind '{suffix}' are not read.", where=path.name, fix=fix)
    refuse_missing(path, SitesError)
    return kind


def _empty(path: Path) -> SitesError:
    return SitesError(
        "it has no rows of sites.", where=path.name, fix="Put a row for each site in it."
    )
