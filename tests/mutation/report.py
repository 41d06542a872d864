"""What a mutation run tells: a table by folder, and the changes that no test noticed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.mutation.changes.change import Change

#: Folders with a line of their own; all others stand together.
_FOLDERS = ("physics", "planning", "inputs", "outputs", "jobs")
_REST = "the rest"
NOTICED = ("failed", "hung", "died")


@dataclass(frozen=True)
class Outcome:
    """How tests met a change: ``failed``, ``hung``, ``died`` or ``survived``."""

    change: Change
    line: int
    before: str
    after: str
    verdict: str
    by: str
    ran: tuple[int, ...]
    seconds: float

    @property
    def noticed(self) -> bool:
        return self.verdict in NOTICED


def short(outcome: Outcome) -> str:
    """Return an outcome as a line."""
    change = outcome.change
    who = f" by {outcome.by}" if outcome.by else ""
    where = f"{change.path}:{outcome.line}"
    return f"{outcome.verdict:8s} {where} [{change.kind}] {outcome.seconds:.0f} s{who}"


def folder_of(path: str) -> str:
    """Return the line of the table that a file belongs to."""
    part = path.split("/")[1]
    if path.endswith(".js"):
        return "the map's scripts"
    return part if part in _FOLDERS else _REST


def table(outcomes: Sequence[Outcome]) -> str:
    """Return changes, noticed and share by folder, as a table in Markdown."""
    changes = Counter(folder_of(o.change.path) for o in outcomes)
    noticed = Counter(folder_of(o.change.path) for o in outcomes if o.noticed)
    rows = ["| Folder | Changes | Noticed | Share |", "| --- | --- | --- | --- |"]
    for name in (*_FOLDERS, _REST, "the map's scripts"):
        if changes[name]:
            rows.append(_row(name, changes[name], noticed[name]))
    rows.append(_row("all", sum(changes.values()), sum(noticed.values())))
    return "\n".join(rows)


def _row(name: str, changes: int, noticed: int) -> str:
    return f"| {name} | {changes} | {noticed} | {100 * noticed / max(changes, 1):.0f} % |"


def by_kind(outcomes: Sequence[Outcome]) -> str:
    """Return noticed and changes of each kind, as lines."""
    changes = Counter(o.change.kind for o in outcomes)
    noticed = Counter(o.change.kind for o in outcomes if o.noticed)
    return "\n".join(f"  {kind}: {noticed[kind]} of {n}" for kind, n in sorted(changes.items()))


def survivors(outcomes: Iterable[Outcome]) -> str:
    """Return the changes that no test noticed: where, the lines, and how many tests ran."""
    told = []
    for k, o in enumerate((o for o in outcomes if not o.noticed), start=1):
        ran = " + ".join(map(str, o.ran)) if o.ran else "no"
        told.append(
            f"{k}. {o.change.path}:{o.line} [{o.change.kind}] {ran} tests ran, {o.seconds:.0f} s\n"
            f"   - {o.before}\n   + {o.after}"
        )
    return "\n".join(told) or "None."


def whole(outcomes: Sequence[Outcome], head: str) -> str:
    """Return the report."""
    ordered = sorted(outcomes, key=lambda o: (o.change.path, o.line))
    ended = Counter(o.verdict for o in ordered)
    told = ", ".join(f"{ended[verdict]} {verdict}" for verdict in (*NOTICED, "survived"))
    noticed = "\n".join(map(short, filter(lambda o: o.noticed, ordered)))
    return (
        f"{head}\n\n{table(ordered)}\n\n{told}\n\nNoticed, by kind:\n{by_kind(ordered)}\n\n"
        f"Survivors (tests of the room + others that execute it + all that are left):\n"
        f"{survivors(ordered)}\n\nNoticed:\n{noticed}\n"
    )
