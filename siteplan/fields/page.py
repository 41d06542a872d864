"""The dictionary as tables of text: what ``siteplan fields`` prints, and the page beside this."""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple

from siteplan.fields import (
    ASBUILT_FIELDS,
    CATALOGUE_MARGIN,
    COLUMNS,
    COMPARE_FIELDS,
    FIELDS,
    FLAGS,
    GLOSSARY,
    METHODS,
    Column,
    Field,
    catalogue_margin_name,
)
from siteplan.words import markdown_table

#: Where the page stands in the source tree.
README: Final = Path(__file__).with_name("README.md")


class Listing(NamedTuple):
    """A titled table of text."""

    title: str
    headings: tuple[str, ...]
    rows: list[tuple[str, ...]]


def result_fields() -> Listing:
    """Return the plan's result fields; one antenna stands for the catalogue."""
    rows = [_field_row(field) for field in FIELDS.values()]
    name = f"{catalogue_margin_name(1.2)} and so on"
    rows.append(_field_row(CATALOGUE_MARGIN._replace(name=name)))
    return Listing("Result fields", ("Field", "Unit", "Meaning", "Source"), rows)


def asbuilt_fields() -> Listing:
    """Return the fields of what came back from the sites that a plan has not."""
    rows = [_field_row(field) for name, field in ASBUILT_FIELDS.items() if name not in FIELDS]
    return Listing("As built", ("Field", "Unit", "Meaning", "Source"), rows)


def compare_fields() -> Listing:
    """Return the fields that a comparison of satellites adds on its map."""
    rows = [_field_row(field) for field in COMPARE_FIELDS.values()]
    return Listing("Satellites compared", ("Field", "Unit", "Meaning", "Source"), rows)


def _field_row(field: Field) -> tuple[str, ...]:
    return field.name, field.unit, field.meaning, field.source


def flags() -> Listing:
    """Return the flags, the worst first."""
    rows: list[tuple[str, ...]] = [(f.code, f.severity, f.meaning) for f in FLAGS.values()]
    return Listing("Flags", ("Code", "Severity", "Meaning"), rows)


def columns(table: str) -> Listing:
    """Return the columns of a table that people hand us, such as ``sites``."""
    rows = [_column_row(column) for column in COLUMNS[table].values()]
    headings = "Column", "Unit", "Values", "What cannot be used", "Meaning"
    return Listing(f"{table}.csv", headings, rows)


def _column_row(column: Column) -> tuple[str, ...]:
    left_out = "is left out, with a note"
    refused = {
        "row": "rejects the row",
        "value": left_out,
        "unread": f"{left_out}; no number: rejects the row",
        "": "",
    }
    values = column.span or ", ".join(column.choices) or column.kind
    return column.name, column.unit, values, refused[column.refuses], column.meaning


def methods() -> Listing:
    """Return the methods with the editions that they follow."""
    rows = [(m.key, m.edition, m.module) for m in METHODS.values()]
    return Listing("Methods", ("Method", "Edition", "Module"), list(rows))


def glossary() -> Listing:
    """Return the words for limits and reserves."""
    rows = [(t.word, t.meaning, ", ".join(t.instead_of)) for t in GLOSSARY]
    return Listing("Words for limits and reserves", ("Word", "What it says", "Never"), list(rows))


def dictionary() -> tuple[Listing, Listing]:
    """Return result fields and flags: what every output is made of."""
    return result_fields(), flags()


def page() -> str:
    """Return the text of ``README.md``."""
    texts = [_HEAD]
    for listing, words in (
        (result_fields(), _FIELDS),
        (flags(), _FLAGS),
        (asbuilt_fields(), _ASBUILT),
        (compare_fields(), _COMPARE),
        (columns("sites"), _SITES),
        (columns("obstructions"), _OBSTRUCTIONS),
        (columns("returned"), _RETURNED),
        (columns("outages"), _OUTAGES),
        (methods(), _METHODS),
        (glossary(), _GLOSSARY),
    ):
        table = markdown_table(listing.headings, listing.rows)
        texts.append(f"## {listing.title}\n\n{words}\n\n{table}")
    return "\n\n".join(texts) + "\n"


_HEAD = """\
# The dictionary

Every result, flag and column that siteplan reads or writes, and the methods that it follows. The
tables are made from the CSV files in this folder by `python -m siteplan.fields`; change the CSV
files, not this page."""

_FIELDS = """\
Columns of `sites.csv` and of the other tables of a plan, fields of the map and lines of the sheets.
`siteplan fields` prints this table and the next. A value without an answer is blank, and so is all
that rests on kit at a site that gets none; margins and the like then hold for `tried_antenna_m`
with `tried_buc_w`."""

_FLAGS = """\
Codes in the field `flags`, the worst first. `stop`: the site cannot be served as planned; `warn`:
decide before going; `note`: know it."""

_ASBUILT = """\
What `siteplan asbuilt` adds of the sites that came back, beside the plan's fields."""

_COMPARE = """\
What `siteplan compare PROJECT --satellites FILE` adds on its map."""

_SITES = """\
The sites, in this and other kinds of file. Only `lat` and `lon` are needed; other common spellings
of the headings are understood, and columns that are not listed are kept, not used for planning."""

_OBSTRUCTIONS = """\
What stands around the sites, a row an obstacle: `azimuth_deg`, or `azimuth_from_deg` and
`azimuth_to_deg`; and `elevation_deg`, or `height_m` and `distance_m`."""

_RETURNED = """\
What the crew measured: the blank `returned_blank.csv` of the outputs, filled in. What was not
measured stays empty."""

_OUTAGES = """\
A log of outages for `siteplan availability`, a row an outage; only `site_id`, `from` and `to` must
have a column."""

_GLOSSARY = """\
One word for one thing, in sentences, labels, meanings, sheets, map and console; a test keeps the
words of the last column out of them."""

_METHODS = """\
The editions in use, as `summary.json` names them, and the module that holds each."""
