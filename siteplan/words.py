"""How people say what several pages show: a longitude, a share of time, classes, the caveat.

Spelled once, so that screen, map, sheets, lists and reference pages agree. Imports nothing heavy
and nothing of siteplan.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterable, Sequence
from typing import Final

#: What every figure of wind, ballast, load and exposure is.
CAVEAT: Final = "for planning, to be confirmed by a qualified engineer"
#: What a site counts as that gets no pair, whatever the margin of what was tried.
NO_KIT: Final = "no kit"


#: A terminal obeys some of these, and neither XML nor a spreadsheet can hold them.
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff\ud800-\udfff]")


def printable(text: str) -> str:
    r"""Return a text of which every character can be shown: a control character as its code.

    >>> printable("a\x1b[31mb")
    'a\\x1b[31mb'
    """
    if text.isprintable():
        return text
    return _CONTROLS.sub(lambda m: ascii(m[0])[1:-1], text)


def quoted(text: str, most: int = 300) -> str:
    r"""Return a cell's text as a sentence may hold it: printable, on one line, its end cut off.

    >>> quoted("one\ntwo"), len(quoted("x" * 1_000))
    ('one two', 301)
    """
    if len(text) > most:
        text = text[:most] + "…"
    if text.isprintable():
        return text
    return printable(" ".join(re.split(r"[\t\r\n]+", text)))


def orbital_position(longitude_deg: float, *, decimals: int | None = None, sign: str = "°") -> str:
    """Return an orbital position as people say it.

    Parameters
    ----------
    longitude_deg : float
        East positive, any number of turns. [deg]
    decimals : int, optional
        Fixed number of decimals; absent, as many as the figure has, up to six digits.
    sign : str, optional
        The degree's sign; empty on the terminal, where not every font has it.

    Returns
    -------
    str

    Examples
    --------
    >>> orbital_position(323.5)
    '36.5° W'
    >>> orbital_position(13, decimals=1)
    '13.0° E'
    >>> orbital_position(-8, sign="")
    '8 W'
    """
    if not math.isfinite(longitude_deg):
        return "an unknown position"
    east = math.remainder(longitude_deg, 360.0)
    number = f"{abs(east):g}" if decimals is None else f"{abs(east):.{decimals}f}"
    return f"{number}{sign} {'W' if east < 0 else 'E'}"


def percent(value_pct: float) -> str:
    """Return a share, of time or of a number, as people write it.

    >>> percent(99.5)
    '99.5 %'
    """
    return f"{value_pct:g} %"


def of_month(basis: str) -> str:
    """Return what stands behind a target that is none of an average year: nothing for a year's.

    >>> of_month("worst_month"), of_month("year")
    (' of the worst month', '')
    """
    return " of the worst month" if basis == "worst_month" else ""


def class_labels(bounds: Sequence[float], unit: str) -> list[str]:
    """Return the label of each class between rising bounds, open at both ends, the lowest first.

    Parameters
    ----------
    bounds : sequence of float
        A value on a bound belongs to the class above it.
    unit : str
        As the dictionary has it; ``deg`` becomes the degree's sign, which stands close up.

    Returns
    -------
    list of str
        One more than there are bounds.

    Examples
    --------
    >>> class_labels((0.0, 1.0, 3.5), "dB")
    ['below 0 dB', '0 to 1 dB', '1 to 3.5 dB', '3.5 dB or more']
    >>> class_labels([10], "deg")
    ['below 10°', '10° or more']
    """
    if not bounds:
        return ["all values"]
    suffix = {"deg": "°", "°": "°", "": ""}.get(unit, f" {unit}")
    texts = [f"{bound:g}" for bound in bounds]
    between = [f"{low} to {high}{suffix}" for low, high in itertools.pairwise(texts)]
    return [f"below {texts[0]}{suffix}", *between, f"{texts[-1]}{suffix} or more"]


def markdown_table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return rows of text as a Markdown table, without a line end after the last.

    >>> print(markdown_table(["Key", "Unit"], [["cable_m", "m"]]))
    | Key | Unit |
    | --- | --- |
    | cable_m | m |
    """
    lines = [headings, ["---"] * len(headings), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def beside(value: float, limit: float, decimals: int) -> str:
    """Return a number as a text that stands on the same side of a limit as the number does.

    Parameters
    ----------
    value : float
        The number; NaN is written as such.
    limit : float
        What it is compared with in the same sentence.
    decimals : int
        Its decimals where those do; else up to three more, and beyond that words.

    Returns
    -------
    str

    Examples
    --------
    >>> [beside(x, 30, 0) for x in (29.4, 29.96, 30.0, 29.99999)]
    ['29', '29.96', '30', 'just under 30']
    """
    for digits in range(decimals, decimals + 4):
        text = f"{value:.{digits}f}"
        shown = float(text)
        if (shown < limit, shown > limit) == (value < limit, value > limit):
            return text
    return f"just {'under' if value < limit else 'over'} {limit:g}"
