"""What ``siteplan fields`` prints: the dictionaries of fields and flags, the network's keys."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.fields import FIELDS, FLAGS, catalogue_margin_name, lookup
from siteplan.outputs.console.terminal import console, row, table

#: Headings of the two dictionaries and of the network file's keys.
FIELD_HEADINGS = ("Field", "Unit", "Meaning", "Source")
FLAG_HEADINGS = ("Code", "Severity", "Meaning")
KEY_HEADINGS = ("Table", "Key", "Default", "Unit", "Range", "Meaning")


def field_rows() -> list[tuple[str, ...]]:
    """Return the dictionary of fields as rows of text."""
    rows: list[tuple[str, ...]] = [(f.name, f.unit, f.meaning, f.source) for f in FIELDS.values()]
    each = lookup(catalogue_margin_name(1.2))
    if each is not None:
        rows.append((f"{each.name} and so on", each.unit, each.meaning, each.source))
    return rows


def flag_rows() -> list[tuple[str, ...]]:
    """Return the dictionary of flags as rows of text."""
    return [(f.code, f.severity, f.meaning) for f in FLAGS.values()]


def show_rows(
    title: str, headings: Sequence[str], rows: Sequence[Sequence[str]], *, markdown: bool
) -> None:
    """Print rows of text as a table for the terminal, or in Markdown."""
    if markdown:
        print(markdown_table(headings, rows))
        return
    listed = table(title, headings)
    for cells in rows:
        row(listed, *cells)
    console().print(listed)


def markdown_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return rows of text as a Markdown table."""
    lines = [headings, ["---"] * len(headings), *rows]
    return "\n".join("| " + " | ".join(cell for cell in line) + " |" for line in lines)
