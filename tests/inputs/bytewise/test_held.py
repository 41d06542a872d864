"""What whole-column tests say of texts is what Python says of each."""

import re
import unicodedata

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.inputs.bytewise.held import _HELD, _SPACES, TextBytes, held, hold
from siteplan.inputs.bytewise.words import words_of
from siteplan.inputs.files import cells

SPACES = [chr(c) for c in range(0x110000) if chr(c).isspace()]
ODD = ["", "\u212a", "un\u212anown", "N/A", "not known", "٣", "é", "à", "\ufffe", "\uffff", "\x7f"]
PIECES = st.sampled_from([*SPACES, *ODD, "-", "+", ".", "7", "12.5", "x", "n/a", "\x85", "\x07"])
CELL = st.one_of(
    st.lists(PIECES, max_size=4).map("".join),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    st.from_regex(re.compile(cells.PLAIN_NUMBER), fullmatch=True),
    st.floats(allow_nan=False, allow_infinity=False).map(lambda x: f"{x:.7f}"),
)


def column(texts):
    out = np.empty(len(texts), dtype=object)
    out[:] = texts
    return out


@given(st.lists(CELL, max_size=30), st.integers(0, 3))
def test_each_question_has_the_answer_that_python_gives(texts, skip):
    plain = column(texts)
    # A slice of a longer column, as the reader of blocks may give it.
    arrow = pa.array(["x "] * skip + texts + ["y"], pa.string()).slice(skip, len(texts))
    known = hold(plain.copy(), arrow)
    bare = cells.strip_texts(known)
    assert bare.tolist() == [text.strip() for text in texts]
    assert held(known).filled.tolist() == [bool(text.strip()) for text in texts]
    assert cells.unknown_mask(bare).tolist() == [
        text.strip().lower() in cells.UNKNOWN_WORDS for text in texts
    ]
    assert cells.decimal_mask(known).tolist() == [text.isdecimal() for text in texts]
    for one_line in (True, False):
        got, changed = cells.without_controls(known, one_line=one_line)
        expected, where = cells.without_controls(plain, one_line=one_line)
        assert (got.tolist(), changed.tolist()) == (expected.tolist(), where.tolist())
    numbers, is_number = cells.plain_numbers(bare)
    pattern = re.compile(cells.PLAIN_NUMBER)
    assert is_number.tolist() == [pattern.fullmatch(text.strip()) is not None for text in texts]
    expected = [float(text) for text in bare[is_number]]
    assert numbers[is_number].tobytes() == np.array(expected, dtype=np.float64).tobytes()
    assert np.isnan(numbers[~is_number]).all()


def test_numbers_are_the_doubles_that_python_reads():
    rng = np.random.default_rng(5)
    digits = rng.integers(1, 10**15, 20_000)
    places = rng.integers(0, 18, 20_000)
    texts = [f"-{d}.{p:0{p + 1}d}{d}" for d, p in zip(digits, places, strict=True)]
    texts += [repr(x) for x in rng.uniform(-180, 180, 20_000).tolist()] + [
        "9007199254740993",
        "-0",
        "5.",
    ]
    numbers, plain = cells.plain_numbers(hold(column(texts)))
    assert plain.sum() > 40_000
    expected = np.array([float(t) for t, p in zip(texts, plain, strict=True) if p])
    assert numbers[plain].tobytes() == expected.tobytes()


def test_spaces_of_python_are_all_known():
    assert {space.decode() for space in _SPACES} == set(SPACES)
    for c in map(chr, [*range(0x80, 0xA0), 0xFFFE, 0xFFFF]):
        assert TextBytes(pa.array([f"a{c}"])).may_hold_controls
    for c in map(chr, range(0xA0, 0xD800)):
        assert unicodedata.category(c) != "Cc"


def test_a_held_column_cannot_be_written_to_and_goes_with_its_column():
    texts = hold(column(["a ", "b"]))
    with pytest.raises(ValueError, match="read-only"):
        texts[0] = "c"
    assert held(texts) is not None
    assert held(texts.copy()) is None
    known, key = held(texts), id(texts)
    del texts
    assert known is not None
    assert key not in _HELD


def test_half_a_pair_of_surrogates_is_an_ordinary_column():
    texts = column(["\ud800", "a "])
    assert held(hold(texts)) is None
    assert cells.strip_texts(texts).tolist() == ["\ud800", "a"]


def test_few_words_are_one_object_each():
    texts = [f"word {k % 7}" for k in range(9000)] + ["é"]
    known = TextBytes(pa.array(texts, pa.string()))
    found = known.objects()
    assert found.tolist() == texts
    assert found[0] is found[7]
    many = TextBytes(pa.array([f"word {k}" for k in range(9000)], pa.string()))
    assert many.objects().tolist() == [f"word {k}" for k in range(9000)]


@given(st.lists(CELL, max_size=20), st.integers(0, 3))
def test_words_are_those_of_the_column(texts, skip):
    plain = column(texts)
    arrow = pa.array(["x "] * skip + texts, pa.string()).slice(skip)
    for found in (words_of(hold(plain.copy(), arrow)), words_of(plain)):
        assert [found[k] for k in range(len(found))] == texts
        assert len(set(found.texts)) == len(found.texts)
        assert found.texts == list(dict.fromkeys(texts))
        upper = found.changed(str.upper)
        assert [upper[k] for k in range(len(upper))] == [text.upper() for text in texts]


@given(st.lists(CELL, max_size=20), st.integers(0, 3), st.integers(1, 9))
def test_leading_bytes_are_those_of_each_text(texts, skip, width):
    arrow = pa.array(["x "] * skip + texts + ["y"], pa.string()).slice(skip, len(texts))
    found = TextBytes(arrow).leading(width, slice(1, None))
    assert found.shape == (width, max(len(texts) - 1, 0))
    for k, text in enumerate(texts[1:]):
        assert bytes(found[:, k]) == text.encode()[:width].ljust(width, b"\0")
