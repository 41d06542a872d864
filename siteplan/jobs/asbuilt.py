"""As built, end to end: plan, what came back, the plan of the built sites, the comparison."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.errors import SitesError
from siteplan.inputs.project import Project
from siteplan.model import Obstructions, Returned, SiteList, Sites, Surroundings
from siteplan.network import Network
from siteplan.results import AsBuilt, Plan


def compare_returned(
    project: Project,
    site_list: SiteList,
    network: Network,
    returned_path: Path,
    *,
    today: dt.date | None = None,
) -> AsBuilt:
    """Compare what came back from the sites of a project with what was planned.

    Parameters
    ----------
    project, site_list, network
        The project, read and checked.
    returned_path : Path
        The filled-in returned.csv.
    today : datetime.date, optional
        Date of the plan where the network file gives none.

    Returns
    -------
    AsBuilt

    Raises
    ------
    SiteplanError
        If the file cannot be read, or nothing in it can be used.
    """
    from siteplan.inputs.network.read import assumptions
    from siteplan.inputs.returned import read_returned
    from siteplan.jobs.around import read_surroundings
    from siteplan.planning.asbuilt.differences import Compared, compare
    from siteplan.planning.plan import make_plan

    around, _ = read_surroundings(project, site_list, network)
    back, rejects = read_returned(returned_path, site_list.sites.site_id)
    if not len(back):
        raise SitesError(
            f"nothing came back that can be used: {len(rejects)} rows rejected, {back.blank}"
            " left blank.",
            where=Path(returned_path).name,
            fix=rejects[0].reason if rejects else "Fill in the measured values.",
        )
    sites = _in_order(site_list.sites, back)
    make = partial(
        make_plan, network=network, assumptions=assumptions(network), today=today, with_tables=True
    )
    planned = make(sites, around=around)
    built = as_found(sites, planned, back)
    there = Surroundings(_together(around.obstructions, back.obstacles), around.terrain_path)
    replanned = make(built, around=there)
    gone = set(back.site_id.tolist())
    missing = tuple(str(name) for name in site_list.sites.site_id.tolist() if name not in gone)
    columns = compare(Compared(planned, replanned, back))
    return AsBuilt(columns, planned, replanned, rejects, back.blank, missing)


def _in_order(sites: Sites, back: Returned) -> Sites:
    """Return the sites that came back, in the order in which they did."""
    place = {name: i for i, name in enumerate(sites.site_id.tolist())}
    return sites.take(np.array([place[name] for name in back.site_id.tolist()], dtype=np.int64))


def as_found(sites: Sites, planned: Plan, back: Returned) -> Sites:
    """Return sites (m,) at the measured positions and cables, the planned kit installed."""
    here = ~np.isnan(back.lat)
    return replace(
        sites,
        lat=np.where(here, back.lat, sites.lat),
        lon=np.where(here, back.lon, sites.lon),
        cable_m=_known(back.cable_m, sites.cable_m),
        fixed_antenna_m=_known(sites.fixed_antenna_m, planned.columns["antenna_m"]),
        fixed_buc_w=_known(sites.fixed_buc_w, planned.columns["buc_w"]),
    )


def _known(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return ``first`` (m,) where it is known, else ``second``."""
    return np.where(np.isnan(first), second, first)


def _together(known: Obstructions | None, found: Obstructions) -> Obstructions:
    """Return the obstacles of the project and those that came back."""
    if known is None:
        return found
    return Obstructions(
        *(
            np.concatenate([getattr(known, name), getattr(found, name)])
            for name in Obstructions.__dataclass_fields__
        )
    )
