"""The house: imports run one way, nothing heavy where it does not belong, sizes stay small."""

from __future__ import annotations

import ast
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import siteplan

ROOT = Path(siteplan.__file__).parent
MODULES = {
    ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in ROOT.rglob("*.py")
}
#: Rooms that everyone may know, and what each may import of the others.
SHARED = {
    *(
        "answers",
        "arrays",
        "errors",
        "fields",
        "frozen",
        "messages",
        "model",
        "network",
        "prices",
        "reported",
    ),
    *("results", "words"),
}
HALVES = {"inputs", "planning", "outputs"}
#: Which rooms of the package each room may import, by the first part of its path.
ALLOWED = {
    "answers": {"answers", "frozen"},
    "arrays": set(),
    "errors": {"words"},
    "fields": {"fields", "words"},
    "frozen": set(),
    "messages": {"arrays", "messages"},
    "model": {"arrays", "fields", "frozen", "messages", "words"},
    "network": {"frozen", "network", "words"},
    "prices": {"answers", "frozen", "network"},
    "reported": {"answers", "arrays", "frozen", "model"},
    "results": {"answers", "arrays", "frozen", "model", "network"},
    "words": set(),
    "physics": {"physics", "arrays", "frozen"},
    "basemap": {"basemap"},
    "inputs": {"inputs", "basemap", *SHARED},
    "planning": {"planning", "physics", *SHARED},
    "outputs": {"outputs", "basemap", *SHARED},
    "jobs": {"jobs", "physics", "version", *HALVES, *SHARED},
    "api": {"answers", "jobs", "errors", "model", "network", "results"},
    "machine": {"errors", "version"},
    "cli": {"cli", "api", "outputs", "errors", "machine", "version"},
    "__main__": {"cli"},
    "": {"api", "version"},
    "version": set(),
}
#: Folders of more files than this need a reason in DEVELOPERS.md.
MOST_FILES = 15


def part(module: str) -> str:
    pieces = module.split(".")
    return pieces[1] if len(pieces) > 1 else ""


def imported(path: Path) -> set[str]:
    """Return every module that a file imports, late imports and type-only ones too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{a.name}" for a in node.names)}
    return found


@pytest.mark.parametrize("module", sorted(MODULES))
def test_imports_run_one_way(module: str) -> None:
    ours = {m for m in imported(MODULES[module]) if m in MODULES and m != module}
    for other in ours - {"siteplan"} if part(module) != "cli" else ours:
        assert part(other) in ALLOWED[part(module)], f"{module} imports {other}"


@pytest.mark.parametrize("module", [m for m in MODULES if m.startswith("siteplan.physics")])
def test_physics_knows_no_tables(module: str) -> None:
    banned = {"pandas", "geopandas", "folium", "pyogrio", "shapely", "pyarrow"}
    assert not {m.split(".")[0] for m in imported(MODULES[module])} & banned


def test_physics_loads_no_tables() -> None:
    code = (
        "import sys, siteplan.planning.plan;"
        "print(sorted({'pandas', 'geopandas', 'folium', 'itur', 'astropy'} & set(sys.modules)))"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "[]"


def test_no_import_cycle() -> None:
    graph = {
        name: {m for m in imported(path) if m in MODULES and m not in (name, "siteplan")}
        for name, path in MODULES.items()
    }
    assert list(TopologicalSorter(graph).static_order())  # raises CycleError


def test_files_and_functions_stay_small() -> None:
    for name, path in MODULES.items():
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= 600, name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                first = node.body[0]
                start = first.end_lineno if ast.get_docstring(node) else node.lineno
                assert node.end_lineno is not None
                assert start is not None
                assert node.end_lineno - start <= 60, f"{name}.{node.name}"


def test_scripts_and_styles_stay_small() -> None:
    for kind in ("*.js", "*.css", "*.html"):
        for path in (ROOT / "outputs").rglob(kind):
            assert path.read_text(encoding="utf-8").count("\n") <= 600, path.name


def test_no_folder_is_a_hall() -> None:
    for folder in {path.parent for path in ROOT.rglob("*") if path.suffix in (".py", ".js")}:
        files = [p for p in folder.iterdir() if p.suffix in (".py", ".js")]
        assert len(files) <= MOST_FILES, f"{folder.name}: {len(files)} files"


def test_every_room_is_a_package() -> None:
    for folder in {path.parent for path in ROOT.rglob("*.py")}:
        assert (folder / "__init__.py").exists(), folder.name


def test_public_functions_have_docstrings() -> None:
    for name, path in MODULES.items():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                assert ast.get_docstring(node), f"{name}.{node.name}"
