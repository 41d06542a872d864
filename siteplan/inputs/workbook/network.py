"""The sheets of keys of a project's workbook: Network, and one for each list of network.toml.

They become the tables that network.toml would have, which one function checks; its messages are
told of the cell.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from siteplan.errors import NetworkError
from siteplan.inputs.network.read import network_from_mapping
from siteplan.inputs.workbook.book import Sheet, own_sheets, read_sheets
from siteplan.inputs.workbook.values import ERRORS, is_blank, value_of
from siteplan.model import Note
from siteplan.network import Network
from siteplan.network.reference import (
    NETWORK_SHEET,
    KeyRow,
    is_list_table,
    key_rows,
    list_sheets,
    table_keys,
    table_types,
)

#: Lines among which the headings of a sheet are looked for.
_HEADING_LINES = 20
#: Where sentences speak of TOML: what a spreadsheet has in its place.
WORDING = (
    ("Write the number without quotes, with a point.", "Write it as a number, not as text."),
    ("Write a plain number without quotes and unit.", "Write a plain number without its unit."),
    (": east and north positive, no quotes.", ": east and north positive."),
    ("must be text between quotes, such as", "must be text, such as"),
    ("must be true or false, without quotes.", "must be true or false."),
    ("such as [0, 1, 3, 6].", "such as 0; 1; 3; 6."),
    ("such as [[1.5, 7, 15, 25], [7, 9.2, -6, 0]].", "such as 1.5; 7; 15; 25 | 7; 9.2; -6; 0."),
    ('such as ["47cfr25_ku"].', "such as 47cfr25_ku; s524_9."),
    ("Write year-month-day without quotes: 2026-03-31.", "Write year-month-day: 2026-03-31."),
    ("Give a number, or take the line out.", "Give a number, or empty the cell."),
)
_PLACE = re.compile(r"\[(?P<table>\w+)\]|\[\[(?P<list>\w+)\]\] no\. (?P<number>\d+)")
_DOTTED = re.compile(r"\[*(?P<table>\w+)\]*(?:\s*\.\s*|\s+)(?P<key>[\w-]+)")

#: A key of a table, or of the entry of a list that counts from 1 (0: the table is no list).
Place = tuple[str, int, str]


@dataclass
class Gathered:
    """What the sheets of keys give: tables, where each key stands, what is wrong, what was mended.

    ``problems`` are sentences, ``placed`` says where those stand that name no key.
    """

    source: str
    mapping: dict[str, Any] = field(default_factory=dict)
    cells: dict[Place, str] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    placed: dict[str, str] = field(default_factory=dict)
    mended: list[Note] = field(default_factory=list)

    def problem(self, cell: str, sentence: str) -> None:
        """Add what is wrong with a cell."""
        self.problems.append(sentence)
        self.placed[sentence] = cell

    def told(self, problem: str) -> tuple[str, str]:
        """Return where a problem is, and its sentence in a spreadsheet's words."""
        for toml, here in WORDING:
            problem = problem.replace(toml, here)
        cell = self.placed.get(problem) or self.cell_of(problem)
        return ", ".join(filter(None, (self.source, cell))), problem

    def cell_of(self, text: str) -> str:
        """Return the cell that a text such as ``[hub] lat = 95`` speaks of, else its sheet."""
        found = _PLACE.search(text)
        table = next((t for t in table_types() if text.startswith(f"{t}:")), "")
        number = 0
        if found:
            table, number = found["table"] or found["list"], int(found["number"] or 0)
        words = re.findall(r"\w+", text[found.end() :] if found else text)
        for word in words:
            if cell := self.cells.get((table, number, word)):
                return cell
        sheets = {listed: sheet for sheet, listed in list_sheets().items()}
        return self.cells.get((table, number, "")) or sheets.get(table, NETWORK_SHEET)


def network_of_book(path: Path) -> Network:
    """Read and check the network that a workbook holds.

    Raises
    ------
    NetworkError
        No sheet of that name, or wrong keys: all of them, one a line, each with its cell.
    ProjectError
        The file is no workbook.
    """
    found = gathered(path)
    return network_from_mapping(found.mapping, found=found.problems, told=found.told)


def gathered(path: Path) -> Gathered:
    """Return what the sheets of keys of a workbook give, unchecked.

    Raises
    ------
    NetworkError
        It has no sheet Network.
    ProjectError
        The file is no workbook.
    """
    own = own_sheets(path)
    if NETWORK_SHEET not in own:
        raise NetworkError(
            f"there is no sheet {NETWORK_SHEET}.",
            where=path.name,
            fix="'siteplan new DIR --workbook' makes a workbook to fill in.",
        )
    lists = {own[name]: table for name, table in list_sheets().items() if name in own}
    sheets = read_sheets(path, lambda name: name in (own[NETWORK_SHEET], *lists))
    found = Gathered(path.name)
    for name, sheet in sheets.items():
        if name in lists:
            _read_list(sheet, lists[name], found)
        else:
            _read_keys(sheet, found)
    return found


# --- the sheet of keys and values -----------------------------------------------------------


def _read_keys(sheet: Sheet, found: Gathered) -> None:
    start, key_at, value_at = _key_columns(sheet.rows)
    section, given = "", dict[Place, str]()
    for at, row in enumerate(sheet.rows[start:], start):
        name, value = _at(row, key_at), _at(row, value_at)
        cell = sheet.cell(at, value_at)
        if is_blank(name):
            if not is_blank(value):
                found.problem(cell, "a value stands there without a key. Write its key before it.")
            continue
        table = str(name).strip().strip("[]").lower()
        if table in table_types() and is_blank(value):
            section = table
            continue
        place = _place(str(name), section)
        if isinstance(place, str):
            if not is_blank(value):
                found.problem(sheet.cell(at, key_at), place)
            continue
        known = place[2] in (table_keys(place[0]) if place[0] in table_types() else ())
        # What is wrong with a key itself is told of the key.
        found.cells.setdefault(place, cell if known else sheet.cell(at, key_at))
        if is_blank(value):
            continue
        if place in given:
            told = f"{place[0]}.{place[2]} is given twice, in {given[place]} too. Keep one."
            found.problem(cell, told)
            continue
        given[place] = found.cells[place] = cell if known else sheet.cell(at, key_at)
        found.cells.setdefault((place[0], 0, ""), sheet.cell(at, key_at))
        _take(found, found.mapping.setdefault(place[0], {}), place, value)


def _key_columns(rows: Sequence[Sequence[Any]]) -> tuple[int, int, int]:
    """Return where the keys begin, and the columns of keys and values."""
    for at, row in enumerate(rows[:_HEADING_LINES]):
        words = [str(cell).strip().casefold() if cell is not None else "" for cell in row]
        if "key" in words and "value" in words:
            return at + 1, words.index("key"), words.index("value")
    return 0, 0, 1


def _place(name: str, section: str) -> Place | str:
    """Return the table and key that a cell names, else what is wrong with it."""
    text = name.strip()
    dotted = _DOTTED.fullmatch(text)
    if dotted:
        table, key = dotted["table"].lower(), dotted["key"].lower().replace("-", "_")
        if is_list_table(table):
            sheet = next(s for s, listed in list_sheets().items() if listed == table)
            return f"{text} does not stand here. Write it on the sheet {sheet}, a row each."
        return table, 0, key
    key = text.lower().replace("-", "_")
    single = [table for table in table_types() if not is_list_table(table)]
    homes = [table for table in single if key in table_keys(table)]
    if section in homes:
        return section, 0, key
    if len(homes) == 1:
        return homes[0], 0, key
    if homes:
        ways = " or ".join(f"{table}.{key}" for table in homes)
        return f"{text} is a key of several tables. Write {ways}."
    known = {k: f"{table}.{k}" for table in single for k in table_keys(table)}
    near = difflib.get_close_matches(key, known, 1, 0.6)
    hint = f"Did you mean {known[near[0]]}?" if near else "Write it as table.key, such as hub.lat."
    return f"{text} is an unknown key. {hint}"


# --- the sheets of lists --------------------------------------------------------------------


def _read_list(sheet: Sheet, table: str, found: Gathered) -> None:
    filled = [at for at, row in enumerate(sheet.rows) if not all(map(is_blank, row))]
    if not filled:
        return
    head = _list_heading(sheet.rows, table)
    if head is None:
        keys = ", ".join(table_keys(table))
        cell = sheet.cell(filled[0], 0)
        found.problem(cell, f"there is no line of headings. The columns may be: {keys}.")
        return
    headings = [_heading(cell) for cell in sheet.rows[head]]
    entries: list[dict[str, Any]] = []
    for at in (line for line in filled if line > head):
        row, number = sheet.rows[at], len(entries) + 1
        entry: dict[str, Any] = {}
        for column, key in enumerate(headings):
            known = key in table_keys(table)
            cell = sheet.cell(at if known else head, column)
            if key:
                found.cells[table, number, key] = cell
            if not is_blank(_at(row, column)):
                _take(found, entry, (table, number, key), row[column])
        for column in range(len(row)):
            if not is_blank(row[column]) and not (column < len(headings) and headings[column]):
                found.problem(sheet.cell(at, column), "a value stands there without a heading.")
        found.cells[table, number, ""] = sheet.cell(at, 0)
        entries.append(entry)
    if entries:
        found.mapping[table] = entries


def _list_heading(rows: Sequence[Sequence[Any]], table: str) -> int | None:
    """Return the first line that names a key of the table."""
    keys = set(table_keys(table))
    lines = enumerate(rows[:_HEADING_LINES])
    return next((at for at, row in lines if keys & {_heading(cell) for cell in row}), None)


def _heading(cell: Any) -> str:
    """Return a heading as a key is written."""
    return re.sub(r"[^\w]+", "_", str(cell).strip().lower()).strip("_") if cell is not None else ""


# --- a cell ---------------------------------------------------------------------------------


def _at(row: Sequence[Any], column: int) -> Any:
    return row[column] if column < len(row) else None


def _take(found: Gathered, keys: dict[str, Any], place: Place, cell: Any) -> None:
    """Put a cell's value under its key, and note what was mended."""
    table, _, key = place
    where = found.cells.get(place, "")
    if not key:
        return
    if isinstance(cell, str) and cell.strip() in ERRORS:
        found.problem(where, f"the cell holds the error {cell.strip()}. Mend its formula.")
        return
    row = _row(table, key)
    if row is None:
        keys[key] = cell
        return
    read = value_of(row, cell)
    keys[key] = read.value
    if read.mended:
        told = Note.of("note.input_mended.cell_as_number", cell=where, text=cell, value=read.value)
        found.mended.append(told)


def _row(table: str, key: str) -> KeyRow | None:
    """Return what is known of a key; None for an unknown one."""
    if table not in table_types():
        return None
    return next((row for row in key_rows(table) if row.key == key), None)
