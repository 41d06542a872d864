"""Which tests are asked about a change, in which order: its room's first, the quickest first."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from tests.mutation.changes.change import Change
from tests.mutation.lines import MAPS, Record

#: What a file of siteplan that prepares the maps, or asks for them, imports.
_MAP_MODULES = ("map_cache", "map_files")


def room(path: str, root: Path) -> str:
    """Return the folder of tests that mirrors a file's folder, or the nearest above it."""
    folder = PurePosixPath("tests", *PurePosixPath(path).parts[1:-1])
    while not (root / folder).is_dir():
        folder = folder.parent
    return f"{folder}/"


def prepares_maps(path: str, root: Path) -> bool:
    """Return whether a file has a hand in the prepared maps, which a cache would hide."""
    if not path.startswith("siteplan/physics/") or not path.endswith(".py"):
        return False
    source = (root / path).read_text(encoding="utf-8")
    return path.endswith("map_files.py") or any(f"{name} import" in source for name in _MAP_MODULES)


def stages(change: Change, record: Record, root: Path) -> list[list[str]]:
    """Return the tests to run, stage by stage, until one fails.

    First those of the room that execute one of the statement's lines, then all others that do and
    those that start processes. What import executes, or tests read from a file, may tell anywhere:
    first those of the room that touch the file, then the others, then all that are left.
    """
    found = record.executing(change.path, change.lines)
    everywhere = change.at_import or "" in found
    found.discard("")
    if everywhere:
        found |= record.touching(change.path)
    if prepares_maps(change.path, root):
        found |= record.opened.get(MAPS, set())
    here = room(change.path, root)
    of_room = set(record.seconds)  # the top folder's tests are the room of the top files
    of_room = {test for test in of_room if test.startswith(here)} if here != "tests/" else found
    first = (found & of_room) or (of_room if everywhere else record.starting & of_room)
    second = (found | record.starting) - first
    third = set(record.seconds) - first - second if everywhere else set()
    order = [in_order(tests, record) for tests in (first, second, third)]
    return [tests for tests in order if tests]


def in_order(tests: Iterable[str], record: Record) -> list[str]:
    """Return tests file by file, so that fixtures live on: the quickest file, and test, first."""
    files: dict[str, list[str]] = {}
    for test in tests:
        files.setdefault(test.partition("::")[0], []).append(test)
    for of_file in files.values():
        of_file.sort(key=lambda test: (record.seconds[test], test))
    costs = {f: (sum(record.seconds[t] for t in ts) / len(ts), f) for f, ts in files.items()}
    return [test for file in sorted(files, key=costs.__getitem__) for test in files[file]]
