"""Which columns are the name and the id, and what is said where more than one may be."""

from __future__ import annotations

import pytest

from siteplan.inputs.sites.read import sites_from_frame
from siteplan.model import SiteList

PLACE = {"lat": [1.25, 2.25, 3.25], "lon": [30.12, 31.13, 32.14]}


def read(**columns: list[object]) -> SiteList:
    names = {name.replace("__", " "): values for name, values in columns.items()}
    return sites_from_frame(PLACE | names)


#: Columns, and the headings taken for the id and the name ('' for none).
CHOSEN = [
    ({"OBJECTID": [1, 2, 3], "school__code": ["a", "b", "c"], "school__name": ["A", "B", "C"]},
     "school code", "school name"),
    ({"OBJECTID": [1, 2, 3]}, "OBJECTID", ""),
    ({"id": [1, 2, 3], "plant__code": ["a", "b", "c"]}, "plant code", ""),
    ({"id": [1, 2, 3], "plant__code": ["a", "a", "c"]}, "id", ""),
    ({"id": [1, 2, 3], "plant__code": ["", "", ""]}, "id", ""),
    ({"site_id": [1, 2, 3], "plant__code": ["a", "b", "c"]}, "site_id", ""),
    ({"site_id": ["", "", ""], "plant__code": ["a", "b", "c"]}, "plant code", ""),
    ({"village__name": ["V", "W", "X"], "clinic__name": ["A", "B", "C"]}, "", "clinic name"),
    ({"village__name": ["V", "W", "X"], "clinic__name": ["A", "", ""]}, "", "village name"),
    ({"name": ["A", "B", "C"], "clinic__name": ["D", "E", "F"]}, "", "name"),
    ({"name": ["", "", ""], "clinic__name": ["D", "E", "F"]}, "", "clinic name"),
    ({"Lighthouse": ["A", "B", "C"]}, "", "Lighthouse"),
    ({"Station": [4123, 4124, 4125]}, "Station", ""),
    ({"Site": ["A", "B", "C"]}, "Site", ""),
    ({"district__code": [1, 2, 3], "county__name": ["A", "B", "C"], "post__code": [4, 5, 6]},
     "", ""),
]  # fmt: skip


@pytest.mark.parametrize(("columns", "site_id", "name"), CHOSEN)
def test_the_most_specific_that_is_full_and_unique(
    columns: dict[str, list[object]], site_id: str, name: str
) -> None:
    found = {c.taken_as: c.heading for c in read(**columns).columns}
    assert (found.get("site_id", ""), found.get("name", "")) == (site_id, name)


def test_a_code_that_repeats_is_no_id_and_said_so() -> None:
    found = read(facility__code=["a", "a", "b"])
    assert found.rejects == ()
    assert [note.sentence for note in found.remarks[:1]] == [
        "Column 'facility code' is kept and not used as the id: 1 of its 3 values repeat another."
    ]
    assert found.sites.extra["facility code"].tolist() == ["a", "a", "b"]


def test_an_id_of_ours_that_repeats_rejects_the_second() -> None:
    assert [reject.row for reject in read(site_id=["a", "a", "b"]).rejects] == [3]
    assert [reject.row for reject in read(station_id=["a", "a", "b"]).rejects] == [3]


def test_what_was_not_taken_is_said_but_for_row_numbers() -> None:
    told = read(OBJECTID=[1, 2, 3], plant__code=["a", "b", "c"], code=["x", "y", "z"]).remarks
    assert [note.sentence for note in told] == [
        "Column 'plant code' was read as the id; kept, and not used for it: 'code'."
    ]
