"""The page on physics names the editions that the modules name, and no others."""

from __future__ import annotations

import re
from pathlib import Path

import siteplan.physics

FOLDER = Path(siteplan.physics.__file__).parent
PAGE = (FOLDER / "README.md").read_text(encoding="utf-8")
#: An edition of a Recommendation or standard: P.618-14, S.465-6, EN 302 307-1, ASCE 7-16.
EDITION = re.compile(r"\b(?:[PS]\.\d+-\d+|EN \d[\d ]+(?:-\d+)+|ASCE 7-\d\d)")


def test_editions_in_modules_and_on_the_page_are_the_same():
    modules = "\n".join(path.read_text(encoding="utf-8") for path in FOLDER.rglob("*.py"))
    assert set(EDITION.findall(modules)) == set(EDITION.findall(PAGE))


def test_the_page_names_every_module():
    for path in FOLDER.rglob("*.py"):
        if path.stem not in ("__init__", "map_cache", "map_files", "sun_track"):
            assert f"`{path.stem}`" in PAGE or f"`{path.name}`" in PAGE, path.name
