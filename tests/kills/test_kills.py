"""The command that kills whole commands works, and tells a loss where there is one."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.kills.__main__ import Trial, main


def test_a_few_kills_and_a_round(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--kills", "2", "--terms", "1", "--rounds", "1", "--seed", "3"]) == 0
    assert capsys.readouterr().out.endswith("0 losses\n")


def test_losses_are_seen(tmp_path: Path) -> None:
    trial = Trial(tmp_path, 1)
    trial._look("before")
    assert trial.lost == []
    (trial.out / "notes.txt").unlink()
    (trial.out / "asbuilt" / "asbuilt.csv").write_text("half")
    shutil.rmtree(trial.out / "sun")
    trial._look("after")
    assert trial.lost == [
        "after: notes.txt is gone",
        "after: the outputs in the folder are not whole",
        "after: the outputs in asbuilt are not whole",
    ]
