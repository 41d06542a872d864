"""Columns of few words: each text once, and which of them each cell has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from siteplan.arrays import IntArray, TextArray
from siteplan.frozen import frozen
from siteplan.inputs.bytewise.held import held


@frozen(eq=False)
class Words:
    """Texts of a column, each once, and which of them each cell has (n,)."""

    texts: list[str]
    which: IntArray

    def __len__(self) -> int:
        """Return how many cells the column has."""
        return len(self.which)

    def __getitem__(self, at: int) -> str:
        """Return the text of a cell."""
        return self.texts[int(self.which[at])]

    def changed(self, change: Callable[[str], str]) -> Words:
        """Return the column with each text changed; what then is alike may stand twice."""
        return replace(self, texts=[change(text) for text in self.texts])


def words_of(texts: TextArray) -> Words:
    """Return a column (n,) as its words.

    >>> words_of(np.array(["a", "b", "a"], dtype=object)).which.tolist()
    [0, 1, 0]
    """
    if known := held(texts):
        return Words(*known.distinct())
    number: dict[str, int] = {}
    which = [number.setdefault(text, len(number)) for text in texts.tolist()]
    return Words(list(number), np.array(which, dtype=np.int64))
