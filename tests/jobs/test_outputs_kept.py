"""The commands that write outputs lose nothing of the user's, and put back what a kill left."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.api import OutputError, plan_project, write_asbuilt
from siteplan.cli import main
from siteplan.jobs.parts import spread
from siteplan.outputs.folder.claim import claimed

NETWORK = "[satellite]\nlongitude_deg = -61\n[network]\ndate = 2026-09-01\n"
BACK = "site_id,azimuth_true_deg,elevation_deg\nA,200,80\n"
PATTERN = "angle_deg,rx_gain_dbi,tx_gain_dbi\n0,50,52\n9,5,5\n"
#: Every command that writes an output, and a file that it writes.
COMMANDS = {
    "plan": (["plan", "PROJECT", "--no-map", "--no-sheets"], "summary.json"),
    "parts": (["plan", "PROJECT", "--no-map", "--no-sheets", "--workers", "0"], "summary.json"),
    "coverage": (["coverage", "PROJECT", "--step", "5"], "coverage.geojson"),
    "sheets": (["sheets", "PROJECT", "--only", "A"], "selected/kit.csv"),
    "asbuilt": (["asbuilt", "PROJECT", "PROJECT/back.csv"], "asbuilt/asbuilt.csv"),
}


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "sites.csv").write_text("site_id,lat,lon\nA,-3.10,-60.02\nB,-1.45,-48.49\n")
    (folder / "network.toml").write_text(NETWORK)
    (folder / "back.csv").write_text(BACK)
    return folder


@pytest.fixture
def run(project: Path) -> Callable[..., int]:
    def command(name: str, output: Path | None, *more: str) -> int:
        words = [word.replace("PROJECT", str(project)) for word in COMMANDS[name][0]]
        where = [] if output is None else ["--output", str(output)]
        return main([*words, "--quiet", *where, *more])

    return command


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_all_of_them_share_an_output(
    run: Callable[..., int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each replaces its own and leaves the others' and the user's; a filled-in list is kept."""
    out = tmp_path / "out"
    for name in COMMANDS:
        assert run(name, out) == 0
    (out / "returned_blank.csv").write_text(BACK)
    for name in ("notes.txt", "asbuilt/signed.txt", "selected/mine.txt"):
        (out / name).write_text(name)
    for name in reversed(COMMANDS):
        capsys.readouterr()
        assert run(name, out) == 0
        for _, written in COMMANDS.values():
            assert (out / written).is_file(), (name, written)
        for mine in ("notes.txt", "asbuilt/signed.txt", "selected/mine.txt"):
            assert (out / mine).read_text() == mine
    assert (out / "returned_blank.kept.csv").read_text() == BACK
    assert (out / "returned_blank.csv").read_text() != BACK
    told = json.loads((out / "summary.json").read_text("utf-8"))["crew"]
    assert "selected/ is of an earlier plan: ask for it again with 'siteplan sheets'." in told


def test_a_filled_in_list_is_told(
    run: Callable[..., int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert run("plan", out) == 0
    assert "selected" not in json.loads((out / "summary.json").read_text("utf-8"))["crew"]
    (out / "returned_blank.csv").write_text(BACK)
    capsys.readouterr()
    assert run("plan", out) == 0
    assert capsys.readouterr().err == (
        f"siteplan: {out}: kept what siteplan had not written, or was changed since:"
        " returned_blank.csv as returned_blank.kept.csv.\n"
    )


# --- what is read is never overwritten ------------------------------------------------------


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("where", ["itself", "above", "link", "by default"])
def test_a_project_in_its_own_output_is_refused(
    name: str, where: str, project: Path, run: Callable[..., int], tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    output: Path | None = {"itself": project, "above": tmp_path, "link": tmp_path / "link"}.get(
        where
    )
    (tmp_path / "link").symlink_to(project)
    if where == "by default":  # output/NAME under the current folder is the project itself
        (tmp_path / "output").symlink_to(tmp_path)
    monkeypatch.chdir(tmp_path)
    before = contents(tmp_path)
    assert run(name, output) == 2
    assert "the project itself lies there, and would be replaced" in capsys.readouterr().err
    assert contents(tmp_path) == before


@pytest.mark.parametrize("name", COMMANDS)
def test_an_output_in_the_project_is_fine(
    name: str, project: Path, run: Callable[..., int]
) -> None:
    before = contents(project)
    assert run(name, project / "out") == 0
    assert (project / "out" / COMMANDS[name][1]).is_file()
    assert before.items() <= contents(project).items()
    assert run(name, project / "out") == 0


@pytest.mark.parametrize(
    ("name", "key", "file"),
    [
        ("plan", '[[overlays]]\nfile = "{}"\n', "roads.geojson"),
        ("parts", '[[overlays]]\nfile = "{}"\n', "roads.geojson"),
        ("plan", '[coverage]\nstep_deg = 5\narea = "{}"\n', "area.geojson"),
        ("coverage", '[coverage]\narea = "{}"\n', "area.geojson"),
        ("plan", '[hub]\npattern = "file"\npattern_file = "{}"\n', "dish.csv"),
        ("parts", '[hub]\npattern = "file"\npattern_file = "{}"\n', "dish.csv"),
        ("coverage", "", "coverage.geojson"),
        ("asbuilt", "", "asbuilt/back.csv"),
        ("sheets", '[[overlays]]\nfile = "{}"\n', "selected/roads.geojson"),
    ],
)
def test_files_that_are_read_from_the_output_are_refused(
    name: str, key: str, file: str, project: Path, run: Callable[..., int], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    path = tmp_path / "out" / file
    path.parent.mkdir(parents=True)
    text = PATTERN if file == "dish.csv" else "x"
    path.write_text(text)
    (project / "network.toml").write_text(NETWORK + key.format(f"../out/{file}"))
    more = ["--area", str(path)] if name == "coverage" and not key else []
    if name == "asbuilt":
        command = ["asbuilt", str(project), str(path), "--output", str(tmp_path / "out")]
        assert main(command) == 2
    else:
        assert run(name, tmp_path / "out", *more) == 2
    assert f"{path.name} is read from there" in capsys.readouterr().err
    assert path.read_text() == text


def test_a_list_filled_in_in_the_output_is_read_from_there(
    project: Path, run: Callable[..., int], tmp_path: Path
) -> None:
    """What came back may lie in the project's outputs: only ``asbuilt`` in them is replaced."""
    out = tmp_path / "out"
    assert run("plan", out) == 0
    (out / "returned_blank.csv").write_text(BACK)
    assert (
        main(["asbuilt", str(project), str(out / "returned_blank.csv"), "--output", str(out)]) == 0
    )
    assert (out / "returned_blank.csv").read_text() == BACK


# --- one run at a time, and what a kill left ------------------------------------------------


@pytest.mark.parametrize("name", COMMANDS)
def test_a_second_run_ends_at_once(
    name: str, run: Callable[..., int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Before any site is read."""
    out = tmp_path / "out"
    monkeypatch.setattr("siteplan.inputs.sites.read.read_sites", None)
    monkeypatch.setattr("siteplan.inputs.sites.read.iter_site_lists", None)
    with claimed(out):
        assert run(name, out) == 2
    assert "out: another run of siteplan is writing there (process " in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("bad", [False, True])
def test_the_next_command_puts_back_before_anything_else(
    name: str, bad: bool, project: Path, run: Callable[..., int], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Whichever it is, and even where the project cannot be read any more."""
    out = tmp_path / "out"
    assert run("plan", out) == 0
    (out / "notes.txt").write_text("mine")
    out.rename(tmp_path / ".siteplan-last-out")
    if bad:
        (project / "network.toml").unlink()
    capsys.readouterr()
    assert run(name, out) == (2 if bad else 0)
    told = capsys.readouterr().err
    assert told.startswith(f"siteplan: {out}: put back the last good outputs: a run was stopped")
    assert (out / "notes.txt").read_text() == "mine"
    assert (out / "summary.json").is_file()
    assert not (tmp_path / ".siteplan-last-out").exists()


def test_from_python_it_is_logged(
    project: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    plan_project(project, out, with_map=False, with_sheets=False)
    shutil.copytree(out, tmp_path / ".siteplan-next-out")
    plan_project(project, out, with_map=False, with_sheets=False)
    assert caplog.messages == [f"{out}: removed what a run that was stopped had left half-made."]
    assert capsys.readouterr().out == ""


def test_as_built_results_are_written_where_they_may_be(project: Path, tmp_path: Path) -> None:
    from siteplan.api import asbuilt_project

    result = asbuilt_project(project, project / "back.csv")
    assert write_asbuilt(result, project, tmp_path / "out") == tmp_path / "out" / "asbuilt"
    assert (tmp_path / "out" / "asbuilt" / "asbuilt.csv").is_file()
    with pytest.raises(OutputError, match="the project itself lies there"):
        write_asbuilt(result, project, project)


def test_parts_of_projects_whose_names_look_alike_stay(tmp_path: Path, project: Path) -> None:
    """Of ``a`` nothing else is swept than its own parts, whatever a pattern would take in."""
    mine = tmp_path / ".[a]*.parts-0123456789abcdef"
    others = [".a.parts-0123456789abcdef", ".[a]*.parts-x.parts-0123456789abcdef", ".[a]*.parts-my"]
    for folder in (mine, *(tmp_path / name for name in others)):
        folder.mkdir()
    spread._drop_stale(tmp_path / "[a]*", keep=tmp_path / "none")
    assert not mine.exists()
    assert all((tmp_path / name).is_dir() for name in others)
