"""Figures that nobody gave, by how much they matter.

The order is a table's (``assumptions.csv``, common practice, no source): of the rows whose keys fit
an assumed figure the most exact holds. Figures of one row and one way come under one heading.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping
from fnmatch import fnmatchcase
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, NamedTuple

from siteplan.model import Assumption

if TYPE_CHECKING:
    from siteplan.reported import Ranked

#: Weights, the heaviest first: decides which kit is picked, shifts figures, hardly matters.
WEIGHTS = ("decides", "shifts", "little")
#: Ways of the link, which say the same of carriers of their own.
_WAYS = ("outbound", "inbound")


class Row(NamedTuple):
    """One row of the table: the keys it holds for (``*`` stands for anything), and its words."""

    key: str
    weight: str
    label: str
    reason: str


@cache
def table() -> tuple[Row, ...]:
    """Return the table, what matters most first."""
    text = resources.files(__package__).joinpath("assumptions.csv").read_text(encoding="utf-8")
    _, *rows = csv.reader(text.splitlines())
    return tuple(Row(*row) for row in rows)


def fits(key: str, like: str) -> bool:
    """Return whether a key is one of those that a text with ``*`` for anything stands for."""
    before, star, rest = like.partition("*")
    if not star:
        return key == like
    # The ends are compared first: of many texts few then have a pattern made of them.
    ends = key.startswith(before) and key.endswith(rest.rpartition("*")[2])
    return ends and fnmatchcase(key, like)


def rank_of(key: str) -> int:
    """Return the place in the table of the most exact row that holds for a key."""
    fitting = [k for k, row in enumerate(table()) if fits(key, row.key)]
    return max(fitting, key=lambda k: len(table()[k].key.replace("*", "")))


def ranked(assumptions: Iterable[Assumption]) -> tuple[Ranked, ...]:
    """Return assumed figures by how much they matter, the most first."""
    found: dict[int, dict[str, list[Assumption]]] = {}
    for assumption in assumptions:
        way = assumption.key.split(".")[0]
        ways = found.setdefault(rank_of(assumption.key), {})
        ways.setdefault(way if way in _WAYS else "", []).append(assumption)
    order = sorted(found, key=lambda k: (WEIGHTS.index(table()[k].weight), k))
    return tuple(line for k in order for line in _lines(table()[k], found[k]))


def _lines(row: Row, ways: Mapping[str, list[Assumption]]) -> Iterator[Ranked]:
    """Yield the figures of one row under its heading; both ways as one where they agree."""
    from siteplan.reported import Ranked

    values = {way: [(a.value, a.unit) for a in found] for way, found in ways.items()}
    lower = f"{row.label[0].lower()}{row.label[1:]}"
    if len(values) == len(_WAYS) and values["outbound"] == values["inbound"]:
        both = tuple(a for found in ways.values() for a in found)
        yield Ranked(f"Both ways: {lower}", both, row.weight, row.reason)
        return
    for way, found in ways.items():
        label = f"{way.capitalize()}: {lower}" if way else row.label
        yield Ranked(label, tuple(found), row.weight, row.reason)
