"""A file that a key of network.toml names: where it is, or that it is not there."""

from __future__ import annotations

from pathlib import Path

from siteplan.errors import NetworkError


def named_file(name: str, folder: Path, place: str) -> Path:
    """Return the path of a file that is named from the project's folder.

    Parameters
    ----------
    name : str
        As the key gives it; a home folder may be written ``~``.
    folder : Path
        Where names of files count from.
    place : str
        The key and its table, such as ``[hub] pattern_file``.

    Raises
    ------
    NetworkError
        There is no such file: with its name and place.
    """
    path = folder / Path(name).expanduser()
    if not path.is_file():
        raise NetworkError(
            f"there is no file {name!r} in the project.",
            where=f"network.toml, {place}",
            fix="Check its name; it is looked for from the project's folder.",
        )
    return path
