"""pyproject.toml, the table of versions in DEVELOPERS.md, and what is installed agree."""

from __future__ import annotations

import ast
import importlib.util
import sys
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parent.parent.parent
#: Tools beside the suite; each names what it needs, and extras of their own ask for it.
ON_DEMAND = {"benchmarks", "mutation"}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def lowest() -> ModuleType:
    """The script that tries the lowest versions, as a module."""
    spec = importlib.util.spec_from_file_location("lowest", Path(__file__).with_name("lowest.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rows() -> list[list[str]]:
    """Return the cells of the table in DEVELOPERS.md, its head left out."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Versions")[2]
    lines = [line for line in text.partition("\n## ")[0].splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def numbers(version: str) -> tuple[int, ...]:
    return tuple(int(piece) for piece in version.split(".") if piece.isdecimal())


def test_the_table_has_the_bounds(lowest: ModuleType) -> None:
    told = [(name, low, needed.strip("`")) for name, low, _, needed in rows()]
    assert told == [(b.name, b.lowest, b.extra or "all") for b in lowest.bounds()]


def test_the_table_names_versions_that_are_allowed() -> None:
    for name, low, tested, _ in rows():
        assert numbers(tested) >= numbers(low), name


def test_the_table_is_printed_as_it_stands_in_the_guide(
    lowest: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    assert lowest.main(["--table"]) == 0
    printed = [line.split(" | ") for line in capsys.readouterr().out.splitlines()[2:]]
    # The versions here may be newer than those that the guide was written with.
    assert [(p[0].strip("| "), p[1]) for p in printed] == [(r[0], r[1]) for r in rows()]


def test_a_bound_that_cannot_be_tried_is_told(
    lowest: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = '[project]\ndependencies = ["numpy"]\n'
    (tmp_path / "pyproject.toml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(lowest, "ROOT", tmp_path)
    with pytest.raises(SystemExit, match="'numpy' has no lower bound that can be tried"):
        lowest.bounds()


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [("2.0", "2.0.0", True), ("4", "4.0.0", True), ("2.0.1", "2.0.1.5", False), ("10", "1", False)],
)
def test_zeros_at_the_end_make_no_version(
    lowest: ModuleType, one: str, other: str, *, equal: bool
) -> None:
    assert (lowest._numbers(one) == lowest._numbers(other)) is equal


def imports(*patterns: str) -> set[str]:
    """Return the first names of the modules that files import, the standard library's left out."""
    found = set()
    paths = (path for pattern in patterns for path in ROOT.glob(pattern))
    for path in (path for path in paths if not ON_DEMAND & {*path.relative_to(ROOT).parts}):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                found.add(node.module.partition(".")[0])
    ours = {path.stem for path in (ROOT / "tests").glob("*.py")}
    return found - sys.stdlib_module_names - ours - {"siteplan", "tests"}


@lru_cache(maxsize=1)
def installed() -> Mapping[str, list[str]]:
    """Return the packages that a module comes from, of all modules that are installed here."""
    return metadata.packages_distributions()


def asked(lowest: ModuleType, *extras: str) -> set[str]:
    """Return the packages that all users and some extras ask for."""
    return {lowest._plain(b.name) for b in lowest.bounds() if b.extra in ("", *extras)}


@pytest.mark.parametrize(
    ("patterns", "extras"),
    [
        (["siteplan/**/*.py"], ["cluster", "terrain"]),
        (["tests/**/*.py"], ["cluster", "terrain", "dev"]),
    ],
)
def test_what_is_imported_is_asked_for(
    lowest: ModuleType, patterns: list[str], extras: list[str]
) -> None:
    for module in imports(*patterns):
        names = {lowest._plain(name) for name in installed()[module]}
        assert names & asked(lowest, *extras), module


def test_what_is_asked_for_is_used(lowest: ModuleType) -> None:
    used = {lowest._plain(n) for module in imports("siteplan/**/*.py") for n in installed()[module]}
    # itur's and wmm-calculator's data files are read without an import; zoneinfo reads tzdata.
    assert asked(lowest) - used == {"itur", "wmm-calculator", "tzdata"}
