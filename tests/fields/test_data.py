"""The dictionary's files: well formed, unique, of known words, and not touched by a spreadsheet."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from pathlib import Path

import pytest

import siteplan.fields
from siteplan.fields import (
    ASBUILT_FIELDS,
    CATALOGUE_MARGIN,
    CAVEAT,
    COLUMNS,
    COMPARE_FIELDS,
    FIELDS,
    FLAGS,
    METHODS,
    RESTS_ON,
    catalogue_margin_name,
    lookup,
    read_rows,
)

FOLDER = Path(siteplan.fields.__file__).parent
FILES = ("fields.csv", "flags.csv", "columns.csv", "methods.csv", "glossary.csv")
GROUPS = (
    *("site", "geometry", "climate", "sizing", "link", "coding", "interference", "licence"),
    *("certainty", "decisions", "mount", "sky", "cable"),
    *("cost", "exposure", "sun", "pointing", "as built"),
)
UNITS = (
    *(
        "",
        "deg",
        "m",
        "km",
        "m/m",
        "m/s",
        "mm/h",
        "min",
        "kbit/s",
        "ms",
        "%",
        "W",
        "V",
        "A",
        "N",
        "Nm",
        "Pa",
        "kg",
        "MHz",
    ),
    *("W/m2", "dB", "dBW", "dBW/4 kHz", "dBW/m2", "dBm", "dB/K", "kHz"),
)


def test_every_file_is_known() -> None:
    assert {path.name for path in FOLDER.glob("*.csv")} == set(FILES)


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_what_the_csv_writer_makes_of_it(name: str) -> None:
    """A spreadsheet that changed quoting, line ends or encoding shows here."""
    found = (FOLDER / name).read_bytes()
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows(csv.reader(io.StringIO(found.decode("ascii"), newline="")))
    assert out.getvalue().encode("ascii") == found


@pytest.mark.parametrize("name", FILES)
def test_no_cell_has_blanks_around_it_or_breaks_a_table(name: str) -> None:
    for row in read_rows(name):
        for cell in row.values():
            assert cell == cell.strip()
            assert "|" not in cell
            assert "\n" not in cell


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("fields.csv", ("name",)),
        ("flags.csv", ("code",)),
        ("columns.csv", ("table", "name")),
        ("methods.csv", ("key",)),
    ],
)
def test_names_are_unique(name: str, keys: tuple[str, ...]) -> None:
    found = [tuple(row[key] for key in keys) for row in read_rows(name)]
    assert len(set(found)) == len(found)


def test_fields_use_known_words() -> None:
    for row in read_rows("fields.csv"):
        assert row["group"] in GROUPS, row["name"]
        assert row["unit"] in UNITS, row["name"]
        assert row["rests_on"] in RESTS_ON, row["name"]
        assert row["decimals"] == "" or row["decimals"].isdecimal(), row["name"]
        assert row["tables"] in ("plan", "asbuilt", "plan;asbuilt", "compare"), row["name"]
        assert row["label"], row["name"]
        assert row["meaning"], row["name"]
        assert row["source"], row["name"]


def test_every_known_word_is_used() -> None:
    rows = read_rows("fields.csv")
    assert {row["group"] for row in rows} == set(GROUPS)
    assert {row["unit"] for row in rows} == set(UNITS)


def test_a_text_has_no_unit_and_a_name_carries_its_own() -> None:
    endings = {"dBm": "_dbm", "dBW": "_dbw", "dB/K": "_db_k", "%": "_pct", "W/m2": "_w_m2"}
    for field in (*FIELDS.values(), *ASBUILT_FIELDS.values(), *COMPARE_FIELDS.values()):
        if field.is_text:
            assert not field.unit, field.name
        elif field.unit in endings:
            assert field.name.endswith(endings[field.unit]), field.name


def test_only_a_name_has_a_gap_for_the_antenna_and_only_a_meaning_for_the_caveat() -> None:
    for row in read_rows("fields.csv"):
        for key, cell in row.items():
            gaps = cell.replace("{caveat}", "") if key == "meaning" else cell
            if "{diameter}" not in row["name"]:
                assert "{" not in gaps, row["name"]
    assert CAVEAT in FIELDS["ballast_kg"].meaning
    assert not any("{" in field.meaning for field in FIELDS.values())


def test_the_caveat_stands_with_every_load_and_density() -> None:
    """Newtons, pascals, kilograms and watts a square metre are never shown without it."""
    for field in FIELDS.values():
        if field.unit in ("N", "Nm", "Pa", "kg", "W/m2"):
            assert field.meaning.endswith(CAVEAT), field.name


def test_severities_are_known() -> None:
    assert {flag.severity for flag in FLAGS.values()} == {"stop", "warn", "note"}


def test_every_flag_says_what_it_rests_on() -> None:
    for flag in FLAGS.values():
        assert flag.rests_on in RESTS_ON, flag.code


def test_columns_are_whole() -> None:
    assert tuple(COLUMNS) == ("sites", "obstructions", "returned", "outages")
    for columns in COLUMNS.values():
        for column in columns.values():
            assert column.kind in ("text", "number", "choice"), column.name
            assert (column.kind == "number") == bool(column.span), column.name
            assert (column.kind == "choice") == bool(column.choices), column.name
            assert column.refuses in ("row", "value", "unread", ""), column.name
            assert column.lowest < column.highest, column.name
            assert column.meaning, column.name


def test_the_blank_has_each_place_once() -> None:
    places = [c.blank for c in COLUMNS["returned"].values() if c.blank is not None]
    assert sorted(places) == list(range(1, len(places) + 1))
    assert {c.blank for t in ("sites", "obstructions") for c in COLUMNS[t].values()} == {None}


def test_positions_have_one_range() -> None:
    for key in ("lat", "lon"):
        assert COLUMNS["sites"][key].span == COLUMNS["returned"][key].span


def test_a_column_carried_through_has_the_unit_of_its_field() -> None:
    for name, column in COLUMNS["sites"].items():
        if name in FIELDS:
            assert column.unit == FIELDS[name].unit, name


def test_the_antennas_of_the_catalogue_are_looked_up_by_their_size() -> None:
    field = lookup(catalogue_margin_name(1.2))
    assert field is not None
    assert (field.name, field.label) == ("margin_1_2_m_db", "Margin with 1.2 m")
    assert field.unit == CATALOGUE_MARGIN.unit == "dB"
    assert lookup("margin_large_m_db") is None
    assert lookup("margin_1_2_3_m_db") is None


def test_lookup_knows_plan_and_as_built() -> None:
    for name, field in {**FIELDS, **ASBUILT_FIELDS, **COMPARE_FIELDS}.items():
        assert lookup(name) == field
    assert lookup("nothing_of_the_kind") is None


def test_methods_are_given_for_every_part_of_the_chain() -> None:
    assert {"total attenuation", "noise", "waveforms", "sun"} <= set(METHODS)


def test_reading_the_dictionary_loads_nothing_heavy() -> None:
    code = (
        "import sys, siteplan.fields;"
        "print(sorted({'numpy', 'pandas', 'pydantic', 'pyarrow'} & set(sys.modules)))"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "[]"
