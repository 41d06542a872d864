"""The terminal's names: what the package hands on, and where each comes from."""

from __future__ import annotations

import ast
from importlib import import_module
from pathlib import Path

import pytest

from siteplan.outputs import console
from siteplan.outputs.console import PAGES
from siteplan.outputs.console.terminal import PIPED_WIDTH

FOLDER = Path(console.__file__).parent


def test_every_page_is_in_the_list() -> None:
    assert set(PAGES) == {path.stem for path in FOLDER.glob("*.py")} - {"__init__"}


@pytest.mark.parametrize("page", PAGES)
def test_names_come_from_their_page(page: str) -> None:
    module = import_module(f"siteplan.outputs.console.{page}")
    for name in PAGES[page]:
        assert getattr(console, name) is getattr(module, name)
    shows = {name for name in vars(module) if name.startswith("show_") and name != "show_list"}
    own = {name for name in shows if getattr(module, name).__module__ == module.__name__}
    assert own <= set(PAGES[page])


def test_types_and_names_agree() -> None:
    tree = ast.parse((FOLDER / "__init__.py").read_text(encoding="utf-8"))
    typed = {
        (str(node.module).rpartition(".")[2], alias.name)
        for block in tree.body
        if isinstance(block, ast.If)
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert typed == {(page, name) for page, names in PAGES.items() for name in names}


def test_an_unknown_name() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'show_nothing'"):
        console.show_nothing  # noqa: B018


def test_a_pipe_is_wide_and_takes_texts_as_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    out = console.console()
    assert out.width == PIPED_WIDTH
    out.print("[bold]x[/bold] :bell: " + "y" * 200)
    assert capsys.readouterr().out == "[bold]x[/bold] :bell: " + "y" * 200 + "\n"
    console.console(error=True).print("beside")
    assert capsys.readouterr().err == "beside\n"


def test_a_terminal_colours_no_figures(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Colour means something on the other pages; figures and quoted names get none."""
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    out = console.console()
    assert out.is_terminal
    out.print("A1 'north': 12.5 dB, True, https://example.org")
    assert capsys.readouterr().out == "A1 'north': 12.5 dB, True, https://example.org\n"
