"""What lies around the sites of a project: obstructions.csv and the terrain file, end to end."""

from __future__ import annotations

import numpy as np

from siteplan.inputs.project import Project
from siteplan.model import Reject, SiteList, Surroundings
from siteplan.network import Network


def read_surroundings(
    project: Project, site_list: SiteList, network: Network
) -> tuple[Surroundings, tuple[Reject, ...]]:
    """Return what a project knows of its sites' surroundings, and the rows that it refuses.

    Parameters
    ----------
    project : Project
        Where the files are.
    site_list : SiteList
        The project's sites; obstacles of a site that was itself rejected are passed over.
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

    refused = np.array([reject.site_id for reject in site_list.rejects], dtype=object)
    found, rejects = read_obstructions(
        project.obstructions_path,
        np.concatenate([site_list.sites.site_id, refused]),
        tree_growth_m_year=network.site.tree_growth_m_year,
    )
    return Surroundings(found, project.terrain_path), rejects
