"""project.xlsx: a project in one workbook, for who would rather fill in cells than write TOML.

Sheets and columns are made from the types of network.toml and from ``fields/columns.csv``: a key
or a column that is new there stands here by itself.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any

from siteplan.fields import COLUMNS
from siteplan.fields import Column as Known
from siteplan.frozen import frozen
from siteplan.network.reference import (
    ABOUT_SHEET,
    NETWORK_SHEET,
    OBSTRUCTIONS_SHEET,
    SITES_SHEET,
    KeyRow,
    choices_of,
    is_list_table,
    key_rows,
    limits_of,
    list_sheets,
    table_types,
    toml_text,
)
from siteplan.outputs.workbook.book import (
    DATE,
    GENERAL,
    TEXT,
    Column,
    Page,
    Styled,
    letters,
    write_book,
)

#: Lines below those in use that a sheet's lists and hints reach to.
_SPARE = 200
#: Whole numbers of so many digits are rather telephone numbers or codes: they stay text.
_LONGEST_NUMBER = 7
_ABOUT = (
    "This workbook is a whole project: siteplan plan takes its folder, or the file itself.",
    "Sites: a row a site; only lat and lon are needed, and columns of your own are kept.",
    "Network: write into the column Value; an empty cell takes the default, and the plan says so.",
    "Antennas, BUCs and the other lists: a row each; an empty sheet takes the default list.",
    "Obstructions: what stands around the sites; an empty sheet says that nothing is known.",
    "Lists of several values stand in one cell, parted by semicolons: 0; 1; 3; 6.",
    "Parts of a mask stand in one cell too, bars between them: 1.5; 7; 15; 25 | 7; 9.2; -6; 0.",
    'Two quotes "" give an empty text where a key asks for one.',
    "Further sheets of yours are not read; the sheets of this workbook must not be hidden.",
)


@frozen
class Rows:
    """The rows of a table as they are given: headings, and cells by the row that they stand in.

    ``rows`` holds pairs of a row's number, as a spreadsheet counts (the headings are row 1), and
    its cells.
    """

    headings: Sequence[str]
    rows: Sequence[tuple[int, Sequence[Any]]] = field(default=())


def write_project(path: Path, sites: Rows, network: Mapping[str, Any], around: Rows) -> None:
    """Write a project as a workbook.

    Parameters
    ----------
    path : Path
    sites, around : Rows
        The sites, and the obstructions.
    network : mapping
        Tables as network.toml has them: keys that it gives, and no others.
    """
    pages = [
        _table_page(SITES_SHEET, "sites", sites),
        _network_page(network),
        *(_list_page(sheet, table, network) for sheet, table in list_sheets().items()),
        _table_page(OBSTRUCTIONS_SHEET, "obstructions", around),
        Page(
            ABOUT_SHEET,
            (Column("", 100, TEXT, wrap=True),),
            [(line,) for line in _ABOUT],
            heads=False,
        ),
    ]
    write_book(path, pages, title=str(network.get("network", {}).get("name", "")))


def empty_rows(table: str) -> Rows:
    """Return the headings of a table that people hand us, without rows."""
    return Rows(tuple(COLUMNS[table]))


# --- tables of rows -------------------------------------------------------------------------


def _table_page(sheet: str, table: str, given: Rows) -> Page:
    known = COLUMNS[table]
    columns = [_column(heading, known.get(heading)) for heading in given.headings]
    last = max([1, *(number for number, _ in given.rows)]) + _SPARE
    checks = [
        (f"{letters(at)}2:{letters(at)}{last}", column)
        for at, column in enumerate(columns, 1)
        if column.note
    ]
    typed = [[_typed(cell, column) for cell, column in zip(cells, columns, strict=False)]
             for _, cells in given.rows]  # fmt: skip
    placed = _placed([number for number, _ in given.rows], typed)
    return Page(sheet, columns, placed, frozen=1, checks=checks, filters=False)


def _column(heading: str, known: Known | None) -> Column:
    """Return a column of a table; one that is not ours holds text, but for figures."""
    width = max(12, min(len(heading) + 3, 30))
    if known is None:
        return Column(heading, width, TEXT)
    rule = f" ({known.span}{f' {known.unit}' if known.unit else ''})" if known.span else ""
    limits = (known.lowest, known.highest) if known.kind == "number" else None
    if heading in ("lat", "lon"):
        limits = None  # degrees, minutes and seconds are read too
    form = GENERAL if known.kind == "number" else TEXT
    return Column(
        heading, width, form, note=f"{known.meaning}{rule}", words=known.choices, limits=limits
    )


def _placed(numbers: Sequence[int], rows: Sequence[Sequence[Any]]) -> Iterator[Sequence[Any]]:
    """Yield rows so that each stands where it stood, with blank ones between them."""
    at = 1
    for number, row in zip(numbers, rows, strict=True):
        for _ in range(number - at - 1):
            yield ()
        at = number
        yield row


def _typed(cell: Any, column: Column) -> Any:
    """Return a cell as a number where nothing is lost by it: ids and telephones stay text."""
    if not isinstance(cell, str):
        return None if cell is None or cell != cell else cell  # noqa: PLR0124
    text = cell.strip()
    if not text:
        return None
    number = _plain_number(text)
    if number is None or (column.form == TEXT and column.note):
        return cell
    free = column.form == TEXT
    exact = text == (str(int(number)) if number.is_integer() else repr(number))
    digits = sum(character.isdigit() for character in text)
    if free and (not exact or ("." not in text and digits >= _LONGEST_NUMBER)):
        return cell
    return Styled(_short(number), form=GENERAL)


def _plain_number(text: str) -> float | None:
    """Return the number that a text plainly is, of no more digits than a spreadsheet keeps."""
    bare = text.removeprefix("-")
    whole, _, part = bare.partition(".")
    plain = bare.isascii() and whole.isdigit() and (part.isdigit() or "." not in bare)
    return float(text) if plain and len(whole + part) <= 15 else None


# --- keys -----------------------------------------------------------------------------------


def _network_page(network: Mapping[str, Any]) -> Page:
    columns = (
        Column("Key", 32, TEXT, fill="fixed"),
        Column("Value", 24, fill="give"),
        Column("Unit", 10, TEXT, fill="fixed"),
        Column("Default", 20, TEXT, fill="fixed"),
        Column("Range", 34, TEXT, wrap=True, fill="fixed"),
        Column("Meaning", 70, TEXT, wrap=True, fill="fixed"),
    )
    rows = [row for table in table_types() if not is_list_table(table) for row in key_rows(table)]
    cells = [_key_cells(row, network.get(row.table, {}).get(row.key)) for row in rows]
    checks = [(f"B{at}", _key_column(row)) for at, row in enumerate(rows, 2)]
    return Page(NETWORK_SHEET, columns, cells, frozen=1, checks=checks)


def _key_cells(row: KeyRow, value: Any) -> tuple[Any, ...]:
    default = "must be given" if row.required else _unquoted(row.default)
    return (
        f"{row.table}.{row.key}",
        _given(row, value),
        row.unit,
        default,
        _unquoted(row.range),
        row.meaning,
    )


def _unquoted(text: str) -> str:
    """Return TOML's text of a value or a range as a spreadsheet's reader would write it."""
    bare = text.replace('"', "")
    if bare.startswith("["):
        return "; ".join(part.strip() for part in bare.strip("[]").split(","))
    return bare


def _given(row: KeyRow, value: Any) -> Any:
    """Return a key's value as its cell holds it, with the look of the key's kind."""
    form = {"text": TEXT, "date": DATE}.get(row.kind, GENERAL)
    if value is None:
        return Styled(None, form=form)
    if row.kind == "segments":
        return Styled(" | ".join(map(_joined, value)), form=TEXT)
    if row.kind == "keys":
        return Styled(toml_text(value), form=TEXT)
    if isinstance(value, list | tuple):
        return Styled(_joined(value) or "[]", form=TEXT)
    if isinstance(value, dt.date):
        return Styled(value, form=DATE)
    return Styled('""' if value == "" else _short(value), form=form)


def _joined(values: Iterable[Any]) -> str:
    return "; ".join(str(_short(part)) for part in values)


def _short(value: Any) -> Any:
    """Return a number without a fraction that it has not."""
    whole = isinstance(value, float) and value.is_integer() and abs(value) < 1e15
    return int(value) if whole else value


def _key_column(row: KeyRow) -> Column:
    """Return what a spreadsheet says and checks of a key."""
    rule = f"{_unquoted(row.range)} {row.unit}".strip()
    default = f" Default: {_unquoted(row.default)}." if row.default not in ("", '""') else ""
    limits = limits_of(row.table, row.key) if row.kind == "number" else None
    return Column(
        row.key,
        max(12, len(row.key) + 3),
        TEXT if row.kind == "text" else GENERAL,
        note=f"{row.meaning} ({rule}).{default}",
        words=choices_of(row.table, row.key),
        limits=limits,
    )


def _list_page(sheet: str, table: str, network: Mapping[str, Any]) -> Page:
    rows = key_rows(table)
    columns = [_key_column(row) for row in rows]
    entries: Iterable[Mapping[str, Any]] = network.get(table, ())
    cells = [[_given(row, entry.get(row.key)) for row in rows] for entry in entries]
    last = len(cells) + 1 + _SPARE
    checks = [
        (f"{letters(at)}2:{letters(at)}{last}", column) for at, column in enumerate(columns, 1)
    ]
    return Page(sheet, columns, cells, frozen=1, checks=checks, filters=False)
