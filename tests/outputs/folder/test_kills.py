"""A run that is killed before any of its operations on files loses nothing, old, new or the user's.

The exhaustive part of ``python -m tests.kills``, which kills whole commands at random.
"""

from __future__ import annotations

import logging
import os
import shutil
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from siteplan.outputs.folder.claim import claimed, put_back
from tests.outputs.folder.kills import ENDED, KILLED, every_kill, in_child
from tests.outputs.folder.world import (
    check_as_it_was,
    fresh,
    hidden,
    is_whole,
    make,
    places,
    users_lost,
    write,
)

#: What may be called so: the user's own, and the file of siteplan's that was filled in.
KEPT = {"nested.kept.txt", "blank.kept.csv"}

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a child is made by fork")


def plain(folder: Path) -> Path:
    return folder / "out"


def linked(folder: Path) -> Path:
    """An output that is a link to a folder elsewhere."""
    (folder / "elsewhere").mkdir()
    (folder / "out").symlink_to(folder / "elsewhere" / "real")
    return folder / "out"


def check_after_kill(output: Path, caplog: pytest.LogCaptureFixture) -> None:
    """Every byte is there; the next command puts it back before anything else, and says so."""
    left = places(output)
    assert users_lost(left) == []
    if output.is_dir():  # the user's are in the new folder before the old one leaves its name
        assert users_lost([output]) == []
    assert any(is_whole(folder, text) for folder in left for text in ("one", "two"))
    begun = hidden(output)
    caplog.clear()
    with claimed(output):
        assert hidden(output) == []
        check_as_it_was(output)
        assert is_whole(output, "one") or is_whole(output, "two")
        assert {path.name for path in output.rglob("*.kept.*")} <= KEPT
    assert bool(caplog.messages) == bool(begun), caplog.messages


@pytest.mark.parametrize(("world", "links"), [(plain, True), (linked, True), (plain, False)])
def test_killed_before_each_operation(
    world: Callable[[Path], Path],
    links: bool,
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With hard links, and on a disk that has none."""
    if not links:
        monkeypatch.setattr(os, "link", _no_links)
    output = world(tmp_path)
    make(output)
    count, seen = 0, set()
    for _ in every_kill(partial(write, output, "two"), below=tmp_path):
        count += 1
        seen.add((*hidden(output), output.is_dir()))
        check_after_kill(output, caplog)
        fresh(tmp_path)
        output = world(tmp_path)
        make(output)
    assert count > 60
    name = Path(os.path.realpath(output)).name
    new, last = f".siteplan-next-{name}", f".siteplan-last-{name}"
    assert seen >= {(new, True), (last, new, False), (last, True), (True,)}


def _no_links(*_: object, **__: object) -> None:
    raise PermissionError(1, "Operation not permitted")


def test_a_first_run_that_is_killed_leaves_nothing_half(tmp_path: Path) -> None:
    output = tmp_path / "out"
    for _ in every_kill(lambda: write(output, "two"), below=tmp_path):
        assert not output.exists() or is_whole(output, "two")
        put_back(output)
        assert hidden(output) == []
        fresh(tmp_path)


def test_killed_while_a_part_is_replaced(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """The folder of what came back is put back by its own command and by the next plan."""
    output = tmp_path / "out"
    for plans, _ in enumerate(
        every_kill(lambda: write(output, "two", part="built"), below=tmp_path)
    ):
        if plans:  # the first kill comes before anything is made
            with claimed(output, part="" if plans % 2 else "built"):
                assert hidden(output / "built") == []
            check_as_it_was(output / "built")
        fresh(tmp_path)
        write(output, "plan")
        make(output / "built")
        shutil.rmtree(output / "maps")


def test_killed_while_it_is_put_back(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """A second kill, before each operation of putting back, loses nothing either."""
    run, kept = tmp_path / "run", tmp_path / "kept"
    output = run / "out"
    for state in _states(output, kept):
        shutil.copytree(kept / state, run, symlinks=True, dirs_exist_ok=True)
        count = 0
        for _ in every_kill(lambda: put_back(output), below=run):
            count += 1
            check_after_kill(output, caplog)
            fresh(run)
            shutil.copytree(kept / state, run, symlinks=True, dirs_exist_ok=True)
        fresh(run)
        assert count > 3, state


def _states(output: Path, kept: Path) -> set[str]:
    """Keep how the disk looks after a kill in each of the three stretches of a swap."""
    run = output.parent
    found = set()
    run.mkdir()
    make(output)
    for _ in every_kill(lambda: write(output, "two"), below=run):
        state = "-".join([*(name.split("-")[1] for name in hidden(output)), str(output.is_dir())])
        if "-" in state:  # the last of each stretch: the most was done by then
            if state in found:
                fresh(kept / state)
            shutil.copytree(run, kept / state, symlinks=True, dirs_exist_ok=True)
            found.add(state)
        fresh(run)
        make(output)
    assert found == {"next-True", "last-next-False", "last-True"}
    fresh(run)
    return found


def test_a_kill_is_a_kill(tmp_path: Path) -> None:
    """The harness ends a process where it says: no file is written after that."""
    target = tmp_path / "f"
    for before, code, there in ((0, KILLED, False), (1, ENDED, True), (None, ENDED, True)):
        target.unlink(missing_ok=True)
        found = in_child(lambda: target.write_text("x"), below=tmp_path, before=before)
        assert (found, target.exists()) == (code, there)


@pytest.fixture(autouse=True)
def _heard(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.WARNING, logger="siteplan")
