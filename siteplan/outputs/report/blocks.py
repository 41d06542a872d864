"""What sections of the report are made of: words, tables, figures, lists, lines to fill in.

Texts are escaped by the template; what is ``Markup`` is ours, or was escaped when it was made.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from markupsafe import Markup

from siteplan.frozen import frozen
from siteplan.outputs.shown import amount, whole_or_short
from siteplan.outputs.units import beside, in_sentence
from siteplan.reported import Report
from siteplan.results import Plan
from siteplan.words import quoted

#: Characters of a name in tables.
_NAME_LENGTH = 40
Text = str | Markup


@frozen
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


def in_units(section: Section, units: str) -> Section:
    """Return a section with the other units beside the metric figures, where they are asked for.

    Texts of users, which are ``Markup`` by now, are left as they are.
    """

    def told(text: Text) -> Text:
        return text if isinstance(text, Markup) else in_sentence(text, units)

    def block(of: Block) -> Block:
        if isinstance(of, Words):
            return of._replace(text=told(of.text))
        if isinstance(of, Table):
            rows = [tuple(told(cell) for cell in row) for row in of.rows]
            return of._replace(rows=rows)
        if isinstance(of, Listed):
            return of._replace(items=[told(item) for item in of.items])
        if isinstance(of, Facts):
            return of._replace(pairs=[(term, told(text)) for term, text in of.pairs])
        return of

    return section._replace(blocks=[block(each) for each in section.blocks])


def dish(diameter_m: float, units: str) -> str:
    """Return the diameter of an antenna, in inches too where they are asked for.

    >>> dish(1.8, "us"), dish(1.8, "metric")
    ('1.8 m (70.9 in)', '1.8 m')
    """
    return amount(diameter_m, "m") + beside(diameter_m, "m", None, units)


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
