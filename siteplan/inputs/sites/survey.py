"""What only the whole file can tell about its rows: the first of two passes.

The survey is light: it holds positions and ids, so that a file of a million sites read in
chunks gives the same sites, notes and rejects as one read whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import (
    Findings,
    as_texts,
    strip_texts,
    unknown_mask,
    without_controls,
)
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import Headings
from siteplan.inputs.headings.words import tongue_of
from siteplan.inputs.layout.layout import Gathering, Layout, columns_read, without_rows
from siteplan.inputs.sites.coordinates import Coordinates, meaning_of_letter_o, parse_coordinates
from siteplan.inputs.sites.doubts import Points, doubts_of
from siteplan.inputs.sites.doubts.groups import Labels
from siteplan.inputs.sites.ids import Unnamed, made_ids
from siteplan.inputs.sites.optional import unknown_structure
from siteplan.model import ColumnRead, Note


@frozen
class Survey:
    """What the whole file says.

    ``layout`` is which columns are which, ``letter_o`` what O means ('' where open), ``comma``
    whether decimal commas occur, ``doubts`` the notes by row, ``repeated`` the ids that occur more
    than once, ``made`` the ids of the rows that have none, ``id_width`` the width of ids with
    leading zeros (0: none). ``odd_structures`` says whether some structure is none of ours,
    ``named_beams`` whether some site names a beam.
    ``columns`` tells how each column was understood, ``remarks`` what is said of the file once.
    """

    layout: Layout
    letter_o: str
    comma: bool
    doubts: Mapping[int, list[Note]]
    repeated: frozenset[str]
    made: Mapping[int, str]
    id_width: int
    columns: tuple[ColumnRead, ...] = ()
    remarks: tuple[Note, ...] = ()
    odd_structures: bool = False
    named_beams: bool = False


@dataclass
class _Parts:
    """Chunks gathered so far."""

    ids: list[TextArray] = field(default_factory=list)
    rows: list[IntArray] = field(default_factory=list)
    coordinates: list[Coordinates] = field(default_factory=list)
    odd_structures: bool = False
    named_beams: bool = False
    unnamed: Unnamed = field(default_factory=Unnamed)
    labels: Labels = field(default_factory=Labels)

    def add(self, table: Table, headings: Headings) -> None:
        """Take one more chunk."""
        ids = site_ids(table, headings, Findings())
        self.ids.append(ids)
        self.rows.append(table.row)
        odd = self.odd_structures or unknown_structure(structures(table, headings))
        self.odd_structures = odd
        named = self.named_beams or bool(np.any(beams_told(table, headings) != ""))
        self.named_beams = named
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


def column_values(table: Table, headings: Headings, key: str) -> NDArray[Any]:
    """Return one of our columns (n,), texts '' where the table has none."""
    if key not in headings.columns:
        return np.full(len(table), "", dtype=object)
    return table.columns[headings.columns[key].heading]


def structures(table: Table, headings: Headings) -> TextArray:
    """Return the structures of a table as given (n,), without spaces at their ends."""
    return strip_texts(as_texts(column_values(table, headings, "structure")))


def beams_told(table: Table, headings: Headings) -> TextArray:
    """Return the beams of a table as given (n,), without spaces at their ends."""
    return strip_texts(as_texts(column_values(table, headings, "beam")))


def site_ids(table: Table, headings: Headings, found: Findings) -> TextArray:
    """Return the ids of a table as given (n,), '' for none; note control characters."""
    texts = strip_texts(as_texts(column_values(table, headings, "site_id")))
    texts, changed = without_controls(texts, one_line=True)
    found.note_all(changed, Note.of("note.input_mended.id_controls"))
    missing = unknown_mask(texts)
    return np.where(missing, "", texts) if missing.any() else texts


def survey(chunks: Callable[[], Iterable[Table]], crs: str = "") -> Survey:
    """Look through all chunks of a file.

    The chunks are looked at once where the headings say what the values bear out, else twice.

    Parameters
    ----------
    chunks : callable
        Gives the tables from the first on, each time it is called.
    crs : str
        The reference system of eastings and northings, '' for none.

    Returns
    -------
    Survey

    Raises
    ------
    SitesError
        From the layout, or from reading on.
    """
    parts = _Parts()
    gathering, guess = _gathered(chunks(), parts)
    layout, remarks = gathering.layout(crs)
    if not _as_guessed(layout, guess):
        parts = _Parts()
        for table in chunks():
            parts.add(layout.apply(table), layout.headings)
    letters = frozenset[str]().union(*(c.letters for c in parts.coordinates))
    letter_o = meaning_of_letter_o(letters | _tongues(layout.headings))
    given = np.concatenate(parts.ids)
    lat, lon = _read_positions(parts, letter_o)
    made, told = _made(parts, given, lat, lon)
    ids = given.copy()
    ids[given == ""] = list(made.values())
    doubts, of_file = doubts_of(_points(parts, ids, lat, lon))
    return Survey(
        layout=layout,
        letter_o=letter_o,
        comma=any(c.comma for c in parts.coordinates),
        doubts=doubts,
        repeated=_repeated(given),
        made=made,
        id_width=_id_width(given),
        columns=columns_read(gathering, layout),
        remarks=(*remarks, *of_file, *told),
        odd_structures=parts.odd_structures,
        named_beams=parts.named_beams,
    )


def _gathered(tables: Iterable[Table], parts: _Parts) -> tuple[Gathering, Layout]:
    """Gather what the layout needs, and the parts of the survey as the headings suggest."""
    gathering: Gathering | None = None
    for table in tables:
        if gathering is None:
            gathering = Gathering.of(table)
            guess = gathering.guess()
            readable = table.lat is not None or "lat" in guess.headings.columns
        rows = without_rows(table, gathering.tags)
        gathering.add(rows)
        if readable:
            parts.add(rows, guess.headings)
    assert gathering is not None  # a file without any table is refused where it is read
    return gathering, guess


def _tongues(headings: Headings) -> frozenset[str]:
    """Return what the languages of the headings make of a lone O."""
    found = [headings.columns[key].heading for key in ("lat", "lon") if key in headings.columns]
    return frozenset(
        f"O={letter}" for heading in found for letter in (tongue_of(heading),) if letter
    )


def _as_guessed(layout: Layout, guess: Layout) -> bool:
    """Whether ids, names, groups and positions come of the columns that the headings suggest."""
    same = (
        _heading(layout.headings, key) == _heading(guess.headings, key)
        for key in ("site_id", "name", "group")
    )
    return layout.placing == guess.placing and all(same)


def _heading(headings: Headings, key: str) -> str:
    column = headings.columns.get(key)
    return column.heading if column else ""


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
