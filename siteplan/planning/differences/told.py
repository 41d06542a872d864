"""What is told of two plans' inputs: each key and column that differs, and other methods."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from siteplan.answers.differences import InputChange, PlanNamed
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.differences.causes import OF_TERRAIN
from siteplan.planning.differences.entries import both_told, entry_changes
from siteplan.planning.differences.groups import (
    COLUMNS,
    METHOD,
    changed_rows,
    differing,
    same_around,
)
from siteplan.planning.differences.replay import Inputs


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
        else:
            yield from entry_changes(table, one, other)


def turned_round(old: PlanNamed, new: PlanNamed) -> Iterator[str]:
    """Yield the sentence on a new plan of an earlier date than the old one."""
    if old.date and new.date and new.date < old.date:
        yield english().one("differences.turned_round", old=old.date, new=new.date)


def no_order(of: PlanNamed) -> str:
    """Return the sentence on a plan that does not tell what was to be ordered."""
    return english().one("differences.no_order", folder=of.folder)


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
