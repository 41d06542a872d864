"""The README says what the program says of itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.planning.report.summary import METHODS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
PHYSICS = (ROOT / "siteplan" / "physics" / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("options", [[]])
def test_tables_are_those_the_program_prints(
    options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fields", *options, "--markdown"]) == 0
    for line in capsys.readouterr().out.splitlines():
        assert line in README


def test_the_editions_in_use_are_named() -> None:
    for text in METHODS.values():
        for word in text.replace(",", " ").replace(";", " ").split():
            if word.startswith("P.") or word.startswith("302"):
                assert word in PHYSICS


def test_two_commands_do_all_the_set_up() -> None:
    commands = [line for line in README.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert "siteplan plan sample_sites/" in commands[0]
    assert commands[1].endswith("pytest")


def test_the_job_comes_first() -> None:
    assert README.split("\n\n")[1].startswith("siteplan plans VSAT networks")
    assert "Off-axis emission limits are not checked" in README
