"""A file that network.toml names and that is not there: one sentence for every key."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.named import named_file
from siteplan.jobs.opened import read_network

#: The key, and the tables that name a file by it.
KEYS: dict[str, dict[str, Any]] = {
    "[[beams]] no. 2 area": {"beams": [{"name": "a"}, {"name": "b", "area": "no.gpkg"}]},
    "[[contours]] no. 1 file": {
        "contours": [{"direction": "down", "file": "no.gpkg", "attribute": "x"}]
    },
    "[hub] pattern_file": {"hub": {"pattern": "file", "pattern_file": "no.gpkg"}},
}


@pytest.mark.parametrize("key", KEYS)
def test_it_is_told_with_its_key(key: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    told = (
        f"network.toml, {key}: there is no file 'no.gpkg' in the project. Check its name; it is"
        " looked for from the project's folder."
    )
    with pytest.raises(NetworkError, match=f"^{re.escape(told)}$"):
        read_network({"satellite": {"longitude_deg": 1}, **KEYS[key]})


def test_one_that_is_there_is_found_from_the_folder(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "a.csv").write_text("")
    assert named_file("own/a.csv", tmp_path, "[hub] pattern_file") == tmp_path / "own" / "a.csv"
    with pytest.raises(NetworkError, match="there is no file 'own' in the project"):
        named_file("own", tmp_path, "[hub] pattern_file")  # a folder is no file
