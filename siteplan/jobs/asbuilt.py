"""As built, end to end: plan, what came back, the plan of the built sites, the comparison."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.errors import SitesError
from siteplan.jobs.asked import inputs_of, output_of
from siteplan.jobs.opened import Opened, find, open_project, opened
from siteplan.model import Obstructions, Returned, Sites, Surroundings
from siteplan.results import AsBuilt, Plan

if TYPE_CHECKING:
    from siteplan.outputs.folder.claim import Claim
    from siteplan.planning.asbuilt.readings import Reread

#: The folder of what came back, in the project's outputs.
ASBUILT_NAME = "asbuilt"


def asbuilt_project(
    folder: str | Path, returned: str | Path, *, today: dt.date | None = None
) -> AsBuilt:
    """Compare what came back from a project's sites with what was planned.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    returned : path
        The filled-in returned.csv.
    today : datetime.date, optional
        Date of the plan where the network file gives none.

    Returns
    -------
    AsBuilt
        Differences, likely causes, verdicts, and the plan of the sites as they were built.

    Raises
    ------
    SiteplanError
        If project or file cannot be used.
    """
    found = open_project(folder)
    found.check()
    return compare_returned(found, Path(returned), today=today)


def write_asbuilt(result: AsBuilt, folder: str | Path, output: str | Path | None = None) -> Path:
    """Write what came back against the plan: table, acceptance list, rejects and map.

    Parameters
    ----------
    result : AsBuilt
        From `asbuilt_project`.
    folder : path
        The project, for its name.
    output : path, optional
        The project's output folder, else ``output/NAME`` under the current folder.

    Returns
    -------
    Path
        The folder ``asbuilt`` in it; a later plan leaves it alone.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    from siteplan.outputs.folder.claim import claimed

    base = output_of(folder, output, part=ASBUILT_NAME)
    with claimed(base, part=ASBUILT_NAME) as claim:
        _write(result, claim)
    return base / ASBUILT_NAME


def asbuilt_outputs(
    folder: str | Path,
    returned: str | Path,
    output: str | Path | None = None,
    *,
    today: dt.date | None = None,
) -> tuple[AsBuilt, Path]:
    """Compare what came back with what was planned, and write it, as the command does.

    The output is held from the start: where another run is at work there, this one ends at once.

    Parameters
    ----------
    folder, returned, today
        As in `asbuilt_project`.
    output : path, optional
        As in `write_asbuilt`.

    Returns
    -------
    AsBuilt
        As of `asbuilt_project`.
    Path
        The folder ``asbuilt``.

    Raises
    ------
    SiteplanError
        If project or file cannot be used, or the folder cannot be written.
    """
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed

    base = output_of(folder, output, part=ASBUILT_NAME)
    project, network = find(folder)
    read = (*inputs_of(project, network), Path(returned))
    apart(base, project.folder, read, part=ASBUILT_NAME)
    with claimed(base, part=ASBUILT_NAME) as claim:
        found = opened(project, network)
        found.check()
        result = compare_returned(found, Path(returned), today=today)
        _write(result, claim)
    return result, base / ASBUILT_NAME


def _write(result: AsBuilt, claim: Claim) -> None:
    from siteplan.outputs.asbuilt import files as asbuilt

    with claim.staged(asbuilt.OUTPUT_NAMES) as new:
        asbuilt.write_asbuilt(result, new)


def compare_returned(
    found: Opened, returned_path: Path, *, today: dt.date | None = None
) -> AsBuilt:
    """Compare what came back from the sites of a project, opened and checked, with its plan.

    Raises
    ------
    SiteplanError
        If the file cannot be read, or nothing in it can be used.
    """
    from siteplan.inputs.network.assumed import assumptions
    from siteplan.inputs.returned import read_returned
    from siteplan.planning.asbuilt.differences import Compared, compare
    from siteplan.planning.asbuilt.readings import read_again
    from siteplan.planning.cost.totals import without_lives
    from siteplan.planning.plan import make_plan

    site_list, network, around = found.site_list, found.network, found.around
    back, rejects = read_returned(returned_path, site_list.sites.site_id, site_list.sites.name)
    if not len(back):
        raise SitesError(
            f"nothing came back that can be used: {len(rejects)} rows rejected, {back.blank}"
            " left blank.",
            where=Path(returned_path).name,
            fix=rejects[0].reason if rejects else "Fill in the measured values.",
        )
    sites = _in_order(site_list.sites, back)

    def make(some: Sites, *, around: Surroundings, with_tables: bool = True) -> Plan:
        known = assumptions(network)
        return without_lives(
            make_plan(
                *(some, network),
                assumptions=known,
                today=today,
                with_tables=with_tables,
                around=around,
            )
        )

    planned = make(sites, around=around)
    reread = read_again(back, dict(planned.columns))
    built = as_found(sites, planned, reread)
    there = Surroundings(_together(around.obstructions, back.obstacles), around.terrain_path)
    replanned = make(built, around=there)
    gone = set(back.site_id.tolist())
    left = np.array([name not in gone for name in site_list.sites.site_id.tolist()], dtype=bool)
    refused = {reject.site_id for reject in rejects}
    awaited = _awaited(
        site_list.sites.take(np.flatnonzero(left)), refused, partial(make, around=around)
    )
    waited = [str(name) for name in awaited.columns["site_id"].tolist()] if awaited else []
    return AsBuilt(
        compare(Compared(planned, replanned, back, reread)),
        *(planned, replanned, rejects, back.blank),
        missing=tuple(name for name in waited if name not in refused),
        awaited=awaited,
        unusable=tuple(name for name in waited if name in refused),
    )


def _awaited(sites: Sites, refused: set[str], make: Callable[..., Plan]) -> Plan | None:
    """Return the plan of those of sites (m,) that something usable is to come back from.

    They get kit, or something came back already that could not be used.
    """
    from siteplan.planning.assembly import given

    if not len(sites):
        return None
    came = np.array([str(name) in refused for name in sites.site_id.tolist()], dtype=bool)
    to_come = np.flatnonzero(came | given(make(sites, with_tables=False).columns)["kit"])
    return make(sites.take(to_come)) if len(to_come) else None


def _in_order(sites: Sites, back: Returned) -> Sites:
    """Return the sites that came back, in the order in which they did."""
    place = {name: i for i, name in enumerate(sites.site_id.tolist())}
    return sites.take(np.array([place[name] for name in back.site_id.tolist()], dtype=np.int64))


def as_found(sites: Sites, planned: Plan, taken: Reread) -> Sites:
    """Return sites (m,) at the measured positions and cables, the planned kit installed."""
    return replace(
        sites,
        lat=_known(taken.lat, sites.lat),
        lon=_known(taken.lon, sites.lon),
        cable_m=_known(taken.cable_m, sites.cable_m),
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
