import csv
from importlib import resources

import numpy as np
import pytest

from siteplan.api import plan_sites, read_network
from siteplan.inputs.files.cells import Findings
from siteplan.inputs.sites.optional import (
    NUMBER_RULES,
    read_numbers,
    read_structures,
    read_timezones,
    structure_words,
)
from siteplan.inputs.sites.read import iter_site_lists, read_sites, sites_from_frame
from siteplan.model import STRUCTURES

RULES = {rule.key: rule for rule in NUMBER_RULES}


def read(key, *cells, **options):
    found = Findings()
    values = np.empty(len(cells), dtype=object)
    values[:] = cells
    return read_numbers(values, RULES[key], found, **options), found


def one(key, cell, **options):
    values, found = read(key, cell, **options)
    faults = "; ".join(f.reason for f in found.faults.get(0, []))
    return values[0], faults, " ".join(n.sentence for n in found.notes.get(0, []))


@pytest.mark.parametrize(
    ("key", "cell", "value"),
    [
        ("altitude_m", "1650", 1650),
        ("altitude_m", "-1", -1),
        ("altitude_m", "0", 0),
        ("altitude_m", "999", 999),
        ("altitude_m", "1650,5", 1650.5),
        ("altitude_m", "1650 m", 1650),
        ("altitude_m", "1.2e3", 1200),
        ("availability_pct", "99.5%", 99.5),
        ("availability_pct", "99,5 %", 99.5),
        ("wall_facing_deg", "360", 0),
        ("wall_facing_deg", "90°", 90),
        ("fixed_buc_w", "3 W", 3),
        ("cable_m", "0,123", 0.123),
    ],
)
def test_values_that_need_no_note(key, cell, value):
    assert one(key, cell) == (pytest.approx(value, abs=1e-12), "", "")


@pytest.mark.parametrize("cell", ["", " ", "n/a", "-", "?", "None", "#N/A", "unknown", "TBD"])
def test_words_for_unknown_are_unknown(cell):
    for key in RULES:
        value, faults, notes = one(key, cell)
        assert np.isnan(value)
        assert (faults, notes) == ("", "")


@pytest.mark.parametrize(
    ("key", "cell", "value", "note"),
    [
        ("altitude_m", "5413 ft", 5413 * 0.3048, "converted from ft"),
        ("altitude_m", "1,650.5", 1650.5, "thousands marks left out"),
        ("altitude_m", "1.650,5", 1650.5, "thousands marks left out"),
        ("altitude_m", "1 650", 1650, "thousands marks left out"),
        ("wind_m_s", "108 km/h", 30, "converted from km/h"),
        ("wall_facing_deg", "NE", 45, "read as 45"),
        ("wall_facing_deg", "south-west", 225, "read as 225"),
    ],
)
def test_values_with_one_reading_are_mended_with_a_note(key, cell, value, note):
    got, faults, notes = one(key, cell)
    assert got == pytest.approx(value, rel=1e-12)
    assert faults == ""
    assert note in notes


@pytest.mark.parametrize(
    ("key", "cell"),
    [
        ("altitude_m", "-9999"),
        ("altitude_m", "9999"),
        ("availability_pct", "0"),
        ("availability_pct", "-1"),
        ("wall_facing_deg", "-1"),
        ("wall_facing_deg", "999"),
        ("roof_height_m", "999"),
        ("cable_m", "999"),
        ("wind_m_s", "0"),
        ("wind_m_s", "999"),
        ("fixed_antenna_m", "0"),
        ("fixed_antenna_m", "-1"),
        ("fixed_buc_w", "999"),
    ],
)
def test_placeholders_are_unknown_with_a_note(key, cell):
    value, faults, notes = one(key, cell)
    assert np.isnan(value)
    assert faults == ""
    assert "placeholder" in notes


@pytest.mark.parametrize(
    ("key", "cell", "reason"),
    [
        ("altitude_m", "high", "is not a number"),
        ("altitude_m", "~1600", "is not a number"),
        ("altitude_m", "1,650", "two readings, 1.650 and 1650"),
        ("altitude_m", "#REF!", "broken formula"),
        ("altitude_m", "30 dB", "is not a number"),
        ("availability_pct", "24/7", "is not a number"),
        ("fixed_buc_w", "two", "is not a number"),
    ],
)
def test_what_is_no_number_rejects_the_row_of_a_figure_that_the_plan_rests_on(key, cell, reason):
    value, faults, _ = one(key, cell)
    assert np.isnan(value)
    assert reason in faults


@pytest.mark.parametrize(
    ("key", "cell"),
    [
        ("altitude_m", "-501"),
        ("altitude_m", "12000"),
        ("availability_pct", "0.995"),
        ("availability_pct", "100"),
        ("availability_pct", "49"),
        ("fixed_antenna_m", "120"),
        ("fixed_buc_w", "2001"),
        ("fixed_efficiency", "65"),
        ("fixed_buc_backoff_db", "21"),
        ("roof_height_m", "501"),
        ("cable_m", "long"),
        ("wind_m_s", "121"),
        ("wall_facing_deg", "-90"),
        ("wall_facing_deg", "the street"),
    ],
)
def test_values_outside_their_range_are_unknown_with_a_note(key, cell):
    value, faults, notes = one(key, cell)
    assert np.isnan(value)
    assert faults == ""
    assert f"'{cell}'" in notes
    assert "taken as unknown" in notes.casefold()


def test_a_point_may_mark_thousands_where_the_file_writes_decimal_commas():
    assert one("altitude_m", "1.650")[0] == 1.65
    assert "two readings" in one("altitude_m", "1.650", comma=True)[1]
    assert one("altitude_m", "1,650", comma=True)[0] == 1.65
    assert one("altitude_m", "0.650", comma=True)[0] == 0.65


def test_a_column_in_feet():
    values, found = read("altitude_m", "100", "10 m", "-9999", factor=0.3048)
    np.testing.assert_allclose(values, [30.48, 10, np.nan], rtol=1e-12)
    assert "placeholder" in found.notes[2][0].sentence


def test_numbers_of_a_typed_column():
    found = Findings()
    got = read_numbers(np.array([100.0, np.nan, 9999, np.inf]), RULES["altitude_m"], found)
    np.testing.assert_array_equal(got, [100, np.nan, np.nan, np.nan])
    assert list(found.faults) == [3]
    assert list(found.notes) == [2]


def test_booleans_are_no_numbers():
    found = Findings()
    read_numbers(np.array([True, False]), RULES["altitude_m"], found)
    assert set(found.faults) == {0, 1}


def test_structures_are_normalised_and_unknown_words_are_told():
    found = Findings()
    words = ["Flat Roof", "PITCHED-ROOF", "wall", " ", "castle", "n/a"]
    got = read_structures(np.array([w.strip() for w in words], dtype=object), found)
    assert got.tolist() == ["flat_roof", "pitched_roof", "wall", "", "", ""]
    assert list(found.notes) == [4]
    assert "allowed: ground, flat_roof, pitched_roof, wall" in found.notes[4][0].sentence


@pytest.mark.parametrize(
    ("read", "told"),
    [
        (read_structures, "structure '{}' is not known and was not used"),
        (read_timezones, "timezone '{}' is not in the time zone database"),
    ],
)
@pytest.mark.parametrize("length", [59, 60, 61, 5000])
def test_of_a_long_word_the_first_60_letters_are_told(read, told, length):
    word = ("Xabcdefghi" * 500)[:length]
    found = Findings()
    assert read(np.array([word, ""], dtype=object), found).tolist() == ["", ""]
    assert told.format(word[:60]) in found.notes[0][0].sentence


#: A word of each language for each structure, as people type it.
WORDS = {
    "ground": "Ground level|Suelo|CHÃO|au sol|Erdboden|a terra|zemin|Grunt|Земля|Tanah"
    "|على الأرض|地面|地上",
    "flat_roof": "flat-roof|Azotea|laje|toit-terrasse|Flachdach|tetto piano|DÜZ ÇATI|dach płaski"
    "|плоская крыша|atap datar|سقف مستوٍ|平屋顶|陸屋根",
    "pitched_roof": "Gable Roof|techo a dos aguas|telhado inclinado|toit incliné|Satteldach"
    "|tetto a falde|eğimli çatı|dach skośny|скатная крыша|atap miring|سقف مائل|坡屋顶|勾配屋根",
    "wall": "Outside wall|pared|parede|façade|HAUSWAND|parete|duvar|ściana|стена|dinding"
    "|جدار|外墙|外壁",
}


@pytest.mark.parametrize("structure", WORDS)
def test_structures_in_thirteen_languages(structure):
    found = Findings()
    words = WORDS[structure].split("|")
    got = read_structures(np.array(words, dtype=object), found)
    assert got.tolist() == [structure] * 13
    assert found.notes == {}


@pytest.mark.parametrize(
    "word",
    ["roof", "tejado", "telhado", "toit", "Dach", "крыша", "wallpaper", "flat", "underground"],
)
def test_a_word_with_two_readings_or_inside_another_is_not_guessed(word):
    found = Findings()
    assert read_structures(np.array([word], dtype=object), found).tolist() == [""]
    assert "is not known" in found.notes[0][0].sentence


def test_the_words_of_structures_are_whole():
    words = structure_words()
    assert set(words.values()) == set(STRUCTURES)
    assert not [word for word in words if word != word.casefold().strip() or "_" in word]
    text = resources.files("siteplan.inputs.sites").joinpath("structures.csv").read_text("utf-8")
    rows = [tuple(line) for line in csv.reader(text.splitlines())][1:]
    assert len(set(rows)) == len(rows)
    assert len({(language, structure) for language, structure, _ in rows}) == 13 * 4
    meanings: dict[str, set[str]] = {}
    for _, structure, word in rows:
        meanings.setdefault(word, set()).add(structure)
    assert all(len(found) == 1 for found in meanings.values())


def test_a_structure_that_is_not_known_is_kept_for_the_crew(tmp_path):
    """In every chunk of the file, beside those that are known; a file of known ones as it is."""
    path = tmp_path / "sites.csv"
    rows = ("thatch", "Flachdach", "", "Wellblech  ")
    path.write_text(
        "site_id,lat,lon,structure\n"
        + "".join(f"C{k},12.3{k}5,45.6{k}5,{word}\n" for k, word in enumerate(rows)),
        encoding="utf-8",
    )
    for size in (1, 10):
        lists = list(iter_site_lists(path, size))
        kept = [word for found in lists for word in found.sites.extra["structure"].tolist()]
        assert kept == ["thatch", "Flachdach", "", "Wellblech"]
        read = [word for found in lists for word in found.sites.structure.tolist()]
        assert read == ["", "flat_roof", "", ""]
        assert all(list(found.sites.extra) == ["structure"] for found in lists)
    path.write_text("site_id,lat,lon,structure\nC1,12.345,45.678,Wand\n", encoding="utf-8")
    assert dict(read_sites(path).sites.extra) == {}


def test_the_kept_word_is_written_as_input_structure():
    found = sites_from_frame(
        {"site_id": ["C1"], "lat": [12.345], "lon": [45.678], "structure": ["tower, steel"]}
    )
    written = plan_sites(found, read_network({"satellite": {"longitude_deg": 40}}))
    assert written.columns["structure"].tolist() == [""]
    assert {name: v.tolist() for name, v in written.extra.items()} == {
        "input_structure": ["tower, steel"]
    }
