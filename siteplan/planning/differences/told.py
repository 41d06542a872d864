"""What is told of two plans' inputs: each key and column that differs, and other methods."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from typing import Any

from siteplan.answers.differences import InputChange, PlanNamed
from siteplan.messages import english
from siteplan.network import Network
from siteplan.network.reference import is_list_table, toml_text
from siteplan.planning.differences.causes import OF_TERRAIN
from siteplan.planning.differences.groups import (
    COLUMNS,
    METHOD,
    changed_rows,
    differing,
    group_of_key,
    same_around,
)
from siteplan.planning.differences.replay import Inputs

#: Most letters of a value that is shown.
_LONGEST = 80


def input_changes(old: Inputs, new: Inputs, terrain: tuple[str, str]) -> Iterator[InputChange]:
    """Yield what differs between the inputs of two plans of the same sites.

    Parameters
    ----------
    old, new : Inputs
        Of the sites (n,) that both have.
    terrain : pair of str
        What each plan's terrain was, '' for none.
    """
    yield from _of_networks(old.network, new.network)
    for name, where in changed_rows(old.sites, new.sites).items():
        yield InputChange(COLUMNS[name], f"sites: {name}", "", "", int(where.sum()))
    if not same_around(old.around.obstructions, new.around.obstructions):
        known = (of.around.obstructions for of in (old, new))
        was, is_ = (str(0 if around is None else len(around)) for around in known)
        yield InputChange("place", "obstructions", was, is_)
    if terrain[0] != terrain[1]:
        yield InputChange("place", "terrain", terrain[0], terrain[1])
    if old.date != new.date:
        yield InputChange("rules", "date of the plan", str(old.date), str(new.date))


def _of_networks(old: Network, new: Network) -> Iterator[InputChange]:
    for (table, key), group in differing(old, new).items():
        if group == METHOD:
            continue
        one, other = getattr(old, table), getattr(new, table)
        if key:
            was, is_ = both_told(getattr(one, key), getattr(other, key))
            yield InputChange(group, f"[{table}] {key}", was, is_)
        elif len(one) != len(other):
            yield InputChange(group, f"[[{table}]]", _count(one), _count(other))
        else:
            yield from _of_entries(table, one, other)


def _of_entries(table: str, old: Any, new: Any) -> Iterator[InputChange]:
    """Yield the keys in which entries of two lists of one length differ."""
    assert is_list_table(table)
    for number, (one, other) in enumerate(zip(old, new, strict=True), 1):
        for key in type(one).model_fields:
            was, is_ = getattr(one, key), getattr(other, key)
            if was != is_:
                place = f"[[{table}]] no. {number} {key}"
                yield InputChange(group_of_key(table), place, *both_told(was, is_))


def _count(entries: Any) -> str:
    return english().one("differences.entries", count=len(entries))


def both_told(old: Any, new: Any) -> tuple[str, str]:
    """Return two values that differ as network.toml has them, '' for none.

    What is long is cut off; where that leaves both alike, a digest tells them apart.
    """
    texts = ["" if value is None else toml_text(value) for value in (old, new)]
    was, is_ = (t if len(t) <= _LONGEST else f"{t[: _LONGEST - 1]}…" for t in texts)
    if was != is_:
        return was, is_
    digests = (hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:8] for text in texts)
    one, other = (f"{was} (contents {digest})" for digest in digests)
    return one, other


def turned_round(old: PlanNamed, new: PlanNamed) -> Iterator[str]:
    """Yield the sentence on a new plan of an earlier date than the old one."""
    if old.date and new.date and new.date < old.date:
        yield english().one("differences.turned_round", old=old.date, new=new.date)


# --- versions, methods, maps ----------------------------------------------------------------


def made_otherwise(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    """Yield a sentence on each version, method and map in which two plans were made unlike.

    Parameters
    ----------
    old, new : mapping
        What ``inputs/methods.json`` of each tells.
    """
    words = english()
    if old.get("siteplan") != new.get("siteplan"):
        versions = {k: str(of.get("siteplan", "?")) for k, of in (("old", old), ("new", new))}
        yield words.one("differences.version", **versions)
    for part in ("methods", "maps", "cloud_maps", "magnetic_model"):
        one, other = (_mapping(of.get(part)) for of in (old, new))
        for key in dict.fromkeys((*one, *other)):
            # A mask is in force by [regulation], which is an input.
            if one.get(key) != other.get(key) and not key.startswith("mask "):
                told = {k: str(of.get(key, "none")) for k, of in (("old", one), ("new", other))}
                named = part.replace("_", " ") if part != "methods" else "method"
                yield words.one("differences.method", part=named, what=key, **told)


def _mapping(found: Any) -> Mapping[str, Any]:
    return found if isinstance(found, dict) else {}


def of_terrain(old: Any, new: Any) -> tuple[tuple[str, str], tuple[str, ...] | None]:
    """Return what each plan's terrain was, and the cause of what hangs on it; None without any.

    ``old`` and ``new`` are what ``inputs/methods.json`` tells of it.
    """
    names = tuple(
        f"{of['name']}, {str(of['sha256'])[:12]}" if isinstance(of, dict) else ""
        for of in (old, new)
    )
    if not any(names):
        return ("", ""), None
    return (names[0], names[1]), ("place",) if names[0] != names[1] else ("terrain",)


def terrain_told() -> str:
    """Return the sentence on what was not replayed for want of the terrain."""
    return english().one("differences.terrain", flags=", ".join(sorted(OF_TERRAIN)))
