"""Damage of a kept map: found, mended and told; nothing is made anew that is good."""

from __future__ import annotations

import io
import json
import logging
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from siteplan.physics.propagation.mapped import map_cache, map_check
from siteplan.physics.propagation.mapped.map_check import BLOCK, BLOCKS, places

#: Twelve million bytes: between any two blocks lie some pages that no block covers.
VALUES = np.arange(1_500_000, dtype=np.float64)
SMALL = np.arange(1000, dtype=np.float64)
PAGE = 4096
DAY_S = 86_400


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(map_cache.FOLDER_VARIABLE, str(tmp_path / "cache"))
    monkeypatch.delenv(map_cache.OFF_VARIABLE, raising=False)
    return tmp_path / "cache"


class Kept:
    """A map in the cache, how often it was made, and what was told."""

    def __init__(self, log: pytest.LogCaptureFixture, values: np.ndarray) -> None:
        self.log, self.values, self.made = log, values, 0

    def fetch(self) -> np.ndarray:
        def make() -> np.ndarray:
            self.made += 1
            return self.values.copy()

        return map_cache.kept("terrain", 7, make)

    @property
    def path(self) -> Path:
        return map_cache.cache_folder() / "terrain.npy"

    @property
    def note(self) -> dict[str, float]:
        found: dict[str, float] = json.loads(self.path.with_suffix(".json").read_text())
        return found

    def set_note(self, **changed: object) -> None:
        self.path.with_suffix(".json").write_text(json.dumps(self.note | changed))

    def let_a_day_pass(self) -> None:
        self.set_note(seen_s=self.note["seen_s"] - DAY_S)

    def harm(self, change: Callable[[bytearray], object], *, keep_time: bool = True) -> None:
        """Change the file's bytes; its size and time stay, as on a disk that fails."""
        before = self.path.stat()
        content = bytearray(self.path.read_bytes())
        change(content)
        self.path.write_bytes(content)
        if keep_time:
            os.utime(self.path, ns=(before.st_atime_ns, before.st_mtime_ns))

    def check_mended(self) -> None:
        """Fetch the map twice: made anew once, told once, as it was."""
        np.testing.assert_array_equal(self.fetch(), self.values)
        np.testing.assert_array_equal(self.fetch(), self.values)
        assert self.made == 2
        (told,) = self.log.messages
        assert str(self.path) in told
        assert "was damaged. It was made anew and replaced" in told

    def check_untouched(self) -> None:
        """Fetch the map: as it was, neither made anew nor told."""
        np.testing.assert_array_equal(self.fetch(), self.values)
        assert self.made == 1
        assert self.log.messages == []


@pytest.fixture
def big(caplog: pytest.LogCaptureFixture) -> Kept:
    caplog.set_level(logging.INFO, logger="siteplan")
    kept = Kept(caplog, VALUES)
    kept.fetch()
    return kept


@pytest.fixture
def small(caplog: pytest.LogCaptureFixture) -> Kept:
    caplog.set_level(logging.INFO, logger="siteplan")
    kept = Kept(caplog, SMALL)
    kept.fetch()
    return kept


def zeroed(start: int) -> Callable[[bytearray], object]:
    """Return what makes a page zeros, as a lost block of a disk is."""
    return lambda content: content.__setitem__(slice(start, start + PAGE), bytes(PAGE))


SIZE = VALUES.nbytes + 128
#: The middle of the widest gap between blocks.
GAP = places(SIZE)[30] + BLOCK + (places(SIZE)[31] - places(SIZE)[30] - BLOCK) // 2


@pytest.mark.parametrize(
    "start", [0, places(SIZE)[31] + 10_000, SIZE - PAGE], ids=["first", "mid", "last"]
)
def test_a_page_of_a_block_is_found_at_once(big: Kept, start: int) -> None:
    big.harm(zeroed(start))
    big.check_mended()


def test_a_page_between_blocks_is_found_within_a_day(big: Kept) -> None:
    assert all(not at <= GAP < at + BLOCK for at in places(SIZE))
    big.harm(zeroed(GAP))
    assert np.array_equal(big.fetch(), VALUES) is False, "not yet found: so says the rule"
    assert big.log.messages == []
    big.let_a_day_pass()
    big.check_mended()


def test_a_page_between_blocks_is_found_at_once_where_the_time_has_changed(big: Kept) -> None:
    big.harm(zeroed(GAP), keep_time=False)
    big.check_mended()


def test_any_byte_of_a_small_file_is_found_at_once(small: Kept) -> None:
    small.harm(lambda content: content.__setitem__(5000, content[5000] ^ 1))
    small.check_mended()


@pytest.mark.parametrize("left", [0, 1, 100, 6000])
def test_a_cut_file_is_found(small: Kept, left: int) -> None:
    small.harm(lambda content: content.__delitem__(slice(left, None)))
    small.check_mended()


def test_a_longer_file_is_found(small: Kept) -> None:
    small.harm(lambda content: content.extend(b"more"))
    small.check_mended()


@pytest.mark.parametrize("text", ["{", "[]", "{}", "7", "\x00" * 80, '{"source": 7}', "[" * 50_000])
def test_a_damaged_note_is_found(small: Kept, text: str) -> None:
    small.path.with_suffix(".json").write_text(text)
    small.check_mended()


@pytest.mark.parametrize("key", ["size", "blocks"])
def test_a_note_of_something_else_is_found(small: Kept, key: str) -> None:
    small.set_note(**{key: "1"})
    small.check_mended()


def test_a_disk_that_gives_a_page_back_no_more_is_damage(
    small: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(path: Path, note: object) -> object:
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as patch:
        patch.setattr(map_cache, "look", fail)
        np.testing.assert_array_equal(small.fetch(), SMALL)
    assert small.made == 2
    assert len(small.log.messages) == 1


@pytest.mark.parametrize("days", [0, 1])
def test_nothing_is_made_anew_that_is_good(big: Kept, days: int) -> None:
    before = big.path.stat().st_mtime_ns
    for _ in range(days):
        big.let_a_day_pass()
    big.check_untouched()
    big.check_untouched()
    assert big.path.stat().st_mtime_ns == before


def test_a_file_that_was_copied_is_good(big: Kept) -> None:
    """It has another time: all of it is tried, once."""
    os.utime(big.path, (1e9, 1e9))
    big.check_untouched()
    assert big.note["time_ns"] == 10**18
    big.check_untouched()


@pytest.mark.parametrize("missing", [".npy", ".json"])
def test_a_file_that_is_not_there_is_no_damage(small: Kept, missing: str) -> None:
    """A run that was killed may leave one without the other."""
    small.path.with_suffix(missing).unlink()
    np.testing.assert_array_equal(small.fetch(), SMALL)
    assert small.made == 2
    assert small.log.messages == []


@pytest.mark.parametrize(
    ("back_s", "read"), [(0, 64 * 65_536), (DAY_S - 100, 64 * 65_536), (DAY_S, SIZE), (-100, SIZE)]
)
def test_how_much_is_read_at_an_opening(
    big: Kept, monkeypatch: pytest.MonkeyPatch, back_s: float, read: int
) -> None:
    """64 blocks of 64 KiB; the whole after a day, and where the clock was set back."""
    counted = []

    class Counting(io.FileIO):
        def read(self, size: int | None = -1, /) -> bytes:
            counted.append(len(found := super().read(size) or b""))
            return found

    big.set_note(seen_s=big.note["seen_s"] - back_s)
    note = map_check.read_note(big.path.with_suffix(".json"))
    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", lambda path, *a, **k: Counting(path))
        map_check.look(big.path, note)
    assert sum(counted) == read


@pytest.mark.parametrize("size", [1, BLOCK, BLOCKS * BLOCK])
def test_small_files_are_covered_whole(size: int) -> None:
    found = places(size)
    assert found == sorted({k * BLOCK for k in range(-(-size // BLOCK))})


@pytest.mark.parametrize("size", [BLOCKS * BLOCK + 1, 33_212_296, 37_428_672])
def test_blocks_reach_from_the_first_byte_to_the_last(size: int) -> None:
    found = places(size)
    assert (found[0], found[-1] + BLOCK, len(found)) == (0, size, BLOCKS)
    steps = np.diff(found)
    assert steps.max() - steps.min() <= 1


def test_verify_finds_what_the_blocks_miss(big: Kept) -> None:
    big.harm(zeroed(GAP))
    assert map_cache.verify() == [big.path]
    assert map_cache.verify() == []


def refuse(path: Path, content: object) -> None:
    raise PermissionError(13, "Permission denied", str(path))


@pytest.mark.parametrize("days", [0, 1])
def test_a_folder_that_is_only_read_still_serves(
    big: Kept, monkeypatch: pytest.MonkeyPatch, days: int
) -> None:
    for _ in range(days):
        big.let_a_day_pass()
    before = big.note
    monkeypatch.setattr(map_cache, "_put", refuse)
    big.check_untouched()
    big.check_untouched()
    assert big.note == before


def test_damage_in_a_folder_that_is_only_read_is_told_and_kept_out(
    big: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    big.harm(zeroed(0))
    monkeypatch.setattr(map_cache, "_put", refuse)
    np.testing.assert_array_equal(big.fetch(), VALUES)
    (told,) = big.log.messages
    assert "made anew and not replaced, as it cannot be written" in told


AT_ONCE = """
import hashlib, sys
import numpy as np
from siteplan.physics.propagation.mapped import map_cache
made = []
def make():
    made.append(1)
    return np.arange(1_500_000, dtype=np.float64)
sys.stdin.readline()
for _ in range(5):
    values = map_cache.kept("terrain", 7, make)
    print(hashlib.sha256(values.tobytes()).hexdigest())
"""


@pytest.mark.parametrize("harmed", [False, True])
def test_two_processes_at_once(big: Kept, harmed: bool) -> None:
    if harmed:
        big.harm(zeroed(0))
    else:
        big.let_a_day_pass()
    command = [sys.executable, "-c", AT_ONCE]
    runs = [
        subprocess.Popen(command, stdin=-1, stdout=-1, stderr=-1, text=True, cwd=Path.cwd())
        for _ in range(2)
    ]
    for run in runs:
        assert run.stdin is not None
        run.stdin.write("go\n")
        run.stdin.flush()
    said = [run.communicate() for run in runs]
    assert len({line for out, _ in said for line in out.split()}) == 1
    assert [run.returncode for run in runs] == [0, 0]
    told = "".join(error for _, error in said)
    assert ("was damaged" in told) is harmed, "warnings reach standard error with no set-up"
    assert harmed or told == ""
    assert sorted(p.name for p in big.path.parent.iterdir()) == ["terrain.json", "terrain.npy"]
    np.testing.assert_array_equal(big.fetch(), VALUES)
    assert big.made == 1
