"""The dataset inside the map: rounding, coding, escaping, and the way back."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.fields import FIELDS
from siteplan.outputs.map import dataset


@pytest.fixture(scope="module", autouse=True)
def _readers(decode: Any, parse: Any) -> None:
    READERS.update(decode=decode, parse=parse)


READERS: dict[str, Any] = {}


def decoded(column: dict[str, Any], count: int) -> list[Any]:
    """Write a column as the page holds it and read it back."""
    found: list[Any] = READERS["decode"](READERS["parse"](dataset.to_json(column)), count)
    return found


def test_numbers_are_rounded_and_nan_is_null() -> None:
    column = dataset.number_column(np.array([1.005, 2.349, np.nan, -0.04]), 1)
    found = decoded(column, 4)
    assert found[:3] == [1.0, 2.3, None]
    assert str(found[3]) == "-0.0"


def test_whole_numbers_have_no_point() -> None:
    written = dataset.to_json(dataset.number_column(np.array([12.4, 7.0]), 0))
    assert written == '{"v":[12,7],"s":0}'
    written = dataset.to_json(dataset.number_column(np.array([1.25, np.nan, -0.001, 20]), 2))
    assert written == '{"v":[125,null,-0,2000],"s":2}'


def test_large_numbers_are_written_as_they_are() -> None:
    assert decoded(dataset.number_column(np.array([1e12, 0.5]), 2), 2) == [1e12, 0.5]


def test_a_table_is_flat_and_can_be_written_by_how_its_steps_change() -> None:
    table = np.array([[[1.04, 1.2, 2.0], [np.nan, np.nan, np.nan]]])
    assert dataset.to_json(dataset.table_column(table, 1)) == "[10,12,20,null,null,null]"
    assert dataset.to_json(dataset.table_column(table, 1, bends=True)) == (
        "[10,-8,6,null,null,null]"
    )


def test_sentences_share_their_words() -> None:
    values = np.array([f"Rain of {k / 4:.2f} mm/h, {k} days." for k in range(40)] + ["", "Dry."])
    column = dataset.sentence_column(values)
    assert column["t"] == [["Rain of ", " mm/h, ", " days."], [""], ["Dry."]]
    assert decoded(column, 42) == values.tolist()


@given(st.lists(st.text(alphabet="ab 1.2-", max_size=9), min_size=1, max_size=30))
def test_any_sentence_comes_back(texts: list[str]) -> None:
    values = np.array([*texts, ""], dtype=object)[:-1]
    assert decoded(dataset.sentence_column(values), len(texts)) == texts


def test_one_value_throughout_is_written_once() -> None:
    assert dataset.number_column(np.full(1000, 99.5), 3) == {"c": 99.5}
    assert dataset.to_json(dataset.number_column(np.full(9, np.nan), 1)) == '{"c":null}'
    assert dataset.text_column(np.full(9, "pole", dtype=object)) == {"c": "pole"}


def test_zero_and_minus_zero_are_not_one_value() -> None:
    assert [str(v) for v in decoded(dataset.number_column(np.array([0.0, -0.001]), 1), 2)] == [
        "0.0",
        "-0.0",
    ]


def test_texts_that_repeat_are_written_once() -> None:
    values = np.array(["pole", "wall", "pole", None, np.nan, "wall", "pole", "pole"], dtype=object)
    column = dataset.text_column(values)
    assert column["d"] == ["pole", "wall", ""]
    assert decoded(column, 8) == ["pole", "wall", "pole", "", "", "wall", "pole", "pole"]


def test_no_sites_give_empty_columns() -> None:
    assert decoded(dataset.number_column(np.array([]), 1), 0) == []
    assert decoded(dataset.text_column(np.array([], dtype=object)), 0) == []
    assert decoded(dataset.extra_column(np.array([], dtype=np.int64)), 0) == []


@given(st.lists(st.text(), min_size=1, max_size=30))
def test_any_text_comes_back_and_breaks_nothing(texts: list[str]) -> None:
    column = dataset.text_column(np.array([*texts, ""], dtype=object)[:-1])
    written = dataset.to_json(column)
    assert not set(written) & set("<>&\u2028\u2029")
    # Lone surrogates have no UTF-8 form; they become question marks.
    expected = [text.encode("utf-8", "replace").decode() for text in texts]
    assert decoded(column, len(texts)) == expected


@given(st.lists(st.floats(-1e4, 1e4) | st.just(float("nan")), min_size=1, max_size=40))
def test_any_number_comes_back_rounded(numbers: list[float]) -> None:
    values = np.array(numbers)
    found = np.array(decoded(dataset.number_column(values, 2), len(numbers)), dtype=float)
    np.testing.assert_allclose(found, np.round(values, 2), rtol=0, atol=1e-12)


def test_hostile_names_are_harmless(hostile_names: tuple[str, ...]) -> None:
    written = dataset.to_json(dataset.text_column(np.array(hostile_names, dtype=object)))
    assert "</script" not in written.lower()
    assert tuple(decoded(json.loads(written), len(hostile_names))) == hostile_names


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (np.array([1, 2, 3]), [1, 2, 3]),
        (np.array([5, 5]), [5, 5]),
        (np.array([1.5, np.nan]), [1.5, None]),
        (np.array([2**60, 1]), [str(2**60), "1"]),
        (np.array([True, False]), ["True", "False"]),
        (np.array(["a", 1, None, 2.5], dtype=object), ["a", "1", "", "2.5"]),
        (np.array(["2026-03-01"], dtype="datetime64[D]"), ["2026-03-01"]),
        (np.array(["x", "y"]), ["x", "y"]),
    ],
)
def test_free_columns_keep_their_values(values: Any, expected: list[Any]) -> None:
    assert decoded(dataset.extra_column(values), len(values)) == expected


def test_only_known_fields_that_are_there_are_written() -> None:
    columns = {"margin_db": np.array([1.25]), "nonsense": np.array([1.0])}
    found = dataset.field_columns(columns, ("margin_db", "nonsense", "elevation_deg"))
    assert set(found) == {"margin_db"}
    assert FIELDS["margin_db"].decimals == 1
