"""What the crew carries, end to end: visiting order, sheets, tracks, kit, sun, blank to fill in.

Here planning and outputs meet, as in ``siteplan.api``.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.errors import ProjectError
from siteplan.model import SiteList, Sites
from siteplan.results import Plan

Watch = Callable[..., Callable[[int], None]]

#: What the crew's pack is called in the output folder.
OUTPUT_NAMES = (
    "sheets",
    "selected",
    "sites.kml",
    "sites.gpx",
    "kit.csv",
    "sun.csv",
    "sun",
    "returned_blank.csv",
)
#: Sheets come of themselves up to so many sites, the rest of the pack up to so many.
SHEETS_UP_TO = 500
PACK_UP_TO = 20_000


def write(
    plan: Plan,
    folder: Path,
    *,
    sheets: bool | None = None,
    watch: Watch = lambda total, label="": lambda done: None,
) -> str:
    """Write the crew's pack of a plan into ``folder``.

    Parameters
    ----------
    plan : Plan
        The results.
    folder : Path
        Where the files go; it is there.
    sheets : bool, optional
        Whether to write sheets; None: up to ``SHEETS_UP_TO`` sites.
    watch : callable
        Given the number of sheets and a label, returns what is told the number done.

    Returns
    -------
    str
        What was written, or was not and why, in a sentence for the summary.
    """
    wanted = len(plan) <= SHEETS_UP_TO if sheets is None else sheets
    if len(plan) <= PACK_UP_TO:
        _write_lists(plan, folder)
    if wanted:
        _write_sheets(plan, folder / "sheets", watch)
    return _note(len(plan), wanted=wanted, refused=sheets is False)


def _write_lists(plan: Plan, folder: Path) -> None:
    """Write tracks, kit list, sun transits and the blank to fill in."""
    from siteplan.outputs.lists import kit, returned, tracks
    from siteplan.outputs.lists import sun as sun_files

    tracks.write_kml(plan, folder / "sites.kml")
    tracks.write_gpx(plan, folder / "sites.gpx")
    kit.write_kit(plan, folder / "kit.csv")
    returned.write_blank(plan, folder / "returned_blank.csv")
    sun_files.write_sun_table(plan, folder / "sun.csv")
    sun_files.write_sun_calendars(plan, folder / "sun")


def _write_sheets(plan: Plan, folder: Path, watch: Watch) -> None:
    """Write the sheets, each group in visiting order."""
    from siteplan.outputs.sheets.files import write_sheets
    from siteplan.planning.rounds import rounds

    columns = plan.columns
    visits = rounds(columns["group"], columns["lat"], columns["lon"])
    write_sheets(plan, visits, folder, progress=watch(len(plan), "Sheets"))


def _note(sites: int, *, wanted: bool, refused: bool) -> str:
    """Return what the summary says of the crew's pack."""
    if wanted:
        note = "Sheets for the crew: sheets/index.html; print sheets/groups/ for a round of visits."
    elif refused:
        note = "No sheets, as asked."
    else:
        note = (
            f"No sheets: more than {SHEETS_UP_TO} sites. Ask for all with --sheets, or for some"
            " with 'siteplan sheets PROJECT --only ID,ID' or '--group NAME'."
        )
    if sites > PACK_UP_TO:
        note += f" No kit list, tracks or sun transits: more than {PACK_UP_TO} sites."
    return note


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
        _refuse_unknown("site", only, sites.site_id.tolist(), site_list.source)
        wanted &= np.isin(sites.site_id.astype(str), list(only))
    if group is not None:
        _refuse_unknown("group", [group], sites.group.tolist(), site_list.source)
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


def _refuse_unknown(what: str, asked: Sequence[str], known: list[str], where: str) -> None:
    """Raise for the first that is not known, with those that look like it."""
    there = {str(name) for name in known}
    for name in asked:
        if name not in there:
            near = difflib.get_close_matches(name, sorted(there - {""}), n=3)
            fix = f"Is it {' or '.join(near)}?" if near else "Check the spelling and capitals."
            raise ProjectError(f"there is no {what} {name!r}.", where=where, fix=fix)
