"""Compiled templates kept between runs: taken where they are good and the user's own, else made."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import pytest
from jinja2 import DictLoader, Environment

from siteplan.outputs.paper.compiled import Kept, clear

TEXT = "Hello {{ name }}"


class Counted(Environment):
    """An environment that counts what it compiles."""

    compiled = 0

    def compile(self, *args: Any, **kwargs: Any) -> Any:
        self.compiled += 1
        return super().compile(*args, **kwargs)


def greeted(cache: Path, text: str = TEXT, options: str = "") -> tuple[str, int]:
    """Return what a fresh environment makes of a template, and how many it compiled for it."""
    environment = Counted(loader=DictLoader({"t": text}), bytecode_cache=Kept(cache, options))
    return environment.get_template("t").render(name="Ada"), environment.compiled


def kept(cache: Path) -> list[Path]:
    return sorted((cache / "templates").iterdir())


def test_a_kept_template_is_not_compiled_again(tmp_path: Path) -> None:
    assert greeted(tmp_path) == ("Hello Ada", 1)
    assert greeted(tmp_path) == ("Hello Ada", 0)
    assert len(kept(tmp_path)) == 1


def test_what_changes_the_code_makes_it_anew(tmp_path: Path) -> None:
    greeted(tmp_path)
    assert greeted(tmp_path, "Bye {{ name }}") == ("Bye Ada", 1)
    assert greeted(tmp_path, "Bye {{ name }}", options="autoescape") == ("Bye Ada", 1)
    assert len(kept(tmp_path)) == 1


@pytest.mark.parametrize("at", [0, 40, -1])
def test_a_damaged_one_does_no_harm(tmp_path: Path, at: int) -> None:
    greeted(tmp_path)
    (path,) = kept(tmp_path)
    content = bytearray(path.read_bytes())
    content[at] ^= 1
    path.write_bytes(content)
    assert greeted(tmp_path) == ("Hello Ada", 1)
    assert greeted(tmp_path) == ("Hello Ada", 0)


@pytest.mark.parametrize("length", [0, 10, 200])
def test_one_cut_off_does_no_harm(tmp_path: Path, length: int) -> None:
    greeted(tmp_path)
    (path,) = kept(tmp_path)
    os.truncate(path, length)
    assert greeted(tmp_path) == ("Hello Ada", 1)


@pytest.mark.skipif(sys.platform == "win32", reason="files have no such modes there")
def test_code_that_others_may_write_is_not_run(tmp_path: Path) -> None:
    greeted(tmp_path)
    (path,) = kept(tmp_path)
    assert path.stat().st_mode & 0o077 == 0
    path.chmod(0o666)
    assert greeted(tmp_path) == ("Hello Ada", 1)
    assert greeted(tmp_path) == ("Hello Ada", 0)


def test_a_cache_that_cannot_be_written_is_done_without(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    assert greeted(blocked) == ("Hello Ada", 1)
    assert blocked.read_text() == "no folder"


def test_clear_leaves_nothing(tmp_path: Path) -> None:
    greeted(tmp_path)
    clear(tmp_path)
    assert list(tmp_path.iterdir()) == []
    clear(tmp_path)
