"""Tables as data: files that a rewriting leaves alone, every row with its source."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

import siteplan.physics
from siteplan.physics.tables import number, read_rows

FOLDER = Path(siteplan.physics.__file__).parent
FILES = sorted(FOLDER.rglob("*.csv"))


def test_the_tables_are_there():
    names = {path.relative_to(FOLDER).as_posix() for path in FILES}
    assert names >= {"radio/modcods.csv", "radio/limits.csv"}


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_a_rewritten_table_has_the_same_bytes(path):
    text = path.read_bytes().decode("utf-8")
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(csv.reader(io.StringIO(text, newline="")))
    assert out.getvalue() == text


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_every_row_says_its_source_and_how_it_was_read(path):
    for row in read_rows(path):
        assert row["source"]
        assert row["tag"] in ("", "copy", "from memory")


def test_a_row_of_the_wrong_length_is_refused(tmp_path):
    path = tmp_path / "short.csv"
    path.write_text("a,b\n1\n", encoding="utf-8")
    with pytest.raises(ValueError, match="shorter"):
        read_rows(path)


@pytest.mark.parametrize("text", ["", "3/4/5", "1.5/2", "x"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(ValueError, match=r"could not convert|invalid literal"):
        number(text)
