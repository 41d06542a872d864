"""What only the whole file can tell about its rows: the first of two passes.

The survey is light: it holds positions and ids, so that a file of a million sites read in
chunks gives the same sites, notes and rejects as one read whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, IntArray, TextArray
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
from siteplan.inputs.sites.doubts import Points, doubts_of
from siteplan.inputs.sites.doubts.groups import Labels
from siteplan.inputs.sites.ids import Unnamed, made_ids
from siteplan.inputs.sites.tally import Tally, columns_read
from siteplan.model import ColumnRead, Note


@dataclass(frozen=True)
class Survey:
    """What the whole file says.

    ``letter_o`` is what O means ('' where open), ``comma`` whether decimal commas occur,
    ``doubts`` the notes by row, ``repeated`` the ids that occur more than once, ``made`` the ids
    of the rows that have none, ``id_width`` the width of ids with leading zeros (0: none).
    ``columns`` tells how each column was understood, ``remarks`` what is said of the file once.
    """

    letter_o: str
    comma: bool
    doubts: Mapping[int, list[Note]]
    repeated: frozenset[str]
    made: Mapping[int, str]
    id_width: int
    columns: tuple[ColumnRead, ...] = ()
    remarks: tuple[Note, ...] = ()


@dataclass
class _Parts:
    """Chunks gathered so far."""

    ids: list[TextArray] = field(default_factory=list)
    rows: list[IntArray] = field(default_factory=list)
    coordinates: list[Coordinates] = field(default_factory=list)
    unnamed: Unnamed = field(default_factory=Unnamed)
    labels: Labels = field(default_factory=Labels)

    def add(self, table: Table, headings: Headings) -> None:
        """Take one more chunk."""
        ids = site_ids(table, headings, Findings())
        self.ids.append(ids)
        self.rows.append(table.row)
        self.coordinates.append(positions(table, headings, "E"))
        names, groups = (
            strip_texts(as_texts(column_values(table, headings, key))) for key in ("name", "group")
        )
        self.unnamed.add(ids, names, groups, table.row)
        self.labels.add(table)


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
        parts.add(table, headings)
    letters = frozenset[str]().union(*(c.letters for c in parts.coordinates))
    letter_o = meaning_of_letter_o(letters)
    given = np.concatenate(parts.ids)
    lat, lon = _read_positions(parts, letter_o)
    made, told = _made(parts, given, lat, lon)
    ids = given.copy()
    ids[given == ""] = list(made.values())
    doubts, of_file = doubts_of(_points(parts, ids, lat, lon))
    return Survey(
        letter_o=letter_o,
        comma=any(c.comma for c in parts.coordinates),
        doubts=doubts,
        repeated=_repeated(given),
        made=made,
        id_width=_id_width(given),
        columns=columns_read(tally, headings),
        remarks=(*of_file, *told),
    )


def _read_positions(parts: _Parts, letter_o: str) -> tuple[FloatArray, FloatArray]:
    """Return the positions of all rows (n,) [deg], NaN where they have no one reading."""
    lat = np.concatenate([c.lat for c in parts.coordinates])
    lon = np.concatenate([c.lon for c in parts.coordinates])
    marked = np.concatenate([c.letter_o for c in parts.coordinates])
    if letter_o == "W":
        lon = np.where(marked, -lon, lon)
    good = np.isfinite(lat) & np.isfinite(lon) & ~(marked & (letter_o == ""))
    return np.where(good, lat, np.nan), np.where(good, lon, np.nan)


def _made(
    parts: _Parts, given: TextArray, lat: FloatArray, lon: FloatArray
) -> tuple[dict[int, str], tuple[Note, ...]]:
    """Return an id for each row without one, by its number, and what is said of it once."""
    missing = given == ""
    if not missing.any():
        return {}, ()
    rows = np.concatenate(parts.rows)[missing]
    ids = made_ids(parts.unnamed, given[~missing], lat[missing], lon[missing])
    told = Note.of("note.input_mended.no_id", count=len(rows), rows=len(given), example=str(ids[0]))
    return dict(zip(rows.tolist(), ids.tolist(), strict=True)), (told,)


def _points(parts: _Parts, ids: TextArray, lat: FloatArray, lon: FloatArray) -> Points:
    decimals = np.concatenate([c.decimals for c in parts.coordinates])
    good = np.isfinite(lat)
    rows = np.concatenate(parts.rows)
    country, region = parts.labels.all()
    return Points(
        ids[good],
        rows[good],
        lat[good],
        lon[good],
        decimals[good],
        country=None if country is None else country[good],
        region=None if region is None else region[good],
    )


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
