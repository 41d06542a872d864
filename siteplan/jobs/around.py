"""What lies around the sites of a project: obstructions.csv and the terrain file, end to end."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

from siteplan.arrays import TextArray
from siteplan.model import Obstructions, Reject, Surroundings
from siteplan.network import Network

if TYPE_CHECKING:
    from siteplan.inputs.project import Project


def read_surroundings(
    project: Project, known: TextArray, network: Network
) -> tuple[Surroundings, tuple[Reject, ...]]:
    """Return what a project knows of its sites' surroundings, and the rows that it refuses.

    Parameters
    ----------
    project : Project
        Where the files are.
    known : array of str
        Ids of the project's sites, and of rows that were rejected: their obstacles are passed
        over.
    network : Network
        For the growth of trees.

    Returns
    -------
    surroundings : Surroundings
        Empty where the project has neither file.
    rejects : tuple of Reject
        Rows of obstructions.csv, each with reason and fix.

    Raises
    ------
    SitesError
        If obstructions.csv cannot be read.
    """
    if project.obstructions_path is None:
        return Surroundings(terrain_path=project.terrain_path), ()
    from siteplan.inputs.obstructions import read_obstructions

    found, rejects = read_obstructions(
        project.obstructions_path, known, tree_growth_m_year=network.site.tree_growth_m_year
    )
    return Surroundings(found, project.terrain_path), rejects


class Shared:
    """Surroundings of all sites, of which each part takes its own."""

    def __init__(self, around: Surroundings) -> None:
        self.around = around
        self._rows: dict[str, list[int]] = {}
        if around.obstructions is not None:
            for row, name in enumerate(around.obstructions.site_id.tolist()):
                self._rows.setdefault(str(name), []).append(row)

    def of(self, site_id: TextArray) -> Surroundings:
        """Return the surroundings of some sites, obstacles in the order of the file."""
        whole = self.around.obstructions
        if whole is None:
            return self.around
        rows = sorted(row for name in site_id.tolist() for row in self._rows.get(str(name), ()))
        index = np.array(rows, dtype=np.int64)
        own = Obstructions(**{f.name: getattr(whole, f.name)[index] for f in fields(whole)})
        return Surroundings(own, self.around.terrain_path)
