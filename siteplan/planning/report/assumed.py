"""Figures that nobody gave, by how much they matter.

The order is a table's (``assumptions.csv``, common practice, no source): of the rows whose keys fit
an assumed figure the most exact holds. Figures of one row and one way come under one heading.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from fnmatch import fnmatchcase
from functools import cache
from importlib import resources
from typing import NamedTuple

from siteplan.model import Assumption
from siteplan.reported import Ranked

#: Weights, the heaviest first: decides which kit is picked, shifts figures, hardly matters.
WEIGHTS = ("decides", "shifts", "little")
#: Ways of the link, which say the same of carriers of their own.
_WAYS = {"outbound": "Outbound: ", "inbound": "Inbound: "}


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


def rank_of(key: str) -> int:
    """Return the place in the table of the most exact row that holds for a key."""
    fitting = [k for k, row in enumerate(table()) if fnmatchcase(key, row.key)]
    return max(fitting, key=lambda k: len(table()[k].key.replace("*", "")))


def ranked(assumptions: Iterable[Assumption]) -> tuple[Ranked, ...]:
    """Return assumed figures by how much they matter, the most first."""
    found: dict[tuple[int, str], list[Assumption]] = {}
    for assumption in assumptions:
        way = assumption.key.split(".")[0]
        found.setdefault((rank_of(assumption.key), _WAYS.get(way, "")), []).append(assumption)
    order = sorted(found, key=lambda at: (WEIGHTS.index(table()[at[0]].weight), at[0]))
    return tuple(_ranked(table()[k], way, found[k, way]) for k, way in order)


def _ranked(row: Row, way: str, values: list[Assumption]) -> Ranked:
    """Return the figures of one row under its heading."""
    label = f"{way}{row.label[0].lower()}{row.label[1:]}" if way else row.label
    return Ranked(label, tuple(values), row.weight, row.reason)
