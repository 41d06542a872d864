"""Checked sites out of a file or a table in memory.

Every row that is not blank ends either among the sites or among the rejects:
``len(sites) + len(rejects) == rows_read``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import IntArray, TextArray
from siteplan.inputs.files.cells import Fault, Findings, is_numeric
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.files.tables import read_chunks, read_table
from siteplan.inputs.headings import Headings, key_of
from siteplan.inputs.sites.columns import checked_columns, free_columns
from siteplan.inputs.sites.survey import Survey, positions, survey
from siteplan.model import Note, Reject, SiteList, Sites


@dataclass
class _Seen:
    """The first kept row of each id that the file repeats: its number and its cells."""

    rows: dict[str, tuple[int, tuple[str, ...]]]


def read_sites(path: Path | str, crs: str = "") -> SiteList:
    """Read and check a file of sites.

    Parameters
    ----------
    path : Path or str
        Of one of the kinds in ``inputs.kinds``.
    crs : str
        The reference system of its eastings and northings, '' for none.

    Returns
    -------
    SiteList

    Raises
    ------
    SitesError
        The file cannot be read at all, or has no latitude and longitude.
    """
    return _whole(read_table(Path(path)), crs)


def sites_from_frame(data: Any, *, source: str = "table in memory", crs: str = "") -> SiteList:
    """Check sites that are in memory.

    Parameters
    ----------
    data : DataFrame, GeoDataFrame, mapping of columns, or iterable of (lat, lon)
        A GeoDataFrame's points are transformed to WGS 84.
    source : str
        What messages call it.
    crs : str
        The reference system of its eastings and northings, '' for none.

    Returns
    -------
    SiteList
        Rows count from 2, as if a heading stood above them.

    Raises
    ------
    SitesError
        No latitude and longitude, or columns of unequal length.
    """
    from siteplan.inputs.files.frames import frame_table

    return _whole(frame_table(data, source), crs)


def iter_site_lists(
    path: Path | str, chunk_rows: int = 50_000, crs: str = ""
) -> Iterator[SiteList]:
    """Read and check a file chunk by chunk, in bounded memory.

    The file is read twice: once for what only the whole can tell (positions and ids), once
    for the sites. Together the chunks equal what :func:`read_sites` gives.

    Parameters
    ----------
    path : Path or str
    chunk_rows : int
        Most rows a chunk.
    crs : str
        The reference system of its eastings and northings, '' for none.

    Yields
    ------
    SiteList

    Raises
    ------
    SitesError
        As :func:`read_sites`.
    """
    file = Path(path)
    whole = survey(lambda: read_chunks(file, chunk_rows), crs)
    seen = _Seen({})
    for table in read_chunks(file, chunk_rows):
        yield _check(table, whole, seen)


def _whole(table: Table, crs: str) -> SiteList:
    return _check(table, survey(lambda: [table], crs), _Seen({}))


def _check(table: Table, whole: Survey, seen: _Seen) -> SiteList:
    """Check one chunk in the light of the whole file."""
    table, headings = whole.layout.apply(table), whole.layout.headings
    found = Findings(notes={at: list(notes) for at, notes in (table.notes or {}).items()})
    coordinates = positions(table, headings, whole.letter_o)
    for at, faults in coordinates.findings.faults.items():
        found.faults[at] = list(faults)
    for at, notes in coordinates.findings.notes.items():
        found.notes.setdefault(at, []).extend(notes)
    _add_doubts(table, whole, found)
    columns: dict[str, NDArray[Any]] = {"lat": coordinates.lat, "lon": coordinates.lon}
    columns |= checked_columns(table, headings, whole, found)
    extra = free_columns(table, headings, whole, found)
    _refuse_headings(table, headings, found)
    _refuse_repeated(table, columns["site_id"], whole, seen, found)
    return _site_list(table, columns, extra, whole, found)


def _add_doubts(table: Table, whole: Survey, found: Findings) -> None:
    if not whole.doubts or not len(table):
        return
    doubted = np.array(sorted(whole.doubts), dtype=np.int64)
    for at in np.flatnonzero(np.isin(table.row, doubted)).tolist():
        for note in whole.doubts[int(table.row[at])]:
            found.note(at, note)


def _refuse_headings(table: Table, headings: Headings, found: Findings) -> None:
    """Give rows that repeat the heading their own reason."""
    for at in found.faults:
        if table.lat is not None or "lat" not in headings.columns:
            return
        cells = [table.columns[headings.columns[key].heading] for key in ("lat", "lon")]
        if not is_numeric(cells[0]) and _are_headings([str(c[at]) for c in cells]):
            fault = Fault("lat", str(cells[0][at]), "the row repeats the heading", "Delete it.")
            found.faults[at] = [fault]


def _are_headings(texts: list[str]) -> bool:
    """Whether two cells say lat and lon; to ask that of texts without letters would be slow."""
    lettered = all(any(c.isalpha() for c in text) for text in texts)
    return lettered and [key_of(text) for text in texts] == ["lat", "lon"]


def _refuse_repeated(
    table: Table, ids: TextArray, whole: Survey, seen: _Seen, found: Findings
) -> None:
    """Refuse the second row of an id; rows already refused do not count."""
    if not whole.repeated:
        return
    for at in range(len(ids)):
        if ids[at] not in whole.repeated or at in found.faults:
            continue
        cells = tuple(str(v) for v in _row_cells(table, at))
        first = seen.rows.setdefault(ids[at], (int(table.row[at]), cells))
        if first[0] == int(table.row[at]):
            continue
        same = "the row is the same as" if first[1] == cells else "the id is already used by"
        fix = "Delete one of the two." if first[1] == cells else "Give each site its own site_id."
        found.fault(at, Fault("site_id", ids[at], f"{same} row {first[0]}", fix))


def _row_cells(table: Table, at: int) -> list[Any]:
    point = [values[at] for values in (table.lat, table.lon) if values is not None]
    return point + [values[at] for values in table.columns.values()]


def _site_list(
    table: Table,
    columns: Mapping[str, NDArray[Any]],
    extra: Mapping[str, NDArray[Any]],
    whole: Survey,
    found: Findings,
) -> SiteList:
    good = np.ones(len(table), dtype=bool)
    good[list(found.faults)] = False
    kept: IntArray = np.flatnonzero(good)
    sites = Sites(
        **{key: values[kept] for key, values in columns.items()},
        source_row=table.row[kept],
        notes=_kept_notes(kept, found),
        extra=MappingProxyType({name: values[kept] for name, values in extra.items()}),
    )
    headings = {key: c.heading for key, c in whole.layout.headings.columns.items()}
    rejects = [
        replace(
            _reject(table, columns["site_id"], at, faults),
            cell=table.cell(headings.get(faults[0].key, ""), at),
        )
        for at, faults in found.faults.items()
    ]
    rejects += table.rejects
    rejects.sort(key=lambda reject: reject.row)
    read = len(table) + len(table.rejects)
    remarks = (*table.remarks, *whole.remarks)
    return SiteList(sites, tuple(rejects), read, table.source, whole.columns, remarks, whole.made)


def _kept_notes(kept: IntArray, found: Findings) -> Mapping[int, tuple[Note, ...]]:
    if not found.notes:
        return MappingProxyType({})
    noted = np.isin(kept, np.fromiter(found.notes, dtype=np.int64))
    return MappingProxyType(
        {int(k): tuple(found.notes[int(kept[k])]) for k in np.flatnonzero(noted)}
    )


def _reject(table: Table, ids: TextArray, at: int, faults: list[Fault]) -> Reject:
    """Return one reject for a row, all its faults in the reason."""
    first = faults[0]
    reason = "; ".join(dict.fromkeys(fault.reason for fault in faults))
    fix = " ".join(dict.fromkeys(fault.fix for fault in faults))
    return Reject(int(table.row[at]), str(ids[at]), first.key, first.value, reason, fix)
