"""What only the whole file can tell about its rows: the first of two passes.

The survey is light: it holds positions and ids, so that a file of a million sites read in
chunks gives the same sites, notes and rejects as one read whole.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import IntArray, TextArray
from siteplan.inputs.files.cells import (
    Findings,
    as_texts,
    strip_texts,
    unknown_mask,
    without_controls,
)
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import Headings, find_columns
from siteplan.inputs.sites.coordinates import Coordinates, meaning_of_letter_o, parse_coordinates
from siteplan.inputs.sites.doubts import Points, coordinate_doubts
from siteplan.inputs.sites.tally import Tally, columns_read
from siteplan.model import ColumnRead, Note

_OWN_ID = re.compile(r"S\d{4,}(-\d+)?")


@dataclass(frozen=True)
class Survey:
    """What the whole file says.

    ``letter_o`` is what O means ('' where open), ``comma`` whether decimal commas occur,
    ``doubts`` the notes by row, ``repeated`` the ids that occur more than once, ``taken`` ids
    that look like those we give, ``id_width`` the width of ids with leading zeros (0: none).
    ``columns`` tells how each column was understood, ``remarks`` what is said of the file once.
    """

    letter_o: str
    comma: bool
    doubts: Mapping[int, list[Note]]
    repeated: frozenset[str]
    taken: frozenset[str]
    id_width: int
    columns: tuple[ColumnRead, ...] = ()
    remarks: tuple[Note, ...] = ()


@dataclass
class _Parts:
    """Chunks gathered so far."""

    ids: list[TextArray] = field(default_factory=list)
    rows: list[IntArray] = field(default_factory=list)
    coordinates: list[Coordinates] = field(default_factory=list)


def positions(table: Table, headings: Headings, letter_o: str) -> Coordinates:
    """Return the coordinates of a table, from its points or from its columns."""
    lat, lon = (
        values if values is not None else column_values(table, headings, key)
        for key, values in (("lat", table.lat), ("lon", table.lon))
    )
    return parse_coordinates(lat, lon, letter_o=letter_o)


def table_headings(table: Table) -> Headings:
    """Return which of our columns a table has."""
    return find_columns(list(table.columns), table.source, placed=table.lat is not None)


def column_values(table: Table, headings: Headings, key: str) -> NDArray[Any]:
    """Return one of our columns (n,), texts '' where the table has none."""
    if key not in headings.columns:
        return np.full(len(table), "", dtype=object)
    return table.columns[headings.columns[key].heading]


def site_ids(table: Table, headings: Headings, found: Findings) -> TextArray:
    """Return the ids of a table as given (n,), '' for none; note control characters."""
    texts = strip_texts(as_texts(column_values(table, headings, "site_id")))
    texts, changed = without_controls(texts, one_line=True)
    found.note_all(changed, Note.of("note.input_mended.id_controls"))
    missing = unknown_mask(texts)
    return np.where(missing, "", texts) if missing.any() else texts


def survey(tables: Iterable[Table]) -> Survey:
    """Look through all chunks of a file.

    Parameters
    ----------
    tables : iterable of Table

    Returns
    -------
    Survey

    Raises
    ------
    SitesError
        From the headings, or from reading on.
    """
    parts, tally = _Parts(), Tally()
    headings = Headings({}, ())
    for table in tables:
        headings = table_headings(table)
        tally.add(table)
        parts.ids.append(site_ids(table, headings, Findings()))
        parts.rows.append(table.row)
        parts.coordinates.append(positions(table, headings, "E"))
    letters = frozenset[str]().union(*(c.letters for c in parts.coordinates))
    letter_o = meaning_of_letter_o(letters)
    ids = np.concatenate(parts.ids)
    return Survey(
        letter_o=letter_o,
        comma=any(c.comma for c in parts.coordinates),
        doubts=coordinate_doubts(_points(parts, ids, letter_o)),
        repeated=_repeated(ids),
        taken=frozenset(text for text in ids if text[:1] == "S" and _OWN_ID.fullmatch(text)),
        id_width=_id_width(ids),
        columns=columns_read(tally, headings),
    )


def _points(parts: _Parts, ids: TextArray, letter_o: str) -> Points:
    lat = np.concatenate([c.lat for c in parts.coordinates])
    lon = np.concatenate([c.lon for c in parts.coordinates])
    decimals = np.concatenate([c.decimals for c in parts.coordinates])
    marked = np.concatenate([c.letter_o for c in parts.coordinates])
    if letter_o == "W":
        lon = np.where(marked, -lon, lon)
    good = np.isfinite(lat) & np.isfinite(lon) & ~(marked & (letter_o == ""))
    rows = np.concatenate(parts.rows)
    return Points(ids[good], rows[good], lat[good], lon[good], decimals[good])


def _repeated(ids: TextArray) -> frozenset[str]:
    from pandas import Series

    series = Series(ids, dtype=object)
    return frozenset(series[series.duplicated()]) - {""}


def _id_width(ids: TextArray) -> int:
    """Return the one width of the ids that start with a zero, where all ids are digits."""
    given = [text for text in ids if text]
    if not given or not all(text.isdecimal() for text in given):
        return 0
    widths = {len(text) for text in given if text[0] == "0" and len(text) > 1}
    width = next(iter(widths)) if len(widths) == 1 else 0
    return width if all(len(text) <= width for text in given) else 0


def own_id(row: int, taken: frozenset[str]) -> str:
    """Return an id for a row without one: its place among the rows, kept clear of ``taken``.

    >>> own_id(8, frozenset())
    'S0007'
    """
    base = f"S{row - 1:04d}"
    candidate, count = base, 1
    while candidate in taken:
        count += 1
        candidate = f"{base}-{count}"
    return candidate
