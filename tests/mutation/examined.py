"""A change examined: made in a copy, tried by the tests stage by stage, and taken back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.mutation.changes.change import Change
from tests.mutation.choosing import prepares_maps, stages
from tests.mutation.copies import Copy
from tests.mutation.lines import Record
from tests.mutation.nodetests import run_node
from tests.mutation.pytests import run_browser, run_chosen
from tests.mutation.report import Outcome
from tests.mutation.running import Job, Result, Task

#: How pytest ends when all is well, and when there was nothing to run.
_GREEN = (0, 5)
#: Tests that open a browser are asked about survivors of these rooms.
BROWSER_ROOMS = ("outputs/map", "outputs/sheets", "outputs/paper")


def examination(
    change: Change,
    known: Record,
    root: Path,
    tell: Callable[[Outcome], None],
    *,
    quick: bool = False,
) -> Callable[[Copy], Task]:
    """Return the task that examines a change."""
    every = frozenset(known.seconds)

    def task(copy: Copy) -> Task:
        source = change.write(copy.root)
        cold = prepares_maps(change.path, root)
        ran: list[int] = []
        spent = 0.0
        verdict, by = "survived", ""
        try:
            for tests in stages(change, known, root, quick=quick):
                seconds = {test: known.seconds[test] for test in tests}
                result = yield Job(run_chosen(seconds, every), cold=cold)
                ran.append(len(result.all("started")))
                spent += result.seconds
                verdict, by = judged(result)
                if verdict != "survived":
                    break
            else:
                work = in_browser(change.path, root)
                if work is not None:
                    result = yield Job(work, cold=cold)
                    ran.append(len(result.all("started")))
                    spent += result.seconds
                    verdict, by = judged(result)
        finally:
            (copy.root / change.path).write_bytes(source)
        line, lines = change.line(source), change.before_and_after(source)
        tell(Outcome(change, line, *lines, verdict, by, tuple(ran), spent))

    return task


def script_examination(change: Change, tell: Callable[[Outcome], None]) -> Callable[[Copy], Task]:
    """Return the task that examines a change of a script: node's tests, then the browser's."""

    def task(copy: Copy) -> Task:
        source = change.write(copy.root)
        ran: list[int] = []
        spent = 0.0
        verdict, by = "survived", ""
        try:
            for work in (run_node, run_browser(["tests/outputs/map"])):
                result = yield Job(work)
                ran.append(int(result.last("tests") or len(result.all("started"))))
                spent += result.seconds
                verdict, by = judged(result)
                if verdict != "survived":
                    break
        finally:
            (copy.root / change.path).write_bytes(source)
        line, lines = change.line(source), change.before_and_after(source)
        tell(Outcome(change, line, *lines, verdict, by, tuple(ran), spent))

    return task


def judged(result: Result) -> tuple[str, str]:
    """Return how a run of tests ended, and the test that noticed."""
    if result.hung:
        return "hung", str(result.last("started"))
    if result.code in _GREEN:
        return "survived", ""
    failed = result.last("failed")
    if failed is not None:
        return "failed", str(failed)
    return "died", f"{result.last('started')} (ended with {result.code})"


def in_browser(path: str, root: Path) -> Callable[..., int] | None:
    """Return work that runs the browser tests of a file's room; None where it has none."""
    for room in BROWSER_ROOMS:
        if path.startswith(f"siteplan/{room}/"):
            rooms = ["tests/outputs/map", "tests/outputs/sheets"]
            return run_browser([r for r in rooms if r.endswith(room)] or rooms)
    return None
