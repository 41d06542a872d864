"""The same job from Python and from the command line: read, plan, write.

This is the one place where inputs, planning and outputs meet.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.errors import NetworkError, ProjectError, SitesError
from siteplan.model import Reject, SiteList, Surroundings
from siteplan.network import Network
from siteplan.results import AsBuilt, Facts, Plan

if TYPE_CHECKING:
    import geopandas

    from siteplan.inputs.project import Project
    from siteplan.jobs import coverage, crew

#: What a plan writes into its folder; anything else there is the user's and stays.
OUTPUT_NAMES = (
    "sites.csv",
    "sites.gpkg",
    "sites.geojson",
    "rejects.csv",
    "summary.json",
    "map.html",
)


#: No obstacle surveyed, no terrain at hand.
NOTHING_KNOWN = Surroundings()
#: Up to so many sites the map answers what-if questions; beyond, its file would grow too large.
MAP_TABLE_SITES = 100_000


@dataclass(frozen=True)
class Outcome:
    """What planning a project gave: results, rejects, summary, and where they stand."""

    plan: Plan
    rejects: tuple[Reject, ...]
    summary: dict[str, Any]
    folder: Path


def plan(
    sites: Any, network: Network | dict[str, Any] | str | Path, *, today: dt.date | None = None
) -> geopandas.GeoDataFrame:
    """Plan sites and return the results as a GeoDataFrame.

    Parameters
    ----------
    sites : path, DataFrame, GeoDataFrame, mapping of columns, or pairs of (lat, lon)
        The sites; only latitude and longitude [deg] are needed.
    network : Network, mapping, or path of a network.toml
        The network; only ``[satellite] longitude_deg`` is needed.
    today : datetime.date, optional
        Date of the plan where the network gives none (else the day it runs).

    Returns
    -------
    geopandas.GeoDataFrame
        One row a planned site with the fields that ``siteplan fields`` lists, EPSG:4326.
        ``attrs`` holds ``rejects`` (a list of ``siteplan.model.Reject``), ``assumed`` and
        ``summary``.

    Raises
    ------
    SitesError, NetworkError
        If sites or network cannot be used; the message says where and how to mend it.
    """
    from siteplan.outputs.tables.files import frame
    from siteplan.planning.report.summary import summarize

    site_list, checked = read_sites(sites), read_network(network)
    result = plan_sites(site_list, checked, today=today)
    table = frame(result)
    summary = summarize(result)
    table.attrs = {
        "rejects": list(site_list.rejects),
        "assumed": summary["assumed"],
        "summary": summary,
    }
    return table


def read_sites(sites: Any) -> SiteList:
    """Return checked sites from a path or from a table in memory.

    Raises
    ------
    SitesError
        If the table cannot be used at all.
    """
    from siteplan.inputs.sites import read as reader

    if isinstance(sites, SiteList):
        return sites
    if isinstance(sites, str | Path):
        return reader.read_sites(Path(sites))
    return reader.sites_from_frame(sites)


def read_network(network: Network | dict[str, Any] | str | Path) -> Network:
    """Return a checked network from a path, a mapping or a ready ``Network``.

    Raises
    ------
    NetworkError
        If a key is unknown, missing or out of range.
    """
    from siteplan.inputs.network import read as network_file

    if isinstance(network, Network):
        return network
    if isinstance(network, str | Path):
        return network_file.read_network(Path(network))
    return network_file.network_from_mapping(network)


def plan_sites(
    site_list: SiteList,
    network: Network,
    *,
    name: str = "",
    today: dt.date | None = None,
    with_tables: bool = False,
    around: Surroundings = NOTHING_KNOWN,
    progress: Callable[[int], None] = lambda done: None,
) -> Plan:
    """Return the plan of checked sites, with the tables of map and sheets where asked for.

    Raises
    ------
    SitesError
        If no site is left to plan.
    NetworkError
        If a MODCOD is unknown, or the satellite is below every site's horizon or the hub's.
    """
    from siteplan.inputs.network.read import assumptions
    from siteplan.planning.plan import make_plan

    check_plannable(site_list, network)
    return make_plan(
        site_list.sites,
        network,
        assumptions=assumptions(network),
        facts=Facts(
            name=network.network.name or name,
            rows_read=site_list.rows_read,
            rejected=len(site_list.rejects),
            source=Path(site_list.source).name,
        ),
        today=today,
        with_tables=with_tables,
        around=around,
        progress=progress,
    )


def check_plannable(site_list: SiteList, network: Network) -> None:
    """Raise where nothing can be planned: no site, no MODCOD, no hub, no satellite in sight.

    Raises
    ------
    SitesError, NetworkError
        With the file and the key, and what to do.
    """
    from siteplan.planning.place import any_site_sees
    from siteplan.planning.setting import setting

    if not len(site_list.sites):
        raise SitesError(
            f"no site is left: {len(site_list.rejects)} of {site_list.rows_read} rows rejected.",
            where=site_list.source,
            fix=_first_reject(site_list.rejects),
        )
    setting(network)
    if not any_site_sees(site_list.sites, network):
        raise NetworkError(
            f"the satellite at {network.satellite.longitude_deg:g} deg is below the horizon of"
            f" every one of the {len(site_list.sites)} sites.",
            where="network.toml, [satellite] longitude_deg",
            fix="East is positive, west negative: check the sign, and the signs of the sites.",
        )


def _first_reject(rejects: tuple[Reject, ...]) -> str:
    """Return the first reject as the hint, where there is one."""
    if not rejects:
        return "Add rows with lat and lon."
    first = rejects[0]
    return f"The first: row {first.row}, {first.key} = {first.value!r}: {first.advice}"


def plan_project(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    with_map: bool = True,
    with_sheets: bool | None = None,
    coverage_step_deg: float | None = None,
    map_options: Mapping[str, Any] | None = None,
    today: dt.date | None = None,
    watch: crew.Watch = lambda total, label="": lambda done: None,
) -> Outcome:
    """Plan a project folder and write its outputs.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    output : path, optional
        Where the outputs go, else ``output/NAME`` under the current folder.
    with_map : bool
        Whether to write map.html.
    with_sheets : bool, optional
        Whether to write the crew's sheets; else up to ``siteplan.jobs.crew.SHEETS_UP_TO`` sites.
    coverage_step_deg : float, optional
        Spacing [deg] of the coverage behind the sites and in files of its own, else the
        network file's; without either there is none.
    map_options : mapping, optional
        ``tiles`` and ``plain`` of ``siteplan.outputs.map.payload.write_map``.
    today : datetime.date, optional
        Date of the plan where the network file gives none.
    watch : callable
        Given the number of sites or sheets, and a label, returns what is told the number done.

    Returns
    -------
    Outcome
        Also when rows were rejected: they are in rejects.csv.

    Raises
    ------
    SiteplanError
        If project, sites or network cannot be used, or the outputs cannot be written.
    """
    from siteplan.jobs import coverage
    from siteplan.jobs.around import read_surroundings
    from siteplan.planning.report.summary import summarize

    draw = _map_writer(map_options or {}) if with_map else None
    project, site_list, network = read_project(folder)
    asked = coverage.wanted(project, network, step_deg=coverage_step_deg)
    around, more_rejects = read_surroundings(project, site_list, network)
    rejects = site_list.rejects + more_rejects
    result = plan_sites(
        site_list,
        network,
        name=project.name,
        today=today,
        with_tables=len(site_list.sites) <= MAP_TABLE_SITES,
        around=around,
        progress=watch(len(site_list.sites)),
    )
    target = Path(output) if output is not None else Path("output") / project.name
    summary = summarize(result)
    covered = coverage.work_out(site_list.sites, network, asked) if asked else None
    backing = coverage.behind(covered, coverage.read_overlays(project, network))
    write_outputs(
        result,
        rejects,
        summary,
        target,
        draw=draw and partial(draw, backing=backing),
        with_sheets=with_sheets,
        covered=covered,
        watch=watch,
    )
    return Outcome(result, rejects, summary, target)


def _map_writer(options: Mapping[str, Any]) -> Callable[..., None]:
    """Return what writes the map; unusable options raise before the plan is worked out."""
    from siteplan.outputs.map.page import policy
    from siteplan.outputs.map.payload import write_map

    policy(options.get("tiles", ""))
    return partial(write_map, **options)


def read_project(folder: str | Path) -> tuple[Project, SiteList, Network]:
    """Return a project folder's parts, read and checked.

    Raises
    ------
    SiteplanError
        If a file is missing or cannot be used.
    """
    from siteplan.inputs.project import find_project
    from siteplan.jobs.coverage import check_files

    project = find_project(Path(folder))
    network = read_network(project.network_path)
    check_files(project, network)
    return project, read_sites(project.sites_path), network


def write_outputs(
    result: Plan,
    rejects: tuple[Reject, ...],
    summary: dict[str, Any],
    folder: Path,
    *,
    draw: Callable[[Plan, Path], None] | None = None,
    with_sheets: bool | None = None,
    covered: coverage.Covered | None = None,
    watch: crew.Watch = lambda total, label="": lambda done: None,
) -> None:
    """Write all outputs of a plan; they appear together or not at all.

    What was written for the crew is put into ``summary`` under ``crew``; ``draw`` writes the
    map (None: no map), which links to the sheets where there are any.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    from siteplan.jobs import coverage, crew
    from siteplan.outputs.coverage.files import OUTPUT_NAMES as COVERAGE_NAMES
    from siteplan.outputs.folder import staged
    from siteplan.outputs.tables import files as tables

    ours = (*OUTPUT_NAMES, *crew.OUTPUT_NAMES, *(COVERAGE_NAMES if covered is not None else ()))
    with staged(folder, frozenset(ours)) as new:
        tables.write_csv(result, new / "sites.csv")
        tables.write_gpkg(result, new / "sites.gpkg")
        tables.write_geojson(result, new / "sites.geojson")
        tables.write_rejects(rejects, new / "rejects.csv")
        summary["crew"] = crew.write(result, new, sheets=with_sheets, watch=watch)
        tables.write_json(summary, new / "summary.json")
        if draw is not None:
            facts = replace(result.facts, sheets=(new / "sheets").is_dir())
            draw(replace(result, facts=facts), new / "map.html")
        if covered is not None:
            coverage.write(covered, new)


def coverage_project(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    step_deg: float | None = None,
    area: str | Path | None = None,
    land_only: bool = False,
    workers: int | None = None,
    scheduler: str | None = None,
    watch: Callable[[int], Callable[[int], None]] = lambda total: lambda done: None,
) -> coverage.Written:
    """Work out the coverage of a project folder and write it.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    output : path, optional
        Where the files go, else ``output/NAME`` under the current folder; what else is there
        stays.
    step_deg : float, optional
        Spacing of the grid [deg], else the network file's, else 0.25.
    area : path, optional
        A file of polygons, else the network file's, else the sites' extent with a margin.
    land_only : bool
        Whether to cut to land.
    workers, scheduler : int, str, optional
        Dask workers on this machine, or the address of a dask scheduler, to spread the grid on.
    watch : callable
        Given the number of points, returns what is told the number done.

    Raises
    ------
    SiteplanError
        If project, area or network cannot be used, or the files cannot be written.
    """
    from siteplan.jobs import coverage
    from siteplan.jobs.parts.cluster import spread_over
    from siteplan.outputs.coverage.files import OUTPUT_NAMES as COVERAGE_NAMES
    from siteplan.outputs.folder import staged

    project, site_list, network = read_project(folder)
    check_plannable(site_list, network)
    step = step_deg if step_deg is not None else network.coverage.step_deg
    asked = coverage.wanted(
        project,
        network,
        step_deg=coverage.DEFAULT_STEP_DEG if step is None else step,
        area=area,
        land_only=land_only,
    )
    assert asked is not None
    with spread_over(workers, scheduler) as spread:
        covered = coverage.work_out(site_list.sites, network, asked, spread=spread, watch=watch)
    target = Path(output) if output is not None else Path("output") / project.name
    with staged(target, frozenset(COVERAGE_NAMES)) as new:
        points, names = coverage.write(covered, new)
    return coverage.Written(covered, target, points, names)


def sheets_project(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    only: Sequence[str] = (),
    group: str | None = None,
    today: dt.date | None = None,
    watch: crew.Watch = lambda total, label="": lambda done: None,
) -> Path:
    """Plan some sites of a project and write the crew's pack for them alone.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    output : path, optional
        The project's output folder, else ``output/NAME`` under the current folder. The pack
        goes into ``selected`` in it, in the place of the last selection's.
    only : sequence of str
        Ids of sites.
    group : str, optional
        A group; with ``only`` both must hold.
    today : datetime.date, optional
        Date of the plan where the network file gives none.
    watch : callable
        As in `plan_project`.

    Returns
    -------
    Path
        The folder ``selected``.

    Raises
    ------
    SiteplanError
        If nothing is chosen, an id or the group is unknown, or anything cannot be used.
    """
    from siteplan.jobs import crew
    from siteplan.jobs.around import read_surroundings
    from siteplan.outputs.folder import staged

    if not only and group is None:
        raise ProjectError(
            "no site is chosen.",
            fix="Give --only ID,ID or --group NAME; for all sites: siteplan plan --sheets.",
        )
    project, site_list, network = read_project(folder)
    around, _ = read_surroundings(project, site_list, network)
    some = crew.chosen(site_list, only, group)
    result = plan_sites(
        some, network, name=project.name, today=today, with_tables=True, around=around
    )
    base = Path(output) if output is not None else Path("output") / project.name
    target = base / "selected"
    with staged(target, frozenset(crew.OUTPUT_NAMES)) as new:
        crew.write(result, new, sheets=True, watch=watch)
    return target


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
    from siteplan.jobs.asbuilt import compare_returned

    project, site_list, network = read_project(folder)
    check_plannable(site_list, network)
    return compare_returned(project, site_list, network, Path(returned), today=today)


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
    from siteplan.outputs.asbuilt import files as asbuilt
    from siteplan.outputs.folder import staged

    name = Path(folder).resolve().name or "project"
    base = Path(output) if output is not None else Path("output") / name
    with staged(base / "asbuilt", frozenset(asbuilt.OUTPUT_NAMES)) as new:
        asbuilt.write_asbuilt(result, new)
    return base / "asbuilt"
