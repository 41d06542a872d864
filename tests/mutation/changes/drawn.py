"""Changes drawn at random: from each file its share by lines of code, of unlike kinds."""

from __future__ import annotations

import ast
import csv
import io
import random
import subprocess
from collections.abc import Callable, Mapping, Sequence
from math import sqrt
from pathlib import Path
from typing import NamedTuple

from tests.mutation.changes import python, scripts, tables
from tests.mutation.changes.change import Change, Place

#: Drawings in vain from one file before it is given up.
_TRIES = 200


class Source(NamedTuple):
    """A file's contents, how many lines of code it has, and where it can be changed."""

    contents: bytes
    lines: int
    places: Sequence[Place]
    valid: Callable[[bytes], bool]


def quotas(lines: Mapping[str, int], count: int, rng: random.Random) -> dict[str, int]:
    """Return how many of ``count`` changes each file gets: its share, rounded down or up.

    A step as long as a change's share of the lines goes over the files, from a start at random.
    """
    total = sum(lines.values())
    start, passed = rng.random(), 0
    given = {}
    for path, number in lines.items():
        before = passed
        passed += number
        marks = [int(at * count / total + start + 1e-9) for at in (before, passed)]
        given[path] = marks[1] - marks[0]
    return given


def draw(path: str, source: Source, count: int, rng: random.Random) -> list[Change]:
    """Return ``count`` changes of a file, no two in one place; fewer where it has not so many."""
    kinds: dict[str, list[Place]] = {}
    for place in source.places:
        kinds.setdefault(place.kind, []).append(place)
    weights = [sqrt(len(places)) for places in kinds.values()]
    found: list[Change] = []
    for _ in range(_TRIES if kinds else 0):
        if len(found) == count:
            break
        places = rng.choices(list(kinds.values()), weights)[0]
        place = rng.choice(places)
        change = Change.at(path, place, rng.randrange(len(place.options)))
        taken = any(change.start < c.end and c.start < change.end for c in found)
        if not taken and change not in found and source.valid(change.made(source.contents)):
            found.append(change)
    return found


def read_sources(root: Path, folder: str) -> dict[str, Source]:
    """Return the files below a folder that can be changed, but for the map's scripts."""
    paths = [p for p in tracked(root, "siteplan") if not p.startswith("siteplan/basemap/")]
    modules = {p: (root / p).read_bytes() for p in paths if p.endswith(".py")}
    attributes = python.attribute_names(modules.values())
    inside = [p for p in paths if p == folder or p.startswith(folder.rstrip("/") + "/")]
    found = {}
    for path in inside:
        contents = (root / path).read_bytes()
        if path.endswith(".py"):
            found[path] = python_source(contents, attributes)
        elif path.endswith(".csv"):
            whole = tables.table_places(contents)
            found[path] = Source(contents, contents.count(b"\n"), whole, _same_cells(contents))
        elif path.endswith(".html") and (b"{{" in contents):
            whole = tables.template_places(contents)
            found[path] = Source(contents, contents.count(b"\n"), whole, lambda made: True)
    return {path: source for path, source in found.items() if source.places}


def read_scripts(root: Path) -> dict[str, Source]:
    """Return the map's scripts; a change is valid if the parser takes it."""
    names = [p for p in tracked(root, scripts.FOLDER) if p.endswith(".js")]
    found = {}
    for path, tree in scripts.trees(names, root).items():
        contents = (root / path).read_bytes()
        lines = sum(1 for line in contents.splitlines() if line.strip())
        found[path] = Source(contents, lines, scripts.places(contents, tree), scripts.parses(root))
    return found


def python_source(contents: bytes, attributes: frozenset[str]) -> Source:
    """Return a Python file; a change is valid if it parses and means something else."""
    before = ast.dump(ast.parse(contents))

    def valid(made: bytes) -> bool:
        try:
            return ast.dump(ast.parse(made)) != before
        except (SyntaxError, ValueError):
            return False

    lines = python.code_lines(contents)
    return Source(contents, lines, python.places(contents, attributes), valid)


def _same_cells(contents: bytes) -> Callable[[bytes], bool]:
    """Return what tells whether a changed table has as many cells in each row as before."""

    def shape(source: bytes) -> list[int]:
        return [len(row) for row in csv.reader(io.StringIO(source.decode()))]

    before = shape(contents)
    return lambda made: shape(made) == before


def tracked(root: Path, folder: str) -> list[str]:
    """Return the files below a folder of the tree, those that git ignores left out."""
    command = ["git", "-C", str(root), "ls-files", "-co", "--exclude-standard", "--", folder]
    try:
        listed = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split(
            "\n"
        )
    except (OSError, subprocess.CalledProcessError):  # an unpacked package
        listed = [p.relative_to(root).as_posix() for p in (root / folder).rglob("*")]
    return sorted(p for p in set(listed) if p and (root / p).is_file() and "__pycache__" not in p)
