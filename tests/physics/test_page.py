"""The page on physics and the modules say the same; every module shows an example."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import siteplan.physics

FOLDER = Path(siteplan.physics.__file__).parent
PAGE = (FOLDER / "README.md").read_text(encoding="utf-8")
MODULES = sorted(path for path in FOLDER.rglob("*.py") if path.stem != "__init__")
#: An edition of a Recommendation or standard: P.618-14, S.465-6, EN 302 307-1, ASCE 7-16.
EDITION = re.compile(r"\b(?:[PS]\.\d+-\d+|EN \d[\d ]+(?:-\d+)+|ASCE 7-\d\d)")
#: Modules that keep files or serve one other module: no phenomenon of their own.
INNER = {"map_cache", "map_check", "map_files", "sun_track"}


def test_editions_in_modules_and_on_the_page_are_the_same():
    modules = "\n".join(path.read_text(encoding="utf-8") for path in MODULES)
    assert set(EDITION.findall(modules)) == set(EDITION.findall(PAGE))


def test_modules_on_the_page_are_those_of_the_room():
    column = [row.split("|")[3] for row in PAGE.splitlines() if row.count("|") == 5]
    listed = set(re.findall(r"`(\w+)`", " ".join(column)))
    listed |= set(re.findall(r"`(\w+)\.py`", PAGE))
    assert listed == {path.stem for path in MODULES} - INNER


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.stem)
def test_every_module_shows_an_example(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    shown = [node.name for node in functions if ">>> " in (ast.get_docstring(node) or "")]
    assert shown or not functions or path.stem in INNER
