"""Each change between two plans of the same sites, with the group of inputs that brought it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.differences import LEAST_DB, Change, SiteChange
from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray, at_decimals
from siteplan.fields import FIELDS, FLAGS
from siteplan.planning.differences.groups import unlike
from siteplan.planning.differences.replay import Path, State, changes_of, served

#: The fields that are compared, flags apart.
COMPARED = ("service", "antenna_m", "buc_w", "beam", "margin_class")
#: The fields of a pair.
KIT = ("antenna_m", "buc_w")
#: What a site is called that is served as planned, and one that is not.
SERVED = {True: "served", False: "not served"}
#: Flags that hang on the terrain, which no plan keeps.
OF_TERRAIN = frozenset({"blocked", "sky_tight", "outside_terrain"})

#: The names of some groups of inputs.
Groups = tuple[str, ...]
#: What sites (k,) at some indices come to where a step's groups alone are switched; None where that
#: cannot be planned.
Alone = Callable[[Groups, IntArray], State | None]


class Series(NamedTuple):
    """What is compared, at each site (n,), in each state of the path; a flag by its code.

    ``tell`` gives the same of another state.
    """

    what: str
    code: str
    tell: Callable[[State], NDArray[Any]]
    values: tuple[NDArray[Any], ...]

    @property
    def changed(self) -> BoolArray:
        """Where (n,) the first state and the last differ."""
        return unlike(self.values[0], self.values[-1])


def series_of(states: Sequence[State]) -> Iterator[Series]:
    """Yield all that changes from the first state to the last."""
    for what, code in (*((what, "") for what in COMPARED), *(("flag", code) for code in FLAGS)):
        tell = partial(_told, what, code)
        found = Series(what, code, tell, tuple(map(tell, states)))
        if found.changed.any():
            yield found


def _told(what: str, code: str, state: State) -> NDArray[Any]:
    """Return what is compared (n,) of a state."""
    if what == "service":
        return served(state)
    found: NDArray[Any] = carries(state.flags, code) if code else getattr(state, what)
    return found


def carries(flags: TextArray, code: str) -> BoolArray:
    """Return where (n,) a flag stands among those joined by ``;``.

    >>> carries(np.array(["no_fit;blocked", "blocked_not", ""], object), "blocked").tolist()
    [True, False, False]
    """
    known: dict[str, bool] = {}
    for text in flags.tolist():
        if text not in known:
            known[text] = code in text.split(";")
    return np.array([known[text] for text in flags.tolist()], dtype=bool)


# --- causes ---------------------------------------------------------------------------------

#: The cause of each change, a mapping for each series, by the index of the site that has it.
Causes = list[dict[int, Groups]]


def causes_of(path: Path, found: Sequence[Series], alone: Alone) -> Causes:
    """Return the cause of every change.

    A step brings a change where it alone moves the value on the way from the old plan to the new
    one, and does so without the steps before it too. Else it is told together with those of them
    without which it would not; and steps that move a value to and fro do so together.

    Parameters
    ----------
    path : Path
        The steps and the states between them.
    found : sequence of Series
        What changes.
    alone : callable
        Plans some sites anew with the groups of some steps alone switched.
    """
    causes = [_on_the_way(path, of) for of in found]
    for k in range(2, len(path.steps) - 1):
        step = path.steps[k]
        open_: Needed = [{i: (k,) for i, c in own.items() if c == step} for own in causes]
        inquiry = _Inquiry(path, found, alone, k, open_)
        for own, needed in zip(causes, inquiry.needed(), strict=True):
            own |= {i: _together(path.steps[j] for j in steps) for i, steps in needed.items()}
    return causes


def _on_the_way(path: Path, of: Series) -> dict[int, Groups]:
    """Return the steps that move a value on the way, for each site at which it changes."""
    moves = np.array([unlike(a, b) for a, b in itertools.pairwise(of.values)])
    return {
        i: _together(path.steps[k] for k in np.flatnonzero(moves[:, i]).tolist())
        for i in np.flatnonzero(of.changed).tolist()
    }


#: Steps by their numbers, for each site of each series that is asked for.
Needed = list[dict[int, tuple[int, ...]]]


class _Inquiry(NamedTuple):
    """Which of the steps up to one its changes need: ``open_`` holds these, step ``k`` alone."""

    path: Path
    found: Sequence[Series]
    alone: Alone
    k: int
    open_: Needed

    def needed(self) -> Needed:
        """Return the fewest steps: none of them can be left out."""
        same = self.same((self.k,), self.open_)
        known = [dict.fromkeys(own, (self.k,)) for own in same]
        every = tuple(range(1, self.k + 1))
        held = [dict.fromkeys(own.keys() - settled, every)
                for own, settled in zip(self.open_, same, strict=True)]  # fmt: skip
        for j in range(1, self.k):
            for steps in sorted({steps for own in held for steps in own.values()}):
                asked = [{i: s for i, s in own.items() if s == steps} for own in held]
                fewer = tuple(step for step in steps if step != j)
                for own, here in zip(held, self.same(fewer, asked), strict=True):
                    own.update(dict.fromkeys(here, fewer))
        return [one | other for one, other in zip(known, held, strict=True)]

    def same(self, steps: tuple[int, ...], asked: Needed) -> list[set[int]]:
        """Return the sites of each series that come to the same with some steps alone."""
        rows = np.array(sorted(set().union(*asked)), dtype=np.int64)
        switched = _together(self.path.steps[j] for j in steps)
        state = self.alone(switched, rows) if len(rows) else None
        if state is None:
            return [set() for _ in asked]
        return [
            own.keys() & set(rows[~unlike(of.tell(state), of.values[self.k + 1][rows])].tolist())
            for of, own in zip(self.found, asked, strict=True)
        ]


def _together(steps: Iterable[Groups]) -> Groups:
    """Return the groups of some steps, each once, in order."""
    return tuple(dict.fromkeys(group for step in steps for group in step))


# --- sites ----------------------------------------------------------------------------------


class Told(NamedTuple):
    """What both plans tell of their common sites (n,): ids, names, who was served.

    ``stands`` (n, 2) is where an antenna and a BUC stood at the site already.
    """

    site_id: TextArray
    name: TextArray
    served: tuple[BoolArray, BoolArray]
    stands: tuple[BoolArray, BoolArray]


def site_changes(
    path: Path, told: Told, alone: Alone, *, terrain: Groups | None = None
) -> tuple[SiteChange, ...]:
    """Return the sites at which anything changed, what matters most first.

    Parameters
    ----------
    path : Path
        The way between the plans; of one step with no groups where nothing was planned anew.
    told : Told
        Ids and service.
    alone : callable
        See `causes_of`.
    terrain : tuple of str, optional
        The cause of what hangs on the terrain, where a plan had one: nothing of it was replayed.
    """
    first, last = path.states[0], path.states[-1]
    changes: dict[int, list[Change]] = {}
    found = list(series_of(path.states))
    for of, causes in zip(found, _causes(path, found, alone, terrain), strict=True):
        for i in np.flatnonzero(of.changed).tolist():
            changes.setdefault(i, []).append(_change(of, i, causes[i]))
    margins = list(changes_of(path.states))
    moved = np.abs(last.margin_db - first.margin_db) > LEAST_DB
    moved |= np.isnan(last.margin_db) != np.isnan(first.margin_db)
    for i in np.flatnonzero(moved).tolist():
        changes.setdefault(i, []).append(_margin(path, margins, i))
    sites = [_site(path, told, margins, i, tuple(own)) for i, own in sorted(changes.items())]
    return tuple(sorted(sites, key=_rank))


def _causes(path: Path, found: Sequence[Series], alone: Alone, terrain: Groups | None) -> Causes:
    """Return the causes of all changes; what hangs on the terrain has that for its cause."""
    if terrain is None:
        return causes_of(path, found, alone)
    clear = [of if of.what != "service" else _clear(of, path) for of in found]
    return [
        dict.fromkeys(np.flatnonzero(of.changed).tolist(), terrain)
        | ({} if of.code in OF_TERRAIN else own)
        for of, own in zip(found, causes_of(path, clear, alone), strict=True)
    ]


def _clear(of: Series, path: Path) -> Series:
    """Return who is served, had nobody a flag that hangs on the terrain."""

    def tell(state: State) -> BoolArray:
        return served(_without_terrain(state))

    return Series(of.what, of.code, tell, tuple(map(tell, path.states)))


def _without_terrain(state: State) -> State:
    """Return a state without the flags that hang on the terrain."""
    texts = {text: ";".join(code for code in text.split(";") if code not in OF_TERRAIN)
             for text in set(state.flags.tolist())}  # fmt: skip
    flags = np.array([*(texts[text] for text in state.flags.tolist()), None], dtype=object)[:-1]
    return replace(state, flags=flags)


def _change(of: Series, i: int, cause: tuple[str, ...]) -> Change:
    if of.code:
        gone = bool(of.values[0][i])
        return Change("flag", of.code if gone else "", "" if gone else of.code, cause=cause)
    if of.what == "service":
        old, new = (SERVED[bool(of.values[k][i])] for k in (0, -1))
    else:
        old, new = (_text(of.values[k][i]) for k in (0, -1))
    return Change(of.what, old, new, cause)


def _margin(path: Path, margins: Sequence[FloatArray], i: int) -> Change:
    """Return the change of a margin; its causes are the groups that move it in the end."""
    steps = [step for step, db in _by_group(path, margins, i).items() if not abs(db) <= LEAST_DB]
    told = (path.states[k].margin_db[i : i + 1] for k in (0, -1))
    old, new = (_text(at_decimals(value, FIELDS["margin_db"].decimals)[0]) for value in told)
    return Change("margin_db", old, new, _together(steps))


def _by_group(path: Path, margins: Sequence[FloatArray], i: int) -> dict[Groups, float]:
    """Return the change of one site's margin [dB] by the groups of each step."""
    found: dict[Groups, float] = {}
    for step, change in zip(path.steps, margins, strict=True):
        found[step] = found.get(step, 0.0) + float(change[i])
    return found


def _text(value: object) -> str:
    """Return a value as a table has it, '' for none."""
    if isinstance(value, float | np.floating):
        return "" if math.isnan(value) else repr(float(value)).removesuffix(".0")
    return str(value)


def _site(
    path: Path, told: Told, margins: Sequence[FloatArray], i: int, changes: tuple[Change, ...]
) -> SiteChange:
    was, is_ = (bool(served[i]) for served in told.served)
    return SiteChange(
        str(told.site_id[i]),
        str(told.name[i]),
        changes,
        float(path.states[-1].margin_db[i] - path.states[0].margin_db[i]),
        tuple(_by_group(path, margins, i).items()),
        "lost" if was and not is_ else "gained" if is_ and not was else "",
        _stood(told, i, changes),
    )


def _stood(told: Told, i: int, changes: tuple[Change, ...]) -> str:
    """Return in which plan the antenna or BUC that is another one stands at a site already."""
    parts = [KIT.index(change.what) for change in changes if change.what in KIT]
    for plan, stands in zip(("old", "new"), told.stands, strict=True):
        if stands[i, parts].any():
            return plan
    return ""


def _rank(site: SiteChange) -> tuple[int, float]:
    """Return what a site is sorted by: service, kit, other changes, then the margin lost."""
    kind = 0 if site.service == "lost" else 1 if site.service else 2
    if kind == 2:
        kind = 2 if site.kit_changes else 3 if len(site.changes) > 1 else 4
    change = site.margin_change_db
    return kind, math.inf if math.isnan(change) else change
