"""What a plan came to, and the same sites planned anew from old and new inputs mixed."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import fields, replace
from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray, at_decimals
from siteplan.errors import NetworkError
from siteplan.fields import FIELDS, UNSERVED
from siteplan.frozen import frozen
from siteplan.model import Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.assembly import given
from siteplan.planning.differences.groups import (
    COLUMNS,
    GROUPS,
    METHOD,
    changed_rows,
    differing,
    mixed_around,
    mixed_network,
    mixed_sites,
    same_around,
)
from siteplan.planning.plan import CHUNK_SITES, make_plan
from siteplan.planning.report.thinning import carrying
from siteplan.planning.step import Columns
from siteplan.words import NO_KIT

#: Surroundings of sites by their ids.
Around = Callable[[TextArray], Surroundings]


class Inputs(NamedTuple):
    """What sites (n,) are planned from."""

    network: Network
    sites: Sites
    around: Surroundings
    date: dt.date


@frozen(eq=False)
class State:
    """What two plans are compared by, an array (n,) each: kit as it is written, margin in full."""

    antenna_m: FloatArray
    buc_w: FloatArray
    beam: TextArray
    margin_class: TextArray
    margin_db: FloatArray
    flags: TextArray

    def take(self, index: IntArray) -> State:
        """Return the state of the sites at ``index`` (k,)."""
        return State(*(getattr(self, f.name)[index] for f in fields(self)))


def state_of(columns: Columns) -> State:
    """Return the state that the result fields of sites (n,) tell."""
    n = len(columns["site_id"])
    blank = np.full(n, "", dtype=object)
    classes, kit = columns["margin_class"], given(columns)["kit"]
    return State(
        antenna_m=at_decimals(columns["antenna_m"], FIELDS["antenna_m"].decimals),
        buc_w=at_decimals(columns["buc_w"], FIELDS["buc_w"].decimals),
        beam=columns.get("beam", blank),
        # Earlier versions told the class of a pair that was only tried.
        margin_class=np.where(kit | (classes == ""), classes, NO_KIT).astype(object),
        margin_db=columns["margin_db"],
        flags=columns["flags"],
    )


def served(state: State) -> BoolArray:
    """Return the sites (n,) that a plan serves: with a pair, a margin, and no flag that stops."""
    kit = ~np.isnan(state.antenna_m) & ~np.isnan(state.buc_w) & ~np.isnan(state.margin_db)
    return np.asarray(kit & ~carrying(state.flags, frozenset(UNSERVED)))


def replay(of: Inputs) -> State | None:
    """Return what sites come to from some inputs; None where the network cannot be planned."""
    columns = ("site_id", "antenna_m", "buc_w", "beam", "margin_class", "margin_db", "flags")
    pieces: list[Columns] = []
    for first in range(0, len(of.sites), CHUNK_SITES):
        some = of.sites.take(np.arange(first, min(first + CHUNK_SITES, len(of.sites))))
        try:
            plan = make_plan(some, of.network, certainty=False, today=of.date, around=of.around)
        except NetworkError:
            return None
        pieces.append({k: plan.columns[k] for k in columns if k in plan.columns})
    return state_of({k: np.concatenate([piece[k] for piece in pieces]) for k in pieces[0]})


def mixed(old: Inputs, new: Inputs, switched: Collection[str]) -> Inputs | None:
    """Return the old inputs with some groups of the new ones; None where they do not go together.

    The plan's date goes with the rules.
    """
    network = mixed_network(old.network, new.network, switched)
    if network is None:
        return None
    return Inputs(
        network,
        mixed_sites(old.sites, new.sites, switched),
        mixed_around(old.around, new.around, switched),
        new.date if "rules" in switched else old.date,
    )


def taken(of: Inputs, index: IntArray) -> Inputs:
    """Return the inputs of the sites at ``index`` (k,)."""
    return of._replace(sites=of.sites.take(index))


def groups_apart(old: Inputs, new: Inputs) -> tuple[str, ...]:
    """Return the groups in which two plans of the same sites differ, in order."""
    found = set(differing(old.network, new.network).values())
    found |= {COLUMNS[name] for name in changed_rows(old.sites, new.sites)}
    if not same_around(old.around.obstructions, new.around.obstructions):
        found.add("place")
    if old.date != new.date:
        found.add("rules")
    return tuple(group for group in GROUPS if group in found)


@frozen(eq=False)
class Path:
    """The way from one plan to another: the states (of n sites) before and after each step.

    ``steps`` holds the groups that each step switches: one, or several that do not go apart; the
    first and the last are what methods and versions make of the same inputs.
    """

    steps: tuple[tuple[str, ...], ...]
    states: tuple[State, ...]


def walk(
    old: Inputs, new: Inputs, groups: Sequence[str], progress: Callable[[int], None]
) -> tuple[tuple[tuple[str, ...], ...], tuple[State, ...]] | None:
    """Return the steps from the old inputs to the new ones and the states between them.

    Groups that cannot be planned apart are switched together. None where the old or the new plan
    cannot be made any more.

    Parameters
    ----------
    old, new : Inputs
        Of the same sites in the same order.
    groups : sequence of str
        The groups that differ, in order.
    progress : callable
        Told the number of steps that are done.
    """
    start = mixed(old, new, ())
    first = None if start is None else replay(start)
    if first is None:
        return None
    steps: list[tuple[str, ...]] = []
    states, done, pending = [first], list[str](), list[str]()
    for number, group in enumerate(groups, 1):
        pending.append(group)
        here = mixed(old, new, (*done, *pending))
        state = None if here is None else replay(here)
        progress(number)
        if state is not None:
            steps.append(tuple(pending))
            states.append(state)
            done, pending = [*done, *pending], []
    return None if pending else (tuple(steps), tuple(states))


def with_ends(
    steps: Sequence[tuple[str, ...]], states: Sequence[State], told: tuple[State, State]
) -> Path:
    """Return the path from the plan that was told to the other: what replaying misses is method.

    Where a replay gives the margin that the plan told, to its last digit, the replay's is taken:
    it has them all.
    """
    old = _in_full(told[0], states[0])
    new = _in_full(told[1], states[-1])
    method = (METHOD,)
    return Path((method, *steps, method), (old, *states, new))


def _in_full(told: State, made: State) -> State:
    """Return a state as it was told, margins with all digits where the replay agrees."""
    decimals = FIELDS["margin_db"].decimals or 0
    near = np.abs(told.margin_db - made.margin_db) <= 0.5 * 10.0**-decimals + 1e-6
    return replace(told, margin_db=np.where(near, made.margin_db, told.margin_db))


def changes_of(states: Sequence[State]) -> Iterator[FloatArray]:
    """Yield the change of margin (n,) of each step [dB]; none where neither side has a margin."""
    for one, other in itertools.pairwise(states):
        neither = np.isnan(one.margin_db) & np.isnan(other.margin_db)
        yield np.where(neither, 0.0, other.margin_db - one.margin_db)
