"""Parts are this user's own: what others could have written is not taken up."""

from __future__ import annotations

import ast
import os
import pickle
import stat
from pathlib import Path

import pytest

import siteplan
from siteplan.errors import OutputError
from siteplan.inputs.project import find_project
from siteplan.jobs.asked import Asked, Job
from siteplan.jobs.parts import beside, part, spread
from siteplan.jobs.plan import carry_out
from siteplan.network import Network

pytestmark = pytest.mark.skipif(os.name == "nt", reason="owners and modes are of POSIX")
#: Raised where a file that was refused is taken up all the same.
RAN = "a part of somebody else ran"


class Hostile:
    """What runs code as it is read back."""

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return _run, (RAN,)


def _run(text: str) -> None:
    raise AssertionError(text)


@pytest.fixture
def job(tmp_path: Path) -> Job:
    project = tmp_path / "trial"
    project.mkdir()
    rows = "".join(f"{k},{k}\n" for k in range(20))
    (project / "sites.csv").write_text(f"lat,lon\n{rows}")
    (project / "network.toml").write_text("[satellite]\nlongitude_deg = 10\n")
    network = Network.model_validate(
        {"satellite": {"longitude_deg": 10}, "network": {"date": "2026-06-01"}}
    )
    asked = Asked(map=False, sheets=False, workers=0)
    return Job(find_project(project), network, asked, tmp_path / "out")


def work_folder(job: Job) -> Path:
    """Run a job until its parts are asked for; return the folder made for them."""

    def stop(tasks: object) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        carry_out(job, spread.Hands(stop))
    (found,) = job.folder.parent.glob(".out.parts-*")
    return found


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.parametrize("umask", [0o000, 0o002, 0o022, 0o077])
def test_a_folder_and_its_files_are_closed_to_others(
    job: Job, monkeypatch: pytest.MonkeyPatch, umask: int
) -> None:
    seen = []
    whole = part.plan_stored

    def look(path: Path) -> None:
        seen.append((path.suffix, mode(path), mode(path.parent)))
        whole(path)
        seen.append((".plan", mode(path.with_suffix(".plan")), mode(path.parent)))

    def run(tasks: object) -> None:
        for task in tasks:  # type: ignore[attr-defined]
            look(part.store_task(task))

    before = os.umask(umask)
    try:
        carry_out(job, spread.Hands(run))
    finally:
        os.umask(before)
    assert seen == [(".task", 0o600, 0o700), (".plan", 0o600, 0o700)]


@pytest.mark.parametrize("change", ["group", "others", "link"])
def test_a_folder_that_others_could_write_to_is_refused(
    job: Job, tmp_path: Path, change: str
) -> None:
    folder = work_folder(job)
    if change == "link":
        folder.rename(tmp_path / "elsewhere")
        folder.symlink_to(tmp_path / "elsewhere")
    else:
        folder.chmod(0o770 if change == "group" else 0o707)
    with pytest.raises(OutputError, match="belong to somebody else, or others can write") as caught:
        carry_out(job)
    assert str(folder) in str(caught.value)
    assert "choose a folder of your own with --output" in str(caught.value)


def test_a_folder_of_somebody_else_is_refused(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    work_folder(job)
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    with pytest.raises(OutputError, match="belong to somebody else"):
        carry_out(job)


def test_a_folder_of_ones_own_is_taken_up(job: Job) -> None:
    work_folder(job)
    carry_out(job)
    assert (job.folder / "sites.parquet").exists()


@pytest.mark.parametrize("open_to", [0o620, 0o602])
def test_a_task_that_others_could_write_is_not_run(tmp_path: Path, open_to: int) -> None:
    path = tmp_path / "part-000000.task"
    path.write_bytes(pickle.dumps(Hostile()))
    path.chmod(open_to)
    with pytest.raises(OutputError, match="they could run code here"):
        part.plan_stored(path)


def test_a_task_of_somebody_else_is_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "part-000000.task"
    path.write_bytes(pickle.dumps(Hostile()))
    path.chmod(0o600)
    with pytest.raises(AssertionError, match=RAN):
        part.plan_stored(path)
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    with pytest.raises(OutputError, match="belong to somebody else"):
        part.plan_stored(path)


def test_a_kept_plan_that_others_could_write_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "part-000000.plan"
    path.write_bytes(pickle.dumps(Hostile()))
    path.chmod(0o666)
    order: part.Order = None  # type: ignore[assignment]
    with pytest.raises(OutputError, match="belong to somebody else"):
        part.read_back([tmp_path / "part-000000.parquet"], order)


@pytest.mark.parametrize("ending", [beside.MONITORED, beside.ROLLOUT])
def test_what_lies_beside_a_part_that_others_could_write_is_not_read(
    tmp_path: Path, ending: str
) -> None:
    path = tmp_path / f"part-000000{ending}"
    path.write_bytes(pickle.dumps(Hostile()))
    path.chmod(0o666)
    with pytest.raises(OutputError, match="belong to somebody else"):
        part.laid_beside(tmp_path / "part-000000.parquet", ending)


def test_nothing_else_reads_objects_of_python() -> None:
    """Every ``pickle.loads`` is of what the check let through."""
    calls = []
    for path in Path(siteplan.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).startswith("pickle.load"):
                calls.append((path.name, ast.unparse(node.args[0]).split("(")[0]))
    assert calls == [("part.py", "_own_bytes")] * 2
