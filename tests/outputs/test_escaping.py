"""Texts of users in spreadsheets, HTML, scripts, XML and calendars."""

from __future__ import annotations

import csv
import html
import io
import json
from xml.etree import ElementTree

import icalendar
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.outputs.escaping import (
    CsvWriter,
    for_calendar,
    for_html,
    for_script,
    for_utf8,
    for_xml,
    harmless_cell,
    harmless_column,
)

#: Plain ASCII marks, full-width and small ones: a formula in some spreadsheet.
MARKS = "=+-@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b"
#: What a spreadsheet may drop before a mark.
DROPPED = ("", " ", "\u3000", "\xa0", "\ufeff", "\u200b", "\u202e", "\x00", "\x1f", " \ufeff")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("=cmd('calc')", "'=cmd('calc')"),
        ("@sum", "'@sum"),
        ("\tx", "'\tx"),
        ("\nx", "'\nx"),
        ("-5.5", "-5.5"),
        ("+1e3", "+1e3"),
        ("-north", "'-north"),
        ("-inf", "'-inf"),
        ("-5.5\n", "'-5.5\n"),
        ("plain", "plain"),
        ("a=b", "a=b"),
        (" north", " north"),
        ("", ""),
    ],
)
def test_no_formula_runs(text: str, expected: str) -> None:
    assert harmless_cell(text) == expected
    assert harmless_column(pa.array([text, "x", None])).to_pylist() == [expected, "x", None]


@pytest.mark.parametrize("mark", MARKS)
@pytest.mark.parametrize("before", DROPPED)
def test_every_mark_is_one_whatever_stands_before(mark: str, before: str) -> None:
    text = f"{before}{mark}cmd()"
    assert harmless_cell(text) == "'" + text
    assert harmless_column(pa.array([text])).to_pylist() == ["'" + text]


@pytest.mark.parametrize("value", [None, 7, -7, -5.5, True])
def test_what_is_no_text_stays(value: object) -> None:
    assert harmless_cell(value) is value
    assert harmless_column(pa.array([value])).to_pylist() == [value]


@given(st.text(st.one_of(st.characters(exclude_categories=["Cs"]), st.sampled_from(MARKS + " 1."))))
def test_a_spreadsheet_sees_no_formula(text: str) -> None:
    safe = harmless_cell(text)
    assert safe in (text, "'" + text)
    if safe.startswith((*MARKS, "\t", "\r", "\n")):
        float(safe)  # a plain number
    assert harmless_column(pa.array([text], pa.string())).to_pylist() == [safe]


@pytest.mark.parametrize("kind", [pa.string(), pa.large_string()])
def test_texts_of_any_kind_of_column(kind: pa.DataType) -> None:
    assert harmless_column(pa.array(["=1", "-1"], kind)).to_pylist() == ["'=1", "-1"]


def test_rows_of_headings_and_values() -> None:
    file = io.StringIO()
    writer = CsvWriter(file)
    writer.writerow(["id", "=cmd()", "\uff1dcmd()"])
    writer.writerows([["-1", "+x", None], ["a", 7, -7]])
    expected = [["id", "'=cmd()", "'\uff1dcmd()"], ["-1", "'+x", ""], ["a", "7", "-7"]]
    assert list(csv.reader(io.StringIO(file.getvalue(), newline=""))) == expected


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
    CsvWriter(file).writerow(["=1+1\n2"])
    assert next(csv.reader(io.StringIO(file.getvalue(), newline=""))) == ["'=1+1\n2"]
