"""Very large plans: in parts, in bounded memory, on one processor or many.

The sites are read and checked in chunks, each is planned and written as a part of its own, and at
the end the parts become the outputs. The parts of a run that died are kept beside the outputs
and taken up again by the next run with the same inputs. The same plan step runs here, on this
machine's processors and on a cluster; the grid of chunks is the same, and so are the rows.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import OutputError
from siteplan.frozen import frozen
from siteplan.jobs import coverage, products
from siteplan.jobs.around import Shared, read_surroundings
from siteplan.jobs.asked import Job
from siteplan.jobs.check.notes import of_file, of_rows
from siteplan.jobs.opened import Found, check_terrain
from siteplan.jobs.parts.part import (
    FORMAT,
    Order,
    Runner,
    Task,
    counts_of,
    make_own,
    plan_of,
    read_back,
    run_here,
    run_on_cores,
)
from siteplan.jobs.products import Made
from siteplan.jobs.watch import Progress
from siteplan.model import Called, NoteLine, Reject, SiteList, Sites, Surroundings
from siteplan.results import Plan
from siteplan.version import __version__

if TYPE_CHECKING:
    from siteplan.inputs.project import Project
    from siteplan.planning.coverage.cover import Spread
    from siteplan.planning.report.tally import Tally

#: Sites in a part: what fits the processor's cache ran best.
PART_SITES = 16_000


@frozen
class Hands:
    """What works parts out, and the pieces of a coverage grid (None: this process).

    With ``as_folder`` the parts become ``sites.parquet`` as they are: they are packed tighter.
    """

    run: Runner
    spread: Spread | None = None
    as_folder: bool = False


@contextmanager
def in_parts(job: Job, hands: Hands | None = None) -> Iterator[Made]:
    """Plan a project in parts and yield what its outputs are written from.

    The parts' files are there until the outputs are written, and stay where anything fails.

    Parameters
    ----------
    job : Job
        What to plan.
    hands : Hands, optional
        What works the parts out; else dask workers or a cluster where the job asks for them, else
        all processors of this machine.

    Raises
    ------
    SiteplanError
        If inputs cannot be used or the cluster cannot be reached.
    """
    from siteplan.outputs.folder.signals import undisturbed

    with hands_for(job) if hands is None else _given(hands) as working:
        handed, made = _worked(job, working)
    yield made
    with undisturbed():
        shutil.rmtree(handed.work)


@contextmanager
def hands_for(job: Job) -> Iterator[Hands]:
    """Yield what a job's options ask for: a cluster, dask workers, this machine, this process."""
    from siteplan.jobs.parts import cluster

    workers, scheduler = job.asked.workers, job.asked.scheduler
    if scheduler is not None or workers:
        with cluster.client_of(workers, scheduler) as client:
            yield Hands(cluster.runner(client), cluster.grid_spread(client), as_folder=True)
        return
    cores = os.cpu_count() or 1
    yield Hands(run_here if workers == 0 or cores == 1 else run_on_cores(cores))


@contextmanager
def _given(hands: Hands) -> Iterator[Hands]:
    yield hands


def _worked(job: Job, hands: Hands) -> tuple[_Handed, Made]:
    """Work all parts out; what can be refused is refused before."""
    from siteplan.planning.report.summary import from_tally

    order = _order(job, hands)
    overlays = coverage.read_overlays(job.project, job.network)
    before = _look(job)
    around, more = _surroundings(job, before)
    laid = None
    if before is not None:
        before.check()
        products.check_size(job.asked, before.sites)
        check_terrain(around, before.lat, before.lon)
        places = coverage.Places(before.lat, before.lon, before.doubted)
        laid = coverage.lay(places, job.covering) if job.covering else None
    handed = _Handed(_work_folder(job, order), order, Shared(around))
    from siteplan.inputs.kinds import rows_in

    hands.run(handed.tasks(job.project.sites_path, job.watch(rows_in(job.project.sites_path))))
    handed.check()
    covered = coverage.work_out(laid, job.network, spread=hands.spread) if laid else None
    counted = handed.tally()
    plan = handed.plan(counted)
    made = Made(
        job,
        plan,
        handed.found.sites,
        (*handed.found.rejects, *more),
        from_tally(counted, plan),
        covered,
        coverage.behind(covered, overlays),
        tuple(handed.parts),
        hands.as_folder,
        lines=tuple(handed.lines),
        around=around,
    )
    return handed, made


def _order(job: Job, hands: Hands) -> Order:
    """Return what all parts share."""
    from siteplan.inputs.network.assumed import assumptions
    from siteplan.planning.beams.settings import settings
    from siteplan.planning.setting import with_cloud_maps

    date = job.network.network.date or job.today or dt.date.today()
    packed = "zstd" if hands.as_folder else "lz4"
    clouds = settings(job.network, date)[0].clouds
    named = with_cloud_maps(job.network, clouds.place)
    told = assumptions(job.network)
    return Order(
        *(named, date, told, job.name, packed, clouds.fingerprint),
        sensitivity=job.asked.sensitivity,
        monitoring=job.asked.monitoring,
    )


def _look(job: Job) -> Found | None:
    """Return what the whole table holds, where anything must be known of it before the work.

    That reads the table once more: obstructions name sites of any part, terrain must cover some
    site, coverage spans them all, and sheets are written up to a number of sites.
    """
    from siteplan.inputs.sites.read import iter_site_lists

    project = job.project
    asked = job.covering or job.asked.sheets or project.obstructions_path or project.terrain_path
    if not asked:
        return None
    found = Found(job.network, named=project.obstructions_path is not None)
    for chunk in iter_site_lists(project.sites_path, PART_SITES, job.network.sites.crs or ""):
        found.add(chunk)
    return found


def _surroundings(job: Job, before: Found | None) -> tuple[Surroundings, tuple[Reject, ...]]:
    if before is None:
        return Surroundings(), ()
    known = before.names if before.named else np.empty(0, dtype=object)
    return read_surroundings(job.project, known, job.network)


def _work_folder(job: Job, order: Order) -> Path:
    """Return the folder of a run's parts, beside the outputs; parts of other inputs go."""
    folder = job.folder.absolute()
    work = folder.parent / f".{folder.name}.parts-{_fingerprint(job.project, order)}"
    try:
        _drop_stale(folder, keep=work)
        make_own(work)
    except OSError as error:
        raise OutputError(
            f"cannot write the outputs: {error.strerror or error}.",
            where=str(job.folder),
            fix="Check the disk and the permissions, or choose another folder with --output.",
        ) from None
    return work


def _fingerprint(project: Project, order: Order) -> str:
    """Return what tells one run's parts from another's: inputs, maps, date, version, chunks."""
    files = (project.sites_path, project.obstructions_path, project.terrain_path)
    parts = (
        FORMAT,
        *(_state(path) for path in files),
        order.network.model_dump_json(),
        order.date.isoformat(),
        order.name,
        order.compression,
        order.clouds,
        order.sensitivity,
        order.monitoring,
        __version__,
        PART_SITES,
        products.READ_BACK_UP_TO,
        products.MONITORED_UP_TO,
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]


def _state(path: Path | None) -> tuple[str, int, int] | None:
    """Return what changes with a file: its place, its size and when it was written."""
    if path is None:
        return None
    stat = path.stat()
    return str(path.resolve()), stat.st_size, stat.st_mtime_ns


def _drop_stale(folder: Path, *, keep: Path) -> None:
    """Remove the parts of earlier runs whose inputs were others."""
    form = re.compile(rf"\.{re.escape(folder.name)}\.parts-[0-9a-f]{{16}}")
    for other in folder.parent.iterdir() if folder.parent.is_dir() else ():
        if other != keep and form.fullmatch(other.name):
            shutil.rmtree(other)


class _Handed:
    """The parts as they are handed out, and what reading them gave."""

    def __init__(self, work: Path, order: Order, shared: Shared) -> None:
        self.work, self.order, self.shared = work, order, shared
        self.parts: list[Path] = []
        self.found = Found(order.network)
        self.example: Sites | None = None
        self.lines: list[NoteLine] = []
        self.many = False
        self.called = Called()

    def tasks(self, sites: Path, progress: Progress) -> Iterator[Task]:
        """Yield a task for each part that is not finished."""
        from siteplan.inputs.kinds import rows_in
        from siteplan.inputs.sites.read import iter_site_lists

        # Far too many to be monitored unasked: the first parts need not lay it either.
        self.many = not products.monitored_unasked(rows_in(sites) // 2)
        crs = self.order.network.sites.crs or ""
        for chunk in iter_site_lists(sites, PART_SITES, crs):
            task = self._take(chunk)
            if task is not None and not task.finished:
                yield task
            progress(self.found.sites)

    def _take(self, chunk: SiteList) -> Task | None:
        """Return the task of a chunk, or None where all its rows were rejected."""
        first = self.found.sites
        if not self.found.rows:
            self.lines += of_file(chunk)
            self.called = chunk.called
        self.lines += of_rows(chunk)
        self.found.add(chunk)
        if not len(chunk.sites):
            return None
        path = self.work / f"part-{len(self.parts):06d}.parquet"
        self.parts.append(path)
        if self.example is None:
            self.example = chunk.sites.take(np.arange(1))
        return self._task(chunk.sites, path, first)

    def _task(self, sites: Sites, path: Path, first: int) -> Task:
        around = self.shared.of(sites.site_id)
        sensed = self.order.sensitivity or products.sensed_unasked(self.found.sites)
        few = products.monitored_unasked(self.found.sites) and not self.many
        return Task(
            *(sites, around, path, self.order, first),
            keep=self.small,
            sensed=sensed,
            watched=self.order.monitoring or few,
            called=self.called,
        )

    @property
    def small(self) -> bool:
        """Whether the sites so far are few enough to be read back."""
        return self.found.sites <= products.READ_BACK_UP_TO

    def check(self) -> None:
        """Raise where nothing can be planned, or a part is missing."""
        self.found.check()
        missing = [p.name for p in self.parts if not p.with_suffix(".json").exists()]
        if missing:
            raise RuntimeError(f"{len(missing)} parts were not planned, the first {missing[0]}")

    def tally(self) -> Tally:
        """Return the counts of all parts."""
        from siteplan.planning.report.tally import Tally

        total = Tally()
        for path in self.parts:
            total.add(Tally.from_json(counts_of(path)))
        return total

    def plan(self, counted: Tally) -> Plan:
        """Return the plan of all sites, or of the first of too many, with the facts of all."""
        from siteplan.jobs.parts.costs import costed_parts
        from siteplan.jobs.parts.gathered import rolled_out_parts
        from siteplan.messages import english
        from siteplan.planning.beams.settings import settings
        from siteplan.planning.capacity.answer import capacity
        from siteplan.planning.certainty.sure import in_order
        from siteplan.planning.cost.bill import bill
        from siteplan.planning.cost.totals import costed
        from siteplan.planning.flags import told_once
        from siteplan.planning.gateway.result import hubs_of
        from siteplan.planning.kit.everywhere import of_fits
        from siteplan.planning.report.licences import with_types
        from siteplan.planning.report.verdict import verdict_of

        if self.small:
            plan = read_back(self.parts, self.order)
        else:
            assert self.example is not None
            plan = plan_of(self._task(self.example, Path(), 0))
        once, heard = counted.counts["told_once"], counted.counts["heard"]
        passes = settings(self.order.network, self.order.date)
        hubs = hubs_of(passes, heard, plan.facts.licence)
        facts = replace(
            plan.facts,
            told_once=tuple(once.items()),
            remarks=told_once(once, self.found.sites, english()),
            remedies=plan.facts.remedies if self.small else (),
            rows_read=self.found.rows,
            rejected=len(self.found.rejects),
            source=Path(self.found.source).name,
            bill=bill(counted.takes, self.order.network),
            verdict=verdict_of(counted),
            licence=with_types(plan.facts.licence, counted.radiates, self.order.network),
            heard=tuple(sorted(heard.items())),
            hubs=hubs,
            changes_kit=in_order([counted.counts["changes_kit"]]),
            loads=counted.loads,
            capacity=capacity(counted.loads, self.order.network, hubs),
            **of_fits(counted.counts["fits"], self.order.network),
        )
        plan = costed(replace(plan, facts=facts))
        plan = costed_parts(plan, self.parts, self.order.compression)
        return rolled_out_parts(self.parts, plan)
