"""Words that are easily taken for one another, in names, in codes and in sentences."""

from __future__ import annotations

import re
from collections.abc import Iterator

#: Of each group, any word may stand where another should.
GROUPS = """
up down|uplink downlink|upward downward|out back|outbound inbound|outage availability|to from
site hub remote|lat lon|latitude longitude|azimuth elevation skew|el az|east west|north south
n s|e w|left right|clockwise counter-clockwise|clockwise counterclockwise|forward back
forwards backwards|first last|start end|starts ends|begin end|before after|rise set|day night
min max|minimum maximum|low high|lower upper|lowest highest|least most|below above|under over
less more|shorter longer|near far|inside outside|inner outer|top bottom|front behind|wide narrow
width height|row column|rows columns|row col|rows cols|x y|dx dy|rain gas cloud scintillation
gain loss|antenna buc dish|antennas bucs|tx rx|transmit receive|true magnetic
horizontal vertical|rh rv|drag lift|wall roof|sliding overturning|pole bracket frame
public controlled|sent received|mean gust|ohm volts|voltage resistance|length diameter
margin reserve|given assumed|known unknown|kept dropped|sites rejects|flags notes|warn stop
ok bad|good bad|new old|label name|lines points|fade margin|altitude height|distance bearing
hour minute|hours minutes|minutes seconds|year day|sun satellite|summer winter|all any|and or
is not|some no|first next|km m|mm cm|metres feet|positive negative|plus minus|larger smaller
greater less|better worse|best worst|earlier later|wet dry|hot cold
""".replace("\n", "|").split("|")

_SIBLINGS: dict[str, tuple[str, ...]] = {}
for _group in filter(None, GROUPS):
    _words = _group.split()
    for _word in _words:
        _others = tuple(other for other in _words if other != _word)
        _SIBLINGS[_word] = (*_SIBLINGS.get(_word, ()), *_others)

#: A function, and what may stand where it should.
FUNCTIONS = {
    **{"min": ("max",), "max": ("min",), "minimum": ("maximum",), "maximum": ("minimum",)},
    **{"fmin": ("fmax",), "fmax": ("fmin",), "nanmin": ("nanmax",), "nanmax": ("nanmin",)},
    **{"sin": ("cos",), "cos": ("sin",), "tan": ("sin",), "arcsin": ("arccos",)},
    **{"arccos": ("arcsin",), "asin": ("acos",), "acos": ("asin",), "log": ("log10",)},
    **{"log10": ("log",), "floor": ("ceil",), "ceil": ("floor",), "any": ("all",), "all": ("any",)},
    **{"argmin": ("argmax",), "argmax": ("argmin",), "radians": ("degrees",)},
    **{"degrees": ("radians",), "zeros": ("ones",), "ones": ("zeros",), "sum": ("max",)},
    **{"logical_and": ("logical_or",), "logical_or": ("logical_and",), "mean": ("max",)},
    **{"startswith": ("endswith",), "endswith": ("startswith",), "nansum": ("nanmax",)},
    **{"removeprefix": ("removesuffix",), "removesuffix": ("removeprefix",)},
    **{"lstrip": ("rstrip",), "rstrip": ("lstrip",), "lower": ("upper",), "upper": ("lower",)},
    **{"greater": ("less",), "less": ("greater",), "cumsum": ("asarray",), "ge": ("gt",)},
    **{"gt": ("ge",), "le": ("lt",), "lt": ("le",), "isnan": ("isfinite",)},
    **{"isfinite": ("isnan",), "sqrt": ("square",), "exp": ("expm1",), "hypot": ("maximum",)},
    **{"append": ("remove",), "rint": ("floor",), "timedelta64": ("datetime64",)},
}

#: Functions that do not ask in which order their arguments come.
UNORDERED = frozenset(
    ("min", "max", "minimum", "maximum", "fmin", "fmax", "hypot", "logical_and", "logical_or")
)

_WORD = re.compile(r"(?<![\w#&;-])[A-Za-z]+(?:-[a-z]+)?(?!\w)")
_PIECE = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])")


def of_name(name: str) -> Iterator[str]:
    """Yield a name with one of its words taken from a sibling, spelled like it.

    >>> list(of_name("uplink_ghz")), list(of_name("NearEnd"))[:1]
    (['downlink_ghz'], ['FarEnd'])
    """
    yield from _swapped(name, _PIECE)


def of_text(text: str) -> Iterator[str]:
    """Yield a text with one of its words taken from a sibling.

    >>> list(of_text("Turn left."))
    ['Turn right.']
    """
    yield from _swapped(text, _WORD)


def _swapped(text: str, words: re.Pattern[str]) -> Iterator[str]:
    for match in words.finditer(text):
        for other in _SIBLINGS.get(match[0].lower(), ()):
            yield text[: match.start()] + _like(other, match[0]) + text[match.end() :]


def _like(word: str, model: str) -> str:
    """Return a word with the case of another."""
    if len(model) > 1 and model.isupper():
        return word.upper()
    return word.capitalize() if model[0].isupper() else word
