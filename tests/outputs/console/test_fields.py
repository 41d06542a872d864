"""The page of ``siteplan fields``."""

from __future__ import annotations

import pytest

from siteplan.fields import FIELDS, FLAGS
from siteplan.outputs import console


def test_every_field_and_flag_has_a_row() -> None:
    names = [row[0] for row in console.field_rows()]
    assert names[: len(FIELDS)] == list(FIELDS)
    assert names[len(FIELDS) :] == ["margin_1_2_m_db and so on"]
    assert [row[0] for row in console.flag_rows()] == list(FLAGS)
    assert {len(row) for row in console.field_rows()} == {len(console.FIELD_HEADINGS)}
    assert {len(row) for row in console.flag_rows()} == {len(console.FLAG_HEADINGS)}


def test_markdown() -> None:
    assert console.markdown_table(("A", "B"), [("1", "2")]) == "| A | B |\n| --- | --- |\n| 1 | 2 |"


@pytest.mark.parametrize("markdown", [True, False])
def test_rows_are_printed(markdown: bool, capsys: pytest.CaptureFixture[str]) -> None:
    console.show_rows("Flags", console.FLAG_HEADINGS, console.flag_rows(), markdown=markdown)
    told = capsys.readouterr().out
    assert all(code in told for code in FLAGS)
    assert told.startswith("| Code |") is markdown
