"""Which tests are asked about a change, in which order: its room's first, the quickest first."""

from __future__ import annotations

import ast
import functools
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from tests.mutation.changes.change import Change
from tests.mutation.lines import MAPS, Record

#: What a file of siteplan that prepares the maps, or asks for them, imports.
_MAP_MODULES = ("map_cache", "map_files")
#: Tests above go last; they are few and take two thirds of the suite's time.
_SLOW_S = 1.5


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


def stages(change: Change, record: Record, root: Path, *, quick: bool = False) -> list[list[str]]:
    """Return the tests to run, stage by stage, until one fails.

    First those of the room that execute one of the statement's lines, then all others that do and
    those of the room that start processes; all that start processes where no other test executes
    it. What import executes may tell wherever its values go: first the tests of the room that touch
    the file, then the others, then those that touch a file that imports it. Tables and templates
    tell in the tests that open them. ``quick`` leaves out the slow tests of other rooms.
    """
    found = record.executing(change.path, change.lines)
    everywhere = change.at_import or "" in found
    if everywhere:
        found |= record.touching(change.path)
    if prepares_maps(change.path, root):
        found |= record.opened.get(MAPS, set())
    found.discard("")
    here = room(change.path, root)
    of_room = set(record.seconds)  # the top folder's tests are the room of the top files
    of_room = {test for test in of_room if test.startswith(here)} if here != "tests/" else found
    starting = record.starting & of_room if found else record.starting
    first = (found & of_room) or (of_room if everywhere else starting & of_room)
    second = (found | starting) - first
    third = near(change.path, record, root) - first - second if everywhere else set()
    if quick:
        second, third = ({t for t in s if not slow(t, record)} for s in (second, third))
    order = [in_order(tests, record) for tests in (first, second, third)]
    return [tests for tests in order if tests]


def slow(test: str, record: Record) -> bool:
    """Return whether a test is one of the few that take most of the suite's time."""
    return record.seconds[test] > _SLOW_S


def near(path: str, record: Record, root: Path) -> set[str]:
    """Return the tests that touch files which import a module, or import it themselves.

    Through a package's ``__init__.py`` it goes on. A conftest stands for the tests of its folder.
    """
    known = imports_of(root)
    asked, found = [path], set()
    while asked:
        module = asked.pop()
        for importer in (p for p, names in known.items() if module in names):
            if importer.startswith("tests/"):
                where = importer.removesuffix("conftest.py")
                found |= {test for test in record.seconds if test.startswith(where)}
            else:
                found |= record.touching(importer)
            if importer.endswith("__init__.py"):
                asked.append(importer)
    return found


@functools.cache
def imports_of(root: Path) -> dict[str, set[str]]:
    """Return of each file of the package and the tests the package's files that it imports."""
    files = {p.relative_to(root).as_posix() for top in ("siteplan", "tests")
             for p in (root / top).rglob("*.py") if "node_modules" not in p.parts}  # fmt: skip
    found = {}
    for path in files:
        names = set()
        for node in ast.walk(ast.parse((root / path).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                names |= {node.module, *(f"{node.module}.{a.name}" for a in node.names)}
        stems = {name.replace(".", "/") for name in names}
        found[path] = {f for stem in stems for f in (f"{stem}.py", f"{stem}/__init__.py")} & files
    return found


def in_order(tests: Iterable[str], record: Record) -> list[str]:
    """Return tests file by file, so that fixtures live on: the quickest first, the slow last."""
    files: dict[tuple[bool, str], list[str]] = {}
    for test in tests:
        files.setdefault((slow(test, record), test.partition("::")[0]), []).append(test)
    for of_file in files.values():
        of_file.sort(key=lambda test: (record.seconds[test], test))
    costs = {f: (f[0], sum(record.seconds[t] for t in ts) / len(ts)) for f, ts in files.items()}
    return [test for file in sorted(files, key=lambda f: (costs[f], f)) for test in files[file]]
