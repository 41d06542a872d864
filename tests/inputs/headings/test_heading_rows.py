"""Headings as public tables have them, in thirteen languages and two Chinese scripts.

The rows are from the general knowledge of whoever wrote them (from memory, no source); a heading
that is missed stands in the table as such, so that the counts can be believed.
"""

from __future__ import annotations

import pytest

from tests.inputs.headings.table import Row, counts, rows

#: What is known to be missed: a Greek letter for the latitude.
MISSED = {"WGS84 φ N"}


@pytest.mark.parametrize("language", sorted({row.language for row in rows()}))
def test_headings_are_read_or_told(language: str) -> None:
    missed = [r for r in rows() if r.language == language and r.outcome == "missed"]
    assert {row.heading for row in missed} <= MISSED, missed


def test_each_language_has_some_thirty_headings_and_few_are_only_told() -> None:
    assert len(counts()) == 13
    for language, of in counts().items():
        assert of.total() >= 30, language
        assert of["told"] <= 3, language


def test_a_heading_of_another_meaning_is_a_miss() -> None:
    assert Row("en", "Latitude", "lon").outcome == "missed"
    assert Row("en", "County Name", "name").outcome == "missed"
    assert Row("en", "Elevation", "altitude").outcome == "told"
