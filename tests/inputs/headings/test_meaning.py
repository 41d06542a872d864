"""What one heading means: whole words, and what it says of its values beside."""

from __future__ import annotations

import pytest

from siteplan.inputs.headings.meaning import meaning_of
from siteplan.inputs.headings.words import lexicon, readings, tokens


@pytest.mark.parametrize(
    "heading",
    ["state", "plate", "late", "long name", "longest", "Translation", "balance", "lati",
     "country name", "state code", "postcode", "Post code", "Kode Pos", "Индекс", "Código postal",
     "owner", "elevation angle", "length", "county",
     "latitude_nad27", "hub_latitude", "Long description", "flat", "ID card", "name of owner"],
)  # fmt: skip
def test_words_are_matched_whole(heading: str) -> None:
    assert meaning_of(heading) is None


@pytest.mark.parametrize(
    ("heading", "key", "side", "part", "form"),
    [
        ("Latitude (S)", "lat", "S", "sec", ""),
        ("Latitud Sur", "lat", "S", "", ""),
        ("South latitude", "lat", "S", "", ""),
        ("南纬", "lat", "S", "", ""),
        ("緯度（北緯）", "lat", "N", "", ""),
        ("Западная долгота", "lon", "W", "", ""),
        ("Longitude (O)", "lon", "O", "", ""),
        ("Longitud O", "lon", "W", "", ""),
        ("Länge (O)", "lon", "E", "", ""),
        ("lat_m", "lat", "", "min", ""),
        ("Longitud Segundos", "lon", "", "sec", ""),
        ("GPSLatitudeRef", "lat", "", "hemi", ""),
        ("Lat Deg", "lat", "", "deg", ""),
        ("Latitude DMS (N)", "lat", "N", "", "dms"),
        ("Latitude (Decimal Degrees)", "lat", "", "", "decimal"),
        ("LatDD", "lat", "", "", "decimal"),
    ],
)
def test_what_a_position_says_beside(
    heading: str, key: str, side: str, part: str, form: str
) -> None:
    found = meaning_of(heading)
    assert found is not None
    assert (found.key, found.side, found.part, found.form) == (key, side, part, form)


@pytest.mark.parametrize(
    ("heading", "order"),
    [("lat_lon", "lat_lon"), ("LngLat", "lon_lat"), ("Enlem Boylam", "lat_lon"), ("GPS", ""),
     ("Longitude, Latitude", "lon_lat"), ("緯度経度", "lat_lon"),
     ("Coordinates (lat, long)", "lat_lon")],
)  # fmt: skip
def test_the_order_of_a_column_of_both(heading: str, order: str) -> None:
    found = meaning_of(heading)
    assert found is not None
    assert (found.key, found.order) == ("both", order)


@pytest.mark.parametrize(
    ("heading", "grid"),
    [("Easting (UTM 33N)", "33N"), ("X_UTM37S", "37S"), ("Northing EPSG:2056", "EPSG:2056"),
     ("Este (Huso 19)", "19"), ("Easting", "")],
)  # fmt: skip
def test_the_grid_that_a_heading_names(heading: str, grid: str) -> None:
    found = meaning_of(heading)
    assert found is not None
    assert found.grid == grid


def test_one_letter_may_be_wrong_in_a_long_word_only() -> None:
    assert [meaning_of(h).slip for h in ("lattitude", "longtitude", "Latitde")] == [True] * 3
    assert not meaning_of("latitude").slip
    for heading in ("lst", "lan", "altitude", "lattittude"):
        found = meaning_of(heading)
        assert found is None or found.key not in ("lat", "lon"), heading


@pytest.mark.parametrize(
    "heading",
    ["_location_latitude", "group/lat", "a.b.Latitude", "meta:latitude", "_home_latitude"],
)
def test_a_group_in_front_is_passed_over(heading: str) -> None:
    assert meaning_of(heading).key == "lat"


def test_the_owner_of_a_group_is_no_site() -> None:
    assert meaning_of("owner/name") is None
    assert meaning_of("group/facility_name").key == "name"


@pytest.mark.parametrize(
    ("better", "worse"),
    [("site_code", "facility code"), ("facility code", "village code"), ("village code", "id"),
     ("id", "code"), ("code", "number"), ("number", "OBJECTID"), ("name", "facility name"),
     ("station name", "village name")],
)  # fmt: skip
def test_the_more_specific_goes_first(better: str, worse: str) -> None:
    assert meaning_of(better).rank < meaning_of(worse).rank


@pytest.mark.parametrize(
    ("heading", "words"),
    [("FacilityName", ["facility", "name"]), ("N° station", ["no", "station"]),
     ("GPS纬度", ["gps", "纬度"]), ("Nom de l'École", ["nom", "de", "l", "ecole"]),
     ("İSTASYON ADI", ["istasyon", "adi"]), ("Długość", ["dlugosc"]), ("ガス", ["ガス"])],
)  # fmt: skip
def test_a_heading_is_cut_into_words(heading: str, words: list[str]) -> None:
    assert tokens(heading) == words


def test_compounds_must_be_covered_whole() -> None:
    assert [phrase for phrase, _ in readings("Standortname")[0]] == ["standort", "name"]
    assert [phrase for phrase, _ in readings("站点名称")[0]] == ["站点", "名称"]
    assert readings("站点电话")[0][0][1] == frozenset()
    assert readings("standortplan")[0][0][1] == frozenset()


def test_the_words_stand_folded_in_the_table() -> None:
    assert "langengrad" in lexicon()
    assert all(words == " ".join(words.split()) for words in lexicon())
