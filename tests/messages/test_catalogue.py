"""The catalogue of sentences: sorted, no key twice, written as a spreadsheet would not."""

from __future__ import annotations

import csv
import io
import re
from importlib import resources

import numpy as np
import pytest

from siteplan.messages import Catalogue, english, fill, gaps

FOLDER = resources.files("siteplan.messages")
FILES = sorted(p.name for p in FOLDER.iterdir() if p.name.endswith(".csv"))


def rows(name: str) -> list[list[str]]:
    return list(csv.reader(FOLDER.joinpath(name).read_text("utf-8").splitlines()))


@pytest.mark.parametrize("name", FILES)
def test_a_language_is_a_file_of_unique_sorted_keys(name: str) -> None:
    head, *body = rows(name)
    keys = [key for key, _ in body]
    assert head == ["key", "sentence"]
    assert keys == sorted(set(keys))
    assert all(sentence for _, sentence in body)


@pytest.mark.parametrize("name", FILES)
def test_every_language_has_the_same_keys_and_gaps(name: str) -> None:
    found = {key: gaps(sentence) for key, sentence in rows(name)[1:]}
    assert found == {key: gaps(sentence) for key, sentence in english().items()}


@pytest.mark.parametrize("name", FILES)
def test_the_file_is_as_the_csv_module_writes_it(name: str) -> None:
    again = io.StringIO()
    csv.writer(again, lineterminator="\n").writerows(rows(name))
    assert FOLDER.joinpath(name).read_bytes() == again.getvalue().encode()


#: Sentences that tell a figure twice on purpose.
TWICE = {"cable.both": "length", "note.input_mended.out_of_range": "limits"}


def test_a_sentence_tells_a_figure_once() -> None:
    """A figure that stands twice stands in another's place: expected beside measured, say."""
    found: dict[str, str] = {}
    for key, sentence in english().items():
        names = re.findall(r"\{(\w+)", sentence)
        found.update((key, name) for name in names if names.count(name) > 1)
    assert found == TWICE


def test_single_values_hold_for_all_sites() -> None:
    told = fill("{x:.1f} of {limit:g}", {"x": np.array([1.0, 2.0]), "limit": 3.0})
    assert told.tolist() == ["1.0 of 3", "2.0 of 3"]


def test_one_sentence_and_many() -> None:
    some = Catalogue("xx", {"a": "{n:g} sites", "b": "none"})
    assert some.one("a", n=2) == "2 sites"
    assert some.many("b", {}, 2).tolist() == ["none", "none"]
    with pytest.raises(KeyError, match="gone"):
        some.one("gone")
