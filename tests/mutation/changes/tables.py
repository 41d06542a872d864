"""The places of tables (CSV) and of pages' templates (HTML) that can be changed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from tests.mutation.changes import siblings
from tests.mutation.changes.change import Place
from tests.mutation.changes.kinds import numbers_beside

_NUMBER = re.compile(r"(?<![\w.-])-?\d+(?:\.\d+)?(?![\w.])")
_GAP = re.compile(r"\{(\w+)[^{}]*\}")
_TAG = re.compile(r"\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)
_DOTTED = re.compile(r"(?<![\w.\"'])([a-z]\w*)\.(\w+)")
_SHOWN = re.compile(r"\{\{\s*(\w+)\s*\}\}")
_MARKUP = re.compile(r"<[^>]*>|\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)


class Cell(NamedTuple):
    """A cell of a CSV file: its bytes, quotes and all, its column and its line."""

    start: int
    end: int
    column: int
    line: int
    text: str


def cells(source: str) -> Iterator[Cell]:
    """Yield the cells of a CSV file, headings too."""
    start = column = 0
    line, quoted = 1, False
    for at, letter in enumerate(source + ("" if source.endswith("\n") else "\n")):
        quoted ^= letter == '"'
        if quoted or letter not in ",\n":
            continue
        yield Cell(start, at, column, line, source[start:at])
        start, column = at + 1, column + 1 if letter == "," else 0
        line += letter == "\n"


def table_places(source: bytes) -> list[Place]:
    """Return the places of a table: not its headings, and not its first column, the keys."""
    text = source.decode()
    body = [c for c in cells(text) if c.line > 1 and c.column > 0 and c.text.strip('" \r')]
    columns: dict[int, list[str]] = {}
    for cell in body:
        columns.setdefault(cell.column, []).append(cell.text)
    found = []
    for cell in body:
        alike = list(dict.fromkeys(columns[cell.column]))
        for kind, start, end, options in _in_cell(cell, alike):
            found.append(_place(text, kind, start, end, options, cell.line))
    return [place for place in found if place.options]


def _in_cell(cell: Cell, alike: list[str]) -> Iterator[tuple[str, int, int, list[str]]]:
    for number in _NUMBER.finditer(cell.text):
        start, end = (cell.start + at for at in number.span())
        value = float(number[0]) if "." in number[0] else int(number[0])
        yield "table number", start, end, [repr(other) for other in numbers_beside(value)]
    yield "table sibling", cell.start, cell.end, list(siblings.of_text(cell.text))
    gaps = list(_GAP.finditer(cell.text))
    for gap in gaps:
        start, end = (cell.start + at for at in gap.span(1))
        yield "table gap", start, end, [other[1] for other in gaps if other[1] != gap[1]]
    if len(alike) <= 12:
        yield "table word", cell.start, cell.end, [other for other in alike if other != cell.text]


def template_places(source: bytes) -> list[Place]:
    """Return the places of a template: names for their siblings, words for theirs."""
    text = source.decode()
    found = []
    names: dict[str, list[str]] = {}
    dotted = [(tag.start(), m) for tag in _TAG.finditer(text) for m in _DOTTED.finditer(tag[0])]
    for _, match in dotted:
        names.setdefault(match[1], []).append(match[2])
    for start, match in dotted:
        others = [n for n in dict.fromkeys(names[match[1]]) if n != match[2]]
        first, last = (start + at for at in match.span(2))
        found.append(_place(text, "template name", first, last, others))
    alone = list(_SHOWN.finditer(text))
    for match in alone:
        others = [m[1] for m in alone if m[1] != match[1]]
        found.append(_place(text, "template name", *match.span(1), others))
    found += [_place(text, "template word", a, b, others) for a, b, others in _words(text)]
    return [place for place in found if place.options]


def _words(text: str) -> Iterator[tuple[int, int, list[str]]]:
    """Yield the texts between tags, and the same with a word taken from its sibling."""
    last = 0
    for markup in (*_MARKUP.finditer(text), None):
        end = markup.start() if markup else len(text)
        yield last, end, list(siblings.of_text(text[last:end]))
        last = markup.end() if markup else end


def _place(
    text: str, kind: str, start: int, end: int, options: list[str], line: int | None = None
) -> Place:
    """Return a place; characters become bytes."""
    line = text.count("\n", 0, start) + 1 if line is None else line
    first, last = (len(text[:at].encode()) for at in (start, end))
    told = tuple(dict.fromkeys(other.encode() for other in options))
    return Place(kind, first, last, told, (line, line), at_import=True)
