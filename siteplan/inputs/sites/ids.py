"""Ids for sites that have none: made from the name, the group and the place, never from the row.

So they stay when rows move, and where the name is unique in the file also when coordinates are
mended. They are safe as file names and hold letters of any script.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.inputs.files.cells import unknown_mask

#: Most letters of a name, and of a group, in an id.
NAME_LENGTH, GROUP_LENGTH = 40, 16
#: Letters and digits of the code of a place: eight of a geohash, some 20 m.
PLACE_LENGTH = 8
_GEOHASH = np.frombuffer(b"0123456789bcdefghjkmnpqrstuvwxyz", dtype="S1")
_APART = re.compile(r"[^A-Za-z0-9_\n]+")
#: What a spreadsheet takes for a number, and what a file cannot be called everywhere.
_NO_NAME = re.compile(r"[\d_-]+|\d+e\d+|con|prn|aux|nul|com\d|lpt\d|index", re.IGNORECASE)
#: The longest of those that begin with no digit.
_NO_NAME_LENGTH = 5


@dataclass
class Unnamed:
    """What the rows without an id are called and where they are, chunk by chunk.

    ``heard`` holds a number for each name of the other rows: a name is unique in the whole file.
    """

    names: list[TextArray] = field(default_factory=list)
    groups: list[TextArray] = field(default_factory=list)
    rows: list[IntArray] = field(default_factory=list)
    heard: list[NDArray[np.int64]] = field(default_factory=list)

    def add(self, ids: TextArray, names: TextArray, groups: TextArray, rows: IntArray) -> None:
        """Take a chunk: ids (n,) with '' for none, stripped names and groups, row numbers."""
        missing = ids == ""
        self.names.append(names[missing])
        self.groups.append(groups[missing])
        self.rows.append(rows[missing])
        if not missing.all():
            self.heard.append(_numbers(names[~missing]))


def _numbers(names: TextArray) -> NDArray[np.int64]:
    """Return a number for each name, the same for the same name in this process."""
    return np.fromiter(map(hash, names.tolist()), dtype=np.int64, count=len(names))


def made_ids(unnamed: Unnamed, given: TextArray, lat: FloatArray, lon: FloatArray) -> TextArray:
    """Return an id for each row without one, in the order of the rows.

    The first that is unique: the name; name and group; name and the code of the place (without a
    name the code alone); the last with a number, counted from south to north.

    Parameters
    ----------
    unnamed : Unnamed
        Of k rows.
    given : array (m,)
        The ids that the file has.
    lat, lon : array (k,)
        Degrees; NaN where they cannot be read.
    """
    names, groups = np.concatenate(unnamed.names), np.concatenate(unnamed.groups)
    rows = np.concatenate(unnamed.rows)
    bases = _words(names, NAME_LENGTH)
    heard = np.concatenate([*unnamed.heard, np.empty(0, dtype=np.int64)])
    single = (bases != "") & ~np.isin(_numbers(names), heard)
    taken = {text.casefold() for text in given.tolist()}
    ids = np.full(len(rows), "", dtype=object)
    _settle(ids, bases, single, taken)
    of_groups = _words(groups, GROUP_LENGTH)
    _settle(ids, bases + "-" + of_groups, (bases != "") & (of_groups != ""), taken)
    left = ids == ""
    placed = np.full(len(rows), "", dtype=object)
    codes = place_codes(lat[left], lon[left], rows[left])
    placed[left] = np.where(bases[left] == "", "P", bases[left]) + "-" + codes
    others = set(taken)
    _settle(ids, placed, left, taken)
    taken = others | {text.casefold() for text in ids[left].tolist()}
    at = np.flatnonzero(ids == "")
    for k in at[np.lexsort((rows[at], lon[at], lat[at]))].tolist():
        ids[k] = _numbered(placed[k], taken)
        taken.add(ids[k].casefold())
    return ids


def _settle(ids: TextArray, texts: TextArray, may: BoolArray, taken: set[str]) -> None:
    """Give each row without an id (k,) its text where it ``may`` have it and it is unique."""
    from pandas import Series

    at = np.flatnonzero((ids == "") & may)
    keys = [text.casefold() for text in texts[at].tolist()]
    repeated = Series(keys, dtype=object).duplicated(keep=False).to_numpy()
    for k, key, twice in zip(at.tolist(), keys, repeated.tolist(), strict=True):
        if not twice and key not in taken:
            ids[k] = texts[k]
    # What two rows would have had is no other row's either, or a new row would change an id.
    taken.update(keys)


def _numbered(text: str, taken: set[str]) -> str:
    number = 1
    candidate = text
    while candidate.casefold() in taken:
        number += 1
        candidate = f"{text}-{number}"
    return candidate


def _words(texts: TextArray, most: int) -> TextArray:
    """Return texts (k,) as words joined by '-', '' for none and for 'not known'."""
    out = np.empty(len(texts), dtype=object)
    whole = "\n".join(texts.tolist())
    if whole.isascii() and whole.count("\n") == len(texts) - 1:
        # One search through all of them costs far less than one for each.
        out[:] = [_fit(words, most) for words in _APART.sub("-", whole).split("\n")]
    else:
        out[:] = [safe_words(text, most) for text in texts.tolist()]
    out[unknown_mask(texts)] = ""
    return out


def safe_words(text: str, most: int) -> str:
    """Return the letters and digits of a text, what stands between them as '-'.

    >>> safe_words("Post 12 (north)", 40), safe_words("12", 40), safe_words("पोस्ट १", 40)
    ('Post-12-north', 'Site-12', 'पोस्ट-१')
    """
    kept = (c if _belongs(c) else "-" for c in unicodedata.normalize("NFC", text))
    return _fit(re.sub("-+", "-", "".join(kept)), most)


def _fit(words: str, most: int) -> str:
    """Return words cut to a length, and told from what is no name."""
    words = words.strip("-_")[:most].strip("-_")
    if (len(words) <= _NO_NAME_LENGTH or words[0].isdigit()) and _NO_NAME.fullmatch(words):
        return f"Site-{words}"
    return words


def _belongs(letter: str) -> bool:
    """Whether a character is a letter, a digit or a mark on a letter, in any script."""
    return letter == "_" or unicodedata.category(letter)[0] in "LMN"


def place_codes(lat: FloatArray, lon: FloatArray, rows: IntArray) -> TextArray:
    """Return a short code of each place (k,), the same for one place in any file; else the row.

    >>> place_codes(np.array([57.64911]), np.array([10.40744]), np.array([2])).tolist()
    ['u4pruydq']
    """
    known = np.isfinite(lat) & np.isfinite(lon)
    codes = np.empty(len(rows), dtype=object)
    codes[~known] = [f"row-{row}" for row in rows[~known].tolist()]
    bits = PLACE_LENGTH * 5 // 2
    north = _steps((lat[known] + 90) / 180, bits)
    east = _steps(((lon[known] + 180) % 360) / 360, bits)
    woven = np.zeros(int(known.sum()), dtype=np.int64)
    for bit in range(bits - 1, -1, -1):
        woven = woven << 2 | (east >> bit & 1) << 1 | (north >> bit & 1)
    letters = woven[:, None] >> 5 * np.arange(PLACE_LENGTH - 1, -1, -1) & 31
    packed = np.ascontiguousarray(_GEOHASH[letters]).view(f"S{PLACE_LENGTH}").ravel()
    codes[known] = packed.astype(str).tolist()
    return codes


def _steps(share: FloatArray, bits: int) -> NDArray[np.int64]:
    """Return shares of the whole (k,) in whole steps of a power of two."""
    return np.minimum(share * (1 << bits), (1 << bits) - 1).astype(np.int64)
