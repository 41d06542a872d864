"""Where the text of a string literal stands in the source: prefixes, quotes and gaps left out."""

from __future__ import annotations

import re
from collections.abc import Iterator

from tests.mutation.changes import siblings

_OPENING = re.compile(r"([rRbBuUfF]{0,2})(\"\"\"|'''|\"|')")
_BETWEEN = re.compile(r"(?:\s|#[^\n]*\n|\\\n)+")
_WORD = re.compile(r"\w[\w-]*")
#: The decimals of a format in a gap, such as ``{x:+.1f}``.
_DECIMALS = re.compile(r":[^{}:.]*\.(\d)[fge]\}")
_CODE = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
Swap = tuple[int, int, str]


def parts(segment: str) -> Iterator[tuple[int, int]]:
    """Yield start and end of each literal part of a literal, which may be several in a row."""
    at = 0
    while (opening := _OPENING.match(segment, at)) is not None:
        prefix, quote = opening[1].lower(), opening[2]
        at = start = opening.end()
        while not segment.startswith(quote, at):
            if at >= len(segment):
                return
            if segment[at] == "\\":
                yield start, at
                at = start = at + 2
            elif "f" in prefix and segment[at] in "{}":
                yield start, at
                at = start = _behind_gap(segment, at)
            else:
                at += 1
        yield start, at
        at += len(quote)
        between = _BETWEEN.match(segment, at)
        at = between.end() if between else at


def _behind_gap(segment: str, at: int) -> int:
    """Return where a gap of an f-string ends; a doubled brace is a gap of its own."""
    if segment[at : at + 2] in ("{{", "}}"):
        return at + 2
    depth = 0
    for end in range(at, len(segment)):
        depth += {"{": 1, "}": -1}.get(segment[end], 0)
        if depth == 0:
            return end + 1
    return len(segment)


def sibling_swaps(segment: str) -> Iterator[Swap]:
    """Yield the words of a literal that a sibling may stand for: start, end and the sibling."""
    for start, end in parts(segment):
        text = segment[start:end]
        for other in siblings.of_text(text) if not _CODE.fullmatch(text) else ():
            yield start, end, other


def decimals(segment: str) -> Iterator[Swap]:
    """Yield the decimals of an f-string's gaps, and another number of them."""
    for found in _DECIMALS.finditer(segment):
        start, end = found.span(1)
        for other in {int(found[1]) + 1, max(int(found[1]) - 1, 0)} - {int(found[1])}:
            yield start, end, str(other)


def other_texts(segment: str, alike: list[str]) -> Iterator[Swap]:
    """Yield other texts of a literal: another code of the file, or a word less.

    ``alike`` are the codes that stand in the same file, such as ``"inbound"``.
    """
    for start, end in parts(segment):
        text = segment[start:end]
        if _CODE.fullmatch(text):
            yield from ((start, end, other) for other in alike if other != text)
        elif not text:
            continue
        elif len(words := list(_WORD.finditer(text))) > 1:
            for word in words:
                yield start + word.start(), start + word.end(), ""
        elif text.strip():
            yield start, end, text[:-1]


def is_code(text: object) -> bool:
    """Return whether a constant is a name in quotes: a column, a key, a kind."""
    return isinstance(text, str) and _CODE.fullmatch(text) is not None
