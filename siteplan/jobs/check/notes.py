"""Notes on what was read, as lines and folded: each kind once, with its count and first rows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from siteplan.fields import FLAGS
from siteplan.model import Note, NoteKind, NoteLine, Reject, RejectKind, SiteList

#: Rows that a kind of note names.
ROWS_NAMED = 5
_NUMBER = re.compile(r"\d+")
_RANK = {code: rank for rank, code in enumerate(FLAGS)}


def of_file(site_list: SiteList) -> list[NoteLine]:
    """Return what is said of a file and of its columns, each once."""
    whys = (column.why for column in site_list.columns if column.why is not None)
    notes = dict.fromkeys((*site_list.remarks, *whys))
    cells = {column.heading.strip(): column.cell for column in site_list.columns}
    headings = (str(dict(note.values).get("heading", "")) for note in notes)
    return [
        NoteLine(None, "", note, cells.get(heading, ""))
        for note, heading in zip(notes, headings, strict=True)
    ]


def of_rows(site_list: SiteList) -> list[NoteLine]:
    """Return the notes on the sites of a list, or of one chunk of it, in the order of the rows."""
    sites = site_list.sites
    return [
        NoteLine(int(sites.source_row[at]), str(sites.site_id[at]), note)
        for at in sorted(sites.notes)
        for note in sites.notes[at]
    ]


def by_severity(lines: Iterable[NoteLine]) -> list[NoteLine]:
    """Return lines, the worst first; of one severity in the order of the rows."""
    return sorted(lines, key=lambda line: (_RANK[line.note.code], line.row or 0))


def folded(lines: Iterable[NoteLine]) -> tuple[NoteKind, ...]:
    """Return each kind of note once, the worst first, and of one severity the rarest first.

    A kind is a sentence of the catalogue, and the column that it speaks of.
    """
    kinds: dict[tuple[str, str, bool], list[NoteLine]] = {}
    for line in lines:
        kinds.setdefault(_kind(line), []).append(line)
    ordered = sorted(kinds.values(), key=_order)
    return tuple(_folded(found) for found in ordered)


def folded_rejects(rejects: Iterable[Reject]) -> tuple[RejectKind, ...]:
    """Return the rejects of each reason once, in the order in which they first come.

    Reasons that differ in the value and in numbers alone are one.
    """
    kinds: dict[tuple[str, str, str], list[Reject]] = {}
    for reject in rejects:
        shape = _NUMBER.sub("#", reject.reason.replace(reject.value, "#", 1))
        kinds.setdefault((reject.key, shape, _NUMBER.sub("#", reject.fix)), []).append(reject)
    return tuple(
        RejectKind(found[0], len(found), tuple(r.row for r in found[:ROWS_NAMED]))
        for found in kinds.values()
    )


def _kind(line: NoteLine) -> tuple[str, str, bool]:
    if line.row is None:
        return line.note.key, repr(line.note.values), True
    return line.note.key, str(dict(line.note.values).get("column", "")), False


def _order(found: Sequence[NoteLine]) -> tuple[int, bool, int, int]:
    first = found[0]
    return _RANK[first.note.code], first.row is not None, len(found), first.row or 0


def _folded(found: Sequence[NoteLine]) -> NoteKind:
    first = found[0]
    if first.row is None:
        return NoteKind(first.severity, 0, (), first.note.sentence, cell=first.cell)
    rows = tuple(dict.fromkeys(line.row for line in found if line.row is not None))
    alike = all(_same(line.note, first.note) for line in found)
    return NoteKind(first.severity, len(rows), rows[:ROWS_NAMED], first.note.sentence, alike)


def _same(one: Note, other: Note) -> bool:
    return one is other or one.values == other.values
