"""Texts of users made safe for where they land: one function for each kind of file.

Spreadsheets, HTML, scripts, XML (KML, GPX), calendars, labels of metrics. Whoever writes a
file asks here, so that a new danger is met in one place.
"""

from __future__ import annotations

import csv
import html
import re
from collections.abc import Iterable
from typing import IO, TYPE_CHECKING, Any

from siteplan.words import printable

if TYPE_CHECKING:
    import pyarrow as pa

#: What begins a formula: the marks, full-width and small ones too, which some spreadsheets read as
#: the plain ones.
_MARKS = "=+@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b-"
#: What a spreadsheet may drop before it: spaces, controls, and letters without width.
_DROPPED = (
    "\x01-\x20\x7f-\xa0\xad\u061c\u1680\u180e\u2000-\u200f\u2028-\u202f\u205f-\u206f\u3000\ufeff"
)
#: A text that starts like this can run as a formula. The same in Python's patterns and Arrow's.
_FORMULA = f"^(?:[\t\n\r]|[\x00{_DROPPED}]*[{_MARKS}])"
#: A plain number: it may have a sign.
_NUMBER = r"^[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?$"
_IS_FORMULA, _IS_NUMBER = re.compile(_FORMULA), re.compile(_NUMBER.replace("$", r"\Z"))
#: Characters that could end a script element, or a line of JavaScript, as JSON escapes.
_SCRIPT_ENDS = (
    (b"<", b"\\u003c"),
    (b">", b"\\u003e"),
    (b"&", b"\\u0026"),
    ("\u2028".encode(), b"\\u2028"),
    ("\u2029".encode(), b"\\u2029"),
)
#: Characters that a cell of a workbook holds at most.
_LONGEST_CELL = 32_767
#: Characters that XML 1.0 cannot carry (section 2.2, production 2): those that it does not list,
#: as a pattern of all that it lists takes ten times as long to make.
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
#: Characters that no line of a calendar carries.
_CONTROLS = re.compile("[\x00-\x1f\x7f]")
#: What RFC 5545 gives a meaning of its own; the backslash first.
_CALENDAR_MARKS = (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n"))
#: What OpenMetrics 1.0 gives a meaning of its own in a label; the backslash first.
_LABEL_MARKS = (("\\", "\\\\"), ('"', '\\"'), ("\n", "\\n"), ("\r", " "))


def harmless_cell(value: Any) -> Any:
    """Return a value that no spreadsheet takes for a formula: an apostrophe before the suspects.

    Texts that are plain numbers stay as they are, and so does what is no text.
    """
    if not isinstance(value, str) or not _IS_FORMULA.match(value) or _IS_NUMBER.match(value):
        return value
    return "'" + value


def is_formula(text: str) -> bool:
    """Whether a spreadsheet may take a text for a formula."""
    return bool(_IS_FORMULA.match(text)) and not _IS_NUMBER.match(text)


def as_given(cell: str) -> str:
    """Return the text that `harmless_cell` made a cell of."""
    return cell[1:] if cell.startswith("'") and harmless_cell(cell[1:]) == cell else cell


def for_workbook(text: str) -> str:
    """Return a text that a cell of a workbook can hold: no controls, not too long."""
    shown = printable(text)
    return shown if len(shown) <= _LONGEST_CELL else f"{shown[: _LONGEST_CELL - 1]}…"


def harmless_column(column: pa.Array) -> pa.Array:
    """Return an Arrow column whose texts no spreadsheet takes for a formula; others stay."""
    import pyarrow as pa
    import pyarrow.compute as pc

    kind = column.type
    if not (pa.types.is_string(kind) or pa.types.is_large_string(kind)):
        return column
    suspect = pc.match_substring_regex(column, _FORMULA)
    if not pc.any(suspect).as_py():
        return column
    number = pc.match_substring_regex(column, _NUMBER)
    marked = pc.binary_join_element_wise(pa.scalar("'", kind), column, pa.scalar("", kind))
    return pc.if_else(pc.and_not(suspect, number), marked, column)


class CsvWriter:
    """Writes rows as CSV, headings and values alike so that no spreadsheet runs any of them."""

    def __init__(self, file: IO[str]) -> None:
        self._writer = csv.writer(file)

    def writerow(self, row: Iterable[Any]) -> None:
        """Write one row."""
        self._writer.writerow(_harmless(row))

    def writerows(self, rows: Iterable[Iterable[Any]]) -> None:
        """Write rows, one at a time."""
        self._writer.writerows(map(_harmless, rows))


def _harmless(row: Iterable[Any]) -> list[Any]:
    # Most cells are plain texts: they are told by one look, without a call.
    suspect = _IS_FORMULA.match
    return [v if type(v) is str and not suspect(v) else harmless_cell(v) for v in row]


def for_html(text: str) -> str:
    """Return text for HTML and SVG, quotes too, so that it may stand in an attribute."""
    return html.escape(text)


def for_script(json: bytes) -> str:
    """Return JSON with the characters that HTML or JavaScript could take for an end."""
    for raw, safe in _SCRIPT_ENDS:
        json = json.replace(raw, safe)
    return json.decode()


def for_xml(text: str) -> str:
    """Return text that XML carries: escaped, without the characters that it has no place for."""
    return html.escape(_NOT_XML.sub(" ", text), quote=False)


def for_calendar(text: str) -> str:
    """Return text as RFC 5545, section 3.3.11, has it: no bare controls, commas, semicolons."""
    for raw, safe in _CALENDAR_MARKS:
        text = text.replace(raw, safe)
    return _CONTROLS.sub(" ", text)


def for_openmetrics(text: str) -> str:
    """Return text for a label of OpenMetrics: its marks escaped, on one line."""
    for raw, safe in _LABEL_MARKS:
        text = text.replace(raw, safe)
    return for_utf8(text)


def for_utf8(text: str) -> str:
    """Return text that UTF-8 can carry: a question mark for half a pair of surrogates."""
    return text if text.isascii() else text.encode("utf-8", "replace").decode()
