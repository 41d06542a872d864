"""The output folder appears whole or not at all, and keeps what is not ours."""

from __future__ import annotations

import multiprocessing
import signal
from pathlib import Path

import pytest

from siteplan.errors import OutputError
from siteplan.outputs.folder import staged

OURS = frozenset({"a.txt"})


def write(folder: Path, text: str) -> None:
    with staged(folder, OURS) as new:
        (new / "a.txt").write_text(text)


def hidden(folder: Path) -> list[str]:
    return [p.name for p in folder.parent.iterdir() if p.name.startswith(".siteplan")]


def test_replaces_ours_and_keeps_the_users(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "out"
    write(folder, "one")
    (folder / "notes.txt").write_text("mine")
    write(folder, "two")
    assert (folder / "a.txt").read_text() == "two"
    assert (folder / "notes.txt").read_text() == "mine"
    assert hidden(folder) == []


def test_an_error_leaves_the_last_good_one(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write(folder, "good")

    def fail() -> None:
        with staged(folder, OURS) as new:
            (new / "a.txt").write_text("half")
            raise KeyError("stop")

    with pytest.raises(KeyError, match="stop"):
        fail()
    assert (folder / "a.txt").read_text() == "good"
    assert hidden(folder) == []


def _killed(folder: Path) -> None:
    import os

    with staged(folder, OURS) as new:
        (new / "a.txt").write_text("half")
        os._exit(9)


def test_a_killed_run_leaves_the_last_good_one(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write(folder, "good")
    process = multiprocessing.get_context("spawn").Process(target=_killed, args=(folder,))
    process.start()
    process.join()
    assert process.exitcode == 9
    assert (folder / "a.txt").read_text() == "good"
    assert len(hidden(folder)) == 1
    write(folder, "next")  # sweeps what the killed run left
    assert hidden(folder) == []


def test_a_run_killed_while_swapping_is_put_back(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write(folder, "good")
    folder.rename(tmp_path / ".siteplan-old-out-999999")
    with staged(folder, OURS) as new:
        assert (folder / "a.txt").read_text() == "good"
        (new / "a.txt").write_text("next")
    assert (folder / "a.txt").read_text() == "next"


def test_files_of_the_user_survive_a_run_killed_after_the_swap(tmp_path: Path) -> None:
    """The new folder is in place, and what the user had put into the old one not yet."""
    folder, old = tmp_path / "out", tmp_path / ".siteplan-old-out-999999"
    write(folder, "new")
    old.mkdir()
    for name in ("a.txt", "notes.txt"):
        (old / name).write_text("old")
    write(folder, "next")
    assert (folder / "a.txt").read_text() == "next"
    assert (folder / "notes.txt").read_text() == "old"
    assert hidden(folder) == []


def test_signals_wait_until_the_swap_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "out"
    write(folder, "good")
    real, seen = Path.rename, []

    def renamed(self: Path, target: Path) -> Path:
        signal.raise_signal(signal.SIGINT)
        seen.append(self.name)
        return real(self, target)

    monkeypatch.setattr(Path, "rename", renamed)
    with pytest.raises(KeyboardInterrupt):
        write(folder, "next")
    assert len(seen) == 2
    assert (folder / "a.txt").read_text() == "next"
    assert hidden(folder) == []


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match=r"cannot write the outputs: .* --output"):
        write(tmp_path / "file" / "out", "x")
