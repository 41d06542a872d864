"""The user's own map layers: files named in network.toml, and those in the folder overlays."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from siteplan.inputs.files.shapes import read_shapes, side_by_side
from siteplan.model import Overlay
from siteplan.network import OverlayFile


def read_overlays(
    folder: Path, named: Sequence[OverlayFile], found: Iterable[Path]
) -> tuple[Overlay, ...]:
    """Read the overlays of a project.

    Parameters
    ----------
    folder : Path
        The project; files named in network.toml are looked for from here.
    named : sequence of OverlayFile
        ``[[overlays]]`` of network.toml.
    found : iterable of Path
        Files of the folder overlays; one that is named above is not read twice.

    Returns
    -------
    tuple of Overlay
        In order, the named ones first. Files without a shape are left out.

    Raises
    ------
    ProjectError
        If a file is missing or cannot be read.
    """
    files = [(folder / o.file, o.name, o.color or "") for o in named]
    taken = {path.resolve() for path, _, _ in files}
    files += [(path, "", "") for path in found if path.resolve() not in taken]
    read = (_overlay(path, name or path.stem, color) for path, name, color in files)
    return tuple(overlay for overlay in read if overlay.shapes)


def _overlay(path: Path, name: str, color: str) -> Overlay:
    shapes, labels = read_shapes(path)
    return Overlay(name, color, tuple(side_by_side(shapes)), tuple(labels))
