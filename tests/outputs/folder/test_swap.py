"""What becomes of files in an output that is replaced: siteplan's, changed ones, the user's."""

from __future__ import annotations

import errno
import json
import logging
import multiprocessing
import os
import re
import shutil
import signal
import socket
import stat
import sys
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import OutputError
from siteplan.outputs.folder import record
from siteplan.outputs.folder.claim import claimed, put_back
from tests.outputs.folder.kills import ENDED, REFUSED, every_refusal
from tests.outputs.folder.world import (
    NAMES,
    TAKES,
    check_as_it_was,
    fresh,
    hidden,
    is_whole,
    make,
    places,
    users_lost,
    write,
)


@pytest.fixture(autouse=True)
def _heard(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.WARNING, logger="siteplan")


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "out"


def told(caplog: pytest.LogCaptureFixture) -> str:
    return " ".join(caplog.messages)


# --- siteplan's own and the user's ----------------------------------------------------------


def test_what_is_the_users_stays_and_what_is_siteplans_is_new(
    out: Path, caplog: pytest.LogCaptureFixture
) -> None:
    make(out)
    write(out, "two")
    check_as_it_was(out)
    assert is_whole(out, "two")
    assert not (out / "gone.txt").exists()
    assert (out / "blank.csv").read_text() == "two blank.csv"
    assert (out / "blank.kept.csv").read_text() == "filled in"
    assert told(caplog).endswith(
        "kept what siteplan had not written, or was changed since: blank.csv as blank.kept.csv."
    )
    assert hidden(out) == []


def test_what_was_kept_stays_and_is_not_kept_twice(
    out: Path, caplog: pytest.LogCaptureFixture
) -> None:
    make(out)
    write(out, "two")
    caplog.clear()
    write(out, "three")
    assert caplog.messages == []
    (out / "blank.csv").write_text("filled in again")
    write(out, "four")
    assert (out / "blank.kept.csv").read_text() == "filled in"
    assert (out / "blank.kept-2.csv").read_text() == "filled in again"


def test_hard_links_cost_no_room_and_copies_are_the_same(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make(out)
    before = (out / "notes.txt").stat().st_ino
    write(out, "two")
    assert (out / "notes.txt").stat().st_ino == before

    def refused(*_: object, **__: object) -> None:
        raise OSError(errno.EOPNOTSUPP, "no links here")

    monkeypatch.setattr(os, "link", refused)
    write(out, "three")
    assert (out / "notes.txt").stat().st_ino != before
    check_as_it_was(out)


def test_a_file_that_was_copied_with_its_folder_is_still_siteplans(
    out: Path, tmp_path: Path
) -> None:
    """A copy has other times: what is in it counts."""
    write(out, "one")
    shutil.copytree(out, tmp_path / "copy", copy_function=shutil.copyfile)
    os.utime(tmp_path / "copy" / "a.txt", (5, 5))
    write(tmp_path / "copy", "two")
    assert [path.name for path in (tmp_path / "copy").rglob("*.kept*")] == []


def test_a_change_that_left_size_and_time_is_seen(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of large files these two are enough: reading them again would take long."""
    for large, kept in ((False, True), (True, False)):
        write(out, "one")
        if large:
            monkeypatch.setattr(record, "_LARGE", 4)
        before = (out / "a.txt").stat()
        (out / "a.txt").write_text("One a.txt")
        os.utime(out / "a.txt", ns=(before.st_atime_ns, before.st_mtime_ns))
        write(out, "two")
        assert (out / "a.kept.txt").exists() == kept
        (out / "a.kept.txt").unlink(missing_ok=True)


def test_a_folder_that_nobody_knows_is_the_users(
    out: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Names that siteplan uses prove nothing: without a record every file is kept."""
    (out / "maps").mkdir(parents=True)
    for name in ("a.txt", "maps/one.html", "maps/old.html", "gone.txt"):
        (out / name).write_text("mine")
    write(out, "two")
    assert (out / "a.kept.txt").read_text() == "mine"
    assert sorted(p.name for p in (out / "maps.kept").iterdir()) == ["old.html", "one.html"]
    assert (out / "gone.txt").read_text() == "mine"
    assert "a.txt as a.kept.txt" in told(caplog)
    assert is_whole(out, "two")


def test_a_damaged_record_makes_all_the_users(out: Path) -> None:
    write(out, "one")
    for damage in ("", "[]", '{"takes": 1}', "\x00"):
        (out / ".siteplan.json").write_text(damage)
        write(out, "two")
        assert is_whole(out, "two")
    write(out, "one")
    (out / ".siteplan.json").unlink()
    write(out, "three")
    assert (out / "a.kept.txt").read_text() == "one a.txt"


def test_files_and_folders_that_took_each_others_names(out: Path) -> None:
    write(out, "one")
    shutil.rmtree(out / "maps")
    (out / "maps").write_text("a file now")
    (out / "a.txt").unlink()
    (out / "a.txt").mkdir()
    (out / "a.txt" / "inner.txt").write_text("a folder now")
    write(out, "two")
    assert (out / "maps.kept").read_text() == "a file now"
    assert (out / "a.kept.txt" / "inner.txt").read_text() == "a folder now"
    assert is_whole(out, "two")


def test_what_other_commands_wrote_stays_theirs(out: Path) -> None:
    """A run answers for its own names; another's files go when that other writes again."""
    with claimed(out) as claim, claim.staged({"grid.txt"}) as new:
        (new / "grid.txt").write_text("grid")
    write(out, "plan")
    assert (out / "grid.txt").read_text() == "grid"
    assert is_whole(out, "plan")
    with claimed(out) as claim, claim.staged({"grid.txt"}) as new:
        (new / "grid.txt").write_text("grid again")
    assert is_whole(out, "plan")
    assert [path.name for path in out.rglob("*.kept*")] == []
    found = json.loads((out / ".siteplan.json").read_text())["files"]
    assert set(found) == {"grid.txt", *NAMES}


def test_a_data_base_that_is_open_goes_with_what_stands_beside_it(out: Path) -> None:
    """Beside a new file of the old name the journal would spoil it."""
    takes = {"s.gpkg"}
    with claimed(out) as claim, claim.staged(takes) as new:
        (new / "s.gpkg").write_text("one")
    (out / "s.gpkg-wal").write_text("journal")
    with claimed(out) as claim, claim.staged(takes) as new:
        (new / "s.gpkg").write_text("two")
    assert (out / "s.gpkg").read_text() == "two"
    assert not (out / "s.gpkg-wal").exists()
    assert (out / "s.kept.gpkg").read_text() == "one"
    assert (out / "s.kept.gpkg-wal").read_text() == "journal"


def test_special_files_are_kept_and_told(
    out: Path, caplog: pytest.LogCaptureFixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(out, "one")
    os.mkfifo(out / "pipe")
    monkeypatch.chdir(out)  # the path of a socket must be short
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind("socket")
        monkeypatch.chdir(tmp_path)
        write(out, "two")
    assert (out / "pipe").is_fifo()
    assert (out / "socket").is_socket()
    assert "kept what is neither file, folder nor link: pipe, socket." in told(caplog)


def test_a_link_stays_one_and_its_target_is_replaced(out: Path, tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    out.symlink_to(Path("far") / "real")
    make(out)
    write(out, "two")
    assert out.is_symlink()
    assert str(out.readlink()) == "far/real"
    assert is_whole(tmp_path / "far" / "real", "two")
    check_as_it_was(out)
    assert sorted(p.name for p in (tmp_path / "far").iterdir()) == [".siteplan-lock-real", "real"]


def test_the_folders_mode_stays(out: Path) -> None:
    write(out, "one")
    out.chmod(0o2750)
    write(out, "two")
    assert out.stat().st_mode & 0o7777 == 0o2750


def test_a_read_only_output_is_replaced_and_stays_so(out: Path) -> None:
    """Folders say who may add files to them; the one around the output says who may replace it."""
    make(out)
    for folder in (out / "photos", out):
        folder.chmod(0o555)
    write(out, "two")
    assert is_whole(out, "two")
    check_as_it_was(out)
    assert [stat.S_IMODE(p.stat().st_mode) for p in (out, out / "photos")] == [0o555, 0o555]
    assert hidden(out) == []
    put_back(out)
    for folder in (out / "photos", out):  # so that the test's folder can be removed
        folder.chmod(0o755)


@pytest.mark.parametrize("again", [0, 1])
def test_what_a_user_saves_in_the_midst_of_the_swap(
    again: int, out: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """An editor that saves by renaming, after the files were carried: before and after the swap."""
    make(out)
    real, seen = Path.rename, []

    def renamed(self: Path, target: Path) -> Path:
        if "siteplan" in str(self) + str(target) and len(seen) == again:
            at = out if out.is_dir() else out.parent / ".siteplan-last-out"
            (at / "new").write_text("saved late")
            real(at / "new", at / "notes.txt")
            (at / "late.txt").write_text("came late")
        seen.append(self)
        return real(self, target)

    monkeypatch.setattr(Path, "rename", renamed)
    write(out, "two")
    assert len(seen) == 2
    assert (out / "notes.txt").read_text() == "my notes"
    assert (out / "notes.kept.txt").read_text() == "saved late"
    assert (out / "late.txt").read_text() == "came late"
    assert "put back late.txt, notes.kept.txt." in told(caplog)
    assert hidden(out) == []


# --- what fails -----------------------------------------------------------------------------


def test_an_error_leaves_the_last_good_one(out: Path) -> None:
    make(out)

    def fail() -> None:
        with claimed(out) as claim, claim.staged(TAKES) as new:
            (new / "a.txt").write_text("half")
            raise KeyError("stop")

    with pytest.raises(KeyError, match="stop"):
        fail()
    check_as_it_was(out)
    assert is_whole(out, "one")
    assert hidden(out) == []


@pytest.mark.parametrize(
    ("number", "fix"),
    [
        (errno.ENOSPC, "Make room on the disk"),
        (errno.EACCES, "See who owns it"),
        (errno.EROFS, "The disk is read-only"),
        (errno.EBUSY, "Close what uses it"),
        (errno.EXDEV, "It stands on another disk"),
        (errno.EIO, "Check the disk"),
    ],
)
def test_what_is_in_the_way_is_named(
    number: int, fix: str, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make(out)
    real = Path.rename

    def refused(self: Path, target: Path) -> Path:
        if self.name == "out":
            raise OSError(number, "it is so", str(self), None, str(target))
        return real(self, target)

    monkeypatch.setattr(Path, "rename", refused)
    told = f"it is so: {out} -> {out.parent / '.siteplan-last-out'}. {fix}"
    with pytest.raises(OutputError, match=re.escape(told)) as caught:
        write(out, "two")
    assert caught.value.where == str(out)
    check_as_it_was(out)
    assert is_whole(out, "one")
    assert hidden(out) == []


@pytest.mark.skipif(sys.platform == "win32", reason="a child is made by fork")
@pytest.mark.parametrize("for_good", [False, True])
def test_each_operation_refused_loses_nothing(for_good: bool, tmp_path: Path, out: Path) -> None:
    """As on a full disk: whatever the system refuses, the output is whole, the old or the new."""
    make(out)
    codes = []
    for code in every_refusal(lambda: write(out, "two"), below=tmp_path, for_good=for_good):
        codes.append(code)
        assert users_lost(places(out) if for_good else [out]) == []
        put_back(out)
        assert is_whole(out, "one" if code == REFUSED else "two")
        check_as_it_was(out)
        assert hidden(out) == []
        fresh(tmp_path)
        make(out)
    assert codes.count(REFUSED) > 20
    assert codes[-1] == ENDED


def test_what_cannot_be_removed_is_told_and_the_new_outputs_stand(
    out: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Such as a file that another program holds open, where the system minds that."""
    make(out)
    real = Path.unlink

    def refused(self: Path, missing_ok: bool = False) -> None:
        if self.name == "notes.txt":
            raise PermissionError(errno.EACCES, "held open", str(self))
        real(self, missing_ok=missing_ok)

    monkeypatch.setattr(Path, "unlink", refused)
    write(out, "two")
    assert is_whole(out, "two")
    last = out.parent / ".siteplan-last-out"
    assert f"could not be removed from {last} (held open: {last / 'notes.txt'})" in told(caplog)
    with pytest.raises(OutputError, match=r"held open: .*notes.txt.* what holds it open"):
        put_back(out)
    monkeypatch.undo()
    put_back(out)
    check_as_it_was(out)
    assert hidden(out) == []


def test_a_file_has_the_outputs_name(out: Path) -> None:
    out.write_text("a letter")
    with pytest.raises(OutputError, match=r"out: a file has that name. Move it away"):
        write(out, "one")
    assert out.read_text() == "a letter"
    out.unlink()
    out.symlink_to("out")
    with pytest.raises(OutputError, match="a link that leads to itself has that name"):
        write(out, "one")


def test_a_file_stands_where_a_folder_should(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match=r"cannot write the outputs: .*file.* --output"):
        write(tmp_path / "file" / "out", "x")


def test_other_disks_are_told_before_the_work(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make(out)
    with pytest.raises(OutputError, match=r"root of a disk .* --output /proc/plan"):
        write(Path("/proc"), "one")
    real = os.lstat

    def elsewhere(path: Any, **more: Any) -> Any:
        found = real(path, **more)
        if str(path).endswith("roof"):
            return os.stat_result((*found[:2], found.st_dev + 1, *found[3:]))
        return found

    monkeypatch.setattr(os, "lstat", elsewhere)
    begun = []
    with pytest.raises(OutputError, match="photos/roof in it is another disk"), claimed(out):
        begun.append(1)
    assert begun == []


def test_a_folder_that_cannot_be_read_is_told_before_the_work(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make(out)
    real = os.scandir

    def barred(path: Any) -> Any:
        if str(path).endswith("roof"):
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", barred)
    with pytest.raises(OutputError, match=r"Permission denied: .*photos/roof. See who owns"):
        write(out, "two")
    monkeypatch.undo()
    check_as_it_was(out)


# --- what runs left -------------------------------------------------------------------------


def _killed(folder: Path) -> None:
    with claimed(folder) as claim, claim.staged(TAKES) as new:
        (new / "a.txt").write_text("half")
        os._exit(9)


def test_a_killed_run_leaves_the_last_good_one(out: Path, caplog: pytest.LogCaptureFixture) -> None:
    make(out)
    process = multiprocessing.get_context("spawn").Process(target=_killed, args=(out,))
    process.start()
    process.join()
    assert process.exitcode == 9
    assert is_whole(out, "one")
    assert hidden(out) == [".siteplan-next-out"]
    put_back(out)
    assert hidden(out) == []
    assert told(caplog) == f"{out}: removed what a run that was stopped had left half-made."


def test_what_is_in_a_hidden_folder_alone_is_put_back(
    out: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Whatever somebody did to the output since: nothing goes that stands nowhere else."""
    make(out)
    shutil.copytree(out, out.parent / ".siteplan-next-out", symlinks=True)
    (out / "photos" / "roof").chmod(0o750)
    (out / "photos" / "roof" / "north.txt").unlink()
    put_back(out)
    assert (out / "photos" / "roof" / "north.txt").read_text() == "a photo"
    assert "put back photos/roof/north.txt." in told(caplog)


def test_an_output_that_somebody_made_anew_takes_the_last_good_one_in(out: Path) -> None:
    """Killed between the two names; then the user made a folder of that name."""
    make(out)
    out.rename(out.parent / ".siteplan-last-out")
    (out.parent / ".siteplan-next-out").mkdir()
    out.mkdir()
    (out / "notes.txt").write_text("begun anew")
    put_back(out)
    assert (out / "notes.txt").read_text() == "begun anew"
    assert (out / "notes.kept.txt").read_text() == "my notes"
    assert is_whole(out, "one")
    assert hidden(out) == []


def test_an_older_copy_that_somebody_put_there_replaces_nothing(out: Path) -> None:
    """It has a record, but no run that ended had it take the last good one's place."""
    make(out, text="old")
    shutil.copytree(out, out.parent / "copy", symlinks=True)
    write(out, "one")
    out.rename(out.parent / ".siteplan-last-out")
    (out.parent / ".siteplan-next-out").mkdir()
    (out.parent / "copy").rename(out)
    put_back(out)
    check_as_it_was(out)
    assert (out / "a.txt").read_text() == "old a.txt"
    assert (out / "a.kept.txt").read_text() == "one a.txt"


@pytest.mark.parametrize("there", [False, True])
def test_what_runs_of_earlier_versions_left(there: bool, out: Path) -> None:
    """They told their folders apart by the process; their half-made ones held no user's file."""
    make(out)
    out.rename(out.parent / ".siteplan-old-out-4711")
    (out.parent / ".siteplan-new-out-4711").mkdir()
    (out.parent / ".siteplan-old-out-2-4711").mkdir()  # of another output
    with claimed(out.parent / "o.*"):
        assert len(hidden(out)) == 3
    if there:
        write(out, "two")
    with claimed(out):
        check_as_it_was(out)
    assert hidden(out) == [".siteplan-old-out-2-4711"]


def test_names_that_begin_alike_or_hold_patterns(tmp_path: Path) -> None:
    """What a killed run left is put back for its own output alone."""
    names = ["a", "a-b", "a*", "[ab]", "?", "a-next", "lock-a", "x" * 240, "x" * 241]
    for name in names:
        make(tmp_path / name, text=name[:9])
        (tmp_path / name / "mine").write_text(name)
        with claimed(tmp_path / name):
            pass
        _leave_in_the_midst(tmp_path / name)
    for name in names:
        put_back(tmp_path / name)
        assert (tmp_path / name / "mine").read_text() == name
        assert is_whole(tmp_path / name, name[:9])
    assert [path.name for path in tmp_path.glob(".siteplan-[!l]*")] == []


def _leave_in_the_midst(output: Path) -> None:
    from siteplan.outputs.folder.names import hidden as beside

    output.rename(beside(output, "last"))


def test_an_output_in_another_one_is_put_back_with_it(out: Path) -> None:
    write(out, "plan")
    make(out / "built")
    (out / "built").rename(out / ".siteplan-last-built")
    with claimed(out):
        check_as_it_was(out / "built")


# --- signals --------------------------------------------------------------------------------


def test_signals_wait_until_the_swap_is_done(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make(out)
    real, seen = Path.rename, []

    def renamed(self: Path, target: Path) -> Path:
        signal.raise_signal(signal.SIGINT)
        seen.append(self.name)
        return real(self, target)

    with pytest.raises(KeyboardInterrupt):
        _write_under(monkeypatch, renamed, out)
    assert len(seen) == 2
    assert is_whole(out, "two")
    check_as_it_was(out)
    assert hidden(out) == []


def _write_under(monkeypatch: pytest.MonkeyPatch, renamed: Any, out: Path) -> None:
    with claimed(out) as claim, claim.staged(TAKES) as new:
        for name in NAMES:
            (new / name).parent.mkdir(exist_ok=True)
            (new / name).write_text(f"two {name}")
        monkeypatch.setattr(Path, "rename", renamed)
