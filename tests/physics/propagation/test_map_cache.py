"""The cache of inflated maps: the same values, mended when damaged, done without when off."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from siteplan.physics.propagation import map_cache
from siteplan.physics.propagation.map_files import load_array

SOURCE = "839/v4_esa0height"


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
    assert map_cache.cache_folder().name.startswith(f"maps-{map_cache.FORMAT}-itur-")


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


def test_verify_finds_what_the_sample_misses() -> None:
    fetch([])
    path = next(map_cache.files())
    content = bytearray(path.read_bytes())
    content[6000] ^= 0xFF  # between two sampled blocks
    path.write_bytes(content)
    assert map_cache.verify() == [path]
    assert map_cache.verify() == []


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
