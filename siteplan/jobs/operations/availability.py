"""Availability, end to end: plan, the log of outages, what it comes to against the plan."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from siteplan.jobs.asked import inputs_of, output_of
from siteplan.jobs.opened import Opened, find, open_project, opened
from siteplan.jobs.plan import plan_checked
from siteplan.results import OutageStatistics

#: The folder of what a log comes to, in the project's outputs.
AVAILABILITY_NAME = "availability"


def availability_project(
    folder: str | Path,
    outages: str | Path,
    *,
    since: str = "",
    until: str = "",
    today: dt.date | None = None,
) -> OutageStatistics:
    """Compare a log of outages with what a project's plan expects.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    outages : path
        The log: site_id, from, to, cause, counted.
    since, until : str
        From when to when the log runs (ISO 8601), else its first and last moment; outages without
        an end run to ``until``.
    today : datetime.date, optional
        Date of the plan where the network file gives none.

    Returns
    -------
    OutageStatistics
        By site, month and cause, and rain against the plan; the rows that cannot be used.

    Raises
    ------
    SiteplanError
        If project or log cannot be used.
    """
    found = open_project(folder)
    found.check()
    return _compared(found, Path(outages), (since, until), today)


def availability_outputs(
    folder: str | Path,
    outages: str | Path,
    output: str | Path | None = None,
    *,
    since: str = "",
    until: str = "",
    today: dt.date | None = None,
) -> tuple[OutageStatistics, Path]:
    """Compare a log of outages with the plan and write it, as the command does.

    Parameters
    ----------
    folder, outages, since, until, today
        As in `availability_project`.
    output : path, optional
        The project's output folder, else ``output/NAME`` under the current folder.

    Returns
    -------
    OutageStatistics
        As of `availability_project`.
    Path
        The folder ``availability`` in it; a later plan leaves it alone.

    Raises
    ------
    SiteplanError
        If project or log cannot be used, or the folder cannot be written.
    """
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed
    from siteplan.outputs.operations import availability as files

    base = output_of(folder, output, part=AVAILABILITY_NAME)
    project, network = find(folder)
    read = (*inputs_of(project, network), Path(outages))
    apart(base, project.folder, read, part=AVAILABILITY_NAME)
    with claimed(base, part=AVAILABILITY_NAME) as claim:
        found = opened(project, network)
        found.check()
        result = _compared(found, Path(outages), (since, until), today)
        with claim.staged(files.OUTPUT_NAMES) as new:
            files.write_availability(result, new)
    return result, base / AVAILABILITY_NAME


def _compared(
    found: Opened, outages: Path, span: tuple[str, str], today: dt.date | None
) -> OutageStatistics:
    """Compare a log with the plan of a project, opened and checked."""
    from siteplan.inputs.outages import Places, Span, read_outages
    from siteplan.planning.operations.outages import outage_report

    plan = plan_checked(
        found.site_list,
        found.network,
        name=found.project.name,
        around=found.around,
        with_tables=False,
        certainty=False,
        today=today,
    )
    places = Places(
        plan.columns["site_id"],
        plan.columns["timezone"],
        tuple(hub.name for hub in plan.facts.hubs),
        found.network.network.timezone,
    )
    log, rejects = read_outages(outages, places, Span(*span))
    return OutageStatistics(plan, log, outage_report(plan, log), rejects)
