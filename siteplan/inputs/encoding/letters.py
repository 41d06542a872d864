"""What lines of bytes are in a code page: whether its letters make words of its languages.

A word has letters of one language (alphabets.csv) and no capital within; a sign stands among no
letters. What a language hardly ever writes counts against it.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import NamedTuple


class Signs(NamedTuple):
    """Signs that fit in a place, and those that are odd there; all others never stand so."""

    fits: str
    odd: str


WORD = re.compile(r"[^\W\d_]+")
#: A sign that is neither ASCII nor a letter, with what stands before and after it.
_SIGN = re.compile(r"[^\x00-\x7f]")
#: Where a cell begins.
_CELL = re.compile(r"(?:^|[,;\t|])\s*\"?(?=[^\W\d_])")
#: What an odd word or sign weighs, beside a language; one of so many is tolerated.
_ODD, _TOLERATED = 2, 20
#: Signs that fit after a word, before one and by themselves, and those that are odd there.
_AFTER, _BEFORE, _ALONE = (
    Signs("”»", "’…°ºª®²³´\xa0–—"),
    Signs("“‘„«\xa0¡¿§№°•", "–—¡¿§№°•"),
    Signs("°º²³½¼¾´′″’”“‘«»–—…•·€£±×§№®\xa0", ""),
)
#: Signs that stand before a capital or a figure.
_OF_CAPITALS = "¡¿§№°•"
_WIDE = ("japanese", "chinese", "korean")


class Language(NamedTuple):
    """A row of alphabets.csv; ``letters`` are those beyond ASCII, in both cases."""

    name: str
    group: str
    weight: int
    pages: tuple[str, ...]
    letters: frozenset[str]
    absent: re.Pattern[str] | None


@cache
def languages() -> tuple[Language, ...]:
    """Return the languages whose code pages are recognised, with their letters."""
    text = resources.files("siteplan.inputs.encoding").joinpath("alphabets.csv").read_text("utf-8")
    return tuple(
        Language(
            row["language"],
            row["group"],
            int(row["weight"]),
            tuple(row["pages"].split()),
            frozenset(row["letters"] + row["letters"].upper()) - frozenset("IS"),
            re.compile(row["absent"]) if row["absent"] else None,
        )
        for row in csv.DictReader(text.splitlines())
    )


class Reading(NamedTuple):
    """What lines are in one code page: the texts, the languages that it takes, the script."""

    page: str
    texts: tuple[str, ...]
    cost: int
    group: str


def reading(page: str, lines: list[bytes]) -> Reading | None:
    """Return what the lines are in a code page, None where they are no words of its languages."""
    try:
        texts = tuple(line.decode(page) for line in lines)
    except UnicodeDecodeError:
        return None
    spoken = [language for language in languages() if page in language.pages]
    if spoken[0].group in _WIDE:
        costs = [_wide_cost(text, spoken[0].group) for text in texts]
        if None in costs:
            return None
        return Reading(page, texts, 1 + sum(filter(None, costs)), spoken[0].group)
    signs = {found for text in texts for found in _signs(text)}
    odd = [_sign_cost(*sign, arabic=spoken[0].group == "arabic") for sign in sorted(signs)]
    words = {word for text in texts for word in WORD.findall(text) if not word.isascii()}
    spoilt = sum(cost is None for cost in odd)
    cost = _cost(words, spoken, spoilt)
    if cost is None:
        return None
    small = sum(text[at].islower() for text in texts for at in _cell_starts(text))
    return Reading(page, texts, cost + sum(filter(None, odd)) + small, spoken[0].group)


def _signs(text: str) -> list[tuple[str, str, str]]:
    """Return the signs of a text, neither ASCII nor letters, each between its neighbours."""
    padded = f" {text} "
    found = [m.start() for m in _SIGN.finditer(padded)]
    return [(padded[k - 1], padded[k], padded[k + 1]) for k in found if not padded[k].isalpha()]


def _cell_starts(text: str) -> list[int]:
    """Return where a cell begins with a letter beyond ASCII."""
    return [m.end() for m in _CELL.finditer(text) if not text[m.end()].isascii()]


def _cost(words: set[str], spoken: list[Language], spoilt: int) -> int | None:
    """Return the weight of the fewest languages that have the words, and of what none has.

    None where more than one word in twenty, those with ``spoilt`` signs counted, is of none.
    """
    left, cost = {word for word in words if _case_fits(word)}, 0
    bad = len(words) - len(left) + spoilt
    while left:
        covered = {lang: {w for w in left if _is_of(w, lang)} for lang in spoken}
        best = max(spoken, key=lambda lang: (len(covered[lang]), -lang.weight))
        if not covered[best]:
            bad += len(left)
            break
        left -= covered[best]
        cost += best.weight
    return None if bad * _TOLERATED > len(words) + spoilt else cost + _ODD * bad


def _is_of(word: str, language: Language) -> bool:
    """Whether a word can be of a language: its letters are, and it is of one script."""
    foreign = {c for c in word if not c.isascii() and c.isalpha()}
    if not foreign <= language.letters:
        return False
    if language.absent and language.absent.search(word.lower()):
        return False
    if language.group == "latin":
        return True
    if any(c.isascii() and c.isalpha() for c in word):
        return False
    return language.group != "greek" or _is_greek(word)


def _is_greek(word: str) -> bool:
    """Whether sigma has its form at the end of a word, and one accent at most."""
    accents = sum(c in "άέήίόύώΐΰΆΈΉΊΌΎΏ" for c in word)
    return "ς" not in word[:-1] and not word.endswith("σ") and accents <= 1


def _case_fits(word: str) -> bool:
    """Whether no letter beyond ASCII is a capital after a small letter, or a small one before."""
    if word.replace("ß", "").isupper():
        return True
    return not any(
        after.isupper() and not (after.isascii() and before.isascii())
        for before, after in pairwise(word)
    )


def _sign_cost(before: str, sign: str, after: str, *, arabic: bool = False) -> int | None:
    """Return how odd a sign that is not ASCII stands between two characters, None for never."""
    kind = unicodedata.category(sign)
    own = kind in ("Mn", "Cf") or sign in "\u060c\u061b\u061f\u0640"
    if arabic and own and not any(c.isascii() and c.isalnum() for c in (before, after)):
        return 0
    if kind in ("Cc", "Mn", "Cf"):
        return None
    if not all(c.isascii() or c.isalpha() for c in (before, after)):
        return _ODD
    if before.isalpha() and after.isalpha():
        return _within(before, sign, after)
    where = _AFTER if before.isalpha() else _BEFORE if after.isalpha() else _ALONE
    if sign in where.fits and not (sign in _OF_CAPITALS and after.islower()):
        return 0
    return _ODD if sign in where.odd or where is _ALONE else None


def _within(before: str, sign: str, after: str) -> int | None:
    """Return how odd a sign stands between two letters."""
    if sign == "’":
        return 1
    catalan = sign == "·" and before + after in ("ll", "LL")
    return 0 if catalan or (sign in "\xa0–" and after.isupper()) else None


def _wide_cost(text: str, group: str) -> int | None:
    """Return how odd East Asian text is; None where a sign is of no such script.

    Characters that touch Latin letters, one beside small ones above all, are odd.
    """
    cost = 0
    for before, sign, after in zip(" " + text, text, text[1:] + " ", strict=False):
        if sign.isascii():
            continue
        if not _is_of_script(sign, group):
            return None
        beside = [c for c in (before, after) if c.isascii() and c.isalpha()]
        if any(c.islower() for c in beside):
            return None
        cost += _ODD * len(beside)
    return cost


def _is_of_script(sign: str, group: str) -> bool:
    if "\u3000" <= sign <= "\u303f" or "\uff01" <= sign <= "\uff5e" or sign in "°·":
        return True
    if group == "korean":
        return "\uac00" <= sign <= "\ud7a3"
    kana = group == "japanese" and "\u3040" <= sign <= "\u30ff"
    return kana or "\u4e00" <= sign <= "\u9fff"
