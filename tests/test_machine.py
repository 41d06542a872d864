"""What the machine refuses is told plainly with exit 2; a stream that nobody reads is no fault."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest

from siteplan.cli import main
from siteplan.machine import refused, report

COMMAND = [sys.executable, "-c", "import sys; from siteplan.cli import main; sys.exit(main())"]


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "sites.csv").write_text("site_id,lat,lon\nA,-3.10,-60.02\nB,x,-48.49\n")
    (folder / "network.toml").write_text("[satellite]\nlongitude_deg = -61\n")
    return folder


@pytest.mark.parametrize(
    ("number", "told"),
    [
        (errno.ENOSPC, "a: there is no space left on the disk. Free some, or name another folder."),
        (errno.EACCES, "a: it may not be read or written. Check its permissions, or name another"),
        (errno.EROFS, "a: it may not be read or written. Check its permissions, or name another"),
        (errno.ENAMETOOLONG, "a: no file can have this name here. Name another."),
        (errno.EIO, "a: the disk or network drive does not answer. Check it, and run the command"),
        (
            errno.EMFILE,
            "a: too many files are open on this machine. Close other programs, or raise",
        ),
        (errno.ENOMEM, "the memory of this machine is not enough. Close other programs, use fewer"),
    ],
)
def test_what_the_system_refuses(number: int, told: str) -> None:
    found = refused(OSError(number, os.strerror(number), "a"))
    assert found is not None
    assert (found.exit_code, str(found)[: len(told)]) == (2, told)


def test_what_is_no_refusal_of_the_machine() -> None:
    assert refused(ValueError("x")) is None
    assert refused(FileNotFoundError(errno.ENOENT, "No such file", "a")) is None
    assert refused(MemoryError()) is not None


@pytest.mark.parametrize("error", [MemoryError(), OSError(errno.ENOSPC, "No space left", "x.csv")])
def test_the_command_ends_with_2(
    error: Exception, project: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("siteplan.planning.plan.plan_piece", fails)
    assert main(["plan", str(project), "--output", str(project / "out"), "--quiet"]) == 2
    said = capsys.readouterr().err
    assert "internal error" not in said
    assert "memory of this machine" in said or "o space left" in said


def test_a_report_goes_where_it_can(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "gone"))
    path = report(ValueError("why\ud800"), ["plan", "p"])
    assert path is not None
    assert path.parent == tmp_path / "here"
    assert "ValueError: why\\ud800" in path.read_text("utf-8")
    monkeypatch.setattr(os, "getcwd", lambda: str(tmp_path / "gone, too"))
    assert report(ValueError("why"), []) is None


def run(*arguments: str, cwd: Path, **more: Any) -> subprocess.CompletedProcess[str]:
    root = str(Path(__file__).parent.parent)
    environ = {**os.environ, "PYTHONPATH": root, **more.pop("env", {})}
    return subprocess.run(
        [*COMMAND, *arguments], cwd=cwd, env=environ, text=True, check=False, **more
    )


@pytest.mark.parametrize(
    "arguments", [["check", "trial"], ["fields"], ["--help"], ["check", "gone"]]
)
def test_nobody_reads_to_the_end(arguments: list[str], project: Path) -> None:
    pipe = subprocess.PIPE
    usual = run(*arguments, cwd=project.parent, capture_output=True)
    reading, writing = os.pipe()
    os.close(reading)
    try:
        out = run(*arguments, cwd=project.parent, stdout=writing, stderr=pipe)
        assert (out.returncode, out.stderr) == (usual.returncode, usual.stderr)
        error = run(*arguments, cwd=project.parent, stdout=pipe, stderr=writing)
        assert (error.returncode, error.stdout) == (usual.returncode, usual.stdout)
    finally:
        os.close(writing)


@pytest.mark.parametrize("closed", ["1", "2"])
def test_a_stream_that_is_closed(closed: str, project: Path) -> None:
    shell = ["sh", "-c", f'exec "$@" {closed}>&-', "sh", *COMMAND, "check", "trial"]
    found = subprocess.run(shell, cwd=project.parent, capture_output=True, text=True, check=False)
    assert (found.returncode, found.stderr) == (1, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no full device")
def test_a_full_disk_takes_no_page(project: Path) -> None:
    with Path("/dev/full").open("w") as full:
        found = run("fields", cwd=project, stdout=full, stderr=subprocess.PIPE)
    assert (found.returncode, found.stderr[:50]) == (
        2,
        "siteplan: there is no space left on the disk. Free",
    )


@pytest.mark.skipif(sys.platform == "win32", reason="a folder in use cannot be removed there")
def test_the_folder_is_gone(project: Path) -> None:
    gone = project / "gone"
    script = f'cd {gone} && rmdir {gone} && exec "$@"'
    gone.mkdir()
    shell = ["sh", "-c", script, "sh", *COMMAND, "plan", str(project), "--quiet"]
    environ = {**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent)}
    found = subprocess.run(shell, env=environ, capture_output=True, text=True, check=False)
    assert found.returncode == 2
    assert found.stderr == (
        "siteplan: the folder that the command was started in is gone. Change to another folder,"
        " and run it again.\n"
    )


def test_a_system_that_knows_of_no_home(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    """The cache is done without, and so are maps that were added."""

    def homeless(_: object = None) -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", homeless)
    monkeypatch.setattr(Path, "expanduser", homeless)
    for name in ("SITEPLAN_CACHE", "SITEPLAN_DATA", "XDG_CACHE_HOME", "XDG_DATA_HOME"):
        monkeypatch.delenv(name, raising=False)
    assert (
        main(["plan", str(project), "--output", str(project / "out"), "--quiet", "--no-map"]) == 1
    )
    assert main(["cache"]) == 0
    assert main(["maps"]) == 0
    assert main(["maps", "add", "~/maps.zip"]) == 2
    assert "~/maps.zip: there is no such folder or ZIP" in capsys.readouterr().err
