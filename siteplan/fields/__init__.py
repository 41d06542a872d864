"""The dictionary: result fields, flags, columns that people hand us, and methods in use.

It is data, a row a thing, in the CSV files beside this module:

- ``fields.csv`` drives CSV headings, GeoPackage fields, map legends, sheet labels and the list
  that ``siteplan fields`` prints. A result that is not there cannot be written.
- ``flags.csv`` holds the flags, the worst first.
- ``columns.csv`` holds the columns that are read, with their ranges and choices, and the places
  of those in the crew's blank.
- ``methods.csv`` names the edition that each method follows and the module that holds it.
- ``glossary.csv`` holds the words for limits and reserves, and those that are not used for them.

``README.md`` beside them is made by ``python -m siteplan.fields``.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping
from importlib import resources
from types import MappingProxyType
from typing import Final, NamedTuple

from siteplan.words import CAVEAT

#: A free column of the user's that collides with a result field gets this prefix.
INPUT_PREFIX: Final = "input_"


#: What a field or a flag can rest on. Kit that stands at a site is given to it, whatever it does.
RESTS_ON: Final[Mapping[str, str]] = MappingProxyType(
    {
        "place": "needs no kit",
        "either": "of the kit given, and where none is given of the place alone; shown always",
        "dish": "of the antenna given to the site, blank where none is",
        "buc": "of the BUC given to the site, blank where none is",
        "kit": "of the pair given to the site, blank where antenna or BUC is missing",
        "tried": "of the pair given, else of the nearest pair tried; wherever it stands, headed by"
        " that pair (tried_antenna_m, tried_buc_w)",
    }
)


class Field(NamedTuple):
    """One result field.

    ``decimals`` is the number of decimals shown and written (None for text); ``unit`` is empty
    where there is none; ``source`` names the standard or the origin of the value.

    ``rests_on`` is a word of `RESTS_ON`: what the value is of, and so what a site without kit
    shows.
    """

    name: str
    label: str
    unit: str
    decimals: int | None
    meaning: str
    source: str
    group: str
    rests_on: str

    @property
    def is_text(self) -> bool:
        """Whether the field holds text."""
        return self.decimals is None

    @property
    def heading(self) -> str:
        """Label with the unit, for a column or a legend."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


class Flag(NamedTuple):
    """One flag: a stable code, how bad it is, and what it means.

    ``severity`` is ``stop`` (the site cannot be served as planned), ``warn`` (decide before
    going) or ``note`` (know it). ``rests_on`` is a word of `RESTS_ON`: a flag of kit that is not
    given is not raised, one of what was tried names it. ``told`` is ``site`` for what a site is
    flagged with, ``plan`` for what holds for many or all alike: that is counted and told once.
    """

    code: str
    severity: str
    rests_on: str
    told: str
    meaning: str


class Column(NamedTuple):
    """One column of a table that people hand us.

    ``kind`` is ``text``, ``number`` (from ``lowest`` to ``highest``, infinite where nothing is
    set) or ``choice`` (one of ``choices``). ``refuses`` tells what a value that cannot be used
    costs: the ``row``, or the ``value`` alone, with a note; ``unread`` is the value alone where it
    is a number, the row where it is none. Empty where any value can be used.
    ``blank`` is the column's place in the crew's blank, None where it is not in it.
    """

    name: str
    unit: str
    kind: str
    lowest: float
    highest: float
    choices: tuple[str, ...]
    refuses: str
    blank: int | None
    meaning: str

    @property
    def span(self) -> str:
        """The numbers that may stand in it, in words; empty where nothing is set."""
        limited = math.isfinite(self.lowest) and math.isfinite(self.highest)
        return f"{self.lowest:g} to {self.highest:g}" if limited else ""


class Method(NamedTuple):
    """What a method follows, and the module that holds it and names the same editions."""

    key: str
    edition: str
    module: str


class Term(NamedTuple):
    """A word for limits and reserves, what it says, and the words that are not used for it."""

    word: str
    meaning: str
    instead_of: tuple[str, ...]


def read_rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one of the dictionary's files, such as ``fields.csv``, by heading."""
    text = resources.files(__name__).joinpath(name).read_text(encoding="utf-8")
    head, *rows = csv.reader(text.splitlines())
    return [dict(zip(head, row, strict=True)) for row in rows]


def _field(row: Mapping[str, str]) -> Field:
    return Field(
        name=row["name"],
        label=row["label"],
        unit=row["unit"],
        decimals=int(row["decimals"]) if row["decimals"] else None,
        meaning=row["meaning"].replace("{caveat}", CAVEAT),
        source=row["source"],
        group=row["group"],
        rests_on=row["rests_on"],
    )


def _column(row: Mapping[str, str]) -> Column:
    return Column(
        name=row["name"],
        unit=row["unit"],
        kind=row["kind"],
        lowest=float(row["lowest"] or "-inf"),
        highest=float(row["highest"] or "inf"),
        choices=tuple(row["choices"].split(";")) if row["choices"] else (),
        refuses=row["refuses"],
        blank=int(row["blank"]) if row["blank"] else None,
        meaning=row["meaning"],
    )


_ROWS = read_rows("fields.csv")


def _table(table: str) -> Mapping[str, Field]:
    """Return the fields of a table, such as ``plan``, by name; names with a gap are left out."""
    found = (_field(row) for row in _ROWS if table in row["tables"].split(";"))
    return MappingProxyType({field.name: field for field in found if "{" not in field.name})


#: Every fixed result field by name, in the order of the tables that are written.
FIELDS: Final = _table("plan")
#: The fields of what came back from the sites, by name; the first are the plan's.
ASBUILT_FIELDS: Final = _table("asbuilt")
#: The fields that a comparison of satellites adds on its map, by name.
COMPARE_FIELDS: Final = _table("compare")
#: Catalogue antennas get one column each: margin with that antenna and its best BUC.
CATALOGUE_MARGIN: Final = next(_field(row) for row in _ROWS if "{diameter}" in row["name"])
_CATALOGUE_PATTERN = re.compile(CATALOGUE_MARGIN.name.format(diameter=r"(\d+(?:_\d+)?)"))

#: Every flag by code, the worst first.
FLAGS: Final[Mapping[str, Flag]] = MappingProxyType(
    {row["code"]: Flag(**row) for row in read_rows("flags.csv")}
)

#: Flags that say that a site is not served as planned, whatever its margin. What is told of the
#: plan as a whole stops no site of its own: margins hold what it takes.
UNSERVED: Final = tuple(f.code for f in FLAGS.values() if f.severity == "stop" and f.told == "site")

#: The flag of coordinates that look wrong.
COORDINATE_DOUBT: Final = "coordinate_doubt"

_COLUMN_ROWS = read_rows("columns.csv")
#: Columns by name of each table that people hand us: ``sites``, ``obstructions``,
#: ``returned``, ``outages``.
COLUMNS: Final[Mapping[str, Mapping[str, Column]]] = MappingProxyType(
    {
        table: MappingProxyType(
            {row["name"]: _column(row) for row in _COLUMN_ROWS if row["table"] == table}
        )
        for table in dict.fromkeys(row["table"] for row in _COLUMN_ROWS)
    }
)

#: The editions of the Recommendations and models in use, by what they are for.
METHODS: Final[Mapping[str, Method]] = MappingProxyType(
    {row["key"]: Method(**row) for row in read_rows("methods.csv")}
)


#: The words for limits and reserves, in the order of the link, the kit and the site.
GLOSSARY: Final = tuple(
    Term(row["word"], row["meaning"], tuple(filter(None, row["instead_of"].split(";"))))
    for row in read_rows("glossary.csv")
)


def catalogue_margin_name(diameter_m: float) -> str:
    """Return the field name of the margin with one catalogue antenna.

    >>> catalogue_margin_name(1.2)
    'margin_1_2_m_db'
    """
    return CATALOGUE_MARGIN.name.format(diameter=f"{diameter_m:g}".replace(".", "_"))


def label_of(column: str) -> str:
    """Return a column of a table as people say it: its field's label, else the name as words.

    >>> label_of("cable_m"), label_of("availability_pct"), label_of("height_m")
    ('Cable run', 'Availability target', 'height m')
    """
    field = FIELDS.get(column) or FIELDS.get(column.replace("_pct", "_target_pct"))
    return field.label if field else column.replace("_", " ")


def lookup(name: str) -> Field | None:
    """Return the field called ``name``, or None where the dictionary has none."""
    known = FIELDS.get(name) or ASBUILT_FIELDS.get(name) or COMPARE_FIELDS.get(name)
    if known is not None:
        return known
    match = _CATALOGUE_PATTERN.fullmatch(name)
    if match is None:
        return None
    label = CATALOGUE_MARGIN.label.format(diameter=match[1].replace("_", "."))
    return CATALOGUE_MARGIN._replace(name=name, label=label)
