"""Very large plans: in parts, in bounded memory, on one processor or many.

The sites are read and checked in chunks, each is planned and written as a part of its own, and at
the end the parts become the outputs. The parts of a run that died are kept beside the outputs
and taken up again by the next run with the same inputs. The same plan step runs here, on this
machine's processors and on a cluster; the grid of chunks is the same, and so are the rows.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan.errors import NetworkError, OutputError, SitesError
from siteplan.jobs.parts.part import Order, Runner, Task, plan_of, run_here, run_on_cores
from siteplan.model import Plan, Reject, SiteList, Sites
from siteplan.network import Network
from siteplan.version import __version__

if TYPE_CHECKING:
    from siteplan.inputs.project import Project
    from siteplan.planning.report.summary import Tally

#: Sites in a part: what fits the processor's cache ran best.
PART_SITES = 16_000
#: Tables of more rows than this are planned in parts.
IN_PARTS_FROM_ROWS = 100_000
#: Sites that the map of a very large plan shows.
MAP_SITES = 50_000
#: What a plan in parts writes. With workers, ``sites.parquet`` is a folder of parts.
OUTPUT_NAMES = (
    "sites.parquet",
    "sites.csv",
    "sites.gpkg",
    "rejects.csv",
    "summary.json",
    "map.html",
)


@dataclass(frozen=True)
class BulkOutcome:
    """What planning in parts gave."""

    summary: dict[str, Any]
    rejects: tuple[Reject, ...]
    folder: Path


def rows_in(path: Path) -> int:
    """Return about how many rows a sites table has, without reading it."""
    kind = path.suffix.lower()
    if kind == ".parquet":
        import pyarrow.parquet as pq

        return int(pq.read_metadata(path).num_rows)
    if kind == ".gpkg":
        import pyogrio

        return int(pyogrio.read_info(path, force_feature_count=True)["features"])
    if kind == ".csv":
        with path.open("rb") as file:
            return sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 20), b""))
    return 0


def plan_large(
    project: Project,
    output: str | Path | None = None,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    tables: Sequence[str] = ("parquet",),
    with_map: bool = True,
    progress: Callable[[int], None] = lambda done: None,
) -> BulkOutcome:
    """Plan a project in parts where it is asked for: here, on dask workers or on a cluster.

    Parameters
    ----------
    project : Project
        The project folder.
    output : path, optional
        Where the outputs go, else ``output/NAME``; client and workers must share it.
    workers : int, optional
        Dask workers on this machine; 0 plans in this one process; else every processor is used.
    scheduler : str, optional
        Address of a dask scheduler.
    tables : sequence of str
        Of ``parquet``, ``csv`` and ``gpkg``. With workers or a cluster the GeoParquet is a
        folder of parts.
    with_map : bool
        Whether to write the map.
    progress : callable
        Told the number of sites handed out.

    Raises
    ------
    SiteplanError
        If inputs cannot be used, outputs cannot be written or the cluster cannot be reached.
    """
    from siteplan.inputs.network.read import read_network
    from siteplan.jobs.parts import cluster

    unknown = sorted(set(tables) - {"parquet", "csv", "gpkg"})
    if unknown or not tables:
        raise OutputError(
            f"{', '.join(unknown) or 'nothing'} is no kind of table.",
            where="--tables",
            fix="Choose of parquet, csv and gpkg.",
        )
    network = read_network(project.network_path)
    folder = Path(output) if output is not None else Path("output") / project.name

    def planned(run: Runner, kinds: Sequence[str]) -> BulkOutcome:
        return plan_in_parts(
            project, network, folder.absolute(), run=run, tables=kinds, with_map=with_map,
            progress=progress,
        )  # fmt: skip

    in_parts = [kind.replace("parquet", "parts") for kind in tables]
    if scheduler is not None:
        with cluster.connected(scheduler) as client:
            return planned(cluster.runner(client), in_parts)
    if workers:
        with cluster.local_workers(workers) as client:
            return planned(cluster.runner(client), in_parts)
    cores = os.cpu_count() or 1
    return planned(run_here if workers == 0 or cores == 1 else run_on_cores(cores), tables)


def plan_in_parts(
    project: Project,
    network: Network,
    folder: Path,
    *,
    run: Runner = run_here,
    tables: Sequence[str] = ("parquet",),
    with_map: bool = True,
    today: dt.date | None = None,
    progress: Callable[[int], None] = lambda done: None,
) -> BulkOutcome:
    """Plan a project in parts and write its outputs.

    Parameters
    ----------
    project : Project
        The project folder.
    network : Network
        Checked.
    folder : Path
        Where the outputs go.
    run : callable
        Plans the tasks that it is given, in any order.
    tables : sequence of str
        What is written: ``parquet`` (one GeoParquet), ``parts`` (``sites.parquet`` as a folder
        of parts), ``csv``, ``gpkg``.
    with_map : bool
        Whether to write the map, of ``MAP_SITES`` sites at most.
    today : datetime.date, optional
        Date of the plan where the network file gives none.
    progress : callable
        Told the number of sites handed out.

    Raises
    ------
    SiteplanError
        If sites or network cannot be used, or the outputs cannot be written.
    """
    from siteplan.inputs.network.read import assumptions
    from siteplan.outputs.folder import staged
    from siteplan.planning.setting import setting

    date = network.network.date or today or dt.date.today()
    setting(network, date)
    name = network.network.name or project.name
    packed = "zstd" if "parts" in tables else "lz4"
    order = Order(network, date, assumptions(network), name, packed)
    work = folder.parent / f".{folder.name}.parts-{_fingerprint(project.sites_path, order)}"
    _drop_stale(folder, keep=work)
    work.mkdir(parents=True, exist_ok=True)
    handed = _Handed(work, order, progress)
    run(handed.tasks(project.sites_path))
    handed.check(project.sites_path)
    with staged(folder, frozenset(OUTPUT_NAMES)) as new:
        summary = _write_outputs(handed, new, tables, with_map=with_map)
    shutil.rmtree(work)
    return BulkOutcome(summary, tuple(handed.rejects), folder)


def _fingerprint(sites: Path, order: Order) -> str:
    """Return what tells one run's parts from another's: inputs, date, version, grid of chunks."""
    stat = sites.stat()
    parts = (
        str(sites.resolve()),
        stat.st_size,
        stat.st_mtime_ns,
        order.network.model_dump_json(),
        order.date.isoformat(),
        __version__,
        PART_SITES,
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]


def _drop_stale(folder: Path, *, keep: Path) -> None:
    """Remove the parts of earlier runs whose inputs were others."""
    for other in folder.parent.glob(f".{folder.name}.parts-*"):
        if other != keep:
            shutil.rmtree(other)


class _Handed:
    """The parts as they are handed out, and what reading them gave."""

    def __init__(self, work: Path, order: Order, progress: Callable[[int], None]) -> None:
        self.work, self.order, self.progress = work, order, progress
        self.rejects: list[Reject] = []
        self.parts: list[Path] = []
        self.rows = 0
        self.sites = 0
        self.seen = False
        self.example: Sites | None = None

    def tasks(self, sites: Path) -> Iterator[Task]:
        """Yield a task for each part that is not finished."""
        from siteplan.inputs.sites.read import iter_site_lists

        for chunk in iter_site_lists(sites, PART_SITES):
            task = self._take(chunk)
            if task is not None and not task.path.with_suffix(".json").exists():
                yield task
            self.progress(self.sites)

    def _take(self, chunk: SiteList) -> Task | None:
        """Return the task of a chunk, or None where all its rows were rejected."""
        from siteplan.planning.setting import any_site_sees

        self.rejects.extend(chunk.rejects)
        self.rows += chunk.rows_read
        if not len(chunk.sites):
            return None
        self.seen = self.seen or any_site_sees(chunk.sites, self.order.network)
        self.sites += len(chunk.sites)
        path = self.work / f"part-{len(self.parts):06d}.parquet"
        self.parts.append(path)
        if self.example is None:
            self.example = chunk.sites.take(np.arange(1))
        return Task(chunk.sites, path, self.order)

    def check(self, sites: Path) -> None:
        """Raise where nothing can be planned, or a part is missing."""
        if not self.parts:
            raise SitesError(
                f"no site is left: {len(self.rejects)} of {self.rows} rows rejected.",
                where=sites.name,
                fix="See rejects with: siteplan check.",
            )
        if not self.seen:
            longitude = self.order.network.satellite.longitude_deg
            raise NetworkError(
                f"the satellite at {longitude:g} deg is below the horizon of every site.",
                where="network.toml, [satellite] longitude_deg",
                fix="East is positive, west negative: check the sign.",
            )
        missing = [p.name for p in self.parts if not p.with_suffix(".json").exists()]
        if missing:
            raise RuntimeError(f"{len(missing)} parts were not planned, the first {missing[0]}")

    def tally(self) -> Tally:
        """Return the counts of all parts."""
        from siteplan.planning.report.summary import Tally

        total = Tally()
        for path in self.parts:
            note = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
            total.add(Tally.from_json(note))
        return total

    def like(self) -> Plan:
        """Return the plan of the first site: which columns there are, and what all share."""
        assert self.example is not None
        first = plan_of(Task(self.example, Path(), self.order))
        shared = {"rows_read": self.rows, "rejected": len(self.rejects)}
        return replace(first, facts={**first.facts, **shared})


def _write_outputs(
    handed: _Handed, new: Path, kinds: Sequence[str], *, with_map: bool
) -> dict[str, Any]:
    """Write all outputs from the finished parts and return the summary."""
    from siteplan.outputs.tables import files as tables
    from siteplan.outputs.tables import parquet as parts
    from siteplan.planning.report.summary import from_tally

    like = handed.like()
    summary = from_tally(handed.tally(), like)
    if with_map:
        summary["map"] = _write_map(handed, like, new / "map.html")
    for kind, write in (
        ("parquet", parts.join_parquet),
        ("csv", parts.join_csv),
        ("gpkg", parts.join_gpkg),
        ("parts", parts.copy_parts),
    ):
        if kind in kinds:
            write(handed.parts, new / f"sites.{'parquet' if kind == 'parts' else kind}")
    tables.write_rejects(handed.rejects, new / "rejects.csv")
    summary["crew"] = (
        "Left out of plans in parts: the crew's and site packs, coverage, own layers, tiles and"
        " the plain map. For those, plan a group of sites alone."
    )
    tables.write_json(summary, new / "summary.json")
    return summary


def _write_map(handed: _Handed, like: Plan, path: Path) -> str:
    """Write the map of all sites, or of a choice that leaves no failing site out if it can."""
    from siteplan.fields import FLAGS
    from siteplan.outputs.map.payload import write_map
    from siteplan.outputs.tables.parquet import column_of, plan_rows
    from siteplan.planning.report.thinning import choose

    stops = frozenset(f.code for f in FLAGS.values() if f.severity == "stop")
    chosen = choose(column_of(handed.parts, "flags"), stops, MAP_SITES)
    result = plan_rows(handed.parts, chosen.rows, like)
    facts = {**result.facts, "shown": chosen.note} if chosen.note else result.facts
    write_map(replace(result, facts=facts), path)
    return chosen.note or "all sites"
