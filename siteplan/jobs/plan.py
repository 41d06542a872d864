"""The plan, end to end: of a project's folder, of tables in memory, whole or in parts.

One function chooses: a table of very many rows, or work that is spread over workers, is planned
part by part with the pieces laid in files; all else in one go. The steps and the rows are the
same, and so are options, rejects and outputs.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.frozen import frozen
from siteplan.jobs import coverage, products
from siteplan.jobs.asked import Asked, Job, inputs_of, kinds_of, output_of
from siteplan.jobs.check.notes import folded, of_file, of_rows
from siteplan.jobs.opened import (
    check_plannable,
    check_terrain,
    find,
    opened,
    read_network,
    read_sites,
    told_by_cell,
)
from siteplan.jobs.products import Made
from siteplan.jobs.watch import Progress, Watch, unwatched
from siteplan.model import NoteKind, Reject, SiteList, Surroundings
from siteplan.network import Network
from siteplan.results import Facts, Plan

if TYPE_CHECKING:
    import geopandas

    from siteplan.jobs.parts.spread import Hands

#: No obstacle surveyed, no terrain at hand.
NOTHING_KNOWN = Surroundings()
#: Up to so many sites the map answers what-if questions; beyond, its file would grow too large.
MAP_TABLE_SITES = 100_000


@frozen
class Outcome:
    """What planning a project gave: results, rejects, summary, and where they stand.

    ``plan`` is None where a plan in parts has too many sites to hold in memory: their rows are
    in the tables of the folder. ``noted`` are the notes on reading, each kind once.
    """

    plan: Plan | None
    rejects: tuple[Reject, ...]
    summary: dict[str, Any]
    folder: Path
    noted: tuple[NoteKind, ...] = ()


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

    Examples
    --------
    >>> network = {"network": {"date": "2026-09-01"}, "satellite": {"longitude_deg": -61}}
    >>> table = plan([(-3.10, -60.02), (-1.46, -48.47)], network)
    >>> table["elevation_deg"].round(1).tolist()
    [86.2, 75.2]
    >>> bool((table["margin_db"] >= 0).all()), table.attrs["rejects"]
    (True, [])
    """
    from siteplan.outputs.tables.files import frame
    from siteplan.planning.report.summary import summarize

    checked = read_network(network)
    site_list = read_sites(sites, checked.sites.crs)
    result = plan_sites(site_list, checked, today=today)
    table = frame(result)
    summary = summarize(result)
    table.attrs = {
        "rejects": list(site_list.rejects),
        "assumed": summary["assumed"],
        "summary": summary,
    }
    return table


def plan_sites(
    site_list: SiteList,
    network: Network,
    *,
    name: str = "",
    today: dt.date | None = None,
    with_tables: bool = False,
    around: Surroundings = NOTHING_KNOWN,
    progress: Progress = lambda done: None,
) -> Plan:
    """Return the plan of checked sites, with the tables of map and sheets where asked for.

    Raises
    ------
    SitesError
        If no site is left to plan.
    NetworkError
        If a MODCOD is unknown, or the satellite is below every site's horizon or the hub's.
    ProjectError
        If the terrain cannot be read or holds none of the sites.
    """
    check_plannable(site_list, network)
    check_terrain(around, site_list.sites.lat, site_list.sites.lon)
    return plan_checked(
        site_list,
        network,
        name=name,
        today=today,
        with_tables=with_tables,
        around=around,
        progress=progress,
    )


def plan_checked(
    site_list: SiteList,
    network: Network,
    *,
    name: str,
    around: Surroundings,
    with_tables: bool,
    sensitivity: bool = False,
    transits: bool = False,
    certainty: bool = True,
    today: dt.date | None = None,
    progress: Progress = lambda done: None,
) -> Plan:
    """Return the plan of sites, all or some of a project that was found good to plan."""
    from siteplan.inputs.network.assumed import assumptions
    from siteplan.planning.plan import make_plan

    return make_plan(
        site_list.sites,
        network,
        assumptions=assumptions(network),
        facts=Facts(
            name=network.network.name or name,
            rows_read=site_list.rows_read,
            rejected=len(site_list.rejects),
            source=Path(site_list.source).name,
            called=site_list.called,
        ),
        today=today,
        with_tables=with_tables,
        sensitivity=sensitivity,
        transits=transits,
        certainty=certainty,
        around=around,
        progress=progress,
    )


def plan_project(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    with_map: bool = True,
    with_sheets: bool | None = None,
    with_report: bool = True,
    coverage_step_deg: float | None = None,
    map_options: Mapping[str, Any] | None = None,
    tables: Sequence[str] | str | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    workbook: bool | None = None,
    all_fields: bool = False,
    sensitivity: bool = False,
    monitoring: bool = False,
    today: dt.date | None = None,
    watch: Watch = unwatched,
) -> Outcome:
    """Plan a project folder and write its outputs, as the command does.

    From ``siteplan.jobs.asked.IN_PARTS_FROM_ROWS`` rows on, or with ``workers`` or a
    ``scheduler``, it is planned in parts, in bounded memory.

    Parameters
    ----------
    folder : path
        The project: a folder with sites.* and network.toml, or a workbook.
    output : path, optional
        Where the outputs go, else ``output/NAME`` under the current folder. A cluster must
        share it.
    with_map : bool
        Whether to write map.html.
    with_sheets : bool, optional
        Whether to write the crew's sheets; else up to ``siteplan.jobs.crew.SHEETS_UP_TO`` sites.
    with_report : bool
        Whether to write report.html.
    coverage_step_deg : float, optional
        Spacing [deg] of the coverage behind the sites and in files of its own, else the
        network file's; without either there is none.
    map_options : mapping, optional
        ``tiles``, ``plain`` and ``title`` of ``siteplan.outputs.map.payload.write_map``.
    tables : sequence of str, optional
        Of ``csv``, ``gpkg``, ``geojson`` and ``parquet``; else the first three, or the last of a
        plan in parts. With workers or a cluster the GeoParquet is a folder of parts.
    workers : int, optional
        Dask workers on this machine; 0 plans in this one process; else every processor is used.
    scheduler : str, optional
        Address of a dask scheduler.
    workbook : bool, optional
        Whether to write plan.xlsx too; else where the project is a workbook.
    all_fields : bool
        Whether plan.xlsx has every field, not those of the sheet's front and the flags alone.
    sensitivity : bool
        Whether to write sensitivity.csv however many the sites; else up to
        ``siteplan.planning.certainty.sensitivity.TABLES_UP_TO``.
    monitoring : bool
        Whether to write monitoring/ however many the sites; else up to
        ``siteplan.jobs.products.MONITORED_UP_TO``.
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
        If project, sites or network cannot be used, an option cannot be honoured, or the outputs
        cannot be written.

    Examples
    --------
    >>> done = plan_project("sample_sites/river_clinics", "out", with_map=False, with_sheets=False)
    >>> len(done.plan), done.rejects, (done.folder / "sites.csv").is_file()
    (62, (), True)
    """
    asked = Asked(
        with_map,
        with_sheets,
        kinds_of(tables),
        dict(map_options or {}),
        workers,
        scheduler,
        report=with_report,
        workbook=workbook,
        all_fields=all_fields,
        sensitivity=sensitivity,
        monitoring=monitoring,
    )
    asked.check()
    target = output_of(folder, output)
    project, network = find(folder)
    covering = coverage.wanted(project, network, coverage_step_deg)
    return carry_out(Job(project, network, asked, target, covering, today, watch))


def carry_out(job: Job, hands: Hands | None = None) -> Outcome:
    """Plan as a job says, whole or in parts, and write the outputs: all of them or none.

    Parameters
    ----------
    job : Job
        What to plan and to write; its options are checked.
    hands : Hands, optional
        What works parts out; else what the job's options and the number of rows ask for.
    """
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed

    apart(job.folder, job.project.folder, inputs_of(job.project, job.network, job.covering))
    with (
        told_by_cell(job.project),
        claimed(job.folder) as claim,
        _made(job, hands) as made,
        claim.staged(products.names(made)) as new,
    ):
        products.write(made, new)
    return Outcome(
        made.plan if made.whole else None,
        made.rejects,
        made.summary,
        job.folder,
        folded(made.lines),
    )


@contextmanager
def _made(job: Job, hands: Hands | None) -> Iterator[Made]:
    """Yield the plan of a job; parts in files are there until the outputs are written."""
    from siteplan.inputs.kinds import rows_in

    if hands is None and not job.asked.in_parts(rows_in(job.project.sites_path)):
        yield _as_a_whole(job)
        return
    from siteplan.jobs.parts import spread

    with spread.in_parts(job, hands) as made:
        yield made


def _as_a_whole(job: Job) -> Made:
    """Return the plan of all sites at once."""
    from siteplan.planning.report.summary import summarize
    from siteplan.planning.rollout.answer import rolled_out

    found = opened(job.project, job.network)
    found.check()
    overlays = coverage.read_overlays(job.project, job.network)
    sites = found.site_list.sites
    laid = coverage.lay(sites, job.covering) if job.covering else None
    result = plan_checked(
        found.site_list,
        job.network,
        name=job.name,
        today=job.today,
        with_tables=len(sites) <= MAP_TABLE_SITES,
        sensitivity=job.asked.sensitivity or products.sensed_unasked(len(sites)),
        transits=job.asked.monitoring or products.monitored_unasked(len(sites)),
        around=found.around,
        progress=job.watch(len(sites)),
    )
    result = rolled_out(result)
    covered = coverage.work_out(laid, job.network) if laid else None
    behind = coverage.behind(covered, overlays)
    lines = (*of_file(found.site_list), *of_rows(found.site_list))
    return Made(
        *(job, result, len(result), found.rejects, summarize(result), covered, behind),
        lines=lines,
        read=found.read,
        around=found.around,
    )
