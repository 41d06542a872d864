"""Ctrl-C in the middle of a run: 130, the last good outputs whole, nothing half-made left."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

#: Enough to be met at work, however late one looks; where writing waits two parts do.
SITES, FEW_SITES = 20_000, 1_000
#: Runs ``siteplan`` with parts of 500 sites, and writing that waits when a file is there.
PROGRAM = """
import pathlib, sys, time
from siteplan.cli import main
from siteplan.jobs import asked, products
from siteplan.jobs.parts import spread
if __name__ == "__main__":
    spread.PART_SITES = 500
    slow, rows, *command = sys.argv[1:]
    asked.IN_PARTS_FROM_ROWS = int(rows)
    if slow == "planning":
        from siteplan.planning import plan
        real = plan.settings
        def waiting(*given):
            pathlib.Path("planning").touch()
            time.sleep(60)
            return real(*given)
        plan.settings = waiting
    if slow == "writing":
        write = products.write
        def writing(made, folder):
            write(made, folder)
            pathlib.Path("writing").touch()
            time.sleep(60)
        products.write = writing
    sys.exit(main(command))
"""


@pytest.fixture
def project(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    count = getattr(request, "param", SITES)
    folder = tmp_path / "p"
    folder.mkdir()
    rng = np.random.default_rng(6)
    rows = zip(rng.uniform(-30, 40, count), rng.uniform(-20, 40, count), strict=True)
    lines = [f"A{k},{lat:.4f},{lon:.4f}" for k, (lat, lon) in enumerate(rows)]
    (folder / "sites.csv").write_text("site_id,lat,lon\n" + "\n".join(lines) + "\n")
    (folder / "network.toml").write_text(
        "[satellite]\nlongitude_deg = 10\n[network]\ndate = 2026-06-01\n"
    )
    (tmp_path / "program.py").write_text(PROGRAM)
    good = tmp_path / "out"
    good.mkdir()
    (good / "summary.json").write_text("the last good one")
    return folder


@pytest.fixture
def started(project: Path) -> Iterator[Callable[..., Any]]:
    """Start a plan of the project in a process group of its own; it is ended in any case."""
    running = []

    def start(slow: str, *options: str, rows: int = 10**9) -> Any:
        command = ["plan", str(project), "--output", "out", "--no-map", "--no-sheets", *options]
        process = subprocess.Popen(
            [sys.executable, "program.py", slow, str(rows), *command],
            cwd=project.parent,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        running.append(process)
        return process

    yield start
    for process in running:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def wait_for(process: Any, there: Callable[[], object]) -> None:
    """Look again and again; a run that never gets there is given up, however slow the machine."""
    for _ in range(6_000):
        if there():
            return
        assert process.poll() is None, process.stderr.read()
        time.sleep(0.02)
    pytest.fail("it never came so far")


def alive(group: int) -> list[int]:
    """Processes of a group that still run (a dead one that nobody asked after does not)."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, pgrp = path.read_text().rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(pgrp) == group and state != "Z":
            found.append(int(path.parent.name))
    return found


def check_left(process: Any, folder: Path, *, parts: bool, code: int = 130) -> None:
    error = process.communicate(timeout=60)[1]
    assert process.returncode == code, error
    assert "Traceback" not in error
    if code == 130:
        assert "stopped; the last good outputs are untouched" in error
    assert [p.name for p in (folder / "out").iterdir()] == ["summary.json"]
    assert (folder / "out" / "summary.json").read_text() == "the last good one"
    hidden = sorted(p.name.partition(".parts-")[0] for p in folder.glob(".*"))
    assert hidden == ([".out"] if parts else []) + [".siteplan-lock-out"]
    check_gone(process)


def check_gone(process: Any) -> None:
    for _ in range(200):  # a child that was told may need a moment to end
        if not alive(process.pid):
            return
        time.sleep(0.05)
    pytest.fail(f"still running: {alive(process.pid)}")


@pytest.mark.parametrize("project", [FEW_SITES], indirect=True)
@pytest.mark.parametrize("slow", ["planning", "writing"])
@pytest.mark.parametrize("parts", [False, True])
def test_one_process(slow: str, parts: bool, project: Path, started: Callable[..., Any]) -> None:
    folder = project.parent
    options = ["--workers", "0"] if parts else []
    process = started(slow, *options)
    wait_for(process, (folder / slow).exists)
    os.kill(process.pid, signal.SIGINT)
    check_left(process, folder, parts=parts)


@pytest.mark.parametrize("whole_group", [False, True])
def test_the_machines_processors(
    whole_group: bool, project: Path, started: Callable[..., Any]
) -> None:
    """A terminal tells the whole group; ``kill`` the one process: its children end either way."""
    folder = project.parent
    process = started("no", rows=100)
    wait_for(process, lambda: list(folder.glob(".out.parts-*/part-*.json")))
    (os.killpg if whole_group else os.kill)(process.pid, signal.SIGINT)
    check_left(process, folder, parts=True)


def test_dask_workers(project: Path, started: Callable[..., Any]) -> None:
    pytest.importorskip("distributed")
    folder = project.parent
    process = started("no", "--workers", "2")
    wait_for(process, lambda: list(folder.glob(".out.parts-*/part-*.json")))
    os.killpg(process.pid, signal.SIGINT)
    check_left(process, folder, parts=True)


@pytest.mark.parametrize("options", [[], ["--workers", "2"]])
def test_a_killed_parent_leaves_no_child(
    options: list[str], project: Path, started: Callable[..., Any]
) -> None:
    """It can tell nobody: the children notice by themselves."""
    if options:
        pytest.importorskip("distributed")
    folder = project.parent
    process = started("no", *options, rows=10**9 if options else 100)
    wait_for(process, lambda: list(folder.glob(".out.parts-*/part-*.json")))
    assert len(alive(process.pid)) > 1
    process.kill()
    process.wait()
    process.stderr.close()  # not read to its end: a child that goes on would hold it open
    check_gone(process)


@pytest.mark.parametrize("project", [FEW_SITES], indirect=True)
def test_terminated(project: Path, started: Callable[..., Any]) -> None:
    folder = project.parent
    process = started("writing")
    wait_for(process, (folder / "writing").exists)
    process.terminate()
    check_left(process, folder, parts=False, code=143)


@pytest.mark.parametrize(
    "command",
    [
        ["check", "PROJECT"],
        ["coverage", "PROJECT", "--step", "1", "--output", "out"],
        ["sheets", "PROJECT", "--only", "A1", "--output", "out"],
        ["asbuilt", "PROJECT", "returned.csv", "--output", "out"],
        ["new", "PROJECT"],
        ["site", "1", "2", "--satellite", "3"],
        ["fields", "--network"],
        ["compare", "PROJECT", "--satellites", "other.csv"],
        ["compare", "PROJECT", "PROJECT"],
        ["availability", "PROJECT", "outages.csv"],
        ["cache"],
    ],
)
def test_every_command(
    command: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    from siteplan import api, cli
    from siteplan.cli import looking

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    for name in api.__all__:
        if name.islower():
            monkeypatch.setattr(api, name, interrupted)
    monkeypatch.setattr(looking, "_fields", interrupted)  # it asks nothing of the front door
    assert cli.main([word.replace("PROJECT", str(tmp_path)) for word in command]) == 130
    assert "stopped" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
