"""The words of headings: how a heading is cut into words, and what each word may mean.

``words.csv`` holds them, a row a word or phrase: its meaning (``lat``, ``name``, ``metre`` ...),
its language, and the word without accents. Words are matched whole; where a script writes no
spaces, and in compounds, the parts must cover the whole.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

_FILE = Path(__file__).with_name("words.csv")
#: Words of one phrase, at most.
_LONGEST = 4
#: Ways to cut one heading, at most: no real heading has nearly as many.
_MOST_WAYS = 40
#: Letters between the parts of a German compound, or none.
_JOINTS = ("", "s", "n", "en", "es", "e")
#: A compound ends in one of these; before it stands what is named.
_COMPOUND_ENDS = frozenset(("name", "code", "number", "lat", "lon", "altitude"))

_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_CJK = "\u3005\u3040-\u30ff\u3400-\u9fff"
# Not made before a heading needs it, as each takes two milliseconds.
_SCRIPTS = f"(?<=[{_CJK}])(?=[A-Za-z])|(?<=[A-Za-z])(?=[{_CJK}])"
_NUMBER_MARK = re.compile(r"№|\b[nN]\s?[°º]")
_FOLDED = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ı": "i", "°": " deg "})
#: Marks that make another letter of a Japanese one, and are no accents.
_VOICED = "\u3099\u309a"

Meanings = frozenset[str]


@lru_cache(maxsize=1)
def lexicon() -> dict[str, Meanings]:
    """Return what each word or phrase may mean."""
    found: dict[str, set[str]] = {}
    for meaning, _, words in _rows():
        found.setdefault(words, set()).add(meaning)
    return {words: frozenset(meanings) for words, meanings in found.items()}


@lru_cache(maxsize=1)
def languages() -> dict[str, frozenset[str]]:
    """Return the languages that each word or phrase belongs to."""
    found: dict[str, set[str]] = {}
    for _, language, words in _rows():
        found.setdefault(words, set()).add(language)
    return {words: frozenset(of) for words, of in found.items()}


def words_meaning(meaning: str) -> list[str]:
    """Return all words of one meaning."""
    return [words for words, meanings in lexicon().items() if meaning in meanings]


#: A longer text is no heading.
_LONGEST_HEADING = 300


@lru_cache(maxsize=1)
def _rows() -> tuple[tuple[str, str, str], ...]:
    """Return meaning, language and word or phrase of each row of the file."""
    with _FILE.open(encoding="utf-8", newline="") as file:
        _, *rows = csv.reader(file)
        return tuple((meaning, language, folded(words)) for meaning, language, words in rows)


def folded(text: str) -> str:
    """Return a text in small letters without accents.

    >>> folded("Längengrad, Długość")
    'langengrad, dlugosc'
    """
    if text.isascii():  # has no accents, and no other letters of its own
        return text.lower()
    parts = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold())
    bare = "".join(c for c in parts if unicodedata.category(c) != "Mn" or c in _VOICED)
    return unicodedata.normalize("NFC", bare).translate(_FOLDED)


def tokens(heading: str, *, camel: bool = True) -> list[str]:
    """Return the words of a heading, folded.

    >>> tokens("FacilityName (GPS)")
    ['facility', 'name', 'gps']
    """
    text = _NUMBER_MARK.sub(" no ", heading.replace("\ufeff", ""))
    text = unicodedata.normalize("NFKC", text).replace("ـ", "")
    text = _CAMEL.sub(" ", text) if camel else text
    if not text.isascii():
        text = re.sub(_SCRIPTS, " ", text)
    return [word for word in re.split(r"[\W_]+", folded(text)) if word]


@lru_cache(maxsize=4096)
def readings(heading: str) -> tuple[tuple[tuple[str, Meanings], ...], ...]:
    """Return the ways to read a heading: for each the phrases and their meanings, longest first.

    An unknown word has no meaning; a heading without any known word has one way.
    """
    if len(heading) > _LONGEST_HEADING:
        return (((heading, frozenset()),),)
    ways: dict[tuple[tuple[str, Meanings], ...], None] = {}
    for camel in (True, False):
        for way in _cut(tuple(tokens(heading, camel=camel))):
            ways.setdefault(tuple(way))
            if len(ways) >= _MOST_WAYS:
                return tuple(ways)
    return tuple(ways)


def _cut(words: tuple[str, ...]) -> Iterator[list[tuple[str, Meanings]]]:
    if not words:
        yield []
        return
    for length in range(min(_LONGEST, len(words)), 0, -1):
        phrase = " ".join(words[:length])
        known = lexicon().get(phrase)
        if known is None and length > 1:
            continue
        first = [(phrase, known)] if known is not None else _compound(phrase)
        for rest in _cut(words[length:]):
            yield [*first, *rest]


def _compound(word: str) -> list[tuple[str, Meanings]]:
    """Return the parts of a word made of known ones, else the word without a meaning."""
    cjk = not word.isascii() and re.search(f"[{_CJK}]", word)
    parts = _run(word) if cjk else _two(word)
    return [(part, lexicon()[part]) for part in parts] if parts else [(word, frozenset())]


def _run(text: str) -> list[str]:
    """Return the known words that cover a text without spaces, the longest first."""
    for length in range(len(text), 0, -1):
        if text[:length] in lexicon():
            rest = _run(text[length:]) if text[length:] else []
            if rest or length == len(text):
                return [text[:length], *rest]
    return []


def _two(word: str) -> list[str]:
    """Return the two parts of a compound such as ``sitename`` or ``standortname``."""
    for at in range(len(word) - 2, 2, -1):
        end = lexicon().get(word[at:], frozenset())
        if not end & _COMPOUND_ENDS:
            continue
        for joint in _JOINTS:
            head = word[:at].removesuffix(joint) if joint else word[:at]
            if len(head) > 2 and lexicon().get(head, frozenset()) & {"noun", "area", "geo"}:
                return [head, word[at:]]
    return []


def letter_o_of(phrase: str) -> str:
    """Return what a lone O means in the one language of a word: E, W, or '' where that is open.

    O is east in German (Ost) and west in Spanish, Portuguese, French and Italian.
    """
    of = languages().get(phrase, frozenset())
    if of == {"de"}:
        return "E"
    return "W" if of and of <= {"es", "pt", "fr", "it"} else ""


def tongue_of(heading: str) -> str:
    """Return what O means beside a heading of latitude or longitude, '' where that is open.

    >>> tongue_of("Longitud"), tongue_of("Längengrad"), tongue_of("Longitude")
    ('W', 'E', '')
    """
    for way in readings(heading):
        for phrase, meanings in way:
            if meanings & {"lat", "lon"} and (letter := letter_o_of(phrase)):
                return letter
    return ""
