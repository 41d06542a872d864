"""Who is called from the site, how one gets in, and what holds for those who work alone."""

from __future__ import annotations

from typing import Any

from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.shown import words
from siteplan.results import Plan

#: Longest cell of a chosen column that a sheet shows, and all of them together [characters].
LONGEST_CELL, LONGEST_CELLS = 200, 330
#: Put before a free column's name that is also a result field's.
_PREFIX = "input_"


def calls(plan: Plan) -> list[tuple[str, str]]:
    """Return who is called, with name and telephone; those that nobody gave are left out."""
    of = plan.network.contacts
    asked = (
        ("Operator", of.operator_name, of.operator_phone),
        ("Planner", of.planner_name, of.planner_phone),
    )
    told = ((who, ", ".join(filter(None, (name, phone)))) for who, name, phone in asked)
    return [(who, text) for who, text in told if text]


def access(plan: Plan, i: int) -> list[tuple[str, str]]:
    """Return the chosen columns of a site, such as contact and access, clipped as paper asks."""
    found: list[tuple[str, str]] = []
    left = LONGEST_CELLS
    for name in plan.network.sheets.columns:
        text = " ".join(_cell(plan, name, i).split())
        if text and left < 40:
            return [*found, ("more", "in sites.csv")]
        if text:
            text = sheet_words.clipped(text, min(LONGEST_CELL, left))
            left -= len(text)
            found.append((words(name)[:1].upper() + words(name)[1:], text))
    return found


def _cell(plan: Plan, name: str, i: int) -> str:
    """Return a user's cell; a column under its own name, or under the one it was given."""
    for key in (name, f"{_PREFIX}{name}"):
        if key in plan.extra:
            value = plan.extra[key][i]
            return _text(value)
    return ""


def _text(value: Any) -> str:
    """Return a cell as text; a whole number without a point, as telephones are read."""
    if value is None or value != value:  # noqa: PLR0124
        return ""
    whole = isinstance(value, float) and value.is_integer()
    return str(int(value)) if whole else str(value)


def contacts(plan: Plan, i: int) -> dict[str, Any]:
    """Return what the head of a sheet tells of people and access."""
    return {"calls": calls(plan), "access": access(plan, i)}


def lone_worker(plan: Plan) -> str:
    """Return the line for those who work alone: the network file's words, else the usual ones."""
    return plan.network.sheets.lone_worker.strip() or sheet_words.LONE_WORKER
