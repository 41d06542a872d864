"""One part of a very large plan: the step that runs here, on other cores and on a cluster."""

from __future__ import annotations

import datetime as dt
import json
import os
import pickle
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from siteplan.errors import OutputError
from siteplan.model import Assumption, Sites
from siteplan.network import Network
from siteplan.results import Facts, Plan


@dataclass(frozen=True)
class Order:
    """What is the same for all parts of a run."""

    network: Network
    date: dt.date
    assumptions: tuple[Assumption, ...]
    name: str
    compression: str = "zstd"


@dataclass(frozen=True)
class Task:
    """One part: the checked sites, and where its results go."""

    sites: Sites
    path: Path
    order: Order


#: Plans the tasks that it is given, in any order.
Runner = Callable[[Iterator[Task]], None]


def plan_part(task: Task) -> None:
    """Plan one part and write its results and its counts; a part that is there is left alone.

    The counts are written last: a part is finished when they are there.
    """
    from siteplan.outputs.tables.parquet import write_part
    from siteplan.planning.report.tally import tally

    note = task.path.with_suffix(".json")
    if note.exists():
        return
    result = plan_of(task)
    write_part(result, task.path, compression=task.order.compression)
    _write_whole(note, json.dumps(tally(result).to_json()).encode())


def plan_of(task: Task) -> Plan:
    """Return the plan of one part: the site pack is left out, but for the mount."""
    from siteplan.planning.plan import make_plan

    order = task.order
    return make_plan(
        task.sites,
        order.network,
        assumptions=order.assumptions,
        facts=Facts(name=order.name),
        today=order.date,
    )


def _write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it appears whole or not at all."""
    part = path.with_name(f".{path.name}.{os.getpid()}")
    part.write_bytes(content)
    part.replace(path)


def run_here(tasks: Iterator[Task]) -> None:
    """Plan the parts one after the other in this process."""
    for task in tasks:
        plan_part(task)


def run_on_cores(count: int) -> Runner:
    """Return what plans the parts on ``count`` processes of this machine."""

    def run(tasks: Iterator[Task]) -> None:
        from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
        from concurrent.futures.process import BrokenProcessPool
        from multiprocessing import get_context

        waiting: set[Future[None]] = set()
        try:
            with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as pool:
                for task in tasks:
                    if len(waiting) >= 2 * count:
                        done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                        for future in done:
                            future.result()
                    waiting.add(pool.submit(plan_stored, store_task(task)))
                for future in waiting:
                    future.result()
        except BrokenProcessPool:
            raise OutputError(
                "a process that planned parts was killed, perhaps for want of memory.",
                fix="Run the same command again: finished parts are kept.",
            ) from None

    return run


def store_task(task: Task) -> Path:
    """Write a task beside its part, for another process to take up; return where it stands."""
    path = task.path.with_suffix(".task")
    _write_whole(path, pickle.dumps(task, protocol=pickle.HIGHEST_PROTOCOL))
    return path


def plan_stored(path: Path) -> None:
    """Plan the part of a task that ``store_task`` wrote in the run's own folder.

    A worker may die after its part was finished, and the task be given out again.
    """
    if path.with_suffix(".json").exists():
        return
    plan_part(pickle.loads(path.read_bytes()))
    path.unlink(missing_ok=True)
