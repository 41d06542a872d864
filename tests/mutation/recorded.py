"""The record of which tests execute what, made or taken up, and the check that all are green."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from tests.mutation.changes.change import Change
from tests.mutation.choosing import in_order, stages
from tests.mutation.copies import Copy
from tests.mutation.lines import Record, checksum
from tests.mutation.pytests import record, run_chosen
from tests.mutation.running import Job, Result, Task, carry_out

Say = Callable[[str], None]


def record_of(
    root: Path, copies: Sequence[Copy], paths: Sequence[str], say: Say, *, below: str = "tests/"
) -> Record:
    """Return the record of a tree, or of the tests below a folder.

    It is kept room by room in ``.mutation``, which git ignores. A room is recorded anew when one of
    its tests changed, or anything that is no test.
    """
    rooms: dict[str, list[str]] = {}
    for path in (p for p in paths if p.startswith(below) and Path(p).match("test_*.py")):
        rooms.setdefault(str(Path(path).parent), []).append(path)
    shared = [p for p in paths if not Path(p).match("test_*.py") and not p.endswith(".md")]
    folder = root / ".mutation"
    folder.mkdir(exist_ok=True)
    files = {
        room: folder / f"{room.replace('/', '.')}-{checksum(root, (*shared, *tests))}.json"
        for room, tests in rooms.items()
    }
    missing = [room for room, file in files.items() if not file.exists()]
    say(f"{len(missing)} of {len(rooms)} rooms of tests to record")
    carry_out([_recording(room, rooms[room], files[room], say) for room in missing], copies)
    for old in {*folder.glob("*.json")} - {*files.values()}:
        if below == "tests/":
            old.unlink()
    found = Record()
    for file in files.values():
        found.merge(json.loads(file.read_text(encoding="utf-8")))
    say(f"{len(found.seconds)} tests, {sum(found.seconds.values()):.0f} s one after another")
    return found


def _recording(room: str, tests: list[str], file: Path, say: Say) -> Callable[[Copy], Task]:
    def task(copy: Copy) -> Task:
        result = yield Job(record(tests), writes_compiled=True)
        _must_end(room, result, copy)
        shutil.move(copy.folder / "record.json", file)
        say(f"recorded {room}, {result.seconds:.0f} s")

    return task


def check(
    changes: Iterable[Change],
    known: Record,
    copies: Sequence[Copy],
    say: Say,
    *,
    quick: bool = False,
) -> list[str]:
    """Run the tests that changes ask for without a change, as they will run; return the red ones.

    A red test runs once more, with no other. One that is green then tells nothing: it is taken out
    of the record. The maps are prepared on the way, and the tests compiled.
    """
    root = copies[0].root
    asked = {t for c in changes for stage in stages(c, known, root, quick=quick) for t in stage}
    rooms: dict[str, list[str]] = {}
    for test in in_order(asked, known):
        rooms.setdefault(test.partition("::")[0].rpartition("/")[0], []).append(test)
    red: dict[str, str] = {}
    carry_out([_trial(room, tests, known, red, say) for room, tests in rooms.items()], copies)
    again: dict[str, str] = {}
    carry_out([_trial(test, [test], known, again, say) for test in red], copies[:1])
    for test in red.keys() - again.keys():
        say(f"left out, red at times: {test}: {red[test]}")
        known.leave_out(test)
    for copy in copies:
        copy.share([other for other in copies if other != copy])
        copy.keep_maps()
    return [f"{test}: {why}" for test, why in again.items()]


def _trial(
    name: str, tests: list[str], known: Record, red: dict[str, str], say: Say
) -> Callable[[Copy], Task]:
    """Return the task that runs tests without a change, and notes the red ones."""
    seconds = {test: known.seconds[test] for test in tests}

    def task(copy: Copy) -> Task:
        work = run_chosen(seconds, frozenset(known.seconds), stop=False)
        result = yield Job(work, writes_compiled=True)
        red.update({m["failed"]: m["why"] for m in result.messages if "failed" in m})
        if result.hung:
            red[str(result.last("started"))] = "hung"
        elif result.code not in (0, 1):
            _must_end(name, result, copy)
        say(f"without a change: {name}, {len(tests)} tests, {result.seconds:.0f} s")

    return task


def _must_end(room: str, result: Result, copy: Copy) -> None:
    if result.code not in (0, 1) or result.hung:
        log = copy.log.read_text(encoding="utf-8", errors="replace")[-3000:]
        last = result.last("started")
        raise RuntimeError(
            f"{room}: ended with {result.code}, hung {result.hung}, at {last}\n{log}"
        )
