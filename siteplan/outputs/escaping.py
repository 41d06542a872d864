"""Texts of users made safe for where they land: one function for each kind of file.

Spreadsheets, HTML, scripts, XML (KML, GPX), calendars. Whoever writes a file asks here, so that
a new danger is met in one place.
"""

from __future__ import annotations

import html
import re
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

#: A text that starts like this can run as a formula in a spreadsheet.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
#: Characters that could end a script element, or a line of JavaScript, as JSON escapes.
_SCRIPT_ENDS = (
    (b"<", b"\\u003c"),
    (b">", b"\\u003e"),
    (b"&", b"\\u0026"),
    ("\u2028".encode(), b"\\u2028"),
    ("\u2029".encode(), b"\\u2029"),
)
#: Characters that XML 1.0 cannot carry (section 2.2, production 2).
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
#: What RFC 5545 gives a meaning of its own; the backslash first.
_CALENDAR_MARKS = (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n"))


def harmless(values: NDArray[Any]) -> NDArray[Any]:
    """Return texts that no spreadsheet takes for a formula: an apostrophe before the suspects.

    Texts that are plain numbers stay as they are.
    """
    return np.array([harmless_cell(v) for v in values] + [None], dtype=object)[:-1]


def harmless_cell(value: Any) -> Any:
    """Return one value that no spreadsheet takes for a formula; see :func:`harmless`."""
    if not isinstance(value, str) or not value.startswith(_FORMULA_STARTS):
        return value
    try:
        float(value)
    except ValueError:
        return "'" + value
    return value


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
    return escape(_NOT_XML.sub(" ", text))


def for_calendar(text: str) -> str:
    """Return text as RFC 5545, section 3.3.11, has it: no bare controls, commas, semicolons."""
    for raw, safe in _CALENDAR_MARKS:
        text = text.replace(raw, safe)
    return "".join(c if c >= " " and c != "\x7f" else " " for c in text)


def for_utf8(text: str) -> str:
    """Return text that UTF-8 can carry: a question mark for half a pair of surrogates."""
    return text.encode("utf-8", "replace").decode()
