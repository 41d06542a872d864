"""File names from ids and groups of users: safe on every system, one name each, always the same."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Sequence

#: Longest stem of a file name: leaves room for an ending and for a deep folder.
LONGEST = 80
_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")
#: Names that Windows keeps for devices, whatever their ending, and those of ours.
_TAKEN = frozenset(
    {"con", "prn", "aux", "nul", "index", ""}
    | {f"{device}{k}" for device in ("com", "lpt") for k in range(10)}
)


def safe_names(texts: Sequence[str]) -> list[str]:
    """Return a file name's stem for each of the distinct ``texts``.

    A text of ASCII letters, digits, ``.``, ``_`` and ``-`` stays as it is; any other, and those
    that differ in capitals only, get a mark made from the text itself, so that the name does
    not depend on what else is in the list.
    """
    stems = [_stem(text) for text in texts]
    seen = Counter(stem.casefold() for stem in stems)
    return [
        stem if stem == text and seen[stem.casefold()] == 1 else f"{stem}-{_mark(text)}"
        for text, stem in zip(texts, stems, strict=True)
    ]


def _stem(text: str) -> str:
    """Return the safe part of a text; never empty, hidden, or a device."""
    stem = _UNSAFE.sub("_", text).strip("._-")[:LONGEST].strip("._-")
    return f"_{stem}" if stem.casefold().split(".")[0] in _TAKEN else stem


def _mark(text: str) -> str:
    """Return eight hexadecimal digits of the text."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:8]
