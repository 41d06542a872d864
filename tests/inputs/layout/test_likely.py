"""A column that is kept and not read is told by what it looks like, and is never taken."""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import Any

import pytest

from siteplan.inputs.headings.likely import _fits, _rows
from siteplan.inputs.layout.likely import LOOKED_ROWS
from siteplan.inputs.sites.read import sites_from_frame
from siteplan.model import SiteList

PLACE: dict[str, Any] = {"lat": [1.25, 2.25, 3.25, 4.25], "lon": [30.12, 31.13, 32.14, 33.15]}
ID = {"site_id": ["A", "B", "C", "D"]}
BLANK = [""] * 3


def read(**columns: list[Any]) -> SiteList:
    return sites_from_frame(PLACE | columns)


def likely(found: SiteList) -> dict[str, str]:
    """Return the columns that look like ours, and the names to give them."""
    return {c.heading: c.likely for c in found.columns if c.likely}


#: A heading, its cells, and the name to give it; '' for one of which nothing is to be said.
COLUMNS = [
    ("Avail. req. %", ["99,8", "", "", "99.9"], "availability_pct"),
    ("Disponibilidad meta", [99.5, 99, 98, 97], "availability_pct"),
    ("Zielverfügbarkeit", [99.5, 99, 98, 97], "availability_pct"),
    ("可用率", [99.5, 99, 98, 97], "availability_pct"),
    ("Avail. req. %", ["24/7", "yes", "no", "24/7"], ""),
    ("Avail. of staff", [40, 30, 20, 10], ""),
    ("Target", [99.5, 99, 98, 97], ""),
    ("Mains availability", [95, 99, 98, 97], "power_availability_pct"),
    ("Mounting note", ["ground", "flat roof", "on the mast", "wall"], "structure"),
    ("Tipo de montaje", ["suelo", "techo plano", "pared", ""], "structure"),
    ("Mounting note", ["ground floor flat", "yard", "two masts", "to ask"], ""),
    ("Wall faces", [40, *BLANK], "wall_facing_deg"),
    ("Orientación pared", ["NE", *BLANK], "wall_facing_deg"),
    ("Wall faces", ["brick", "brick", "stone", "stone"], ""),
    ("Wall faces", [400, 500, 600, 700], ""),
    ("Roof ht (m)", [9, *BLANK], "roof_height_m"),
    ("Roof ht (ft)", [30, *BLANK], "roof_height_ft"),
    ("Region", ["North", "North", "South", "South"], "group"),
    ("Region", ["North", "East", "South", "West"], ""),
    ("Region", ["North", "North", "North", "North"], ""),
    ("Existing dish", [1.2, *BLANK], "fixed_antenna_m"),
    ("kV", [161, 69, 69, 330], ""),
    ("Tel. No.", ["01", "02", "03", "04"], ""),
]


@pytest.mark.parametrize(("heading", "cells", "name"), COLUMNS)
def test_what_a_column_looks_like(heading: str, cells: list[Any], name: str) -> None:
    found = read(**ID, **{heading: cells})
    assert likely(found) == ({heading: name} if name else {})
    (column,) = [c for c in found.columns if c.heading == heading]
    assert column.taken_as == "free"
    assert heading in found.sites.extra
    told = [note.sentence for note in found.remarks if "is kept and not used" in note.sentence]
    assert told == (
        [f"Column '{heading}' is kept and not used for planning. It looks like '{name}': if it is"
         " that, rename it so."] if name else []
    )  # fmt: skip


def test_the_name_that_is_told_makes_it_ours() -> None:
    """Whoever follows the advice gets what she asked for."""
    for heading, cells, name in COLUMNS:
        if name:
            found = read(**ID, **{name: cells})
            (column,) = [c for c in found.columns if c.heading == name]
            assert column.taken_as not in ("free", ""), (heading, name)


@pytest.mark.parametrize(
    ("cells", "name"),
    [
        (["SS-1", "SS-2", "SS-3", "SS-4"], "site_id"),
        (["SS-1", "SS-1", "SS-3", "SS-4"], ""),
        (["SS-1", "", "SS-3", "SS-4"], ""),
    ],
)
def test_an_id_is_full_and_unlike(cells: list[str], name: str) -> None:
    found = read(name=["a", "b", "c", "d"], **{"S/S No.": cells})
    assert likely(found) == ({"S/S No.": name} if name else {})


def test_nothing_is_proposed_where_ours_is_there() -> None:
    found = read(**ID, availability_pct=[99.5] * 4, group=["a", "a", "b", "b"], **{
        "S/S No.": ["1", "2", "3", "4"], "Avail. last year": [99.1] * 4,
        "Region": ["a", "a", "b", "b"]})  # fmt: skip
    assert likely(found) == {}


def test_of_many_regions_one_is_told_and_of_targets_each() -> None:
    halves = ["a", "a", "b", "b"]
    found = read(**ID, Region=halves, District=halves, Avail=[99] * 4, Uptime=[98] * 4)
    assert likely(found) == {
        "Region": "group",
        "Avail": "availability_pct",
        "Uptime": "availability_pct",
    }


def test_the_first_rows_show_what_a_column_is() -> None:
    count = LOOKED_ROWS + 100
    lat = [k / 100 + 0.001 for k in range(count)]
    cells = ["ground"] * LOOKED_ROWS + ["a story"] * 100
    table = {"site_id": [f"S{k}" for k in range(count)], "lat": lat, "lon": lat[::-1]}
    assert likely(sites_from_frame(table | {"note": cells})) == {"note": "structure"}
    assert likely(sites_from_frame(table | {"note": cells[::-1]})) == {"note": "structure"}
    late = ["a story"] * LOOKED_ROWS + ["ground"] * 100
    assert likely(sites_from_frame(table | {"note": late})) == {}


def test_words_fit_as_names_of_files_do() -> None:
    patterns = {pattern for _, several in _rows() for pattern in several} | {"*", "ab*ba", "a*b*a"}
    assert not any(set(pattern) & set("?[") for pattern in patterns)
    words = {pattern.replace("*", "") for pattern in patterns} | {"", "aba", "abba", "abxba"}
    words |= {pattern.replace("*", "x") for pattern in patterns}
    words |= {f"{word}x" for word in words} | {f"x{word}" for word in words}
    assert all(_fits(w, p) == fnmatchcase(w, p) for w in words for p in patterns)
