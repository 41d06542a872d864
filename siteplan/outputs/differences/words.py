"""How table, page and screen say what lies between two plans."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.answers.differences import Change, Differences, InputChange, PlanNamed, SiteChange
from siteplan.fields import FIELDS, FLAGS
from siteplan.outputs import shown

#: The group of what no input explains, as the answer calls it.
METHOD = "method"
#: What a group is called.
NAMES = {METHOD: "method or version"}
#: The shares of a change of margin, each a column: groups, groups that do not go apart, methods.
COLUMNS = (
    *("place", "satellite", "carriers", "interference", "regulation", "catalogue", "rules"),
    *("together", METHOD),
)
#: Headings of the table of causes by the kind of change.
KINDS = {
    "service": "Service",
    "antenna_m": "Antenna",
    "buc_w": "BUC",
    "beam": "Beam",
    "margin_class": "Margin class",
    "flag": "Flags",
}
#: Headings of the table of shares in the margins.
SHARE_HEADS = ("Share in the margins", "Sites", "Mean", "Least", "Greatest")
#: Headings of the inputs that differ.
INPUT_HEADS = ("Group", "Input", "Old plan", "New plan")
_NONE = "none"


def name_of(group: str) -> str:
    """Return what a group of inputs is called."""
    return NAMES.get(group, group)


def column(group: str) -> str:
    """Return a group's name as a heading has it."""
    return name_of(group).replace(" ", "_")


def share_of(groups: Sequence[str]) -> str:
    """Return the column of `COLUMNS` that the share of a step stands in."""
    return groups[0] if len(groups) == 1 else "together"


def groups_told(groups: Sequence[str], *, margin: bool = False) -> str:
    """Return the groups of a cause in words; '' where nobody can tell.

    Of a margin each has its own share; else several did together what none did alone.
    """
    names = ", ".join(map(name_of, groups))
    return names if len(groups) < 2 or margin else f"together: {names}"


def cause(of: Change) -> str:
    """Return the cause of a change in words."""
    return groups_told(of.cause, margin=of.what == "margin_db")


def change(of: Change) -> str:
    """Return a change in words, such as ``Antenna: 1.80 m instead of 1.20 m``."""
    if of.what == "flag":
        code = of.old or of.new
        return f"{_flag(of)}: {shown.words(code)} ({FLAGS[code].meaning})"
    if of.what == "service":
        return f"{of.old.capitalize()}, now {of.new}"
    field = FIELDS[of.what]
    old, new = (_value(text, of.what) for text in (of.old, of.new))
    return f"{field.label}: {_instead(old, new)}"


def in_short(of: Change) -> str:
    """Return a change and its cause in few words, for the screen."""
    why = cause(of)
    if of.what == "flag":
        told = f"{_flag(of).lower()} {shown.words(of.old or of.new)}"
    elif of.what == "service":
        told = f"now {of.new}"
    else:
        old, new = (_value(text, of.what) for text in (of.old, of.new))
        told = f"{shown.label(of.what)} {_instead(old, new)}"
    return f"{told} ({why})" if why else told


def _flag(of: Change) -> str:
    """Return what happened to a flag."""
    return "Flag gone" if of.old else "New flag"


def shows(of: Change) -> bool:
    """Whether a change is seen in the digits that are shown."""
    return of.what in ("flag", "service") or len({_value(v, of.what) for v in (of.old, of.new)}) > 1


def _instead(old: str, new: str) -> str:
    """Return a value and the one before; alone where the change is less than what is shown."""
    return new if old == new else f"{new} instead of {old}"


def _value(text: str, what: str) -> str:
    """Return a field's value, as the table has it, in words."""
    if not text:
        return _NONE
    field = FIELDS[what]
    return text if field.is_text else shown.shown(float(text), field)


def margin_change(site: SiteChange) -> str:
    """Return a site's margin in both plans; '' where it did not change."""
    own = [c for c in site.changes if c.what == "margin_db"]
    return "".join(_instead(_value(c.old, c.what), _value(c.new, c.what)) for c in own)


def shares(site: SiteChange) -> str:
    """Return the share of each group in a change of margin, those that are none left out."""
    told = []
    for groups, db in site.margin_by_group:
        if groups and not math.isnan(db) and abs(round(db, 2)) > 0:
            told.append(f"{groups_told(groups)} {signed(db)}")
    return "; ".join(told)


def signed(change_db: float) -> str:
    """Return a change of margin with its sign and unit."""
    return ("+" if change_db > 0 else "\u2212") + shown.amount(abs(change_db), "dB", 2)


def told_of(site: SiteChange) -> bool:
    """Whether more than the margin of a site changed."""
    return any(change.what != "margin_db" for change in site.changes)


# --- the plans ------------------------------------------------------------------------------


def plan_line(of: PlanNamed) -> str:
    """Return a plan's folder, name, date and version in a line."""
    version = f"siteplan {of.version}" if of.version else ""
    more = ", ".join(filter(None, (of.name, of.date, version)))
    return f"{of.folder} ({more})" if more else of.folder


def heads(found: Differences) -> list[tuple[str, int]]:
    """Return the counts that stand first: what, and how many sites."""
    told = [site for site in found.sites if told_of(site)]
    return [
        ("in both plans", found.common),
        ("lost service", len(found.lost)),
        ("gained service", len(found.gained)),
        ("other antenna or BUC", len(found.other_kit)),
        ("changed in service, kit, class or flags", len(told)),
        ("changed in margin alone", len(found.sites) - len(told)),
        ("gone", len(found.gone)),
        ("added", len(found.added)),
    ]


def causes(found: Differences) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return headings and rows of how many changes of each kind every cause brought.

    Kinds of which there are none are left out; no row where no cause is known.
    """
    counted = {groups: counts for groups, counts in found.by_cause().items() if groups}
    kinds = [kind for kind in KINDS if any(counts[kind] for counts in counted.values())]
    rows = [
        (groups_told(groups), *(str(counts[kind] or "") for kind in kinds))
        for groups, counts in counted.items()
    ]
    return ("Cause", *(KINDS[kind] for kind in kinds)), rows


def share_rows(found: Differences) -> list[tuple[str, ...]]:
    """Return a row for each step: how many margins it moves, and by how much."""
    return [
        (
            groups_told(groups),
            str(len(shares)),
            *(signed(db) for db in (sum(shares) / len(shares), min(shares), max(shares))),
        )
        for groups, shares in sorted(found.margin_shares().items(), key=_in_order)
    ]


def _in_order(item: tuple[Sequence[str], Sequence[float]]) -> int:
    return COLUMNS.index(share_of(item[0]))


def input_row(of: InputChange) -> tuple[str, str, str, str]:
    """Return an input that differs as cells: group, key, and what it was and is."""
    if of.sites is not None:
        count = f"{of.sites} site{'s' if of.sites > 1 else ''}"
        return name_of(of.group), of.key, "", f"other at {count}"
    return name_of(of.group), of.key, of.old or _NONE, of.new or _NONE
