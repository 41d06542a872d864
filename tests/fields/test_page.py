"""The dictionary's page is what the dictionary makes, no more and no less."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.fields import ASBUILT_FIELDS, COLUMNS, COMPARE_FIELDS, FIELDS, FLAGS, METHODS
from siteplan.fields.page import README, markdown_table, page

ROOT = Path(__file__).parent.parent.parent


def tables(text: str) -> dict[str, list[str]]:
    """Return the lines of each table by the heading that it stands under."""
    sections = re.split(r"^## (.+)\n", text, flags=re.MULTILINE)[1:]
    return {
        title: [line for line in body.splitlines() if line.startswith("|")]
        for title, body in zip(sections[::2], sections[1::2], strict=True)
    }


def test_the_page_is_up_to_date() -> None:
    """``python -m siteplan.fields`` renews it."""
    assert README.read_bytes().decode("ascii") == page()


def test_the_module_writes_the_page(tmp_path: Path) -> None:
    code = (
        "import runpy, pathlib, siteplan.fields.page as page;"
        f"page.README = pathlib.Path({str(tmp_path / 'README.md')!r});"
        "runpy.run_module('siteplan.fields', run_name='__main__')"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, cwd=ROOT)
    assert (tmp_path / "README.md").read_bytes() == README.read_bytes()


def test_the_program_prints_the_page_s_first_tables(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fields", "--markdown"]) == 0
    printed = [line for line in capsys.readouterr().out.splitlines() if line]
    found = tables(README.read_text(encoding="utf-8"))
    assert printed == [*found["Result fields"], *found["Flags"]]


def test_every_table_has_a_row_a_thing() -> None:
    found = {k: [row.split(" | ")[0][2:] for row in v[2:]] for k, v in tables(page()).items()}
    assert found["Result fields"] == [*FIELDS, "margin_1_2_m_db and so on"]
    assert found["Flags"] == list(FLAGS)
    assert found["As built"] == [name for name in ASBUILT_FIELDS if name not in FIELDS]
    assert found["Satellites compared"] == list(COMPARE_FIELDS)
    for table, columns in COLUMNS.items():
        assert found[f"{table}.csv"] == list(columns)
    assert found["Methods"] == list(METHODS)


def test_rows_are_as_wide_as_the_heading() -> None:
    for lines in tables(page()).values():
        assert len({line.count(" |") for line in lines}) == 1


def test_a_table_in_markdown() -> None:
    assert markdown_table(("A", "B"), [("1", "")]) == "| A | B |\n| --- | --- |\n| 1 |  |"


def test_the_readme_links_the_page_and_has_no_table_of_its_own() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "(siteplan/fields/README.md)" in readme
    assert "| Field | Unit | Meaning |" not in readme
