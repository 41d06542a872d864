"""The page of ``siteplan fields``."""

from __future__ import annotations

import pytest

from siteplan.fields import FIELDS, FLAGS
from siteplan.outputs import console


@pytest.mark.parametrize("markdown", [True, False])
def test_the_dictionary_is_printed(markdown: bool, capsys: pytest.CaptureFixture[str]) -> None:
    console.show_dictionary(markdown=markdown)
    told = capsys.readouterr().out
    words = told.replace("|", " ").split()
    assert [name for name in (*FIELDS, *FLAGS) if name not in words] == []
    assert "margin_1_2_m_db and so on" in told
    assert told.startswith("| Field |") is markdown


@pytest.mark.parametrize("markdown", [True, False])
def test_the_keys_of_the_network_are_printed(
    markdown: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    console.show_network_keys(markdown=markdown)
    told = capsys.readouterr().out
    assert "longitude_deg" in told
    assert told.startswith("| Table |") is markdown


def test_rows_in_markdown(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_rows("A table", ("A", "B"), [("1", "2")], markdown=True)
    assert capsys.readouterr().out == "| A | B |\n| --- | --- |\n| 1 | 2 |\n"
