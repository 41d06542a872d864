"""The keys of network.toml as their types define them: default, unit, range, meaning."""

from __future__ import annotations

import datetime as dt
import functools
import math
import types
import typing
from collections.abc import Mapping
from typing import Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from siteplan.frozen import frozen
from siteplan.network import Network

#: What the reference tells of each key.
HEADINGS = ("Table", "Key", "Default", "Unit", "Range", "Meaning")

#: The sheets of a project's workbook beside those of its list tables.
SITES_SHEET, NETWORK_SHEET, OBSTRUCTIONS_SHEET = "Sites", "Network", "Obstructions"
#: The sheet that says how to fill in the others; it is not read.
ABOUT_SHEET = "Read me"
#: Names of sheets that are not their table's with a capital.
_SHEETS = {"bucs": "BUCs"}

_MORE = {"Gt": ("above", "gt"), "Ge": ("from", "ge")}
_LESS = {"Lt": ("below", "lt"), "Le": ("up to", "le")}


@frozen
class KeyRow:
    """One key of network.toml.

    ``default`` is TOML text, '' for none; ``range`` is in words; ``kind`` is ``number``,
    ``numbers``, ``segments`` (lists of four numbers), ``text``, ``texts``, ``switch``, ``date``, or
    ``keys`` (a table in itself, with keys of the table that has the key's name);
    ``is_list`` tells that the table is written ``[[...]]``.
    """

    table: str
    key: str
    default: str
    unit: str
    range: str
    meaning: str
    kind: str
    required: bool
    is_list: bool

    @property
    def example(self) -> str:
        """A value that would do, for text keys."""
        words = self.range.split('"')
        return words[1] if len(words) > 1 else self.default.strip('"') or "some text"


@functools.cache
def table_types() -> Mapping[str, type[BaseModel]]:
    """Return the type of each table, in the order of the file."""
    return {name: _table_type(info.annotation) for name, info in Network.model_fields.items()}


def _table_type(annotation: Any) -> type[BaseModel]:
    """Return the model in ``Model`` or ``tuple[Model, ...]``."""
    found: type[BaseModel] = next(iter(typing.get_args(annotation)), annotation)
    return found


def is_list_table(table: str) -> bool:
    """Whether a table is a list, written with double brackets."""
    info = Network.model_fields.get(table)
    return info is not None and typing.get_origin(info.annotation) is tuple


def list_sheets() -> dict[str, str]:
    """Return the list tables by the name of the sheet that each has in a workbook, in order.

    >>> list_sheets()["BUCs"]
    'bucs'
    """
    return {
        _SHEETS.get(name, name.replace("_", " ").capitalize()): name
        for name in table_types()
        if is_list_table(name)
    }


def choices_of(table: str, key: str) -> tuple[str, ...]:
    """Return the words that a key may have, as a spreadsheet lists them; none for any other.

    >>> choices_of("rules", "wind_basis")
    ('mean_10min', 'gust_3s')
    """
    bare = _bare(table_types()[table].model_fields[key].annotation)
    if bare is bool:
        return "TRUE", "FALSE"
    return typing.get_args(bare) if typing.get_origin(bare) is Literal else ()


def limits_of(table: str, key: str) -> tuple[float, float]:
    """Return the least and the greatest number that a key may have, infinite at an open end."""
    info = table_types()[table].model_fields[key]
    limits = {type(limit).__name__: limit for limit in info.metadata}
    low = (getattr(limits[n], a) for n, (_, a) in _MORE.items() if n in limits)
    high = (getattr(limits[n], a) for n, (_, a) in _LESS.items() if n in limits)
    return float(next(low, -math.inf)), float(next(high, math.inf))


def table_keys(table: str) -> tuple[str, ...]:
    """Return the keys of a table, in order."""
    return tuple(key for key in table_types()[table].model_fields if not is_inner(table, key))


def inner_keys(outer: str, table: str) -> tuple[str, ...]:
    """Return the keys that a table inside another may have, such as ``hub`` inside ``beams``.

    Examples
    --------
    >>> inner_keys("beams", "hub")[:3]
    ('lat', 'lon', 'antenna_m')
    """
    inside = _table_type(table_types()[outer].model_fields[table].annotation)
    return tuple(inside.model_fields)


def is_inner(table: str, key: str) -> bool:
    """Whether a table's type holds what no file gives under this name: the rows of another file."""
    info = table_types()[table].model_fields.get(key)
    extra = info.json_schema_extra if info else None
    return isinstance(extra, dict) and extra.get("inner") is True


@functools.cache
def key_rows(table: str) -> tuple[KeyRow, ...]:
    """Return the rows of a table's keys, in order."""
    fields = table_types()[table].model_fields
    return tuple(_key_row(table, key, fields[key]) for key in table_keys(table))


def network_reference() -> list[KeyRow]:
    """Return every key of network.toml with default, unit, range and meaning, in order."""
    return [row for table in table_types() for row in key_rows(table)]


def reference_rows() -> list[tuple[str, ...]]:
    """Return every key of network.toml as a row of text, under ``HEADINGS``."""
    return [
        (row.table, row.key, row.default, row.unit, row.range, row.meaning)
        for row in network_reference()
    ]


def _key_row(table: str, key: str, info: FieldInfo) -> KeyRow:
    extra = info.json_schema_extra
    unit = str(extra.get("unit", "")) if isinstance(extra, dict) else ""
    kind = _kind(info.annotation)
    required = info.is_required()
    none = required or kind == "keys" or info.default is None
    default = "" if none else toml_text(info.default)
    meaning = info.description or ""
    words = _range(info, kind)
    return KeyRow(table, key, default, unit, words, meaning, kind, required, is_list_table(table))


def _bare(annotation: Any) -> Any:
    """Return the type without ``| None``."""
    if isinstance(annotation, types.UnionType) or typing.get_origin(annotation) is typing.Union:
        return next(a for a in typing.get_args(annotation) if a is not type(None))
    return annotation


def _kind(annotation: Any) -> str:
    bare = _bare(annotation)
    if isinstance(bare, type) and issubclass(bare, BaseModel):
        return "keys"
    if typing.get_origin(bare) is tuple:
        first = typing.get_args(bare)[0]
        nested = typing.get_origin(first) is tuple
        return "segments" if nested else "texts" if first is str else "numbers"
    kinds = {float: "number", int: "number", dt.date: "date", bool: "switch"}
    return kinds.get(bare, "text")


def _range(info: FieldInfo, kind: str) -> str:
    """Return the allowed values in words."""
    bare = _bare(info.annotation)
    if typing.get_origin(bare) is Literal:
        return ", ".join(f'"{word}"' for word in typing.get_args(bare))
    if kind == "keys":
        return "keys between braces, such as { key = value }"
    if kind in ("date", "switch"):
        return "a date, year-month-day" if kind == "date" else "true or false"
    limits = {type(limit).__name__: limit for limit in info.metadata}
    if kind == "number":
        return f"{'whole, ' if bare is int else ''}{_number_range(limits)}"
    return _length_range(limits, kind) + _each_range(bare, kind)


def _each_range(bare: Any, kind: str) -> str:
    """Return what each number of a list may be, in words; nothing of other lists and texts."""
    if kind != "numbers":
        return ""
    (first, *_) = typing.get_args(bare)
    limits = {
        type(limit).__name__: limit
        for info in getattr(first, "__metadata__", ())
        for limit in info.metadata
    }
    return f", each {_number_range(limits)}" if limits else ""


def _length_range(limits: Mapping[str, Any], kind: str) -> str:
    """Return how long a text or a list may be, in words."""
    most = getattr(limits.get("MaxLen"), "max_length", None)
    least = getattr(limits.get("MinLen"), "min_length", None)
    if kind != "text":
        of = {"segments": "lists of 4 numbers"}.get(kind, kind)
        return f"{least or 0} to {most} {of}"
    if most is not None and least == most:
        return f"{most} letters or digits"
    return f"text of at most {most} characters" if most else "text"


def _number_range(limits: Mapping[str, Any]) -> str:
    low = next(
        (f"{s} {getattr(limits[n], a):.12g}" for n, (s, a) in _MORE.items() if n in limits), ""
    )
    high = next(
        (f"{s} {getattr(limits[n], a):.12g}" for n, (s, a) in _LESS.items() if n in limits), ""
    )
    if low.startswith("from") and high.startswith("up to"):
        return f"{low[5:]} to {high[6:]}"
    return ", ".join(part for part in (low, high) if part) or "any number"


def toml_text(value: Any) -> str:
    """Return a value as it is written in TOML.

    >>> toml_text((0.0, 1.5, True, "x"))
    '[0, 1.5, true, "x"]'
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        # A whole number may have more digits than a number can hold.
        vast = isinstance(value, int) and abs(value) > 2**63
        return f"{str(value)[:20]}..." if vast else f"{value:.12g}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_text, value))}]"
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, BaseModel):
        value = {
            k: getattr(value, k) for k in type(value).model_fields if k in value.model_fields_set
        }
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {toml_text(v)}" for k, v in value.items()) + " }"
    text = str(value).replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{text[:100]}"'
