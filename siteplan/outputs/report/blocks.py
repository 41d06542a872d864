"""What sections of the report are made of: words, tables, figures, lists, lines to fill in.

Texts are escaped by the template; what is ``Markup`` is ours, or was escaped when it was made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from markupsafe import Markup

from siteplan.outputs.shown import whole_or_short
from siteplan.reported import Report
from siteplan.results import Plan
from siteplan.words import quoted

#: Characters of a name in tables.
_NAME_LENGTH = 40
Text = str | Markup


@dataclass(frozen=True)
class Shown:
    """What a section is made from."""

    plan: Plan
    report: Report


class Words(NamedTuple):
    """A paragraph."""

    text: Text
    css: str = ""
    kind: str = "words"


class Table(NamedTuple):
    """Rows under headings; ``numbers`` are the columns that are set to the right."""

    heads: tuple[str, ...]
    rows: list[tuple[Text, ...]]
    numbers: frozenset[int] = frozenset()
    css: str = ""
    kind: str = "table"


class Figures(NamedTuple):
    """Drawings side by side, each with its caption."""

    each: Sequence[tuple[Markup, Text]]
    css: str = ""
    kind: str = "figures"


class Listed(NamedTuple):
    """A list of short texts."""

    items: list[Text]
    css: str = ""
    kind: str = "listed"


class Facts(NamedTuple):
    """Terms and what they are, as a row of boxes."""

    pairs: list[tuple[str, Text]]
    kind: str = "facts"


class Lines(NamedTuple):
    """Lines to write on, by what goes on them."""

    people: tuple[str, ...]
    kind: str = "lines"


Block = Words | Table | Figures | Listed | Facts | Lines


class Section(NamedTuple):
    """A heading and what stands under it; the first has none."""

    heading: str
    blocks: list[Block]
    css: str = ""


def user(text: str, most: int = _NAME_LENGTH) -> Markup:
    """Return a text of a user's: short enough, on one line, kept apart from the words around it."""
    return Markup("<bdi>{}</bdi>").format(quoted(text.strip(), most))


def listed(texts: list[Markup] | list[str], more: int = 0) -> Markup:
    """Return texts with commas, and how many more there are."""
    joined = Markup(", ").join(texts)
    return joined + f" and {more} more" if more > 0 else joined


def sites(count: int) -> str:
    """Return a number of sites in words."""
    return "1 site" if count == 1 else f"{count} sites"


def money(cost: float) -> str:
    """Return a cost as a bare number, two decimals at most."""
    return whole_or_short(round(cost, 2) if abs(cost) < 1000 else float(round(cost)))
