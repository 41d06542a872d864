"""What a planner begins with: a starter project, and what network.toml may hold."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from siteplan.inputs.network.keys import KeyRow


def new_project(folder: str | Path) -> Path:
    """Make a starter project that plans without edits, and return its folder.

    Raises
    ------
    OutputError
        If the folder exists and holds anything, or cannot be made.
    """
    from siteplan.inputs.network.starter import write_starter
    from siteplan.outputs.folder import undisturbed

    with undisturbed():  # two small files: both or none
        write_starter(Path(folder))
    return Path(folder)


def network_reference() -> list[KeyRow]:
    """Return every key that network.toml may hold: table, key, default, unit, range, meaning."""
    from siteplan.inputs.network import read

    return list(read.network_reference())
