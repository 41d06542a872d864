"""Each change between two plans of the same sites, with the group of inputs that brought it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.differences import Change, SiteChange
from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray, at_decimals
from siteplan.fields import FIELDS, FLAGS
from siteplan.planning.differences.groups import METHOD, unlike
from siteplan.planning.differences.replay import Path, State, changes_of, served

#: The fields that are compared, flags apart.
COMPARED = ("service", "antenna_m", "buc_w", "beam", "margin_class")
#: What a site is called that is served as planned, and one that is not.
SERVED = {True: "served", False: "not served"}
#: Flags that hang on the terrain, which no plan keeps.
OF_TERRAIN = frozenset({"blocked", "sky_tight", "outside_terrain"})
#: A change of margin smaller than this is none [dB]: decisions round to it.
LEAST_DB = 1e-6

#: What sites (k,) at some indices come to where a step's groups alone are switched; None where that
#: cannot be planned.
Alone = Callable[[tuple[str, ...], IntArray], State | None]


class Series(NamedTuple):
    """What is compared, at each site (n,), in each state of the path; a flag by its code."""

    what: str
    code: str
    values: tuple[NDArray[Any], ...]

    @property
    def changed(self) -> BoolArray:
        """Where (n,) the first state and the last differ."""
        return unlike(self.values[0], self.values[-1])


def told_by(state: State, what: str, code: str = "") -> NDArray[Any]:
    """Return what is compared (n,) of a state."""
    if what == "service":
        return served(state)
    found: NDArray[Any] = carries(state.flags, code) if code else getattr(state, what)
    return found


def series_of(states: Sequence[State]) -> Iterator[Series]:
    """Yield all that changes from the first state to the last."""
    for what, code in (*((what, "") for what in COMPARED), *(("flag", code) for code in FLAGS)):
        found = Series(what, code, tuple(told_by(state, what, code) for state in states))
        if found.changed.any():
            yield found


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


def causes_of(path: Path, of: Series, alone: Alone) -> Mapping[int, tuple[str, ...]]:
    """Return the cause of a change at each site that has it, by the site's index.

    A step brings a change where it alone moves the value on the way from the old plan to the new
    one, and would have done so without the steps before it. Else the groups up to it do, together.

    Parameters
    ----------
    path : Path
        The steps and the states between them.
    of : Series
        What changes.
    alone : callable
        Plans some sites anew with the groups of one step alone switched.
    """
    moves = np.array([unlike(a, b) for a, b in zip(of.values, of.values[1:], strict=False)])
    found = {}
    for i in np.flatnonzero(of.changed).tolist():
        found[i] = _together(path.steps[k] for k in np.flatnonzero(moves[:, i]).tolist())
    for k, step in enumerate(path.steps[1:-1], 1):
        single = [i for i, cause in found.items() if cause == step] if k > 1 else []
        if single and METHOD not in step:
            rows = np.array(single, dtype=np.int64)
            state = alone(step, rows)
            before = _together(path.steps[1 : k + 1])
            found |= dict.fromkeys(_otherwise(state, of, rows, of.values[k + 1]), before)
    return found


def _otherwise(
    state: State | None, of: Series, rows: IntArray, there: NDArray[Any]
) -> Iterator[int]:
    """Yield those of some sites (k,) that come to something else than on the way, all if unknown.

    ``there`` is what the sites (n,) come to on the way.
    """
    if state is None:
        yield from rows.tolist()
        return
    yield from rows[unlike(told_by(state, of.what, of.code), there[rows])].tolist()


def _together(steps: Iterator[tuple[str, ...]] | Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """Return the groups of some steps, each once, in order."""
    return tuple(dict.fromkeys(group for step in steps for group in step))


# --- sites ----------------------------------------------------------------------------------


class Told(NamedTuple):
    """What both plans tell of their common sites (n,): ids, names, who was served."""

    site_id: TextArray
    name: TextArray
    served: tuple[BoolArray, BoolArray]


def site_changes(
    path: Path, told: Told, alone: Alone, *, terrain: tuple[str, ...] | None = None
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
    for of in series_of(path.states):
        causes = _causes(path, of, alone, terrain)
        for i in np.flatnonzero(of.changed).tolist():
            changes.setdefault(i, []).append(_change(of, i, causes[i]))
    margins = list(changes_of(path.states))
    moved = np.abs(last.margin_db - first.margin_db) > LEAST_DB
    moved |= np.isnan(last.margin_db) != np.isnan(first.margin_db)
    for i in np.flatnonzero(moved).tolist():
        changes.setdefault(i, []).append(_margin(path, margins, i))
    found = [_site(path, told, margins, i, tuple(own)) for i, own in sorted(changes.items())]
    return tuple(sorted(found, key=_rank))


def _causes(
    path: Path, of: Series, alone: Alone, terrain: tuple[str, ...] | None
) -> Mapping[int, tuple[str, ...]]:
    """Return the causes of a change; what hangs on the terrain has that for its cause."""
    if terrain is None or (of.what != "service" and of.code not in OF_TERRAIN):
        return causes_of(path, of, alone)
    found = dict.fromkeys(np.flatnonzero(of.changed).tolist(), terrain)
    if of.what == "service":
        clear = Path(path.steps, tuple(_without_terrain(state) for state in path.states))
        bare = Series(of.what, "", tuple(served(state) for state in clear.states))
        found |= {i: cause for i, cause in causes_of(clear, bare, alone).items() if i in found}
    return found


def _without_terrain(state: State) -> State:
    """Return a state without the flags that hang on the terrain."""
    texts = {text: ";".join(code for code in text.split(";") if code not in OF_TERRAIN)
             for text in set(state.flags.tolist())}  # fmt: skip
    flags = np.array([*(texts[text] for text in state.flags.tolist()), None], dtype=object)[:-1]
    return replace(state, flags=flags)


def _change(of: Series, i: int, cause: tuple[str, ...]) -> Change:
    if of.code:
        gone = bool(of.values[0][i])
        return Change("flag", of.code if gone else "", "" if gone else of.code, cause)
    if of.what == "service":
        return Change(of.what, *(SERVED[bool(of.values[k][i])] for k in (0, -1)), cause)
    return Change(of.what, *(_text(of.values[k][i]) for k in (0, -1)), cause)


def _margin(path: Path, margins: Sequence[FloatArray], i: int) -> Change:
    """Return the change of a margin; its causes are the groups that move it in the end."""
    steps = [step for step, db in _by_group(path, margins, i).items() if not abs(db) <= LEAST_DB]
    told = (path.states[k].margin_db[i : i + 1] for k in (0, -1))
    texts = (_text(at_decimals(value, FIELDS["margin_db"].decimals)[0]) for value in told)
    return Change("margin_db", *texts, _together(steps))


def _by_group(path: Path, margins: Sequence[FloatArray], i: int) -> dict[tuple[str, ...], float]:
    """Return the change of one site's margin [dB] by the groups of each step."""
    found: dict[tuple[str, ...], float] = {}
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
    )


def _rank(site: SiteChange) -> tuple[int, float]:
    """Return what a site is sorted by: service, kit, other changes, then the margin lost."""
    kind = 0 if site.service == "lost" else 1 if site.service else 2
    if kind == 2:
        kind = 2 if site.kit_changes else 3 if len(site.changes) > 1 else 4
    change = site.margin_change_db
    return kind, math.inf if math.isnan(change) else change
