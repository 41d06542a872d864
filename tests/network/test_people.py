"""Contacts, columns of the sheets, and units: texts in lists, words that are refused."""

from __future__ import annotations

from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.read import network_from_mapping
from siteplan.network.reference import key_rows


def of(**tables: Any) -> Any:
    return network_from_mapping({"satellite": {"longitude_deg": 3}, **tables})


def test_a_list_of_texts_is_told_as_one() -> None:
    (row,) = (row for row in key_rows("sheets") if row.key == "columns")
    assert (row.kind, row.range, row.default) == ("texts", "0 to 8 texts", "[]")
    assert of(sheets={"columns": ["contact", "gate"]}).sheets.columns == ("contact", "gate")


@pytest.mark.parametrize("columns", ["contact", ["a", 4], 7])
def test_what_is_no_list_of_texts_is_refused(columns: Any) -> None:
    with pytest.raises(NetworkError, match="must be a list of texts, such as"):
        of(sheets={"columns": columns})


def test_unknown_units_are_told_with_those_there_are() -> None:
    with pytest.raises(NetworkError, match='units = "USA" is not allowed'):
        of(network={"units": "USA"})


def test_people_and_paper_are_no_assumed_figures_but_the_wind_is() -> None:
    keys = {a.key for a in assumptions(of())}
    assert "sheets.stop_wind_m_s" in keys
    assert "satellite.tilt_deg" in keys
    quiet = ("contacts.", "sheets.columns", "sheets.paper", "sheets.lone", "network.units")
    assert not [key for key in keys if key.startswith(quiet)]
