"""Columns of texts that are held twice: as objects, and as bytes that whole-column tests go over.

A question like 'which cells have spaces at their ends' is settled for nearly all cells by their
first and last bytes; only those that it leaves open are looked at one by one. A column that is
held here cannot be written to, so that the bytes stay true; a copy of it is an ordinary column.
"""

from __future__ import annotations

import weakref
from collections.abc import Callable
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray

_SPACES = [c.encode() for c in map(chr, range(0x3001)) if c.isspace()]


def _bytes_in(found: set[int]) -> BoolArray:
    return np.isin(np.arange(256), list(found))


_MAY_OPEN = _bytes_in({space[0] for space in _SPACES})
_MAY_CLOSE = _bytes_in({space[-1] for space in _SPACES})
#: Of so many texts at most so large a part is distinct where a column has few words.
_LOOKED_AT, _FEW = 2000, 0.95
#: A digit of any script begins with one of these bytes.
_MAY_BE_DIGIT = _bytes_in({*b"0123456789", *range(0x80, 256)})


class TextBytes:
    """The texts of a column as UTF-8, one behind the other.

    Parameters
    ----------
    arrow : pyarrow.StringArray (n,)
        Without nulls.
    """

    def __init__(self, arrow: Any) -> None:
        self.arrow = arrow
        self._stripped: TextArray | None = None
        self._numbers: tuple[FloatArray, BoolArray] | None = None

    @cached_property
    def _ends(self) -> IntArray:
        """Where the texts begin in the bytes, and where the last one ends (n + 1,)."""
        at = np.frombuffer(self.arrow.buffers()[1], dtype=np.int32)
        return at[self.arrow.offset : self.arrow.offset + len(self.arrow) + 1].astype(np.int64)

    @cached_property
    def _data(self) -> NDArray[np.uint8]:
        data = self.arrow.buffers()[2]
        return np.frombuffer(data or b"", dtype=np.uint8)

    @cached_property
    def sizes(self) -> IntArray:
        """How many bytes each text has (n,)."""
        return np.diff(self._ends)

    @cached_property
    def first(self) -> NDArray[np.uint8]:
        """The first byte of each text (n,), 0 where there is none."""
        return self._byte_at(self._ends[:-1])

    def _byte_at(self, at: IntArray) -> NDArray[np.uint8]:
        out = np.zeros(len(self.sizes), dtype=np.uint8)
        full = self.sizes > 0
        out[full] = self._data[at[full]]
        return out

    def leading(self, width: int, rows: slice) -> NDArray[np.uint8]:
        """Return the first bytes of some texts (width, k), 0 behind the end of a text."""
        begin, size = self._ends[:-1][rows], self.sizes[rows]
        if not len(begin):
            return np.zeros((width, 0), dtype=np.uint8)
        low, high = int(begin[0]), int(begin[-1] + size[-1])
        data = np.concatenate([self._data[low:high], np.zeros(width, dtype=np.uint8)])
        found = np.lib.stride_tricks.sliding_window_view(data, width)[begin - low]
        found *= np.arange(width) < size[:, np.newaxis]
        return np.ascontiguousarray(found.T)

    def distinct(self) -> tuple[list[str], IntArray]:
        """Return each text once, and which of them each cell has (n,)."""
        found = self._encoded
        return list(found.dictionary.to_pylist()), found.indices.to_numpy().astype(np.int64)

    @cached_property
    def _encoded(self) -> Any:
        return self.arrow.dictionary_encode()

    @property
    def _of_few_words(self) -> bool:
        """Whether texts seem to stand in the column many times, by some of them."""
        if len(self.arrow) < 4 * _LOOKED_AT:
            return False
        some = self.arrow.take(np.linspace(0, len(self.arrow) - 1, _LOOKED_AT).astype(np.int64))
        return len(some.unique()) < _FEW * _LOOKED_AT

    def objects(self) -> TextArray:
        """Return the column (n,) as Python's texts; of few words each is one object."""
        if not self._of_few_words:
            found: TextArray = self.arrow.to_numpy(zero_copy_only=False)
            return found
        texts, which = self.distinct()
        return np.array(texts, dtype=object)[which]

    def where(self, doubtful: BoolArray, says: Callable[[str], bool]) -> BoolArray:
        """Return where (n,) a ``doubtful`` text is one that ``says`` agrees to."""
        out = np.zeros(len(self.sizes), dtype=bool)
        at = np.flatnonzero(doubtful)
        out[at] = [says(text) for text in self._taken(at)]
        return out

    def _taken(self, at: IntArray) -> list[str]:
        return list(self.arrow.take(at).to_pylist())

    @cached_property
    def _ragged(self) -> tuple[IntArray, list[str]]:
        """Where texts have spaces at their ends (k,), and these texts without them."""
        last = self._byte_at(self._ends[1:] - 1)
        doubtful = (self.sizes > 0) & (_MAY_OPEN[self.first] | _MAY_CLOSE[last])
        at = np.flatnonzero(doubtful)
        pairs = [(i, text, text.strip()) for i, text in zip(at, self._taken(at), strict=True)]
        unlike = [(i, bare) for i, text, bare in pairs if text != bare]
        return np.array([i for i, _ in unlike], dtype=np.int64), [bare for _, bare in unlike]

    @cached_property
    def filled(self) -> BoolArray:
        """Where (n,) there is more than spaces."""
        out: BoolArray = self.sizes > 0
        at, bare = self._ragged
        out[at] = [text != "" for text in bare]
        return out

    def stripped(self, texts: TextArray) -> TextArray:
        """Return the column without spaces at the ends; ``texts`` where there are none."""
        at, bare = self._ragged
        if not len(at):
            return texts
        if self._stripped is None:
            self._stripped = texts.copy()
            self._stripped[at] = bare
            hold(self._stripped)
        return self._stripped

    @cached_property
    def may_hold_controls(self) -> bool:
        """Whether any byte may belong to a control character, a tab or a line end."""
        data = self._data[self._ends[0] : self._ends[-1]]
        if not data.size or (data.min() >= 0x20 and data.max() < 0x7F):
            return False
        if ((data < 0x20) | (data == 0x7F)).any():
            return True
        at = np.flatnonzero((data == 0xC2) | (data == 0xEF))
        # C1 controls are C2 80 to C2 9F; U+FFFE and U+FFFF begin with EF BF.
        return bool(np.where(data[at] == 0xC2, data[at + 1] < 0xA0, data[at + 1] == 0xBF).any())

    @cached_property
    def decimal(self) -> BoolArray:
        """Where (n,) a text is all digits, of any script."""
        return self.where(_MAY_BE_DIGIT[self.first] & (self.sizes > 0), str.isdecimal)

    def contains(self, part: bytes) -> bool:
        """Whether the bytes of the column hold some bytes, in a text or over two."""
        return bool((self._data == part[0]).any()) and part in self._data.tobytes()

    def plain_numbers(self, pattern: str) -> tuple[FloatArray, BoolArray]:
        """Return the numbers (n,), and where (n,) a whole text is one by the pattern.

        The pattern must mean the same to Python and to Arrow, and allow what Arrow and Python
        both read as a number, and Arrow too but for a plus before it.
        """
        if self._numbers is None:
            self._numbers = self._read_numbers(pattern)
        return self._numbers[0].copy(), self._numbers[1].copy()

    def _read_numbers(self, pattern: str) -> tuple[FloatArray, BoolArray]:
        import pyarrow as pa
        import pyarrow.compute as pc

        found = pc.match_substring_regex(self.arrow, rf"\A(?:{pattern})\z")
        plain = np.asarray(found.to_numpy(zero_copy_only=False), dtype=bool)
        numbers = np.full(len(plain), np.nan)
        easy = plain & (self.first != ord("+"))
        texts = self.arrow if easy.all() else self.arrow.filter(pa.array(easy))
        numbers[easy] = pc.cast(texts, pa.float64()).to_numpy(zero_copy_only=False)
        at = np.flatnonzero(plain & ~easy)
        numbers[at] = [float(text) for text in self._taken(at)]
        return numbers, plain


_HELD: dict[int, tuple[weakref.ref[Any], TextBytes]] = {}


def hold(texts: TextArray, arrow: Any = None) -> TextArray:
    """Hold the bytes of a column of texts for as long as the column is used.

    Parameters
    ----------
    texts : array (n,) of str
        Can only be read from now on.
    arrow : pyarrow.StringArray or TextBytes, optional
        The same texts; made where it is not given.

    Returns
    -------
    array (n,)
        ``texts``.
    """
    import pyarrow as pa

    if arrow is None:
        try:
            arrow = pa.array(texts, pa.string())
        except (UnicodeEncodeError, pa.ArrowInvalid, pa.ArrowTypeError):
            return texts  # half of a pair of surrogates
    if isinstance(arrow, pa.ChunkedArray):
        return texts  # beyond two gigabytes
    texts.setflags(write=False)
    key = id(texts)
    gone = weakref.ref(texts, lambda _: _HELD.pop(key, None))
    _HELD[key] = (gone, arrow if isinstance(arrow, TextBytes) else TextBytes(arrow))
    return texts


def held(texts: NDArray[Any]) -> TextBytes | None:
    """Return the bytes of a column, None where they are not held."""
    found = _HELD.get(id(texts))
    return found[1] if found and found[0]() is texts else None
