"""How a table is laid out, and a chunk of it put into that form."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from siteplan.arrays import BoolArray
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import as_texts, strip_texts
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import Column, Headings, open_headings, optional_columns
from siteplan.inputs.headings.words import readings
from siteplan.inputs.layout.candidates import Candidates, candidates_of
from siteplan.inputs.layout.evidence import Evidence
from siteplan.inputs.layout.labels import Chosen, chosen_labels
from siteplan.inputs.layout.likely import Looked, likely_notes, to_look_at
from siteplan.inputs.layout.placings import Axis, Columns, Geometry, Place, Placing
from siteplan.inputs.layout.ranges import Judged, to_judge
from siteplan.inputs.layout.ways import chosen_place
from siteplan.inputs.sites.optional import NUMBER_RULES
from siteplan.inputs.sites.tally import Tally
from siteplan.model import ColumnRead, Note

_TAG = re.compile(r"#[^\W\d]\w*( ?\+ ?[\w-]+)*")
_UNITS = frozenset(("deg", "decimal", "dms", "lat", "lon"))
_UNIT_ROW = _UNITS | {"geo", "stop", "north", "south", "east", "west"}
_UNNAMED = re.compile(r"column_\d+")


@frozen
class Layout:
    """Which of our columns are where, how positions are read, and what is said of it once.

    ``used`` are columns that are read and carried as well, by the key they serve; ``dropped``
    are nameless blank columns, ``tags`` rows that are further headings; ``why`` is what there is
    to know of single columns.
    """

    headings: Headings
    placing: Placing
    dropped: frozenset[str] = frozenset()
    tags: frozenset[int] = frozenset()
    why: Mapping[str, Note] = field(default_factory=dict)

    def apply(self, table: Table) -> Table:
        """Return a chunk without further headings and nameless blanks, its positions readable."""
        table = without_rows(table, self.tags)
        if self.dropped:
            kept = {k: v for k, v in table.columns.items() if k not in self.dropped}
            table = replace(table, columns=kept)
        return self.placing.apply(table)


def without_rows(table: Table, rows: frozenset[int]) -> Table:
    """Return a table without the rows of some numbers."""
    if not rows or not len(table):
        return table
    out: BoolArray = np.isin(table.row, list(rows))
    return table.take(np.flatnonzero(~out)) if out.any() else table


@dataclass
class Gathering:
    """What is gathered about a table, chunk by chunk, until its layout can be said."""

    evidence: Evidence
    optional: Mapping[str, tuple[Column, ...]]
    judged: list[Judged]
    tags: frozenset[int]
    written: Mapping[str, str]
    placed: bool
    looked: list[Looked] = field(default_factory=list)
    cells: Mapping[str, str] = field(default_factory=dict)
    tally: Tally = field(default_factory=Tally)

    @classmethod
    def of(cls, table: Table) -> Gathering:
        """Begin with the first chunk, of which nothing is counted yet."""
        headings = list(table.columns)
        candidates = candidates_of(headings, table.written)
        optional = optional_columns(headings, table.written)
        return cls(
            Evidence(candidates, table.source),
            optional,
            to_judge(optional),
            tag_rows(table, candidates),
            table.written,
            table.lat is not None,
            to_look_at(table, {c.heading for found in optional.values() for c in found}),
            table.heading_cells,
            Tally(numbers=_numbers(candidates, optional)),
        )

    def add(self, table: Table) -> None:
        """Add one more chunk."""
        self.tally.add(table)
        self.evidence.add(table, placed=self.placed)
        for judged in self.judged:
            judged.add(table)
        for looked in self.looked:
            looked.add(table)

    def guess(self) -> Layout:
        """Return the layout that the headings alone suggest."""
        candidates = self.evidence.candidates
        placing: Placing = Geometry()
        if not self.placed:
            lat, lon = candidates.whole("lat"), candidates.whole("lon")
            plain = lat and lon
            placing = Columns(Axis(lat[0].heading), Axis(lon[0].heading)) if plain else Geometry()
        ids = candidates.of("site_id")
        chosen = Chosen("", ids[0].heading if ids else "", ())
        return Layout(self._headings(placing, chosen, []), placing, tags=self.tags)

    def layout(self, crs: str) -> tuple[Layout, tuple[Note, ...]]:
        """Return the layout that the values bear out, and what is said of it.

        Raises
        ------
        SitesError
            No position, or one with more than one reading.
        """
        place = Place(Geometry()) if self.placed else chosen_place(self.evidence, crs)
        chosen = chosen_labels(self.evidence)
        remarks = [*place.remarks, *chosen.remarks]
        headings = self._headings(place.placing, chosen, remarks)
        remarks += self._said_of_rows()
        remarks += self._likely(headings, place.placing, remarks)
        read = [*(c.heading for c in headings.columns.values()), *place.placing.used]
        remarks += self.tally.spellings({h: self.written.get(h, h) for h in read})
        why = {str(dict(n.values).get("heading", "")): n for n in reversed(remarks)}
        dropped = frozenset(
            h for h, n in self.tally.filled.items() if not n and _UNNAMED.fullmatch(h)
        )
        found = Layout(headings, place.placing, dropped, self.tags, why)
        return found, tuple(dict.fromkeys(remarks))

    def _headings(self, placing: Placing, chosen: Chosen, remarks: list[Note]) -> Headings:
        order = {heading: at for at, heading in enumerate(self.evidence.candidates.headings)}
        named = {"site_id": chosen.site_id, "name": chosen.name} | placing.taken
        columns = {k: Column(order[h], h, exact=h == k) for k, h in named.items() if h}
        busy = {column.heading for column in columns.values()}
        for key, found in self.optional.items():
            column = self._optional(key, found, busy, remarks)
            if column:
                columns[key] = column
        remarks += [column.note for column in columns.values() if column.note]
        remarks += open_headings(self.evidence.candidates.headings, columns)
        return Headings(columns)

    def _optional(
        self, key: str, found: Sequence[Column], busy: set[str], remarks: list[Note]
    ) -> Column | None:
        """Return the first column that holds what ours would; say why others do not."""
        bad = {one.column.heading: one.why for one in self.judged if one.count}
        remarks += [bad[c.heading] for c in found if c.heading in bad]
        good = [c for c in found if c.heading not in bad and c.heading not in busy]
        good = [c for c in good if self.tally.filled.get(c.heading)] or good
        for other in good[1:]:
            mine, theirs = good[0].heading.strip(), other.heading.strip()
            told = partial(Note.of, "note.input_mended.column_chosen", heading=mine, ours=key)
            remarks.append(told(other=theirs))
        return good[0] if good else None

    def _likely(self, headings: Headings, placing: Placing, remarks: Sequence[Note]) -> list[Note]:
        """Return what is said of columns that are not read and look like ours."""
        passed = {str(dict(note.values).get("heading", "")) for note in remarks}
        passed |= {column.heading for column in headings.columns.values()} | set(placing.used)
        taken = [*headings.columns, *(("lat", "lon") if self.placed else ())]
        return likely_notes(self.looked, self.tally.rows, taken, passed)

    def _said_of_rows(self) -> list[Note]:
        """Return what is said of second headings, in rows and in columns."""
        said = [Note.of("note.input_mended.second_heading", row=row) for row in sorted(self.tags)]
        for name, written in self.written.items():
            said.append(Note.of("note.input_mended.heading_twice", heading=name, written=written))
        return said


def columns_read(gathering: Gathering, layout: Layout) -> tuple[ColumnRead, ...]:
    """Return how each column of a file was understood, in the file's order."""
    tally = gathering.tally
    keys = {column.heading: key for key, column in layout.headings.columns.items()}
    keys = layout.placing.used | keys
    return tuple(
        ColumnRead(
            heading,
            "" if heading in layout.dropped else keys.get(heading, "free"),
            filled,
            tally.rows - filled,
            tally.example.get(heading, ""),
            layout.why.get(heading.strip()),
            gathering.cells.get(heading, ""),
        )
        for heading, filled in tally.filled.items()
    )


def _numbers(
    candidates: Candidates, optional: Mapping[str, Sequence[Column]]
) -> dict[str, tuple[str, ...]]:
    """Return the columns that may be read as numbers, with the units of ours in their cells."""
    found = dict.fromkeys((c.heading for c in candidates.of("lat", "lon")), tuple[str, ...]())
    units = {rule.key: [u for u, k in rule.units.items() if u and k == 1] for rule in NUMBER_RULES}
    of = {
        c.heading: tuple(units[key]) if c.factor == 1 else ()
        for key in units
        for c in optional.get(key, ())
    }
    return found | of


def tag_rows(table: Table, candidates: Candidates) -> frozenset[int]:
    """Return the number of the first row where it is one more line of headings.

    That is a row of # tags, as exchange formats of relief work have it, or one that says units or
    other words for latitude and longitude under these.
    """
    if not len(table):
        return frozenset()
    first = {h: str(strip_texts(as_texts(v[:1]))[0]) for h, v in table.columns.items()}
    filled = [text for text in first.values() if text]
    tags = len(filled) > 1 and all(_TAG.fullmatch(text) for text in filled)
    if tags or (table.lat is None and _says_units(first, candidates)):
        return frozenset((int(table.row[0]),))
    return frozenset()


def _says_units(first: Mapping[str, str], candidates: Candidates) -> bool:
    cells = []
    for key in ("lat", "lon"):
        for candidate in candidates.whole(key)[:1]:
            text = first[candidate.heading]
            if text.casefold() == candidate.written.casefold():
                return False
            cells.append(text)
    return len(cells) == 2 and all(_is_unit(text) for text in cells)


def _is_unit(text: str) -> bool:
    """Whether a cell says a unit, or the latitude or longitude in other words."""
    return any(
        all(m & _UNIT_ROW for _, m in way) and any(m & _UNITS and len(w) > 1 for w, m in way)
        for way in readings(text)
        if way
    )
