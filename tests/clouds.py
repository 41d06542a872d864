"""Small stand-ins for P.840-9's cloud maps, for tests that have not the maps themselves."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from siteplan.physics.propagation.mapped.maps import bilinear, grid

LEVELS_PCT = (5, 10, 20, 30, 50)
#: Grid values of the annual maps of ITU-R P.840-9 [kg/m2] at the nodes around the places of ITU-R's
#: validation examples, as a public library carries them.
NODES = Path(__file__).parent / "reference" / "cloud_nodes.csv"


def nodes() -> list[dict[str, float]]:
    """Return the nodes: ``lat``, ``lon`` [deg] and the values by percentage."""
    with NODES.open(encoding="utf-8", newline="") as file:
        return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(file)]


@cache
def values_at(p_pct: int) -> NDArray[np.float64]:
    """Return a map (721, 1441): P.840-7's values, and P.840-9's at the nodes that are known."""
    lat, lon = np.meshgrid(90 - 0.25 * np.arange(721), 0.25 * np.arange(1441), indexing="ij")
    older = bilinear(grid("cloud_liquid", p_pct), lat.ravel(), lon.ravel())
    values = np.nan_to_num(older.reshape(lat.shape).round(3))  # it has gaps at the poles
    for node in nodes():
        row, column = round((90 - node["lat"]) * 4), round(node["lon"] * 4)
        values[row, [column, 0] if column == 1440 else column] = node[str(p_pct)]
    values.flags.writeable = False
    return values


def write_maps(folder: Path, name: str = "v9_l_{}.npz") -> Path:
    """Write the five maps into a folder, as npz or as text by their name's ending."""
    for p_pct in LEVELS_PCT:
        path = folder / name.format(p_pct)
        if path.suffix == ".npz":
            np.savez_compressed(path, values_at(p_pct))
        else:
            np.savetxt(path, values_at(p_pct), fmt="%.3f")
    return folder
