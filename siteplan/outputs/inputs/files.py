"""``inputs/``: what a plan was made from, so that a later one can be held against it.

The network and the sites as they were read, the obstacles around them, and by which methods, with
which maps and on which date the plan was made. Nothing in it tells where anything lay on this
machine, and none of the user's free columns is in it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from siteplan.model import Surroundings
from siteplan.network import Network
from siteplan.outputs.inputs.network import write_network
from siteplan.outputs.inputs.sites import OBSTRUCTIONS_NAME, write_obstructions
from siteplan.outputs.tables.files import write_json

METHODS_NAME = "methods.json"
#: Raised where what is written changes so that an earlier folder cannot be read as it was.
FORMAT = 1


def write_beside_sites(
    network: Network, around: Surroundings, made: Mapping[str, Any], folder: Path
) -> None:
    """Write all of ``inputs/`` but the sites into a folder that exists.

    Parameters
    ----------
    network : Network
        As it was read.
    around : Surroundings
        Obstacles, and the file of the terrain: it is named with its hash, and not kept.
    made : mapping
        By what the plan was made: version, date, methods and maps.
    folder : Path
        Where the files go.
    """
    write_network(network, folder)
    if around.obstructions is not None:
        write_obstructions(around.obstructions, folder / OBSTRUCTIONS_NAME)
    told = {"format": FORMAT, **made, "terrain": terrain(around.terrain_path)}
    write_json(told, folder / METHODS_NAME)


def terrain(path: Path | None) -> dict[str, Any] | None:
    """Return the name, the size [bytes] and the SHA-256 of a terrain file; None without one."""
    if path is None:
        return None
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return {"name": path.name, "bytes": path.stat().st_size, "sha256": digest}
