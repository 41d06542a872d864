"""What one heading means: its key, how surely, and what it says of its values beside."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

from siteplan.frozen import frozen
from siteplan.inputs.headings.words import Meanings, letter_o_of, lexicon, readings, tokens

Reading = tuple[tuple[str, Meanings], ...]

#: Words that change nothing beside a latitude or a longitude.
_BESIDE = frozenset(
    ("geo", "noun", "area", "decimal", "dms", "deg", "min", "sec", "hemi", "stop", "both", "number")
)
_SIDES = {"lat": ("north", "south"), "lon": ("east", "west")}
_AXIS = {"lat": "y", "lon": "x"}
_LETTER = {"north": "N", "south": "S", "east": "E", "west": "W"}
#: Words of fewer letters are never taken with a letter wrong.
_LONG_WORD = 6
_SEPARATORS = re.compile(r"[/:.]|::")
_ZONE = re.compile(r"(?:utm|zone|huso|fuso|zona)\W*(?:zone\W*)?(\d{1,2})\s*([c-hj-np-xz])?\b", re.I)
_EPSG = re.compile(r"epsg\W*(\d{4,6})", re.I)
_OF_SITES = frozenset(("site", "station"))


@frozen
class Meaning:
    """What a heading means.

    ``key`` is one of our columns, or ``both``, ``easting``, ``northing``, ``x``, ``y``, ``zone``,
    ``altitude``, ``altitude_ft`` or ``hemisphere``. ``rank`` is 0 for the surest. Of a latitude or
    longitude ``part`` is '' or one of ``deg``, ``min``, ``sec``, ``hemi``, and ``side`` the
    hemisphere that the heading names: N, S, E, W, or O where that may be east or west;
    ``form`` is ``decimal``, ``dms`` or ''. ``order`` is ``lat_lon`` or ``lon_lat`` of a column
    that holds both; ``grid`` a zone (``33N``) or a code (``EPSG:2056``); ``slip`` tells that one
    letter of the heading was passed over.
    """

    key: str
    rank: int
    part: str = ""
    side: str = ""
    form: str = ""
    order: str = ""
    grid: str = ""
    slip: bool = False


@lru_cache(maxsize=4096)
def meaning_of(heading: str) -> Meaning | None:
    """Return what a heading means, None for one that is not ours.

    >>> meaning_of("Latitude (S)").side
    'S'
    >>> meaning_of("state") is None
    True
    """
    return _plainly(heading) or _in_group(heading) or _one_letter_off(heading)


def _plainly(heading: str) -> Meaning | None:
    bare = _EPSG.sub(" ", _ZONE.sub(" ", heading))
    for text in dict.fromkeys((heading, bare)):
        for reading in readings(text):
            for pattern in _PATTERNS:
                if reading and (found := pattern(reading)):
                    return replace(found, grid=_grid(heading))
    return None


def _grid(heading: str) -> str:
    if code := _EPSG.search(heading):
        return f"EPSG:{code[1]}"
    zone = _ZONE.search(heading)
    return f"{zone[1]}{(zone[2] or '').upper()}" if zone else ""


def _in_group(heading: str) -> Meaning | None:
    """Read a heading behind the name of its group, as survey tools write it."""
    last = _SEPARATORS.split(heading.strip())[-1]
    if last != heading.strip() and (found := _plainly(last)):
        sure = found.key in ("lat", "lon") or (found.key in ("site_id", "name") and found.rank == 2)
        return replace(found, rank=found.rank + 3) if sure else None
    words = tokens(heading)
    if heading.strip()[:1] in ("_", "-") and len(words) > 1:
        found = _plainly(words[-1])
        return replace(found, rank=5) if found and found.key in ("lat", "lon") else None
    return None


def _one_letter_off(heading: str) -> Meaning | None:
    """Read a heading in which one long word of a position has one letter wrong."""
    words = tokens(heading)
    for at, word in enumerate(words):
        for right in _near(word):
            mended = _plainly(" ".join([*words[:at], right, *words[at + 1 :]]))
            if mended and mended.key in ("lat", "lon"):
                return replace(mended, rank=6, slip=True)
    return None


def _near(word: str) -> list[str]:
    if len(word) < _LONG_WORD:
        return []
    return [right for right in _position_words() if _one_edit(word, right)]


@lru_cache(maxsize=1)
def _position_words() -> tuple[str, ...]:
    known = lexicon().items()
    return tuple(w for w, m in known if len(w) >= _LONG_WORD and m & {"lat", "lon"})


def _one_edit(a: str, b: str) -> bool:
    """Whether two unlike words differ by one letter put in, left out or changed.

    >>> _one_edit("lattitude", "latitude"), _one_edit("altitude", "latitude")
    (True, False)
    """
    if a == b or abs(len(a) - len(b)) > 1:
        return False
    same = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), -1)
    if same < 0:
        return True
    long, short = (a, b) if len(a) >= len(b) else (b, a)
    return long[same + 1 :] == short[same + (len(a) == len(b)) :]


# Patterns: each takes a heading cut into phrases, and returns a meaning or None.


def _position(key: str) -> Callable[[Reading], Meaning | None]:
    def pattern(reading: Reading) -> Meaning | None:
        named = [at for at, (_, meanings) in enumerate(reading) if key in meanings]
        # A second word may name the latitude and its half at once, as 北緯 does.
        named = named[:1] + [at for at in named[1:] if not reading[at][1] & {*_SIDES[key]}]
        allowed = _BESIDE | {*_SIDES[key], _AXIS[key]}
        if len(named) != 1:
            return None
        rest = [item for at, item in enumerate(reading) if at != named[0]]
        base = reading[named[0]]
        letter_o = [item for item in rest if item[0] == "o"]
        others = [item for item in rest if item[0] != "o"]
        if not all(meanings & allowed for _, meanings in others) or (letter_o and key == "lat"):
            return None
        side = _side(key, [base, *others]) or (letter_o_of(base[0]) or "O" if letter_o else "")
        said = [base, *others]
        part = next((p for p in ("hemi", "sec", "min", "deg") if _has(said, p)), "")
        form = next((f for f in ("dms", "decimal") if _has(said, f)), "")
        return Meaning(key, 1, part="" if form else part, side=side, form=form)

    return pattern


def _has(items: list[tuple[str, Meanings]], meaning: str) -> bool:
    return any(meaning in meanings for _, meanings in items)


def _side(key: str, items: list[tuple[str, Meanings]]) -> str:
    return next((_LETTER[side] for side in _SIDES[key] if _has(items, side)), "")


def _both(reading: Reading) -> Meaning | None:
    known = {"both", "geo", "decimal", "deg", "dms", "stop", "lat", "lon", "noun", "area"}
    if not all(meanings & known for _, meanings in reading):
        return None
    lat = next((i for i, (_, m) in enumerate(reading) if "lat" in m), -1)
    lon = next((i for i, (_, m) in enumerate(reading) if "lon" in m), -1)
    if min(lat, lon) >= 0:
        return Meaning("both", 1, order="lat_lon" if lat < lon else "lon_lat")
    if not any("both" in meanings for _, meanings in reading) or max(lat, lon) >= 0:
        return None
    return Meaning("both", 2, order=_order_inside(reading))


def _order_inside(reading: Reading) -> str:
    """Return the order that a phrase such as ``latlng`` or ``enlem boylam`` gives."""
    for phrase, _ in reading:
        if re.match(r"lat\W?l(on|ng)", phrase):
            return "lat_lon"
        if re.match(r"l(on|ng)g?\W?lat", phrase):
            return "lon_lat"
        at = {key: _first_word(phrase, key) for key in ("lat", "lon")}
        if min(at.values()) >= 0:
            return "_".join(sorted(at, key=lambda key: at[key]))
    return ""


def _first_word(phrase: str, key: str) -> int:
    """Return where the first word for a latitude or longitude begins in a phrase, -1 for none."""
    words = (w for w, meanings in lexicon().items() if key in meanings and len(w) > 1)
    return min((at for word in words if (at := phrase.find(word)) >= 0), default=-1)


def _axis(key: str) -> Callable[[Reading], Meaning | None]:
    beside = {"geo", "metre", "stop", "noun", "area", "zone", "both"}

    def pattern(reading: Reading) -> Meaning | None:
        named = [at for at, (_, meanings) in enumerate(reading) if key in meanings]
        rest = [item for at, item in enumerate(reading) if at not in named[:1]]
        fits = all(m & beside or w in ("utm", "e", "n") for w, m in rest)
        return Meaning(key, 1) if named and fits else None

    return pattern


def _single(meaning: str, key: str) -> Callable[[Reading], Meaning | None]:
    def pattern(reading: Reading) -> Meaning | None:
        return Meaning(key, 1) if len(reading) == 1 and meaning in reading[0][1] else None

    return pattern


def _name(reading: Reading) -> Meaning | None:
    named = [item for item in reading if "name" in item[1]]
    rest = [item for item in reading if item not in named]
    if len(named) != 1 or not all(m & {"noun", "area", "stop"} for _, m in rest):
        return None
    return Meaning("name", _noun_rank(rest, alone=1 if named[0][0] != "name" else 0))


def _noun_rank(rest: list[tuple[str, Meanings]], *, alone: int) -> int:
    """Return how surely a name or code is a site's: of a site, of a facility, of a place, alone."""
    if any(word in _OF_SITES for word, _ in rest):
        return 1
    if _has(rest, "noun"):
        return 2
    return 3 if _has(rest, "area") else alone


def _id(reading: Reading) -> Meaning | None:
    kinds = ("code", "number", "noun", "area", "stop")
    if len(reading) == 1 and "rowid" in reading[0][1]:
        return Meaning("site_id", 8)
    if not all(any(kind in m for kind in kinds) for _, m in reading):
        return None
    rest = [item for item in reading if item[1] & {"noun", "area"}]
    codes = [item for item in reading if "code" in item[1]]
    numbers = [item for item in reading if "number" in item[1]]
    if not codes and not numbers:
        return None
    alone = 4 if codes and codes[0][0] == "id" else 5 if codes else 6
    return Meaning("site_id", _noun_rank(rest, alone=alone))


def _noun(reading: Reading) -> Meaning | None:
    """Read a bare 'station' or 'school': its values show whether it is the name or the id."""
    nouns = all(m & {"noun", "stop"} for _, m in reading)
    return Meaning("noun", 7) if nouns and any("noun" in m for _, m in reading) else None


def _altitude(reading: Reading) -> Meaning | None:
    named = [item for item in reading if "altitude" in item[1]]
    rest = [item for item in reading if item not in named[:1]]
    if not named or not all(m & {"metre", "foot", "stop", "noun", "area", "geo"} for _, m in rest):
        return None
    if _has(rest, "metre"):
        return Meaning("altitude_m", 1)
    return Meaning("altitude_ft" if _has(rest, "foot") else "altitude", 1)


_PATTERNS: tuple[Callable[[Reading], Meaning | None], ...] = (
    _position("lat"),
    _position("lon"),
    _name,
    _axis("x"),
    _axis("y"),
    _axis("easting"),
    _axis("northing"),
    _id,
    _altitude,
    _single("zone", "zone"),
    _single("hemi", "hemisphere"),
    _both,
    _noun,
)


def heading_key(heading: str) -> str:
    """Return the key that a heading means, '' for none."""
    found = meaning_of(heading)
    return found.key if found else ""
