"""The link budget of one site, line by line: of a plan, or of a project's folder."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from siteplan.answers.budget import Budget
from siteplan.errors import OutputError, ProjectError
from siteplan.jobs.opened import Opened, open_project
from siteplan.jobs.plan import plan_checked
from siteplan.jobs.sheets import chosen, refuse_unknown
from siteplan.results import Plan


def budget(plan: Plan, site_id: str) -> Budget:
    """Return the link budget of one site of a plan, line by line.

    Parameters
    ----------
    plan : Plan
        As ``plan_sites``, ``plan_one`` and the outcome of ``plan_project`` give it.
    site_id : str
        Which of its sites.

    Returns
    -------
    Budget
        Both directions, both hops, in clear sky and at the target; of the pair that is planned,
        installed, or was tried. Without directions where the satellite is below the horizon.

    Raises
    ------
    ProjectError
        If the plan has no such site; near ids are named.

    Examples
    --------
    >>> from siteplan.jobs.site import plan_one
    >>> plan = plan_one("3 06 S", "60 01 W", satellite="61W")
    >>> found = budget(plan, "S0001")
    >>> [way.direction for way in found.ways], found.ways[1].parts[0].lines[0].label
    (['outbound', 'inbound'], 'BUC, rated power')
    """
    import numpy as np

    from siteplan.planning.site_budget import site_budgets

    ids = [str(name) for name in plan.columns["site_id"]]
    names = [str(name) for name in plan.columns["name"]]
    refuse_unknown("site", [site_id], ids, plan.facts.source, names=names)
    return site_budgets(plan, np.array([ids.index(site_id)]))[0]


def budget_project(folder: str | Path, site_id: str, *, today: dt.date | None = None) -> Budget:
    """Plan one site of a project and return its link budget, line by line; write nothing.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    site_id : str
        Which of its sites.
    today : datetime.date, optional
        Date of the plan where the network file gives none.

    Raises
    ------
    SiteplanError
        If there is no such site (its id is told where a name is given, else near ids), its row was
        rejected, or anything cannot be used.

    Examples
    --------
    >>> found = budget_project("sample_sites/river_clinics", "RC001")
    >>> round(min(way.margin_db for way in found.ways) - found.margin_db, 2)
    0.0
    """
    found = open_project(folder)
    found.check()
    _refuse_rejected(found, site_id)
    some = chosen(found.site_list, [site_id], None)
    plan = plan_checked(
        some,
        found.network,
        name=found.project.name,
        today=today,
        with_tables=False,
        around=found.around,
    )
    return budget(plan, site_id)


def _refuse_rejected(found: Opened, site_id: str) -> None:
    """Raise where the site is there, and its row was rejected."""
    if site_id in {str(name) for name in found.site_list.sites.site_id}:
        return
    for reject in found.site_list.rejects:
        if reject.site_id == site_id:
            raise ProjectError(
                f"site {site_id!r} was rejected: row {reject.row}, {reject.key} ="
                f" {reject.value!r}.",
                where=found.site_list.source,
                fix=reject.advice,
            )


def write_budget(
    of: Budget, *, csv: str | Path | None = None, page: str | Path | None = None
) -> tuple[Path, ...]:
    """Write a budget as a table, as a page to print, or both; return where.

    A file that is there is replaced only where it is a budget.

    Parameters
    ----------
    of : Budget
        From `budget` or `budget_project`.
    csv, page : path, optional
        The table's file, and the page's.

    Raises
    ------
    OutputError
        If there is another file, or it cannot be written.
    """
    from siteplan.outputs.budget import files

    done = []
    if csv is not None:
        done.append(_written(of, Path(csv), files.write_budget_csv, files.is_budget_csv))
    if page is not None:
        done.append(_written(of, Path(page), files.write_budget_page, files.is_budget_page))
    return tuple(done)


def _written(
    of: Budget,
    target: Path,
    write: Callable[[Budget, Path], None],
    is_ours: Callable[[Path], bool],
) -> Path:
    """Write one file, where nothing else stands; return its path."""
    try:
        if target.exists() and not is_ours(target):
            raise OutputError(
                "there is something of this name, and it is no link budget.",
                where=str(target),
                fix="Give another name.",
            )
        write(of, target)
    except OSError as error:
        raise OutputError(
            f"the budget cannot be written: {error.strerror or error}.",
            where=str(target),
            fix="Check the folder and the permissions, or give another name.",
        ) from None
    return target
