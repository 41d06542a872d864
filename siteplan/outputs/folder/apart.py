"""An output never overwrites what is read: what would swallow its inputs is refused."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from siteplan.errors import OutputError
from siteplan.outputs.folder.names import real

_FIX = "Choose another folder with --output."
#: What is wrong where an output holds the project.
_PROJECT = "the project itself lies there, and would be replaced by its outputs."


def apart(
    output: Path,
    project: Path,
    inputs: Iterable[Path] = (),
    *,
    part: str = "",
    held: tuple[str, str] = (_PROJECT, _FIX),
) -> None:
    """Raise where an output would take the place of what a run reads.

    Parameters
    ----------
    output : Path
        The output folder; it need not be there.
    project : Path
        The project's folder. It may hold the output, not the other way round.
    inputs : iterable of Path
        Files that the run reads.
    part : str
        The folder in the output that is replaced, where it is not all of it.
    held : pair of str
        What is wrong where the output holds that folder, and what to do, where it is no project.

    Raises
    ------
    OutputError
        If the output holds the project, a file that is read, or the home folder; or would be
        taken for the project's own map layers.
    """
    if _holds(output, project):
        raise OutputError(held[0], where=str(output), fix=held[1])
    home = Path(os.path.expanduser("~"))  # noqa: PTH111 - Path.home() raises without one
    if home.is_absolute() and _holds(output, home):
        raise OutputError("that is not a folder for outputs alone.", where=str(output), fix=_FIX)
    if _within(output, project / "overlays"):
        raise OutputError(
            "the next run would take the outputs for map layers of the project.",
            where=str(output),
            fix=_FIX,
        )
    replaced = output / part if part else output
    for path in inputs:
        if path.exists() and _holds(replaced, path):
            raise OutputError(
                f"{path.name} is read from there, and would be replaced by the outputs.",
                where=str(replaced),
                fix=f"Move {path.name} elsewhere, or choose another folder with --output.",
            )


def _holds(folder: Path, path: Path) -> bool:
    """Return whether a folder is a path's, or one above it: by the disk, not by how it is spelled.

    So links, capitals where the disk tells none apart, and mounts of a folder elsewhere count.
    """
    if not folder.exists():
        return False
    place = real(path)
    spelled = Path(os.path.abspath(path))  # noqa: PTH100 - resolve() would follow links
    return any(
        above.exists() and above.samefile(folder)
        for above in (place, *place.parents, spelled, *spelled.parents)
    )


def _within(folder: Path, other: Path) -> bool:
    """Return whether a folder is another or lies in it; neither need be there."""
    place, outer = real(folder), real(other)
    return outer in (place, *place.parents) or _holds(other, folder)
