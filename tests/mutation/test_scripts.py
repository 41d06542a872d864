"""The mutation run's changes of the map's scripts: made where they say, and only there."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.mutation.changes import scripts
from tests.mutation.changes.change import Change

ROOT = Path(__file__).parent.parent.parent
PACKAGES = ROOT / "tests" / "outputs" / "web" / "node_modules" / "espree"
SCRIPT = """import { min } from './base.js';
/* Größe: 😀 up and down. */
export function width(low, high, deep = 2) {
  if (low < high && !deep) return;
  const first = Math.min(low[0], -high), last = 1.5;
  draw('😀 to the left', { up: first, down: last });
  return `${first} of the east` + 'north';
}
turn(low[0], -high);
add('south', true);
""".encode()
#: Kind, the text that goes, the text that comes, and the line.
EXPECTED = [
    ("comparison", "<", "<=", 4),
    ("arithmetic", "&&", "||", 4),
    ("number", "1.5", "1.65", 5),
    ("boolean", "true", "false", 10),
    ("boolean", "!", "", 4),
    ("boolean", "-", "", 5),
    ("condition", "low < high && !deep", "!(low < high && !deep)", 4),
    ("string", "left", "", 6),
    ("string", "north", "south", 7),
    ("string", "east", "", 7),
    ("argument order", "low[0], -high", "-high, low[0]", 9),
    ("argument order", "first, down: last", "last, down: first", 6),
    ("paired function", "min", "max", 5),
    ("index", "0", "1", 5),
    ("sibling", "low", "high", 4),
    ("sibling", "😀 to the left", "😀 to the right", 6),
    ("sibling", "north", "south", 7),
    ("dropped", "return;", ";", 4),
    ("dropped", "add('south', true);", ";", 10),
]


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> scripts.Node:
    if shutil.which("node") is None or not PACKAGES.exists():
        pytest.skip("needs node, and npm ci --prefix tests/outputs/web")
    file = tmp_path_factory.mktemp("script") / "script.js"
    file.write_bytes(SCRIPT)
    return scripts.trees([str(file)], ROOT)[str(file)]


@pytest.mark.parametrize(("kind", "before", "after", "line"), EXPECTED)
def test_a_change_of_each_kind(
    tree: scripts.Node, kind: str, before: str, after: str, line: int
) -> None:
    found = [
        Change.at("script.js", place, place.options.index(after.encode()))
        for place in scripts.places(SCRIPT, tree)
        if place.kind == kind
        and SCRIPT[place.start : place.end] == before.encode()
        and after.encode() in place.options
    ]
    (change,) = [change for change in found if change.line(SCRIPT) == line]
    old, new = SCRIPT.splitlines(), change.made(SCRIPT).splitlines()
    assert [k for k, pair in enumerate(zip(old, new, strict=True), 1) if len({*pair}) > 1] == [line]
    assert change.lines[0] <= line <= change.lines[1]


def test_every_kind_is_tried() -> None:
    assert {kind for kind, *_ in EXPECTED} == set(scripts.KINDS)


def test_imports_and_comments_are_left_alone(tree: scripts.Node) -> None:
    lines = {SCRIPT.count(b"\n", 0, place.start) + 1 for place in scripts.places(SCRIPT, tree)}
    assert not lines & {1, 2, 8}


def test_what_the_parser_refuses_is_no_change(tree: scripts.Node) -> None:
    assert tree["type"] == "Program"
    takes = scripts.parses(ROOT)
    assert takes(SCRIPT)
    assert not takes(SCRIPT.replace(b"true)", b"true"))
