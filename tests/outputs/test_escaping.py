"""Texts of users in spreadsheets, HTML, scripts, XML and calendars."""

from __future__ import annotations

import csv
import html
import io
import json
from xml.etree import ElementTree

import icalendar
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.outputs.escaping import (
    for_calendar,
    for_html,
    for_script,
    for_utf8,
    for_xml,
    harmless,
    harmless_cell,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("=cmd('calc')", "'=cmd('calc')"),
        ("@sum", "'@sum"),
        ("\tx", "'\tx"),
        ("-5.5", "-5.5"),
        ("+1e3", "+1e3"),
        ("-north", "'-north"),
        ("plain", "plain"),
        ("", ""),
        (None, None),
        (7, 7),
    ],
)
def test_no_formula_runs(text: object, expected: object) -> None:
    assert harmless_cell(text) == expected
    assert harmless(np.array([text, "x"], dtype=object)).tolist() == [expected, "x"]


@given(st.text())
def test_a_spreadsheet_sees_no_formula(text: str) -> None:
    safe = harmless_cell(text)
    assert safe.removeprefix("'") == text.removeprefix("'")
    if safe.startswith(("=", "+", "-", "@", "\t", "\r")):
        float(safe)  # a plain number


@given(st.text())
def test_html_gives_the_text_back(text: str) -> None:
    safe = for_html(text)
    assert not set("<>\"'") & set(safe)
    assert html.unescape(safe) == text


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_a_script_gives_the_text_back(text: str) -> None:
    safe = for_script(json.dumps(text, ensure_ascii=False).encode())
    assert not set("<>&\u2028\u2029") & set(safe)
    assert json.loads(safe) == text


@given(st.text(st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\ufffe\uffff")))
def test_xml_gives_the_text_back(text: str) -> None:
    assert (ElementTree.fromstring(f"<a>{for_xml(text)}</a>").text or "") == text


def test_xml_has_no_place_for_some_characters() -> None:
    assert for_xml("a\x00b<&>\uffff") == "a b&lt;&amp;&gt; "


def test_a_calendar_gives_the_text_back() -> None:
    text = "North; south, \\ and\nanother line"
    safe = for_calendar(text)
    assert "\n" not in safe
    read = icalendar.Calendar.from_ical(f"BEGIN:VEVENT\r\nSUMMARY:{safe}\r\nEND:VEVENT\r\n")
    assert str(read["SUMMARY"]) == text
    assert for_calendar("a\x07b\x7f") == "a b "


def test_half_a_pair_of_surrogates_is_a_question_mark() -> None:
    assert for_utf8("a\ud800b") == "a?b"
    assert for_utf8("Ñ") == "Ñ"


def test_cells_stay_cells() -> None:
    file = io.StringIO()
    csv.writer(file).writerow([harmless_cell("=1+1\n2")])
    assert next(csv.reader(io.StringIO(file.getvalue(), newline=""))) == ["'=1+1\n2"]
