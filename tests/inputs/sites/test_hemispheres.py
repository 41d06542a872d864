"""Words and letters for hemispheres in the languages of the headings, and a lone O."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

import siteplan.inputs.headings
from siteplan.inputs.sites.read import sites_from_frame
from siteplan.inputs.sites.spelling import UnreadableAngle, parse_angle

_WORDS = Path(siteplan.inputs.headings.__file__).with_name("words.csv")
_SIGN = {"north": 1, "south": -1, "east": 1, "west": -1}


def words() -> list[tuple[str, str]]:
    """Return every word of the table that is more than a letter, and its side."""
    with _WORDS.open(encoding="utf-8", newline="") as file:
        found = [(row["words"], row["meaning"]) for row in csv.DictReader(file)]
    return [(w, side) for w, side in found if side in _SIGN and (len(w) > 1 or w > "\u3000")]


@pytest.mark.parametrize(("word", "side"), words())
def test_every_word_is_read_behind_an_angle_and_before_it(word: str, side: str) -> None:
    for text in (f"12.5 {word}", f"12.5{word}", f"{word} 12.5", f"12°30' {word}"):
        assert parse_angle(text).degrees == 12.5 * _SIGN[side], text
    assert parse_angle(f"12.5 {word.upper()}").letter in ("N", "S", "E", "W")


#: Words of each language, told apart from the table: north, south, east, west.
SIDES = [
    "north south east west", "norte sur este oeste", "norte sul leste oeste", "nord sud est ouest",
    "Norden Süden Osten Westen", "nord sud est ovest", "kuzey güney doğu batı",
    "północ południe wschód zachód", "север юг восток запад", "utara selatan timur barat",
    "LU LS BT BB", "شمال جنوب شرق غرب", "北 南 东 西", "北纬 南纬 东经 西经", "北緯 南緯 東経 西経",
]  # fmt: skip


@pytest.mark.parametrize("of_one_language", SIDES)
def test_the_words_of_a_language_mean_their_sides(of_one_language: str) -> None:
    read = [parse_angle(f"12.5 {word}").letter for word in of_one_language.split()]
    assert read == ["N", "S", "E", "W"]


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("12°30' L", 12.5), ("12,5 L", 12.5), ("41° 30' 0\" K", 41.5), ("41° 30' 0\" G", -41.5),
        ("28° 30' 0\" D", 28.5), ("28° 30' 0\" B", -28.5), ("12.5 Ю", -12.5), ("12.5 С", 12.5),
        ("12.5 В", 12.5), ("12.5 З", -12.5), ("12.5 ج", -12.5), ("12.5 ق", 12.5),
        ("31度15分36秒", 31.26), ("12 grados 30 minutos Sur", -12.5), ("12 Grad 30 Minuten", 12.5),
        ("12 derece 30 dakika", 12.5), ("12 градусов 30 минут", 12.5), ("Süd 12,5", -12.5),
        ("12° 30' п. ш.", None), ("12.5 D", 12.5), ("12d30m00s", 12.5), ("12.5 north-west", None),
    ],
)  # fmt: skip
def test_letters_and_units_of_other_languages(text: str, degrees: float | None) -> None:
    if degrees is None:
        with pytest.raises(UnreadableAngle, match=r"hemisphere letter|cannot be read"):
            parse_angle(text)
        return
    assert parse_angle(text).degrees == pytest.approx(degrees, abs=1e-9)


#: Longitudes of a file, the headings, and what the first says: east, west, or nothing.
LONE_O = [
    (["70.5 O", "71.5 W"], "lon", 70.5),
    (["70.5 O", "71.5 E"], "lon", -70.5),
    (["70.5 O", "71.5 L"], "lon", -70.5),
    (["70.5 O", "71.5 Oeste"], "lon", -70.5),
    (["70.5 O", "71.5 Ouest"], "lon", -70.5),
    (["70.5 O", "71.5 Ost"], "lon", 70.5),
    (["70.5 O", "71.5 Leste"], "lon", -70.5),
    (["70.5 O", "71.5 Westen"], "lon", 70.5),
    (["70.5 O", "71.5"], "Longitud", -70.5),
    (["70.5 O", "71.5"], "Longitudine", -70.5),
    (["70.5 O", "71.5"], "Längengrad", 70.5),
    (["70.5 O", "71.5"], "Longitude", None),
    (["70.5 O", "71.5 O"], "lon", None),
    (["70.5 O", "71.5 Oeste", "72.5 Ost"], "lon", None),
    (["70.5 O", "71.5 E", "72.5 W"], "lon", None),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "heading", "lon"), LONE_O)
def test_a_lone_o_is_settled_or_refused(cells: list[str], heading: str, lon: float | None) -> None:
    found = sites_from_frame({"lat": [1.25 + k for k in range(len(cells))], heading: cells})
    if lon is None:
        (reason,) = {reject.reason for reject in found.rejects if reject.value == "70.5 O"}
        assert "east in German (Ost) and west in Spanish and French" in reason
        return
    assert found.sites.lon[0] == lon


def test_words_for_the_latitude_settle_it_too() -> None:
    cells = {"lat": ["1.25 Sur", "2.25 Norte"], "lon": ["70.5 O", "71.5 O"]}
    assert sites_from_frame(cells).sites.lon.tolist() == [-70.5, -71.5]
