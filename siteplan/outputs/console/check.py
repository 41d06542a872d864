"""What ``siteplan check`` prints, and every command that reads sites: columns, rejects, notes."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.model import ColumnRead, NoteKind, NoteLine, Reject, RejectKind
from siteplan.outputs.console.terminal import ROWS_SHOWN, console, row, show_list, table

#: Letters of a heading, of an example and of a value that a list shows.
_HEADING, _EXAMPLE, _VALUE = 26, 24, 40
#: Kinds of notes that the page of a plan shows: it has more to tell.
KINDS_OF_A_PLAN = 8


def show_columns(columns: Sequence[ColumnRead], *, all_of_them: bool = False) -> None:
    """Print how each column was understood; what is known of one stands among the notes."""
    if not columns:
        return
    listed = table("Columns", ("Heading", "Taken as", "Values", "Blank", "Example"),
                   ("Values", "Blank"), whole=2)  # fmt: skip
    rows = [
        (
            _cut(column.heading, _HEADING),
            _taken(column),
            column.filled,
            column.blank,
            _cut(column.example, _EXAMPLE),
        )
        for column in columns
    ]
    show_list(listed, rows, most=len(columns) if all_of_them else ROWS_SHOWN)


def _taken(column: ColumnRead) -> str:
    if column.taken_as == "free" and column.likely:
        return f"not used: {column.likely}?"
    words = {"": "left out", "free": "kept, not used"}
    return words.get(column.taken_as, column.taken_as)


def _cut(text: str, most: int) -> str:
    """Return a text on one line, of at most so many letters."""
    plain = " ".join(text.split())
    return plain if len(plain) <= most else f"{plain[: most - 3]}..."


def show_rejects(rejects: Sequence[Reject], *, all_of_them: bool = False) -> None:
    """Print the rejected rows: what, why, and how to mend it."""
    if rejects:
        headings = ("Row", "Site", "Column", "Value", "Why and what to do")
        show_list(
            table("Rejected", headings, ("Row",)),
            [(r.cell or r.row, r.site_id, r.key, r.value[:_VALUE], r.advice) for r in rejects],
            most=len(rejects) if all_of_them else ROWS_SHOWN,
        )


def show_reject_kinds(kinds: Sequence[RejectKind]) -> None:
    """Print the rejected rows by reason, the first of each as the example."""
    if kinds:
        headings = ("Sites", "Rows", "Column", "Value", "Why and what to do")
        show_list(
            table("Rejected", headings, ("Sites",)),
            [
                (k.count, _cells(k), k.first.key, k.first.value[:_VALUE], k.first.advice)
                for k in kinds
            ],
        )


def show_kinds(kinds: Sequence[NoteKind], *, where: str, most: int = ROWS_SHOWN) -> None:
    """Print each kind of note once, the worst first; ``where`` tells where they all stand."""
    if not kinds:
        return
    listed = table("Kept, but mended or doubted", ("", "Sites", "Rows", "Note"), ("Sites",))
    rows = [(kind.severity, kind.count or "", _rows(kind), _told(kind)) for kind in kinds]
    show_list(listed, rows, most=most)
    if len(kinds) > most or any(kind.count > len(kind.rows) or not kind.alike for kind in kinds):
        console().print(f"Every one of them: {where}.")


def _rows(kind: NoteKind | RejectKind) -> str:
    """Return the rows that a kind names, and that there are more."""
    if not kind.count:
        return (kind.cell if isinstance(kind, NoteKind) else "") or "the file"
    named = ", ".join(str(number) for number in kind.rows)
    return named if kind.count <= len(kind.rows) else f"{named} ..."


def _cells(kind: RejectKind) -> str:
    """Return the rows of a kind of reject; of a workbook the first's cell, which says its sheet."""
    first = kind.first.cell
    return f"{first} ..." if first and kind.count > 1 else first or _rows(kind)


def _told(kind: NoteKind) -> str:
    """Return the sentence; where each row has its own, the first, with its row before it."""
    return kind.sentence if kind.alike else f"Row {kind.rows[0]}: {kind.sentence}"


def show_notes(lines: Sequence[NoteLine]) -> None:
    """Print every note: its severity, row, site and sentence."""
    if not lines:
        return
    listed = table("Kept, but mended or doubted", ("", "Row", "Site", "Note"), ("Row",))
    for line in lines:
        where = (line.cell or "file") if line.row is None else line.row
        row(listed, line.severity, where, line.site_id, line.note.sentence)
    console().print(listed)


def show_checked(name: str, *, rows_read: int, good: int, rejected: int, noted: int) -> None:
    """Print how many rows of a project's table can be planned."""
    console().print(
        f"{name}: {rows_read} rows read, {good} good, {rejected} rejected, {noted} with notes"
    )
