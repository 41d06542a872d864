"""Values as people read them: the dictionary's decimals and units, degree signs, blanks."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from siteplan.fields import Field, lookup
from siteplan.results import Plan

_UNITS = {"deg": "°", "%": " %", "": ""}
_field = lru_cache(maxsize=None)(lookup)


def shown(value: Any, field: Field) -> str:
    """Return a value with its unit; empty for NaN, None and empty texts."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if field.decimals is None:
        return str(value).strip()
    number = f"{float(value):.{field.decimals}f}"
    number = number.removeprefix("-") if float(number) == 0 else number
    return number + _UNITS.get(field.unit, f" {field.unit}")


class SiteValues:
    """One site of a plan: texts by field name, empty where the plan has no answer or no field.

    Parameters
    ----------
    plan : Plan
        The results.
    index : int
        Which of its sites.
    """

    def __init__(self, plan: Plan, index: int) -> None:
        self.plan = plan
        self.index = index

    def __getitem__(self, name: str) -> str:
        """Return the text of a field; empty for one that the plan does not have."""
        values, field = self.plan.columns.get(name), _field(name)
        return "" if values is None or field is None else shown(_plain(values[self.index]), field)

    def number(self, name: str) -> float:
        """Return a field's number; NaN where there is none."""
        values = self.plan.columns.get(name)
        return math.nan if values is None else float(values[self.index])

    def rows(self, *names: str) -> list[tuple[str, str]]:
        """Return label and text of those of the fields that have an answer."""
        return [(label(name), text) for name in names if (text := self[name])]


def label(name: str) -> str:
    """Return a field's label; the name itself where the dictionary has none."""
    field = _field(name)
    return field.label if field else name


def words(code: str) -> str:
    """Return a code such as ``non_penetrating`` as words."""
    return code.replace("_", " ")


def _plain(value: Any) -> Any:
    """Return a numpy scalar as Python's own."""
    return value.item() if hasattr(value, "item") else value
