"""Ids for sites that have none: made of what the row says, never of where it stands."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest

from siteplan.inputs.sites.ids import (
    GROUP_LENGTH,
    NAME_LENGTH,
    PLACE_LENGTH,
    place_codes,
    safe_words,
)
from siteplan.inputs.sites.read import iter_site_lists, read_sites
from siteplan.model import SiteList

HEAD = "site_id,name,group,lat,lon"
ROWS = [
    ",Ford,,-5.1234,35.4321",
    ",Mill,north,-5.2234,35.5321",
    ",Mill,south,-5.3234,35.6321",
    ",Hill,east,-5.4234,35.7321",
    ",Hill,east,-5.5234,35.8321",
    ",,,-5.6234,35.9321",
    ",Dam,,-5.7234,36.0321",
    ",Dam,,-5.7234,36.0321",
    "K7,Quay,,-5.8234,36.1321",
    ",Quay,,-5.9234,36.2321",
    ",K7,,-6.1234,36.3321",
]


def geohash(lat: float, lon: float) -> str:
    """Return eight letters of a place's geohash, from its description: halves, longitude first."""
    low, high = [-180.0, -90.0], [180.0, 90.0]
    bits = 0
    for k in range(40):
        axis, value = k % 2, (lon, lat)[k % 2]
        middle = (low[axis] + high[axis]) / 2
        bits = bits * 2 + (value >= middle)
        (low if value >= middle else high)[axis] = middle
    letters = "0123456789bcdefghjkmnpqrstuvwxyz"
    return "".join(letters[bits >> shift & 31] for shift in range(35, -1, -5))


IDS = {
    "-5.1234": "Ford",
    "-5.2234": "Mill-north",
    "-5.3234": "Mill-south",
    "-5.4234": "Hill-" + geohash(-5.4234, 35.7321),
    "-5.5234": "Hill-" + geohash(-5.5234, 35.8321),
    "-5.6234": "P-" + geohash(-5.6234, 35.9321),
    "-5.8234": "K7",
    "-5.9234": "Quay-" + geohash(-5.9234, 36.2321),
    "-6.1234": "K7-" + geohash(-6.1234, 36.3321),
}


def read(folder: Path, rows: list[str], head: str = HEAD) -> SiteList:
    (folder / "sites.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return read_sites(folder / "sites.csv")


def by_lat(found: SiteList) -> dict[str, str]:
    pairs = zip(found.sites.lat.tolist(), found.sites.site_id.tolist(), strict=True)
    return {f"{lat:.4f}": site for lat, site in pairs if lat != -5.7234}


def test_the_code_of_a_place_is_a_geohash() -> None:
    """The example of the format's first description, from memory."""
    assert geohash(57.64911, 10.40744) == "u4pruydq"
    codes = place_codes(np.array([57.64911, -90.0, 90.0]), np.array([10.40744, -180.0, 180.0]),
                        np.arange(3))  # fmt: skip
    assert codes.tolist() == ["u4pruydq", "00000000", "bpbpbpbp"]


def test_name_then_group_then_place(tmp_path: Path) -> None:
    found = read(tmp_path, ROWS)
    assert by_lat(found) == IDS
    twice = found.sites.site_id[found.sites.lat == -5.7234].tolist()
    first = "Dam-" + geohash(-5.7234, 36.0321)
    assert twice == [first, f"{first}-2"]
    assert len(set(found.sites.site_id)) == len(ROWS)


def test_they_stay_when_rows_move(tmp_path: Path) -> None:
    rows = list(ROWS)
    for seed in range(5):
        random.Random(seed).shuffle(rows)
        assert by_lat(read(tmp_path, rows)) == IDS


def test_they_stay_when_other_rows_come_and_go(tmp_path: Path) -> None:
    found = by_lat(read(tmp_path, [",New,,-7.1,36.4", *ROWS[2:], ",Well,,-7.2,36.5"]))
    assert {lat: found[lat] for lat in IDS if lat in found and lat != "-5.3234"} == {
        lat: site for lat, site in IDS.items() if lat not in ("-5.1234", "-5.2234", "-5.3234")
    }
    # The other mill is gone: the name alone tells this one.
    assert found["-5.3234"] == "Mill"


def test_a_unique_name_keeps_its_id_when_coordinates_are_mended(tmp_path: Path) -> None:
    wrong = read(tmp_path, [",Ford,,x,35.4321", *ROWS[1:]])
    assert [reject.site_id for reject in wrong.rejects] == ["Ford"]
    moved = read(tmp_path, [",Ford,,-5.9,35.4321", *ROWS[1:]])
    assert "Ford" in moved.sites.site_id.tolist()


@pytest.mark.parametrize("rows", [1, 2, 3, 7])
def test_parts_give_the_ids_of_the_whole(tmp_path: Path, rows: int) -> None:
    whole = read(tmp_path, ROWS)
    parts = list(iter_site_lists(tmp_path / "sites.csv", rows))
    ids = [site for part in parts for site in part.sites.site_id.tolist()]
    assert ids == whole.sites.site_id.tolist()
    assert {part.remarks for part in parts} == {whole.remarks}


def test_nothing_is_noted_on_the_sites_themselves(tmp_path: Path) -> None:
    found = read(tmp_path, ROWS[:6])
    assert dict(found.sites.notes) == {}
    assert [note.key for note in found.remarks] == ["note.input_mended.no_id"]


@pytest.mark.parametrize(
    ("name", "site"),
    [
        ("Clínica São João / Norte", "Clínica-São-João-Norte"),
        ("Пункт №3 «Ключ»", "Пункт-3-Ключ"),
        ("उप केंद्र", "उप-केंद्र"),
        ("保健所 東", "保健所-東"),
        ("../../etc/passwd", "etc-passwd"),
        ("=cmd|' /C calc'!A0", "cmd-C-calc-A0"),
        ("CON", "Site-CON"),
        ("lpt1", "Site-lpt1"),
        ("0012", "Site-0012"),
        ("1-2", "Site-1-2"),
        ("3e5", "Site-3e5"),
        ("3rd Post", "3rd-Post"),
        ("a\nb\tc", "a-b-c"),
        ("---", ""),
        ("?!", ""),
        ("Cafe\u0301", "Caf\u00e9"),
    ],
)
def test_an_id_is_safe_as_a_file_name(name: str, site: str) -> None:
    assert safe_words(name, NAME_LENGTH) == site


@pytest.mark.parametrize("names", [["CON", "Ridge top!", "1e5"], ["CON", "Ridge é!", "1e5"]])
def test_one_way_for_plain_letters_and_for_all(tmp_path: Path, names: list[str]) -> None:
    found = read(tmp_path, [f",{n},,{-5.11 - k},36.11" for k, n in enumerate(names)])
    assert found.sites.site_id.tolist() == [safe_words(name, NAME_LENGTH) for name in names]


def test_an_id_is_bounded(tmp_path: Path) -> None:
    long = "Well of the long and winding road " * 9
    rows = [f",{long} {k},{'g' * 99} {k},{-5.1234 - k},36.1234" for k in range(3)]
    ids = read(tmp_path, rows).sites.site_id.tolist()
    assert len(set(ids)) == 3
    most = NAME_LENGTH + 1 + max(GROUP_LENGTH, PLACE_LENGTH)
    assert max(map(len, ids)) <= most


def test_a_row_without_anything_is_called_by_its_place_in_the_rejects(tmp_path: Path) -> None:
    found = read(tmp_path, [",,,x,y", "A,,,-5.1,36.1"])
    assert [reject.site_id for reject in found.rejects] == ["P-row-2"]


def test_what_two_rows_would_have_had_is_no_third_row_s(tmp_path: Path) -> None:
    rows = [",Mill north,,-5.1,36.1", ",Mill north,,-5.2,36.2", ",Mill,north,-5.3,36.3",
            ",Mill,south,-5.4,36.4"]  # fmt: skip
    ids = read(tmp_path, rows).sites.site_id.tolist()
    assert "Mill-north" not in ids
    assert ids[2] == "Mill-" + geohash(-5.3, 36.3)
    assert ids[3] == "Mill-south"


def test_capitals_do_not_make_two_ids(tmp_path: Path) -> None:
    """Some file systems have one file of the two."""
    ids = read(tmp_path, [",Ford,,-5.1,36.1", ",FORD,,-5.2,36.2"]).sites.site_id.tolist()
    assert len({site.casefold() for site in ids}) == 2
    assert all(site.casefold().startswith("ford-") for site in ids)
