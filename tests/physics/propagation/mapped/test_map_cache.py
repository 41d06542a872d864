"""The cache of inflated maps: the same values, mended when damaged, done without when off."""

from __future__ import annotations

import ast
import json
import os
import shutil
import time
from pathlib import Path

import numpy as np
import pytest

import siteplan
from siteplan.physics.propagation.mapped import map_cache
from siteplan.physics.propagation.mapped.map_files import load_array

SOURCE = "839/v4_esa0height"
ROOM = Path(map_cache.__file__).parent.parent
PACKAGE = "siteplan.physics.propagation"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(map_cache.FOLDER_VARIABLE, str(tmp_path / "cache"))
    monkeypatch.delenv(map_cache.OFF_VARIABLE, raising=False)
    return tmp_path / "cache"


def fetch(made: list[int]) -> np.ndarray:
    def make(values: np.ndarray) -> np.ndarray:
        made.append(1)
        return values * 2

    return map_cache.stored("twice", SOURCE, make)


def test_made_once_and_mapped_afterwards(folder: Path) -> None:
    made: list[int] = []
    first, second = fetch(made), fetch(made)
    assert len(made) == 1
    np.testing.assert_array_equal(first, load_array(SOURCE) * 2)
    np.testing.assert_array_equal(second, first)
    assert not second.flags.writeable
    assert [p.name for p in map_cache.files()] == ["twice.npy"]
    assert map_cache.cache_folder().name.startswith("maps-itur-")


def imports(path: Path) -> dict[str, set[str]]:
    """Return what a file imports from siteplan: the modules, and the names from each."""
    found: dict[str, set[str]] = {}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        assert not isinstance(node, ast.Import) or "siteplan" not in ast.unparse(node)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("siteplan"):
            found.setdefault(str(node.module), set()).update(alias.name for alias in node.names)
    return found


def test_the_key_covers_every_module_that_keeps_a_map() -> None:
    modules = Path(siteplan.__file__).parent.rglob("*.py")
    keepers = {p for p in modules if "stored" in imports(p).get(f"{PACKAGE}.mapped.map_cache", ())}
    assert {path.stem for path in keepers} == {"climate", "maps"}
    assert keepers <= {ROOM / f"{name}.py" for name in map_cache.PREPARING}


@pytest.mark.parametrize("name", map_cache.PREPARING)
def test_the_key_covers_all_that_a_covered_module_calls(name: str) -> None:
    """Of the package's own, but for the names of types of arrays and how a class is frozen."""
    for module, names in imports(ROOM / f"{name}.py").items():
        if module == "siteplan.arrays":
            assert all(found.endswith("Array") for found in names), names
        elif module == "siteplan.frozen":
            assert names == {"frozen"}
        elif module == f"{PACKAGE}.mapped":
            assert {f"mapped/{found}" for found in names} <= set(map_cache.PREPARING), names
        else:
            inner = module.removeprefix(f"{PACKAGE}.").replace(".", "/")
            assert inner in map_cache.PREPARING, module


@pytest.mark.parametrize("name", map_cache.PREPARING)
def test_a_change_of_the_code_is_another_key(name: str, tmp_path: Path) -> None:
    for each in map_cache.PREPARING:
        (tmp_path / each).parent.mkdir(exist_ok=True)
        shutil.copy(ROOM / f"{each}.py", tmp_path / f"{each}.py")
    before = map_cache.code_checksum(tmp_path)
    assert f"{before:08x}" in map_cache.cache_folder().name
    with (tmp_path / f"{name}.py").open("a", encoding="utf-8") as file:
        file.write("# other code\n")
    assert map_cache.code_checksum(tmp_path) != before


def test_what_other_code_left_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, folder: Path
) -> None:
    """A fault that was in the code while a map was kept is gone with the fault."""
    monkeypatch.setattr(map_cache, "_version", lambda: "maps-of-faulty-code")
    map_cache.stored("twice", SOURCE, lambda values: values * 3)
    monkeypatch.undo()
    monkeypatch.setenv(map_cache.FOLDER_VARIABLE, str(folder))
    np.testing.assert_array_equal(fetch([]), load_array(SOURCE) * 2)


@pytest.mark.parametrize(("days", "stays"), [(29, True), (31, False)])
def test_a_new_version_takes_those_along_that_a_month_passed_over(
    folder: Path, days: int, stays: bool
) -> None:
    old = folder / "maps-1-itur-0.4.0"
    old.mkdir(parents=True)
    for name in ("x.npy", "x.json"):
        (old / name).write_bytes(b"x")
        when = time.time() - days * 86_400
        os.utime(old / name, (when, when))
    (folder / "maps.txt").write_text("no cache of ours")
    fetch([])
    assert {p.name for p in folder.iterdir()} == {
        *("maps.txt", map_cache.cache_folder().name),
        *([old.name] if stays else []),
    }
    assert len(list(map_cache.cache_folder().glob("twice.*"))) == 2


@pytest.mark.parametrize("damage", ["cut", "flip", "note", "source", "gone"])
def test_a_damaged_file_is_made_anew(damage: str) -> None:
    made: list[int] = []
    good = np.array(fetch(made))
    path = next(map_cache.files())
    note = path.with_suffix(".json")
    content = bytearray(path.read_bytes())
    if damage == "cut":
        path.write_bytes(content[:-100])
    elif damage == "flip":
        content[-8] ^= 0xFF
        path.write_bytes(content)
    elif damage == "note":
        note.write_text("{")
    elif damage == "source":
        note.write_text(json.dumps(json.loads(note.read_text()) | {"source": 1}))
    else:
        note.unlink()
    np.testing.assert_array_equal(fetch(made), good)
    assert len(made) == 2


def test_off_by_a_variable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(map_cache.OFF_VARIABLE, "1")
    made: list[int] = []
    fetch(made)
    fetch(made)
    assert len(made) == 2
    assert list(map_cache.files()) == []


def test_a_cache_that_cannot_be_written_is_done_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("x")
    monkeypatch.setenv(map_cache.FOLDER_VARIABLE, str(tmp_path / "file" / "cache"))
    made: list[int] = []
    np.testing.assert_array_equal(fetch(made), load_array(SOURCE) * 2)
    assert len(made) == 1


def test_clear_removes_every_version(folder: Path) -> None:
    fetch([])
    old = folder / "maps-0-itur-0.1"
    old.mkdir()
    (old / "x.npy").write_bytes(b"x")
    assert map_cache.clear() == 2
    assert list(map_cache.files()) == []
