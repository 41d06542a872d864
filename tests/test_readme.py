"""The README says what the program says of itself."""

from __future__ import annotations

import re
from pathlib import Path

from siteplan.fields import METHODS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
PHYSICS = (ROOT / "siteplan" / "physics" / "README.md").read_text(encoding="utf-8")


def test_the_editions_in_use_are_named() -> None:
    for method in METHODS.values():
        for word in method.edition.replace(",", " ").replace(";", " ").split():
            if word.startswith("P.") or word.startswith("302"):
                assert word in PHYSICS


def test_two_commands_do_all_the_set_up() -> None:
    commands = [line for line in README.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert "siteplan plan sample_sites/" in commands[0]
    assert commands[1].endswith("python -m pytest -n 2 --dist loadfile")


def test_the_job_comes_first() -> None:
    assert README.split("\n\n")[1].startswith("Someone plans a VSAT network")
    assert "no off-axis limit is given" in README


def test_the_contents_lead_to_every_section() -> None:
    heads = re.findall(r"^## (.+)$", README, re.MULTILINE)
    links = dict(re.findall(r"\[([^]]+)\]\(#([a-z-]+)\)", README))
    assert set(heads) <= set(links)
    assert all(link == name.lower().replace(" ", "-") for name, link in links.items())


def test_every_page_that_is_linked_is_there() -> None:
    for link in re.findall(r"\]\((siteplan/[^)]+)\)", README):
        assert (ROOT / link).is_file(), link


def test_the_readme_stays_short() -> None:
    assert README.count("\n") <= 280
