"""Which of our columns a heading may be that is not read: to be told, never to be taken.

``likely.csv`` holds the words, a row a word or several that must all be there, ``*`` for any
letters. A row without a column holds a word that speaks against all of them.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path

from siteplan.inputs.headings.words import folded, lexicon, tokens

_FILE = Path(__file__).with_name("likely.csv")
#: Words of a heading that say a code or number; of one letter they are too often something else.
_OF_IDS = frozenset(("code", "number"))
_FEET = frozenset(("ft", "feet"))
#: Columns that may be headed in feet too.
_IN_FEET = {"roof_height_m": "roof_height_ft", "cable_m": "cable_ft"}


@lru_cache(maxsize=4096)
def likely_keys(heading: str) -> tuple[str, ...]:
    """Return which of our columns a heading may be, the likeliest first; () for none.

    >>> likely_keys("Avail. req. %"), likely_keys("S/S No."), likely_keys("Tel. No.")
    (('availability_pct',), ('site_id',), ())
    """
    said = tokens(heading)
    found: dict[str, None] = {}
    for column, patterns in _rows():
        if all(any(_fits(word, pattern) for word in said) for pattern in patterns):
            if not column:
                return ()
            found.setdefault(column)
    if any(len(word) > 1 and lexicon().get(word, frozenset()) & _OF_IDS for word in said):
        found.setdefault("site_id")
    return tuple(found)


def _fits(word: str, pattern: str) -> bool:
    """Return whether a word is a pattern's; without the expressions that some 200 would need."""
    first, *more = pattern.split("*")
    if not more:
        return word == first
    *middle, last = more
    at = len(first) if word.startswith(first) else -1
    for piece in middle:
        at = word.find(piece, at) if at >= 0 else -1
        at += len(piece) if at >= 0 else 0
    return 0 <= at <= len(word) - len(last) and word.endswith(last)


def name_to_give(key: str, heading: str) -> str:
    """Return the heading that makes a column ours, in the unit that its own heading has.

    >>> name_to_give("roof_height_m", "Roof ht (ft)")
    'roof_height_ft'
    """
    return _IN_FEET.get(key, key) if _FEET & set(tokens(heading)) else key


@lru_cache(maxsize=1)
def _rows() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return column and patterns of each row of the file."""
    with _FILE.open(encoding="utf-8", newline="") as file:
        _, *rows = csv.reader(file)
        return tuple((column, tuple(folded(words).split())) for column, _, words in rows)
