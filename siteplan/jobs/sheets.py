"""The crew's pack of some sites of a project: ``siteplan sheets``."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.errors import ProjectError
from siteplan.jobs import crew
from siteplan.jobs.asked import inputs_of, output_of
from siteplan.jobs.opened import Opened, check_plannable, find, opened, told_by_cell
from siteplan.jobs.plan import plan_checked
from siteplan.jobs.watch import Watch, unwatched
from siteplan.model import SiteList, Sites
from siteplan.results import Plan


def sheets_project(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    only: Sequence[str] = (),
    group: str | None = None,
    today: dt.date | None = None,
    watch: Watch = unwatched,
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
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed

    if not only and group is None:
        raise ProjectError(
            "no site is chosen.",
            fix="Give --only ID,ID or --group NAME; for all sites: siteplan plan --sheets.",
        )
    base = output_of(folder, output, part=crew.SELECTED_NAME)
    project, network = find(folder)
    apart(base, project.folder, inputs_of(project, network), part=crew.SELECTED_NAME)
    with claimed(base, part=crew.SELECTED_NAME) as claim:
        found = opened(project, network)
        result = _planned(found, only, group, today)
        with claim.staged(crew.OUTPUT_NAMES) as new:
            if len(result) <= crew.PACK_UP_TO:
                crew.write_lists(result, new)
            crew.write_sheets(result, new / crew.SHEETS_NAME, watch)
    return base / crew.SELECTED_NAME


def _planned(found: Opened, only: Sequence[str], group: str | None, today: dt.date | None) -> Plan:
    """Return the plan of the sites that are chosen."""
    some = chosen(found.site_list, only, group)
    found.check_around()
    with told_by_cell(found.project):
        check_plannable(some, found.network)
    return plan_checked(
        some,
        found.network,
        name=found.project.name,
        today=today,
        with_tables=True,
        around=found.around,
    )


def chosen(site_list: SiteList, only: Sequence[str], group: str | None) -> SiteList:
    """Return the sites that are named, or are of a group, in the order of the table.

    Raises
    ------
    ProjectError
        If an id or the group is not there, or both leave no site.
    """
    sites = site_list.sites
    wanted = np.ones(len(sites), dtype=bool)
    if only:
        refuse_unknown(
            "site", only, sites.site_id.tolist(), site_list.source, names=sites.name.tolist()
        )
        wanted &= np.isin(sites.site_id.astype(str), list(only))
    if group is not None:
        refuse_unknown("group", [group], sites.group.tolist(), site_list.source)
        wanted &= sites.group.astype(str) == group
    if not wanted.any():
        raise ProjectError(
            f"none of the sites named is in the group {group!r}.",
            where=site_list.source,
            fix="Leave out --group, or name sites of that group.",
        )
    return replace(site_list, sites=_taken(sites, wanted))


def _taken(sites: Sites, wanted: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Sites:
    return sites.take(np.flatnonzero(wanted).astype(np.int64))


def refuse_unknown(
    what: str, asked: Sequence[str], known: list[str], where: str, *, names: Sequence[str] = ()
) -> None:
    """Raise for the first that is not known, with the id that it names, or those like it.

    Parameters
    ----------
    what : str
        What is asked for, in a word.
    asked, known : sequence of str
        What is asked for, and what there is.
    where : str
        What the message begins with.
    names : sequence of str
        Of sites, by which people may ask for them: one for each of ``known``.

    Raises
    ------
    ProjectError
        With the id whose name was given, else up to three near ones.
    """
    there = {str(name) for name in known}
    for name in asked:
        if name not in there:
            if fix := _named(name, known, names):
                raise ProjectError(f"there is no {what} of the id {name!r}.", where=where, fix=fix)
            near = difflib.get_close_matches(name, sorted(there - {""}), n=3)
            fix = f"Is it {' or '.join(near)}?" if near else "Check the spelling and capitals."
            raise ProjectError(f"there is no {what} {name!r}.", where=where, fix=fix)


def _named(asked: str, known: Sequence[str], names: Sequence[str]) -> str:
    """Return which id the sites have whose name was given, '' where none has it.

    Capitals and spaces count where only they tell two names apart.
    """
    pairs = [(str(k), str(name)) for k, name in zip(known, names, strict=True)] if names else []
    exact = [k for k, name in pairs if name.strip() == asked.strip()]
    found = exact or [k for k, name in pairs if _plain(name) == _plain(asked)]
    if not found or not _plain(asked):
        return ""
    if len(found) == 1:
        return f"The site of this name has the id {found[0]}: give that."
    some = " or ".join(found[:3]) + (" ..." if len(found) > 3 else "")
    return f"{len(found)} sites have this name: give the id of one, {some}."


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
