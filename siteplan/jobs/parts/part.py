"""One part of a very large plan: the step that runs here, on other cores and on a cluster."""

from __future__ import annotations

import datetime as dt
import json
import os
import pickle
import signal
import stat
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers import Kind
from siteplan.errors import MapsError, OutputError
from siteplan.frozen import frozen
from siteplan.model import Assumption, Called, Sites, Surroundings
from siteplan.network import Network
from siteplan.outputs.own import own
from siteplan.results import Facts, Plan

#: Raised where the files of a part change: parts of another format are not taken up again.
FORMAT = 14
#: Endings of a part's files beside its rows: its counts, all of its plan, its task, rows of what
#: it would take and of what would change its kit, and the sites as they were read.
_COUNTS, _WHOLE, _TASK, _TAKES, _SITES = ".json", ".plan", ".task", ".takes.csv", ".sites"
_SENSITIVE = ".sensitive.csv"


@frozen
class Order:
    """What is the same for all parts of a run.

    ``network`` names the cloud maps that the run uses, ``clouds`` is their fingerprint ('': not
    asked). ``sensitivity`` and ``monitoring`` ask for what would change the kit of sites,
    and what monitoring is to expect of them, however many they are.
    """

    network: Network
    date: dt.date
    assumptions: tuple[Assumption, ...]
    name: str
    compression: str = "zstd"
    clouds: str = ""
    sensitivity: bool = False
    monitoring: bool = False


@frozen
class Task:
    """One part: the checked sites with their surroundings, and where its results go.

    ``first`` is the first site's place among all. ``keep`` says whether all of the part's plan
    is laid beside its rows, unrounded and with its tables, to be read back, ``sensed`` whether the
    tables of what would change the kit are made, ``watched`` whether what monitoring is to expect
    is laid beside the rows. ``called`` is what the list of sites calls our columns.
    """

    sites: Sites
    around: Surroundings
    path: Path
    order: Order
    first: int = 0
    keep: bool = False
    sensed: bool = False
    watched: bool = False
    called: Called = Called()

    @property
    def finished(self) -> bool:
        """Whether the part is there, complete."""
        kinds = [".parquet", _COUNTS, *([_WHOLE] if self.keep else [])]
        return all(self.path.with_suffix(kind).exists() for kind in kinds)


#: Plans the tasks that it is given, in any order.
Runner = Callable[[Iterator[Task]], None]


def plan_part(task: Task) -> None:
    """Plan one part and write its results and its counts; a part that is there is left alone.

    The counts are written last: a part is finished when they are there.
    """
    from siteplan.jobs.parts.beside import beside
    from siteplan.jobs.parts.costs import ENDING, basis_bytes
    from siteplan.outputs.inputs.sites import write_part as write_sites
    from siteplan.outputs.lists import sensitivity
    from siteplan.outputs.lists.remedies import rows_text
    from siteplan.outputs.tables.parquet import write_part
    from siteplan.planning.report.tally import tally

    if task.finished:
        return
    result = plan_of(task)
    write_part(result, task.path, compression=task.order.compression)
    write_sites(task.sites, sites_of(task.path))
    _write_whole(rows_of_remedies(task.path), rows_text(result).encode(errors="replace"))
    if task.sensed:
        sensed = sensitivity.rows_text(result).encode(errors="replace")
        _write_whole(rows_of_sensitivity(task.path), sensed)
    if (costs := basis_bytes(result)) is not None:
        _write_whole(task.path.with_suffix(ENDING), costs)
    for ending, held in beside(result, task.first, watched=task.watched):
        _write_whole(task.path.with_suffix(ending), pickle.dumps(held, pickle.HIGHEST_PROTOCOL))
    if task.keep:
        kept = dict(result.columns), dict(result.extra), dict(result.tables), result.facts
        _write_whole(task.path.with_suffix(_WHOLE), pickle.dumps(kept, pickle.HIGHEST_PROTOCOL))
    _write_whole(task.path.with_suffix(_COUNTS), json.dumps(tally(result).to_json()).encode())


def plan_of(task: Task) -> Plan:
    """Return the plan of one part; the tables of map and sheets with it where it is kept."""
    from siteplan.planning.plan import make_plan

    order = task.order
    _check_clouds(order)
    plan = make_plan(
        task.sites,
        order.network,
        assumptions=order.assumptions,
        facts=Facts(name=order.name, called=task.called),
        today=order.date,
        with_tables=task.keep,
        sensitivity=task.sensed,
        transits=task.watched,
        around=task.around,
    )
    if "sun_site" not in plan.tables:
        return plan
    placed = {**plan.tables, "sun_site": plan.tables["sun_site"] + task.first}
    return replace(plan, tables=placed)


def _check_clouds(order: Order) -> None:
    """Raise where this process finds other cloud maps than the run's.

    Raises
    ------
    MapsError
        With what to do; also where the maps that are named are not there.
    """
    from siteplan.planning.setting import clouds_of

    if order.clouds and clouds_of(order.network).fingerprint != order.clouds:
        raise MapsError(
            "a worker finds other cloud maps than the plan was begun with.",
            where=order.network.methods.cloud_maps or "the itur package",
            fix="Let [methods] cloud_maps name a folder that all workers share, and leave it alone"
            " while the plan is made.",
        )


def read_back(parts: Sequence[Path], order: Order) -> Plan:
    """Return the plan of all parts that were kept, end to end."""
    kept = [laid_beside(path, _WHOLE) for path in parts]
    columns, extra = (_joined([piece[k] for piece in kept]) for k in range(2))
    pairs, tables = _with_same_pairs([piece[3].pairs for piece in kept], [p[2] for p in kept])
    remedies = tuple(remedy for piece in kept for remedy in piece[3].remedies)
    facts = replace(kept[0][3], pairs=pairs, remedies=remedies)
    return Plan(columns, extra, order.network, order.assumptions, facts, _joined(_shared(tables)))


def _with_same_pairs(
    pairs: list[tuple[Kind, ...]], tables: list[dict[str, NDArray[Any]]]
) -> tuple[tuple[Kind, ...], list[dict[str, NDArray[Any]]]]:
    """Return the pairs whose margins every part has, and the parts' tables with those alone.

    Of a small catalogue that is all of them.
    """
    from siteplan.planning.kit.everywhere import MARGINS

    shared = tuple(pair for pair in pairs[0] if all(pair in own for own in pairs))
    places = [[own.index(pair) for pair in shared] for own in pairs]
    return shared, [
        {**own, **({MARGINS: own[MARGINS][:, at]} if MARGINS in own else {})}
        for own, at in zip(tables, places, strict=True)
    ]


def _shared(pieces: list[dict[str, NDArray[Any]]]) -> list[dict[str, NDArray[Any]]]:
    """Return the parts' tables that every part has: the first ones cannot tell how many follow."""
    names = [name for name in pieces[0] if all(name in piece for piece in pieces)]
    return [{name: piece[name] for name in names} for piece in pieces]


def _joined(pieces: Sequence[dict[str, NDArray[Any]]]) -> dict[str, NDArray[Any]]:
    return {name: np.concatenate([p[name] for p in pieces]) for name in pieces[0]}


def rows_of_remedies(path: Path) -> Path:
    """Return where a part lays its rows of what it would take."""
    return path.with_suffix(_TAKES)


def sites_of(path: Path) -> Path:
    """Return where a part lays its sites as they were read."""
    return path.with_suffix(_SITES)


def rows_of_sensitivity(path: Path) -> Path:
    """Return where a part lays its rows of what would change the kit."""
    return path.with_suffix(_SENSITIVE)


def counts_of(path: Path) -> Any:
    """Return the counts of a finished part, as plain data."""
    return json.loads(path.with_suffix(_COUNTS).read_text(encoding="utf-8"))


def laid_beside(path: Path, ending: str) -> Any:
    """Return what a part laid beside its rows under an ending."""
    return pickle.loads(_own_bytes(path.with_suffix(ending)))


def _write_whole(path: Path, content: bytes) -> None:
    """Write a file of this user's own so that it appears whole or not at all."""
    part = path.with_name(f".{path.name}.{os.getpid()}")
    with open(part, "wb", opener=lambda name, flags: os.open(name, flags, 0o600)) as file:
        file.write(content)
    part.replace(path)


def make_own(folder: Path) -> None:
    """Make the folder of a run's parts, or take up the one that is there if it is this user's own.

    Tasks and plans lie in it as objects of Python: whoever can write them can run code here.

    Raises
    ------
    OutputError
        If it is somebody else's, a link, or others can write into it.
    OSError
        If it cannot be made.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    found = folder.lstat()
    if not (stat.S_ISDIR(found.st_mode) and own(found)):
        raise _not_own(folder)


def _own_bytes(path: Path) -> bytes:
    """Return what a file holds that nobody but this user can have written.

    Raises
    ------
    OutputError
        If somebody else could.
    """
    with path.open("rb") as file:
        if not own(os.fstat(file.fileno())):
            raise _not_own(path)
        return file.read()


def _not_own(path: Path) -> OutputError:
    return OutputError(
        "the parts of this plan belong to somebody else, or others can write to them: they could"
        " run code here.",
        where=str(path),
        fix="Remove them, or choose a folder of your own with --output; client and workers must be"
        " the same user, on a disk that keeps owners and permissions.",
    )


def run_here(tasks: Iterator[Task]) -> None:
    """Plan the parts one after the other in this process."""
    for task in tasks:
        plan_part(task)


def run_on_cores(count: int) -> Runner:
    """Return what plans the parts on ``count`` processes of this machine."""

    def run(tasks: Iterator[Task]) -> None:
        from concurrent.futures import ProcessPoolExecutor
        from concurrent.futures.process import BrokenProcessPool
        from multiprocessing import active_children, get_context

        before = set(active_children())
        pool = ProcessPoolExecutor(count, get_context("spawn"), initializer=leave_to_parent)
        try:
            _hand_out(pool, tasks, 2 * count)
        except BrokenProcessPool:
            raise OutputError(
                "a process that planned parts was killed, perhaps for want of memory.",
                fix="Run the same command again: finished parts are kept.",
            ) from None
        except BaseException:
            # What is at work would go on to its end, and nobody wait for it.
            for child in set(active_children()) - before:
                child.terminate()
            raise
        finally:
            pool.shutdown(cancel_futures=True)

    return run


def leave_to_parent() -> None:
    """Leave Ctrl-C to the process that hands out the work, and end with it, however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait until the process that started this one is gone: it may be killed and tell nobody."""
    from multiprocessing import parent_process

    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _hand_out(pool: Any, tasks: Iterator[Task], most: int) -> None:
    """Hand tasks to the processes of a pool, at most so many at once, and wait for all."""
    from concurrent.futures import FIRST_COMPLETED, Future, wait

    waiting: set[Future[None]] = set()
    for task in tasks:
        if len(waiting) >= most:
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                future.result()
        waiting.add(pool.submit(plan_stored, store_task(task)))
    for future in waiting:
        future.result()


def store_task(task: Task) -> Path:
    """Write a task beside its part, for another process to take up; return where it stands."""
    path = task.path.with_suffix(_TASK)
    _write_whole(path, pickle.dumps(task, protocol=pickle.HIGHEST_PROTOCOL))
    return path


def plan_stored(path: Path) -> None:
    """Plan the part of a task that ``store_task`` wrote in the run's own folder.

    A worker may die after its part was finished, and the task be given out again.
    """
    if path.with_suffix(_COUNTS).exists():
        return
    plan_part(pickle.loads(_own_bytes(path)))
    path.unlink(missing_ok=True)
