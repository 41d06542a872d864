"""One run at a time: the system's lock decides, whatever the file beside the output says."""

from __future__ import annotations

import logging
import multiprocessing
import os
import re
import signal
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import OutputError
from siteplan.outputs.folder import lock
from siteplan.outputs.folder.claim import claimed, put_back
from tests.outputs.folder.world import check_as_it_was, hidden, is_whole, make, write

SPAWN = multiprocessing.get_context("spawn")
BUSY = r"another run of siteplan is writing there \(process {} on .+, since .+\)\. Let it end"


def _hold(output: Path, part: str, begun: Any) -> None:
    with claimed(output, part=part):
        begun.set()
        time.sleep(600)


@pytest.fixture
def holder(tmp_path: Path) -> Any:
    """Start a process that holds an output; it is ended in any case."""
    running = []

    def start(output: Path, part: str = "") -> Any:
        begun = SPAWN.Event()
        process = SPAWN.Process(target=_hold, args=(output, part, begun))
        running.append(process)
        process.start()
        assert begun.wait(60)
        return process

    yield start
    for process in running:
        process.kill()
        process.join()
        process.close()


@pytest.mark.parametrize("part", ["", "built"])
def test_a_second_run_ends_at_once(part: str, tmp_path: Path, holder: Any) -> None:
    """Whatever of the output it would write; another output is free."""
    out = tmp_path / "out"
    process = holder(out, part)
    begun = []
    for other in ("", "built", "selected"):
        told = BUSY.format(process.pid)
        with pytest.raises(OutputError, match=told) as caught, claimed(out, part=other):
            begun.append(other)
        assert caught.value.exit_code == 2
    assert begun == []
    write(tmp_path / "out-2", "one")
    write(tmp_path / "ou", "one")


def test_the_lock_ends_with_its_process(tmp_path: Path, holder: Any) -> None:
    out = tmp_path / "out"
    process = holder(out)
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    write(out, "one")
    assert is_whole(out, "one")


def test_what_the_file_says_is_for_messages_only(tmp_path: Path) -> None:
    """Not even the number of a process that lives (such as this one) holds anything."""
    out = tmp_path / "out"
    beside = tmp_path / ".siteplan-lock-out"
    for text in (f"process {os.getpid()} on here", "", "\udcff\x00" * 3):
        beside.write_bytes(text.encode("utf-8", "surrogateescape"))
        write(out, "one")
    assert beside.read_text().startswith(f"process {os.getpid()} on ")


def test_a_live_run_s_folders_are_never_swept(tmp_path: Path, holder: Any) -> None:
    out = tmp_path / "out"
    make(out)
    holder(out)
    (tmp_path / ".siteplan-next-out").mkdir()
    for what in (put_back, lambda output: write(output, "two")):
        with pytest.raises(OutputError, match="another run"):
            what(out)
    assert hidden(out) == [".siteplan-next-out"]


def test_the_file_is_beside_the_output_and_is_never_removed(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, "one")
    first = (tmp_path / ".siteplan-lock-out").stat().st_ino
    write(out, "two")
    assert (tmp_path / ".siteplan-lock-out").stat().st_ino == first
    assert [path.name for path in out.rglob("*lock*")] == []


def test_another_users_file_is_locked_without_being_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    beside = tmp_path / ".siteplan-lock-out"
    beside.write_text("process 1 on elsewhere\n")
    real = os.open

    def barred(path: Any, flags: int, *more: Any, **named: Any) -> int:
        if str(path) == str(beside) and flags & os.O_RDWR:
            raise PermissionError(13, "Permission denied", str(path))
        return real(path, flags, *more, **named)

    monkeypatch.setattr(os, "open", barred)
    begun = []
    with claimed(out):
        with pytest.raises(OutputError, match="process 1 on elsewhere"), claimed(out):
            begun.append(1)
        assert begun == []
    assert beside.read_text() == "process 1 on elsewhere\n"


def test_a_disk_without_locks_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object, **__: object) -> None:
        raise OSError(37, "No locks available")

    monkeypatch.setattr(lock, "_take", none)
    told = re.escape(f"No locks available (locking): {tmp_path / '.siteplan-lock-out'}.")
    with pytest.raises(OutputError, match=told):
        write(tmp_path / "out", "one")
    assert not (tmp_path / "out").exists()


def test_threads_of_one_process_are_told_apart(tmp_path: Path) -> None:
    out, told = tmp_path / "out", []

    def second() -> None:
        try:
            write(out, "two")
        except OutputError as error:
            told.append(str(error))

    with claimed(out):
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
    assert re.search(BUSY.format(os.getpid()), told[0])


@pytest.mark.parametrize(("first", "then"), [("out", "out/deep/in"), ("out/deep/in", "out")])
def test_outputs_in_one_another(first: str, then: str, tmp_path: Path, holder: Any) -> None:
    write(tmp_path / "out", "outer")
    write(tmp_path / "out" / "deep" / "in", "inner")
    holder(tmp_path / first)
    with pytest.raises(OutputError, match="another run of siteplan"):
        write(tmp_path / then, "two")
    assert is_whole(tmp_path / "out", "outer")
    assert is_whole(tmp_path / "out" / "deep" / "in", "inner")


def test_one_that_only_looks_is_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Looking takes the lock for a moment: a run that comes just then is not turned away."""
    beside = tmp_path / ".siteplan-lock-out"
    beside.touch()
    file = os.open(beside, os.O_RDONLY)
    lock._take(file, shared=True)
    monkeypatch.setattr(lock.time, "sleep", lambda _: os.close(file))
    write(tmp_path / "out", "one")
    assert is_whole(tmp_path / "out", "one")


def _run(output: Path, text: str, ready: Any) -> None:
    logging.disable()
    ready.wait(60)
    try:
        write(output, text)
    except OutputError:
        os._exit(2)
    os._exit(0)


def test_three_runs_at_once(tmp_path: Path) -> None:
    """Each ends well or is turned away; the output is one run's, whole, and the user's is there."""
    out = tmp_path / "out"
    make(out)
    last = "one"
    for turn in range(3):
        ready = SPAWN.Barrier(3)
        names = [f"{turn}{k}" for k in range(3)]
        runs = [SPAWN.Process(target=_run, args=(out, name, ready)) for name in names]
        for run in runs:
            run.start()
        for run in runs:
            run.join(120)
        codes = [run.exitcode for run in runs]
        assert set(codes) <= {0, 2}, codes
        assert 0 in codes
        ended = [name for name, code in zip(names, codes, strict=True) if code == 0]
        assert any(is_whole(out, name) for name in ended), (last, ended)
        check_as_it_was(out)
        assert hidden(out) == []
