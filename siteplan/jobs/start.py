"""What a planner begins with: a starter project that plans without edits."""

from __future__ import annotations

from pathlib import Path


def new_project(folder: str | Path) -> Path:
    """Make a starter project that plans without edits, and return its folder.

    Raises
    ------
    OutputError
        If the folder exists and holds anything, or cannot be made.
    """
    from siteplan.inputs.network.starter import write_starter
    from siteplan.outputs.folder.signals import undisturbed

    with undisturbed():  # two small files: both or none
        write_starter(Path(folder))
    return Path(folder)
