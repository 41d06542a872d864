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
    assert names >= {"radio/modcods.csv", "radio/limits.csv", "radio/masks.csv"}


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


def burst(name):
    return 536 if name.endswith(" short") else 1616


def table_20a(name):
    """The rows that were read by the table's number."""
    modulation, rate = name.split()
    high = int(modulation.removesuffix("APSK").removesuffix("PSK").replace("Q", "4")) >= 32
    return " table 20a" if high or rate.endswith("-L") else ""


#: Where the thresholds of each waveform come from; a burst's length is in its name.
SOURCES = {
    "DVB-S2;DVB-S2X": lambda name: "EN 302 307-1 table 13; normal frames of 64800 bits; PER 1e-7",
    "DVB-S2X": lambda name: f"EN 302 307-2{table_20a(name)}; normal frames of 64800 bits",
    "DVB-RCS2": lambda name: f"EN 301 545-2; bursts of {burst(name)} symbols; PER 1e-5",
}


def test_the_sources_of_the_modcods():
    for row in read_rows(FOLDER / "radio" / "modcods.csv"):
        assert row["source"] == SOURCES[row["waveforms"]](row["name"]), row["name"]
        assert row["tag"] == "copy"


def test_the_sources_of_the_limits_and_what_they_are_averaged_over():
    """Minutes: 47 CFR 1.1310 table 1, ICNIRP 2020 tables 5 (30) and 6 (6, from memory)."""
    found = {
        (r["rule"], r["audience"]): (float(r["minutes"]), r["source"], r["tag"])
        for r in read_rows(FOLDER / "radio" / "limits.csv")
    }
    cfr, memory = "47 CFR 1.1310 table 1; {}", "from memory"
    assert found == {
        ("47 CFR 1.1310", "public"): (30, cfr.format("general population"), ""),
        ("47 CFR 1.1310", "controlled"): (6, cfr.format("occupational"), ""),
        **{
            (f"ICNIRP 2020 {part}", who): (minutes, f"ICNIRP 2020 table {table}", memory)
            for part, minutes, table in (("whole body", 30, 5), ("local", 6, 6))
            for who in ("public", "controlled")
        },
    }


def test_a_row_of_the_wrong_length_is_refused(tmp_path):
    path = tmp_path / "short.csv"
    path.write_text("a,b\n1\n", encoding="utf-8")
    with pytest.raises(ValueError, match="shorter"):
        read_rows(path)


@pytest.mark.parametrize("text", ["", "3/4/5", "1.5/2", "x"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(ValueError, match=r"could not convert|invalid literal"):
        number(text)
