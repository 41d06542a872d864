"""Satellites compared, end to end: a plan with each, what turning the dishes takes, the files."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from siteplan.answers.slots import NONE, Repointing, Slot, SlotComparison, SlotSites
from siteplan.errors import NetworkError
from siteplan.frozen import frozen
from siteplan.jobs.asked import inputs_of, output_of
from siteplan.jobs.opened import Opened, check_plannable, find, opened, told_by_cell
from siteplan.jobs.plan import MAP_TABLE_SITES, plan_checked
from siteplan.jobs.watch import Watch, unwatched
from siteplan.model import Overlay, Reject
from siteplan.network import Network
from siteplan.results import Plan
from siteplan.words import orbital_position

if TYPE_CHECKING:
    from siteplan.inputs.satellites import Satellite

#: The folder of comparisons, in the project's outputs.
COMPARE_NAME = "compare"
#: What stands behind the project's own satellite.
AS_PLANNED = "(as planned)"
#: Sheets to turn dishes by come for so many dishes and satellites together.
SHEETS_UP_TO = 500


@frozen
class SlotOutcome:
    """What comparing satellites gave.

    ``plan`` is the project's own, with ``best_slot`` beside its fields; ``rejects`` are rows of
    the project. ``sheets`` counts the sheets that were written, 0 where there would be too
    many; ``folder`` is None where nothing was written.
    """

    comparison: SlotComparison
    plan: Plan
    rejects: tuple[Reject, ...]
    overlays: tuple[Overlay, ...] = ()
    sheets: int = 0
    folder: Path | None = None

    @property
    def mapped(self) -> bool:
        """Whether the sites are few enough for the map of the best satellite."""
        return len(self.plan) <= MAP_TABLE_SITES


def compare_satellites(
    folder: str | Path,
    satellites: str | Path,
    output: str | Path | None = None,
    *,
    today: dt.date | None = None,
    watch: Watch = unwatched,
) -> SlotOutcome:
    """Plan a project with other satellites beside its own, and write how they compare.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    satellites : path
        The satellites, a CSV file, workbook or TOML file: see `siteplan.inputs.satellites`.
    output : path, optional
        The project's output folder, else ``output/NAME`` under the current folder. The comparison
        goes into ``compare`` in it, which a later plan leaves alone.
    today : datetime.date, optional
        Date of the plans where the network file gives none.
    watch : callable
        As in `plan_project`; told a plan at a time.

    Returns
    -------
    SlotOutcome
        A satellite with which nothing can be planned is a row with the reason.

    Raises
    ------
    SiteplanError
        If project or file cannot be used, or the folder cannot be written.
    """
    from siteplan.inputs.satellites import files_of, read_satellites
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed

    path = Path(satellites)
    base = output_of(folder, output, part=COMPARE_NAME)
    project, network = find(folder)
    candidates = read_satellites(path)
    read = (*inputs_of(project, network), path, *files_of(candidates, path.parent))
    apart(base, project.folder, read, part=COMPARE_NAME)
    networks = _networks(network, candidates, path.parent)
    with claimed(base, part=COMPARE_NAME) as claim:
        found = opened(project, network)
        found.check()
        with told_by_cell(project):
            outcome = compared(found, networks, today=today, watch=watch)
        with claim.staged(OUTPUT_NAMES) as new:
            sheets = write(outcome, new)
    return replace(outcome, sheets=sheets, folder=base / COMPARE_NAME)


#: A satellite's name, the network with it, and what was taken for it.
Candidate = tuple[str, Network, tuple[str, ...]]


def _networks(network: Network, of: tuple[Satellite, ...], folder: Path) -> tuple[Candidate, ...]:
    """Return the network with each satellite; what cannot be used raises before any plan."""
    from siteplan.inputs.network.slots import network_at

    return tuple((each.name, *network_at(network, each, folder)) for each in of)


def compared(
    found: Opened,
    candidates: tuple[Candidate, ...],
    *,
    today: dt.date | None = None,
    watch: Watch = unwatched,
) -> SlotOutcome:
    """Return how satellites compare for a project that was opened and checked."""
    from siteplan.jobs.coverage import read_overlays
    from siteplan.planning.compare.slots import best_slots, sites_of, slot_of

    progress = watch(len(found.site_list.sites) * (1 + len(candidates)))
    own = _planned(found, found.network, today, with_tables=True)
    name = _own_name(found.network, [name for name, *_ in candidates])
    tried: list[_Tried] = [(slot_of(name, own, own=True), sites_of(own), None)]
    progress(len(own))
    for each in _each(found, own, candidates, today):
        tried.append(each)
        progress(len(own) * len(tried))
    slots, sites, turns = zip(*tried, strict=True)
    best = best_slots([slot.name for slot in slots], sites)
    names = own.columns["site_id"], own.columns["name"]
    told = SlotComparison(*names, slots, sites, turns, best)
    plan = replace(own, columns=MappingProxyType({**own.columns, "best_slot": best}))
    overlays = read_overlays(found.project, found.network)
    return SlotOutcome(told, plan, found.rejects, overlays)


_Tried = tuple[Slot, SlotSites | None, Repointing | None]


def _each(
    found: Opened, own: Plan, candidates: tuple[Candidate, ...], today: dt.date | None
) -> Iterator[_Tried]:
    """Yield what each satellite comes to; of one without a plan the reason.

    Each plan is let go before the next is made: of its sites the comparison's columns are kept.
    """
    for candidate in candidates:
        yield _one(found, own, candidate, today)


def _one(found: Opened, own: Plan, candidate: Candidate, today: dt.date | None) -> _Tried:
    """Return what one satellite comes to."""
    from siteplan.planning.compare.kept import kept
    from siteplan.planning.compare.repointing import repointing
    from siteplan.planning.compare.slots import sites_of, slot_of

    name, network, remarks = candidate
    try:
        check_plannable(found.site_list, network)
        plan = _planned(found, network, today, with_tables=False)
    except NetworkError as error:
        reason = error.what[:1].upper() + error.what[1:]
        at = network.satellite.longitude_deg
        return Slot(name, at, reason=reason, remarks=remarks), None, None
    sites = found.site_list.sites
    keeps = kept(sites, own, plan, found.around, today)
    told = slot_of(name, plan, remarks=remarks)
    return told, sites_of(plan), repointing(sites, own, plan, keeps)


def _planned(found: Opened, network: Network, today: dt.date | None, *, with_tables: bool) -> Plan:
    """Return the plan of a project's sites with a network."""
    return plan_checked(
        found.site_list,
        network,
        name=found.project.name,
        around=found.around,
        with_tables=with_tables and len(found.site_list.sites) <= MAP_TABLE_SITES,
        certainty=with_tables,  # of the others only the comparison's columns are kept
        today=today,
    )


def _own_name(network: Network, taken: list[str]) -> str:
    """Return what the comparison calls the project's own satellite."""
    stands = orbital_position(network.satellite.longitude_deg)
    name = f"{network.satellite.name or stands} {AS_PLANNED}"
    while name.casefold() in {other.casefold() for other in taken}:
        name += " *"
    return name


#: What a comparison of satellites writes.
OUTPUT_NAMES = (
    *("compare.csv", "compare_sites.csv", "compare.html", "repointing.csv", "repointing"),
    "map.html",
)


def write(outcome: SlotOutcome, folder: Path) -> int:
    """Write a comparison into a folder that exists; return the number of sheets."""
    from siteplan.outputs.compare import slot_page, slot_tables
    from siteplan.outputs.compare.sheets import count, write_sheets
    from siteplan.outputs.map.backdrop import Behind
    from siteplan.outputs.map.payload import write_map

    of, plan = outcome.comparison, outcome.plan
    slot_tables.write_slots(of, folder / "compare.csv")
    slot_tables.write_sites(of, folder / "compare_sites.csv")
    slot_tables.write_repointing(of, folder / "repointing.csv")
    wanted = count(of)
    sheets = wanted if wanted <= SHEETS_UP_TO else 0
    if sheets:
        write_sheets(of, plan, folder / "repointing")
    made = slot_page.Beside(sheets, wanted, 0 if outcome.mapped else MAP_TABLE_SITES)
    slot_page.write_page(of, plan, folder / "compare.html", made)
    if outcome.mapped:
        title = f"{plan.facts.name}: satellites compared".strip()
        backing = Behind(overlays=outcome.overlays)
        # A site that none serves has no value on the map: hollow, not of a satellite's colour.
        best = np.where(of.best == NONE, "", of.best).astype(object)
        columns = MappingProxyType({**plan.columns, "best_slot": best})
        shown = replace(plan, columns=columns, facts=replace(plan.facts, sheets=False))
        write_map(shown, folder / "map.html", title=title, backing=backing, opens_on="best_slot")
    return sheets
